"""How many newborns were lost, and when?

The whole and the windows first, then the flow, the litters and the life table; whether the week or the hour of
birth mattered is told in `losses_calendar`.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.losses import Losses, answer
from neonatal_stats.chapters.losses_calendar import (
    RATES,
    calendar_said,
    calendar_tables,
    hours_drawn,
    weeks_drawn,
)
from neonatal_stats.chapters.protocol import Headline, interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_flow
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.measures.windows import END
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence, Voice
from neonatal_stats.words.verdict import MINIMUM_EVENTS, RULE
from neonatal_stats.words.windows import window_label

NAME = "losses"
TITLE = "Losses"
QUESTION = "How many {newborns} were lost, and when?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Losses",
    "answer",
    "figures",
    "headlines",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Always open: an outcome is what makes a season."""
    return ()


def sentences(result: Losses) -> tuple[Sentence, ...]:
    """How many, by when, how many litters, and whether the calendar matters."""
    return (
        *_whole_said(result),
        *_windows_said(result),
        *_left_said(result),
        *_litters_said(result),
        *calendar_said(result),
    )


def figures(result: Losses) -> tuple[Figure, ...]:
    """Flow first; weeks and hours only where births were dated and timed."""
    return (_flow_drawn(result), _windows_drawn(result), *weeks_drawn(result), *hours_drawn(result))


def tables(result: Losses) -> tuple[Table, ...]:
    """Windows and flow first, then litters, ages and the calendar."""
    dams, newborns = _flow_words(result)
    say = voice_of(result).say
    return (
        _windows_table(result),
        _flow_table(result, "newborns", say("Where the {newborns} went"), newborns),
        *([_flow_table(result, "dams", say("Where the {dams} went"), dams)] if len(dams) else []),
        *([_litters_table(result)] if len(result.by_litter) else []),
        *_ages_table(result),
        *calendar_tables(result),
    )


def headlines(result: Losses) -> tuple[Headline, ...]:
    """Born, born alive, and lost by the end of each window."""
    say = voice_of(result).say
    newborns = result.flow.newborns.set_index("stage")["n"]
    born, alive = float(newborns["born"]), float(newborns["born alive"])
    return (
        _count_headline("born", say("Born"), born, math.nan),
        _count_headline("born_alive", say("Born alive"), alive, born),
        *_windows_headlines(result),
    )


def _whole_said(result: Losses) -> Iterator[Sentence]:
    """Lost of all born by the end, and of these how many were born dead."""
    end, say = result.whole, voice_of(result).say
    if not end["events"]:
        text = "No loss by {end} among the {born} {newborns} born."
        yield Sentence(say(text, born=printing.count(end["n"]), end=_end(result)))
        return
    lost = printing.share_of(end["events"], end["n"], end["low"], end["high"])
    if not result.born_dead_known:
        yield Sentence(say("Of all {newborns} born, {lost} were lost by {end}.", lost=lost, end=_end(result)))
        return
    newborns = result.flow.newborns
    still = float(newborns.loc[newborns["stage"] == "born alive", "lost"].sum())
    text = "Of all {newborns} born, {lost} were lost by {end}: {still} born dead and {after} after birth."
    yield Sentence(
        say(
            text,
            lost=lost,
            end=_end(result),
            still=printing.count(still),
            after=printing.count(end["events"] - still),
        )
    )


def _windows_said(result: Losses) -> Iterator[Sentence]:
    """Lost of all born by each window before the end; what to write down where no age is known."""
    voice = voice_of(result)
    born = result.of_all_born.to_dict("records")
    for row in born[:-1]:
        if born[-1]["events"]:
            yield Sentence(_window_said(result, row))
    if len(born) == 1 and result.settings.windows_h and result.undated:
        text = "When they were lost cannot be said: {undated} of {lost} losses have no known age."
        values = {"undated": printing.count(result.undated), "lost": printing.count(born[-1]["events"])}
        yield Sentence(voice.say(text, **values), role="cannot say")
        yield Sentence(
            voice.say("Write down when each dead {newborn} was found, and its birth."),
            role="record next",
        )


MOST_NOT_WATCHED = 0.10  # of those counted; above it the curve speaks instead of the simple share


def _window_said(result: Losses, row: dict[Hashable, Any]) -> str:
    """The simple share; the curve instead where many were not watched to the window's end."""
    say, window = voice_of(result).say, str(row["window"])
    if row["not_watched"] <= MOST_NOT_WATCHED * row["n"]:
        lost = printing.share_of(row["events"], row["n"], row["low"], row["high"])
        return say("By {window} of age {lost} had been lost.", window=window, lost=lost)
    return say(
        "By {window} of age {share} had been lost by the curve ({interval}); {left} were not watched so "
        "long.",
        window=window,
        share=printing.percent(row["curve"]),
        interval=printing.percent_range(row["curve_low"], row["curve_high"]),
        left=printing.count(row["not_watched"]),
    )


def _left_said(result: Losses) -> Iterator[Sentence]:
    """Those that left alive before the end, and what the curve, which counts them until then, makes of it."""
    voice = voice_of(result)
    end = result.whole
    if not end["not_watched"]:
        return
    left, born = printing.count(end["not_watched"]), printing.count(end["n"])
    if end["n"] < printing.SMALL_GROUP:
        text = (
            "{left} of {born} {newborns} left alive, or went out of sight, before {end}; counted as not lost."
        )
        yield Sentence(voice.say(text, left=left, born=born, end=_end(result)))
        return
    text = (
        "{left} of {born} {newborns} left alive or went out of sight before {end}; counted as not lost. The "
        "curve, which counts them until they left, puts the loss by {end} at {share} ({interval})."
    )
    interval = printing.percent_range(end["curve_low"], end["curve_high"])
    share = printing.percent(end["curve"])
    yield Sentence(voice.say(text, left=left, born=born, end=_end(result), share=share, interval=interval))


def _windows_drawn(result: Losses) -> Figure:
    say = voice_of(result).say
    born = result.of_all_born
    labels = [window_label(window, result.end_h) for window in born["window"]]
    told = "; ".join(
        f"{label}: {printing.share_of(row['events'], row['n'], row['low'], row['high'])}"
        for label, row in zip(labels, born.to_dict("records"), strict=True)
    )
    return draw_rates(
        born.assign(window=labels),
        "window",
        printer=voice_of(result),
        name="losses-windows",
        title=say("Lost by the end of each window"),
        alt=say("Share of {newborns} born that were lost, with intervals. {told}.", told=told),
        axis=say("lost, % of {newborns} born"),
    )


def _windows_table(result: Losses) -> Table:
    voice = voice_of(result)
    say, frame = voice.say, result.by_window
    names = {"born": say("born"), "born alive": say("born alive")}
    frame = frame.assign(
        of=[names[str(name)] for name in frame["out_of"]],
        by=[window_label(window, result.end_h) for window in frame["window"]],
        curve_range=[
            printing.percent_range(low, high)
            for low, high in zip(frame["curve_low"], frame["curve_high"], strict=True)
        ],
    )
    interval = interval_heading(voice, result.settings.level)
    headings = {
        "of": say("Of {newborns}"),
        "by": say("Lost by"),
        "events": say("Lost"),
        "n": say("Counted"),
        "share": say("Share"),
        "interval": interval,
        "not_watched": say("Left alive before"),
        "curve": say("Share by the curve"),
        "curve_range": say("{interval} of the curve", interval=interval),
    }
    formats = {**RATES, "not_watched": "count", "curve": "share"}
    note = say(
        "Those that left alive before a window closed are not counted in it; in the last window they are "
        "counted as not lost. The curve counts them until they left."
    )
    return Table("losses-windows", say("Losses by window"), frame, headings, formats, note)


def _count_headline(key: str, label: str, events: float, n: float) -> Headline:
    share = events / n if n else math.nan
    printed = printing.count(events)
    return Headline(key, label, printed, events, n, share, math.nan, math.nan)


def _windows_headlines(result: Losses) -> tuple[Headline, ...]:
    say = voice_of(result).say
    return tuple(
        Headline(
            "lost" if row["window"] == END else f"lost_by_{str(row['window']).replace(' ', '_')}",
            say("Lost by {window}", window=window_label(row["window"], result.end_h)),
            printing.share_of(row["events"], row["n"], row["low"], row["high"]),
            float(row["events"]),
            float(row["n"]),
            float(row["share"]),
            float(row["low"]),
            float(row["high"]),
        )
        for row in result.of_all_born.to_dict("records")
    )


def _end(result: Losses) -> str:
    return window_label(END, result.end_h)


STEPS = {
    "put to the male": "put to the male",
    "gave birth": "gave birth",
    "with a newborn alive or sold alive": "with a {newborn} not lost",
    "scanned": "scanned",
    "born": "born",
    "born alive": "born alive",
}

WENT = {
    "scanned": "not scanned: {lost}",
    "gave birth": "no birth recorded: {lost}",
    "with a newborn alive or sold alive": "lost every {newborn}: {lost}",
    "born": "scanned but not born: {lost}",
    "born alive": "born dead: {lost}",
}


def _flow_words(result: Losses) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The flow of dams and of newborns with label and went."""
    dams, newborns = result.flow.dams, result.flow.newborns
    return _worded(result, dams), _worded(result, newborns)


def _worded(result: Losses, steps: pd.DataFrame) -> pd.DataFrame:
    labels = [_step(result, str(stage)) for stage in steps["stage"]]
    went = [_went(voice_of(result), row) for row in steps.to_dict("records")]
    return steps.assign(label=labels, went=went)


def _step(result: Losses, stage: str) -> str:
    voice = voice_of(result)
    if stage in STEPS:
        return voice.say(STEPS[stage])
    window = window_label(stage, result.end_h)
    if stage == END:
        return voice.say("alive at {window} or when last seen", window=window)
    return voice.say("alive at {window}", window=window)


def _went(voice: Voice, row: dict[Hashable, Any]) -> str:
    """What went at a step; nothing where nothing did."""
    stage = str(row["stage"])
    lost, left, unknown = row["lost"], row["left"], row["age_unknown"]
    parts = []
    if lost < 0:
        parts.append(voice.say("{more} more than before", more=printing.count(-lost)))
    if lost > 0:
        parts.append(voice.say(WENT.get(stage, "lost: {lost}"), lost=printing.count(lost)))
    if left:
        parts.append(voice.say("left alive or out of sight: {left}", left=printing.count(left)))
    if unknown:
        parts.append(voice.say("lost at an unknown age: {lost}", lost=printing.count(unknown)))
    return "; ".join(parts)


def _flow_drawn(result: Losses) -> Figure:
    say = voice_of(result).say
    dams, newborns = _flow_words(result)
    told = "; ".join(f"{row['label']} {printing.count(row['n'])}" for row in newborns.to_dict("records"))
    alt = say(
        "A staircase of counts. {newborns}: {told}. What went at each step stands beside it.", told=told
    )
    title = say("From {dams} expected to {newborns} alive at {end}", end=_end(result))
    return draw_flow(
        dams,
        newborns,
        headings=_flow_headings(result),
        printer=voice_of(result),
        name="losses-flow",
        title=title,
        alt=alt,
    )


def _flow_headings(result: Losses) -> tuple[str, str]:
    """What stands over the two flows."""
    say = voice_of(result).say
    return say("{dams}").capitalize(), say("{newborns}").capitalize()


def _flow_table(result: Losses, name: str, title: str, frame: pd.DataFrame) -> Table:
    say = voice_of(result).say
    headings = {
        "label": say("Step"),
        "n": say("Count"),
        "lost": say("Lost since the step before"),
        "left": say("Left alive"),
        "age_unknown": say("Lost at an unknown age"),
    }
    formats = dict.fromkeys(("n", "lost", "left", "age_unknown"), "count")
    if name == "dams":
        headings = {"label": say("Step"), "n": say("Count"), "lost": say("Fewer than the step before")}
        formats = {"n": "count", "lost": "count"}
    return Table(f"losses-flow-{name}", title, frame, headings, formats)


def _litters_said(result: Losses) -> Iterator[Sentence]:
    """Litters that lost every newborn, of all litters; said only where there were any."""
    litters = result.by_litter
    lost_all = int(litters["all"].sum())
    if not lost_all:
        return
    text = "{all} of {litters} litters lost every {newborn}, and {some} lost some but not all."
    yield Sentence(
        voice_of(result).say(
            text,
            all=printing.count(lost_all),
            litters=printing.count(litters["litters"].sum()),
            some=printing.count(litters["some"].sum()),
        )
    )


def _litters_table(result: Losses) -> Table:
    say = voice_of(result).say
    total = {
        "born": "",
        **{name: result.by_litter[name].sum() for name in ("litters", "none", "some", "all")},
    }
    frame = result.by_litter.assign(born=result.by_litter["born"].map(printing.count))
    frame = pd.concat([frame, pd.DataFrame([total | {"born": say("all litters")}])], ignore_index=True)
    headings = {
        "born": say("{Newborns} written down in the litter"),
        "litters": say("Litters"),
        "none": say("Lost none"),
        "some": say("Lost some"),
        "all": say("Lost all"),
    }
    formats = dict.fromkeys(("litters", "none", "some", "all"), "count")
    return Table("losses-litters", say("Litters by what they lost"), frame, headings, formats)


def _ages_table(result: Losses) -> Iterator[Table]:
    """The life table, of those born alive with a known age."""
    if result.by_age.empty:
        return
    voice = voice_of(result)
    say = voice.say
    spans = zip(result.by_age["start_h"], result.by_age["end_h"], strict=True)
    rates = zip(result.by_age["rate_low"], result.by_age["rate_high"], strict=True)
    frame = result.by_age.assign(
        age=[printing.age_span(start, end) for start, end in spans],
        rate_range=[_from_to(low, high) for low, high in rates],
    )
    interval = interval_heading(voice, result.settings.level)
    headings = {
        "age": say("Age"),
        "at_risk": say("Alive and watched at the start"),
        "events": say("Lost"),
        "share": say("Share of them lost"),
        "interval": interval,
        "newborn_days": say("{Newborn}-days watched"),
        "per_1000_days": say("Lost per 1000 {newborn}-days"),
        "rate_range": say("{interval} of the rate", interval=interval),
    }
    formats = {"at_risk": "count", "events": "count", "share": "share"}
    formats |= {"newborn_days": "number", "per_1000_days": "number"}
    note = say("Of {newborns} born alive. A span takes in its start and not its end; the last takes in both.")
    yield Table("losses-ages", say("Life table"), frame, headings, formats, note)


def _from_to(low: float, high: float) -> str:
    return printing.NOT_KNOWN if low != low else printing.span(printing.number(low), printing.number(high))


def method(result: Losses) -> Method:
    """Method, settings, limits and sources."""
    say, settings = voice_of(result).say, result.settings
    windows = ", ".join(window_label(w, result.end_h) for w in (*settings.windows_h, "end"))
    return Method(
        method=(
            say(
                "Every {newborn} born is counted once; those born dead are losses at age 0. Shares have "
                "Wilson score intervals on the number of {newborns} divided by the design effect, since "
                "littermates are not independent."
            ),
            say(
                "The curve is Kaplan-Meier over all {newborns} born; its interval is clustered too. The "
                "life table holds those born alive; shares and intervals in it are Kaplan-Meier within each "
                "span."
            ),
            say(
                "Weeks are compared by a chi-square test adjusted for litters, births by night (20 to 08 h) "
                "with births by day by a clustered risk ratio."
            ),
            say(
                RULE,
                minimum_group=printing.count(settings.minimum_group),
                minimum_events=printing.count(MINIMUM_EVENTS),
            ),
        ),
        settings=(
            say("Windows: {windows}.", windows=windows),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say("{dams} that lost everything unseen leave no record, so losses are, if anything, too low."),
            say(
                "The hour of birth is often the hour at which the {newborn} was found, and night births are "
                "found late."
            ),
        ),
        sources=(
            say(
                "Wilson EB (1927) J Am Stat Assoc 22:209-212. Rao JNK, Scott AJ (1992) Biometrics 48:577-585."
            ),
            say("Kaplan EL, Meier P (1958) J Am Stat Assoc 53:457-481."),
        ),
    )

"""How many newborns were lost, and when?

The whole and the windows first, then the flow, the litters and the life table; whether the week or the hour of
birth mattered is told in `losses_calendar`.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.losses import Losses, claims
from neonatal_stats.chapters.counted.losses import answer as counted
from neonatal_stats.chapters.losses_beside import beside, said_beside, tables_beside
from neonatal_stats.chapters.losses_calendar import calendar_said, calendar_tables, hours_drawn, weeks_drawn
from neonatal_stats.chapters.losses_flow import dams_table, flow_drawn, newborns_table
from neonatal_stats.chapters.losses_glance import main_headline, main_row, when_lost
from neonatal_stats.chapters.losses_joined import joined_said, joined_table
from neonatal_stats.chapters.protocol import Headline, Verdicts, decided_within, heed, interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.windows import END
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.words import Method, Sentence, cautions, joined, voice_of
from neonatal_stats.words.evidence import RULE
from neonatal_stats.words.losses_spoken import (
    SHARES,
    by_curve,
    by_what_speaks,
    curve_speaks,
    lost_of,
    spoken,
    window_said,
    windows_table,
)
from neonatal_stats.words.names import window_label

NAME = "losses"
TITLE = "Losses"
QUESTION = "How many {newborns} were lost, and when?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Losses",
    "answer",
    "beside",
    "claims",
    "figures",
    "glance",
    "headlines",
    "method",
    "missing",
    "sentences",
    "tables",
]

Row = dict[Hashable, Any]


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as there is one birth: its outcome is what makes a season."""
    if len(season.births):
        return ()
    return (voice_of(season).say("Not answered: there are no births to count losses among."),)


def answer(season: Season) -> Losses:
    """Count losses by window, age, litter, week and hour, to the last age watched; the stillborn are lost at age 0."""
    heed(missing(season))
    return counted(season)


def sentences(result: Losses, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """How many, by when, how many litters, and whether the calendar matters."""
    verdicts = settled(claims(result), result.settings, verdicts)
    return (
        _whole_said(result),
        *_windows_said(result),
        *_next_day_said(result),
        *_left_said(result),
        *_later_said(result),
        *said_beside(result),
        *joined_said(result),
        *_litters_said(result),
        *calendar_said(result, verdicts),
        *([cautions.abortion(voice_of(result))] if result.whole["events"] else []),
    )


def figures(result: Losses) -> tuple[Figure, ...]:
    """Flow first; weeks and hours only where births were dated and timed."""
    return (flow_drawn(result), _windows_drawn(result), *weeks_drawn(result), *hours_drawn(result))


def tables(result: Losses, verdicts: Verdicts | None = None) -> tuple[Table, ...]:
    """Windows and flow first, then litters, ages and the calendar."""
    verdicts = settled(claims(result), result.settings, verdicts)
    return (
        _windows_table(result),
        *tables_beside(result),
        newborns_table(result),
        *dams_table(result),
        *joined_table(result),
        *_litters_table(result),
        *_ages_table(result),
        *calendar_tables(result, verdicts),
    )


def headlines(result: Losses) -> tuple[Headline, ...]:
    """Born, born alive where that was written, and lost by the end of each window."""
    voice, newborns = voice_of(result), result.flow.newborns.set_index("stage")["n"]
    born, alive = float(newborns["born"]), float(newborns["born alive"])
    share = alive / born if born else math.nan
    nan = math.nan
    born_alive = Headline(
        "born_alive", voice.say("Born alive"), voice.count(alive), alive, born, share, nan, nan
    )
    return (
        Headline("born", voice.say("Born"), voice.count(born), born, nan, nan, nan, nan),
        *([born_alive] if result.born_dead_known else []),
        *(_window_headline(result, row) for row in result.of_all_born.to_dict("records")),
    )


def glance(result: Losses) -> tuple[Headline, ...]:
    """The loss that page one leads with, and when they were lost."""
    return (main_headline(result, _window_headline(result, main_row(result))), *when_lost(result))


def _window_headline(result: Losses, row: Row) -> Headline:
    """Lost of all born by the end of a window; without an age where none of a loss was written."""
    voice = voice_of(result)
    window, printed = str(row["window"]), spoken(voice, row)
    numbers = {name: float(row[name]) for name in ("events", "n", *SHARES)}
    if curve_speaks(row):
        numbers |= {name: float(row[f"curve{end}"]) for name, end in SHARES.items()}
    return Headline(
        "lost" if window == END else f"lost_by_{window.replace(' ', '_')}",
        voice.say("Lost by {window}", window=window_label(voice, window, result.end_h))
        if result.ever_dated
        else voice.say("Lost"),
        printed,
        **numbers,
    )


def _whole_said(result: Losses) -> Sentence:
    """Lost of all born by the end, and of these how many were born dead; the share is the curve's where some left."""
    voice, end = voice_of(result), result.whole
    lost = voice.part_of(end["events"], end["n"]) if end["not_watched"] else lost_of(voice, end)
    values = {"end": voice.age(result.end_h), "lost": lost}
    if not end["events"] and not result.end_h:
        text = "None of the {born} {newborns} born was born dead; what became of them later is not written."
        return Sentence(voice.say(text, born=voice.count(end["n"])))
    if not end["events"]:
        text = "No loss by {end} among the {born} {newborns} born."
        return Sentence(voice.say(text, born=voice.count(end["n"]), end=values["end"]))
    if not (result.born_dead_known or result.ever_dated):
        return Sentence(voice.say("Of all {newborns} born, {lost} were lost.", lost=values["lost"]))
    if not result.born_dead_known:
        return Sentence(voice.say("Of all {newborns} born, {lost} were lost by {end}.", **values))
    if not result.end_h:
        text = "Of all {newborns} born, {lost} were born dead; what became of the others is not written."
        return Sentence(voice.say(text, lost=values["lost"]))
    newborns = result.flow.newborns
    still = float(newborns.loc[newborns["stage"] == "born alive", "lost"].sum())
    text = "Of all {newborns} born, {lost} were lost by {end}: {still} born dead and {after} after birth."
    after = voice.count(end["events"] - still)
    return Sentence(voice.say(text, still=voice.count(still), after=after, **values))


def _windows_said(result: Losses) -> Iterator[Sentence]:
    """Lost of all born by each window before the end; what to write down where no age is known."""
    voice, born = voice_of(result), result.of_all_born.to_dict("records")
    if born[-1]["events"]:
        yield from (Sentence(window_said(voice, row)) for row in born[:-1])
    if len(born) == 1 and result.settings.windows_h and result.undated:
        text = "When they were lost cannot be said: {undated} of {lost} losses have no known age."
        values = {"undated": voice.count(result.undated), "lost": voice.count(born[-1]["events"])}
        yield Sentence(voice.say(text, **values), role="cannot say")
        text = "Write down when each dead {newborn} was found, and its birth."
        yield Sentence(voice.say(text), role="record next", columns=("died_at", "born_at"))


def _next_day_said(result: Losses) -> Iterator[Sentence]:
    if said := _next_day(result):
        yield Sentence(said, goes_on=True)


def _next_day(result: Losses) -> str:
    """That a death known to the day alone may have come within 24 hours and is not counted in them; "" where none."""
    if not result.next_day or 24.0 not in result.settings.windows_h.values():
        return ""
    text = "{n} more died on the day after birth at an hour that is not known: some perhaps within {age}."
    voice = voice_of(result)
    return voice.say(text, n=voice.count(result.next_day), age=voice.age(24))


def _left_said(result: Losses) -> Iterator[Sentence]:
    """Those that left alive before the end, and what the curve, which counts them until then, makes of it."""
    voice, end = voice_of(result), result.whole
    if not end["not_watched"]:
        return
    values = {
        "left": voice.count(end["not_watched"]),
        "born": voice.count(end["n"]),
        "end": voice.age(result.end_h),
    }
    if end["n"] < SMALL_GROUP:
        text = (
            "{left} of {born} {newborns} left alive, or went out of sight, before {end}; counted as not lost."
        )
        yield Sentence(voice.say(text, **values))
        return
    text = (
        "{left} of {born} {newborns} left alive or went out of sight before {end}; counted as not lost. The "
        "curve, which counts them until they left, puts the loss by {end} at {share} ({interval})."
    )
    yield Sentence(voice.say(text, **values, **by_curve(voice, end)))
    if result.undated:
        text = "The curve leaves out losses at an unknown age ({undated}), and is too low by that."
        yield Sentence(voice.say(text, undated=voice.count(result.undated)))
    if result.left_unknown_when:
        text = "The curve leaves out those that left alive without a date, and is too high by that."
        yield Sentence(voice.say(text))


def _later_said(result: Losses) -> Iterator[Sentence]:
    """Those lost after the end that is stated; said only where there were any."""
    if result.later:
        yield Sentence(_later(result))


def _later(result: Losses) -> str:
    text = (
        "Lost after {end}, when too few {newborns} were still watched to give a share: {later}. They are not in the "
        "numbers by {end}."
    )
    voice = voice_of(result)
    return voice.say(text, end=voice.age(result.end_h), later=voice.count(result.later))


def _labels(result: Losses, windows: pd.Series) -> list[str]:
    return [window_label(voice_of(result), window, result.end_h) for window in windows]


def _windows_drawn(result: Losses) -> Figure:
    """Lost of all born by the end of each window, with intervals."""
    voice, born = voice_of(result), by_what_speaks(result.of_all_born)
    labels = _labels(result, born["window"])
    rows = zip(labels, born.to_dict("records"), strict=True)
    told = "; ".join(f"{label}: {spoken(voice, row)}" for label, row in rows)
    return draw_rates(
        born.assign(label=labels, told=[spoken(voice, row) for row in born.to_dict("records")]),
        printer=voice,
        name="losses-windows",
        title=voice.say("Lost by the end of each window"),
        alt=voice.say("Share of {newborns} born that were lost, with intervals. {told}.", told=told),
        axis=voice.say("lost, % of {newborns} born"),
    )


def _windows_table(result: Losses) -> Table:
    """Losses by window, with the deaths that stand in none."""
    voice = voice_of(result)
    return windows_table(
        voice,
        result.by_window,
        result.end_h,
        name="losses-windows",
        interval=interval_heading(voice, result.settings.level),
        note=joined(filter(None, (_next_day(result), _later(result) if result.later else ""))),
    )


def _litters_said(result: Losses) -> Iterator[Sentence]:
    """Litters that lost every newborn, of all litters; said only where there were any."""
    voice = voice_of(result)
    sums = {name: int(result.by_litter[name].sum()) for name in ("all", "litters", "some")}
    if sums["all"]:
        text = "{all} of {of} {litters} lost every {newborn}, and {some} lost some but not all."
        counts = {
            name: voice.count(sums[n]) for name, n in (("all", "all"), ("of", "litters"), ("some", "some"))
        }
        yield Sentence(voice.say(text, **counts))


def _litters_table(result: Losses) -> Iterator[Table]:
    """Litters by how many newborns they held and how many of them were lost, and all litters together."""
    if result.by_litter.empty:
        return
    voice, frame = voice_of(result), result.by_litter
    say = voice.say
    total = {**frame.drop(columns="born").sum().to_dict(), "born": say("all litters")}
    frame = pd.concat([frame.astype({"born": object}), pd.DataFrame([total])], ignore_index=True)
    declared = (
        columns.count("born", say("{Newborns} written down in the litter")),
        columns.count("litters", say("Litters")),
        columns.count("none", say("Lost none")),
        columns.count("some", say("Lost some")),
        columns.count("all", say("Lost all")),
    )
    yield Table("losses-litters", say("Litters by what they lost"), frame, declared, printer=voice)


def _ages_table(result: Losses) -> Iterator[Table]:
    """The life table, of those born alive with a known age."""
    if result.by_age.empty:
        return
    voice = voice_of(result)
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    declared = (
        columns.age_span("start_h", "end_h", say("Age")),
        columns.count("at_risk", say("Alive and watched at the start")),
        columns.count("events", say("Lost")),
        columns.share("share", say("Share of them lost")),
        columns.interval("low", "high", interval),
        columns.number("newborn_days", say("{Newborn}-days watched")),
        columns.number(
            "per_1000_days", say("Lost per {thousand} {newborn}-days", thousand=voice.count(1000))
        ),
        columns.interval("rate_low", "rate_high", say("{interval} of the rate", interval=interval), "number"),
    )
    note = say("Of {newborns} born alive. A span takes in its start and not its end; the last takes in both.")
    yield Table("losses-ages", say("Life table"), result.by_age, declared, note=note, printer=voice)


def method(result: Losses, verdicts: Verdicts | None = None) -> Method:
    """Method, settings, limits and sources."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
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
                minimum_group=voice.count(settings.minimum_group),
                minimum_events=voice.count(MINIMUM_EVENTS),
            ),
            decided_within(voice, verdicts),
        ),
        settings=(
            say("Windows: {windows}.", windows=", ".join([*settings.windows_h, voice.age(result.end_h)])),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
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

"""The losses drawn and in tables: the flow, the windows, published shares, those joined, litters, ages, the calendar.

What stands beneath a table and in the text alike is said here.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from functools import lru_cache
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.losses import BY_WEEK, Losses, claims
from neonatal_stats.chapters.protocol import Verdicts, interval_heading
from neonatal_stats.drawing import Figure, Went, draw_flow, draw_rates, draw_weeks, flow_marks_stand_for
from neonatal_stats.measures.beside_published import beside_published
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.rates import too_small
from neonatal_stats.measures.windows import END
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.vocabulary.published import BORN, BORN_DEAD, LOST
from neonatal_stats.words import Sentence, Voice, joined, voice_of
from neonatal_stats.words.beside_published import beside_tables
from neonatal_stats.words.evidence import compare_several
from neonatal_stats.words.losses_spoken import by_what_speaks, spoken, windows_table
from neonatal_stats.words.names import label, window_label

Row = dict[Hashable, Any]


def figures(result: Losses) -> tuple[Figure, ...]:
    """Flow first; weeks and hours only where births were dated and timed."""
    return (_flow_drawn(result), _windows_drawn(result), *_weeks_drawn(result), *_hours_drawn(result))


def tables(result: Losses, verdicts: Verdicts | None = None) -> tuple[Table, ...]:
    """Windows and flow first, then litters, ages and the calendar."""
    verdicts = settled(claims(result), result.settings, verdicts)
    return (
        _windows_table(result),
        *_beside_tables(result),
        _newborns_table(result),
        *_dams_table(result),
        *_joined_table(result),
        *_litters_table(result),
        *_ages_table(result),
        *_calendar_tables(result, verdicts),
    )


def _flow_drawn(result: Losses) -> Figure:
    """How many dams and newborns reached each step, and what went between them."""
    voice = voice_of(result)
    say, flow = voice.say, result.flow
    dams, newborns = _worded(result, flow.dams), _worded(result, flow.newborns)
    each = flow_marks_stand_for(went for frame in (dams, newborns) for one in frame["went"] for went in one)
    parts = [_flow_told(voice, frame) for frame in (dams, newborns) if len(frame)]
    return draw_flow(
        dams,
        newborns,
        headings=(say("{Dams}"), say("{Newborns}")),
        printer=voice,
        name="losses-flow",
        title=say("From {dams} expected to {newborns} not lost by {end}", end=voice.age(result.end_h))
        if len(dams)
        else say("From {newborns} born to {newborns} not lost by {end}", end=voice.age(result.end_h)),
        alt=say("How many reached each step, and what went before it. {told}.", told="; ".join(parts)),
        one_mark=say("one mark: {n} animals", n=voice.count(each))
        if each > 1
        else say("one mark: one animal"),
    )


def _flow_told(voice: Voice, steps: pd.DataFrame) -> str:
    """The steps in words, what went at each in brackets."""
    rows = steps.to_dict("records")
    return "; ".join(
        " ".join([f"{row['label']} {voice.count(row['n'])}", *(f"({one.words})" for one in row["went"])])
        for row in rows
    )


def _newborns_table(result: Losses) -> Table:
    """Newborns that reached each step, and those that were lost or left before it."""
    voice = voice_of(result)
    say = voice.say
    declared = (
        columns.text("label", say("Step"), raw="stage"),
        columns.count("n", say("Count")),
        columns.count("lost", say("Lost since the step before")),
        columns.count("left", say("Left alive")),
        columns.count("age_unknown", say("Lost at an unknown age")),
    )
    frame, title = _worded(result, result.flow.newborns), say("Where the {newborns} went")
    return Table("losses-flow-newborns", title, frame, declared, printer=voice)


def _dams_table(result: Losses) -> Iterator[Table]:
    """Dams that reached each step, where dams are known."""
    if result.flow.dams.empty:
        return
    voice = voice_of(result)
    say = voice.say
    declared = (
        columns.text("label", say("Step"), raw="stage"),
        columns.count("n", say("Count")),
        columns.count("lost", say("Fewer than the step before")),
    )
    frame, title = _worded(result, result.flow.dams), say("Where the {dams} went")
    yield Table("losses-flow-dams", title, frame, declared, printer=voice)


STEPS = {
    "put to the male": "{joined}",
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

NEVER_THERE = ("scanned", "gave birth", "born")
"""Steps at which fewer are no deaths: a dam not scanned, or without a birth on record, a fetus that was not born."""


def _worded(result: Losses, steps: pd.DataFrame) -> pd.DataFrame:
    """The steps of a flow with label and went, what went at each, counted and in words."""
    voice = voice_of(result)
    return steps.assign(
        label=[_step(voice, str(one), result.end_h) for one in steps["stage"]],
        went=pd.Series(
            [list(_went(voice, row)) for row in steps.to_dict("records")], steps.index, dtype=object
        ),
    )


def _step(voice: Voice, stage: str, end_h: float) -> str:
    if stage in STEPS:
        return voice.say(STEPS[stage])
    template = "alive at {window} or when last seen" if stage == END else "alive at {window}"
    return voice.say(template, window=window_label(voice, stage, end_h))


def _went(voice: Voice, row: Row) -> Iterator[Went]:
    """What went at a step, each in its own way; nothing where nothing did."""
    lost, left, unknown = (int(row[name]) for name in ("lost", "left", "age_unknown"))
    way = "never there" if row["stage"] in NEVER_THERE else "lost"
    if lost < 0:
        yield Went(voice.say("{more} more than before", more=voice.count(-lost)), lost, way)
    if lost > 0:
        template = WENT.get(str(row["stage"]), "lost: {lost}")
        yield Went(voice.say(template, lost=voice.count(lost)), lost, way)
    if left:
        text = "sold, moved or lent: {left}" if row["stage"] == END else "left alive or out of sight: {left}"
        yield Went(voice.say(text, left=voice.count(left)), left, "left")
    if unknown:
        text = "lost at an unknown age: {lost}"
        yield Went(voice.say(text, lost=voice.count(unknown)), unknown, "age unknown")


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


def _labels(result: Losses, windows: pd.Series) -> list[str]:
    return [window_label(voice_of(result), window, result.end_h) for window in windows]


def _windows_table(result: Losses) -> Table:
    """Losses by window, with the deaths that stand in none."""
    voice = voice_of(result)
    return windows_table(
        voice,
        result.by_window,
        result.end_h,
        name="losses-windows",
        interval=interval_heading(voice, result.settings.level),
        note=joined(filter(None, (next_day(result), later(result) if result.later else ""))),
    )


def next_day(result: Losses) -> str:
    """That a death known to the day alone may have come within 24 hours and is not counted in them; "" where none."""
    if not result.next_day or 24.0 not in result.settings.windows_h.values():
        return ""
    text = "{n} more died on the day after birth at an hour that is not known: some perhaps within {age}."
    voice = voice_of(result)
    return voice.say(text, n=voice.count(result.next_day), age=voice.age(24))


def later(result: Losses) -> str:
    text = (
        "Lost after {end}, when too few {newborns} were still watched to give a share: {later}. They are not in the "
        "numbers by {end}."
    )
    voice = voice_of(result)
    return voice.say(text, end=voice.age(result.end_h), later=voice.count(result.later))


@lru_cache(maxsize=1)  # asked for by the text, the tables and the top of the page
def beside(result: Losses) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Born dead, and lost by each window of all born and of those born alive; two frames as `beside_published`."""
    return beside_published(_shares(result), result.species, result.settings)


def _shares(result: Losses) -> Iterator[Row]:
    """The season's own; of those born alive, and born dead, where birth alive or dead was written."""
    if result.born_dead_known:
        (dead,) = result.born_dead.to_dict("records")
        yield _share(BORN_DEAD, BORN_DEAD, BORN, "", 0.0, dead)
    for row in by_what_speaks(result.by_window).to_dict("records"):
        window, of = str(row["window"]), str(row["out_of"])
        if of == BORN or result.born_dead_known:
            key = LOST if window == END else f"lost_by_{window.replace(' ', '_')}"
            end_h = result.end_h if window == END else result.settings.windows_h[window]
            yield _share(key if of == BORN else f"{key}_of_born_alive", LOST, of, window, end_h, row)


def _share(key: str, outcome: str, of: str, window: str, window_h: float, row: Row) -> Row:
    named = {"key": key.replace(" ", "_"), "outcome": outcome, "of": of, "window": window}
    numbers = {name: row[name] for name in ("events", "n", "share", "low", "high")}
    return dict((*named.items(), ("window_h", window_h), *numbers.items()))


def _beside_tables(result: Losses) -> Iterator[Table]:
    """Every share with its band, and the figures read."""
    voice = voice_of(result)
    heading = interval_heading(voice, result.settings.level)
    yield from beside_tables(voice, "losses", *beside(result), heading)


PER = 100


def _joined_table(result: Losses) -> Iterator[Table]:
    """The same in numbers."""
    found, voice = result.joined, voice_of(result)
    if found is None:
        return
    say = voice.say
    frame = pd.DataFrame([vars(found)])
    for name in ("each", "low", "high"):
        frame[name] *= PER
    declared = (
        columns.count("reared", say("{Newborns} reared")),
        columns.count("dams", say("{Dams} {joined}")),
        columns.number("each", say("Reared per {per}", per=voice.count(PER)), digits=0),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "whole number"),
    )
    note = say(
        "Reared: not lost by {end}, those that left or were last seen alive before among them; {dams} without a birth "
        "count in. The {crop} of the trade is counted later, at {marking} or {weaning}, and is no higher.",
        end=voice.age(result.end_h),
    )
    title = say("Reared per {per} {dams} {joined}", per=voice.count(PER))
    yield Table("losses-joined", title, frame, declared, note=note, printer=voice)


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


def _weeks_drawn(result: Losses) -> Iterator[Figure]:
    """Births and losses by week of birth, where births fell in several weeks."""
    if len(result.by_week) < 2:
        return
    voice, weeks = voice_of(result), _labelled(result, result.by_week)
    say = voice.say
    alt = "Lost of born, week by week: {told}. The share lost, with intervals, is drawn below."
    yield draw_weeks(
        weeks.assign(quiet=too_small(weeks, result.settings.minimum_group)),
        printer=voice,
        name="losses-weeks",
        title=say("Births and losses by week of birth"),
        alt=say(alt, told=_told(voice, weeks, "label")),
        axes_words=(
            say("{newborns} born"),
            say("of these lost"),
            say("lost, % of {newborns} born"),
            say("week of birth, from Monday"),
        ),
        few=say("too few"),
        average=_season(result),
    )


def _hours_drawn(result: Losses) -> Iterator[Figure]:
    """Losses by four hours of the day, of those whose time of birth was written."""
    if len(result.by_hour) < 2:
        return
    voice, hours = voice_of(result), result.by_hour
    told = _told(voice, hours, "band")
    yield draw_rates(
        hours.assign(label=hours["band"], quiet=too_small(hours, result.settings.minimum_group)),
        printer=voice,
        name="losses-hours",
        title=voice.say("Losses by hour of birth"),
        alt=voice.say(
            "Lost of born, by hour of birth: {told}; the dotted line is the whole season.", told=told
        ),
        axis=voice.say("lost, % of {newborns} born in those hours"),
        few=voice.say("too few"),
        average=_season(result),
    )


def _season(result: Losses) -> tuple[float, str]:
    """The loss of the whole season, and its name beside a line."""
    voice, share = voice_of(result), float(result.whole["share"])
    return share, voice.say("all: {share}", share=voice.percent(share))


def _told(voice: Voice, rates: pd.DataFrame, name: str) -> str:
    """Lost of born, one after the other: "16 Mar 3/7; 23 Mar 1/12"."""
    rows = rates.to_dict("records")
    return "; ".join(f"{row[name]} {voice.count(row['events'])}/{voice.count(row['n'])}" for row in rows)


def _calendar_tables(result: Losses, verdicts: Verdicts) -> Iterator[Table]:
    """Weeks, hours and night against day, each where births were dated or timed."""
    voice = voice_of(result)
    say = voice.say
    if len(result.by_week):
        note = joined([sentence.text for sentence in weeks_said(result, verdicts)])
        declared = (columns.text("label", say("Week from Monday"), raw="week"), *_rates(result))
        frame, title = _labelled(result, result.by_week), say("Losses by week of birth")
        yield Table("losses-weeks", title, frame, declared, note=note, printer=voice)
    if len(result.by_hour):
        declared = (columns.text("band", say("Hour of birth")), *_rates(result))
        yield Table("losses-hours", say("Losses by hour of birth"), result.by_hour, declared, printer=voice)
    if len(result.night):
        yield _night_table(result)


def weeks_said(result: Losses, verdicts: Verdicts) -> Iterator[Sentence]:
    """Whether the weeks differ, as the ledger has it; nothing where fewer than two are large enough to be compared."""
    if result.weeks_verdict is not None:
        voice = voice_of(result)
        said = compare_several(voice, result.weeks_differ.p, verdicts.get(BY_WEEK, result.weeks_verdict))
        yield Sentence(voice.say("Weeks of birth: {said}", said=said.text), said.verdict, claim=BY_WEEK)


def _labelled(result: Losses, weeks: pd.DataFrame) -> pd.DataFrame:
    """The weeks with `label`, the Monday of each."""
    return weeks.assign(label=[voice_of(result).day(monday) for monday in weeks["week"]])


def _rates(result: Losses) -> tuple[Column, ...]:
    voice = voice_of(result)
    return (
        columns.count("events", voice.say("Lost")),
        columns.count("n", voice.say("Born")),
        columns.share("share", voice.say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
    )


def _night_table(result: Losses) -> Table:
    """Lost of those born by night, and of those born by day; their risk ratio."""
    voice, frame = voice_of(result), result.night
    say = voice.say
    frame = frame.assign(
        name=[label(voice, one) for one in frame["night"]],
        share=frame["events"] / frame["n"],
        share_versus=frame["events_versus"] / frame["n_versus"],
    )
    declared = (
        columns.text("name", say("Born"), raw="night"),
        columns.count("events", say("Lost")),
        columns.count("n", say("Born then")),
        columns.count("events_versus", say("Lost of those born by day")),
        columns.count("n_versus", say("Born by day")),
        columns.share("share", say("Share")),
        columns.share("share_versus", say("Share by day")),
        columns.ratio("estimate", say("Risk ratio")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "ratio"),
        columns.key("p", say("p")),
    )
    return Table("losses-night", say("Born by night against by day"), frame, declared, printer=voice)

"""When did the newborns first feed?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.curves import draw_time_to
from neonatal_stats.measures.compared import compared
from neonatal_stats.measures.milestones import (
    FEEDING,
    STATES,
    Milestone,
    counts_by_state,
    met,
    state_when_due,
)
from neonatal_stats.measures.time_to import followed, read_at, time_to
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printing
from neonatal_stats.vocabulary.passive_transfer import ABSORBED_BY_AGE_H
from neonatal_stats.words import Sentence, Voice
from neonatal_stats.words import colostrum as words
from neonatal_stats.words.group_rows import FORMATS, group_headings, group_rows

FACTORS: dict[str, str | None] = {
    "birth_type": "single",
    "difficulty": "easy",
    "parity_class": "second or third",
    "weight_class": "middle",
    "suck_class": "strong",
    "season": None,
}


@dataclass(frozen=True, eq=False)
class Timing:
    """Age at first feed.

    ``curve`` a ``curve`` frame to the last mark; ``marks`` the curve read at each mark with the four states'
    counts; ``groups`` first feed later than ``late_h``, by group (`measures.compared`); ``observed``
    newborns followed.
    """

    curve: pd.DataFrame
    marks: pd.DataFrame
    groups: pd.DataFrame
    late_h: float
    observed: int
    unseen: int


def timing(alive: pd.DataFrame, settings: Settings) -> Timing:
    """Count the first feeds of those born alive."""
    marks = settings.marks.colostrum_h
    horizon = marks[-1]
    curve = time_to(alive, *FEEDING, horizon_h=horizon, level=settings.level)
    observed = len(followed(alive, *FEEDING, horizon))
    states = {mark: state_when_due(alive, Milestone("fed", *FEEDING, mark)) for mark in marks}
    at = read_at(curve, (), marks) if len(curve) else curve
    counts = pd.DataFrame([counts_by_state(state) for state in states.values()], columns=list(STATES))
    late = marks[1] if len(marks) > 1 else marks[0]
    frame = alive.assign(late=~met(states[late]))
    groups = compared(frame, FACTORS, "late", level=settings.level, minimum=settings.minimum_group)
    together = pd.concat([at.reset_index(drop=True), counts], axis=1)
    return Timing(curve, together, groups, late, observed, len(alive) - observed)


def sentences(result: Timing, voice: Voice) -> Iterator[Sentence]:
    """How many were observed, and the share fed by each mark."""
    observed, unseen = printing.count(result.observed), printing.count(result.unseen)
    yield Sentence(words.observed_sentence(voice, observed, unseen))
    known = result.marks[result.marks["share"].notna()]
    for row in known.to_dict("records"):
        mark, died = printing.age(row["age_h"]), printing.percent(row["died_first"])
        share = f"{printing.percent(row['share'])} ({printing.percent_range(row['low'], row['high'])})"
        first = row["age_h"] == known["age_h"].iloc[0]
        yield Sentence(words.timing_sentence(voice, mark, share, died), lead=first)


def tables(result: Timing, voice: Voice, settings: Settings) -> list[Table]:
    """Fed by each mark; late first feeds by group."""
    built = [_marks(result, voice, settings)]
    if len(result.groups):
        built.append(_groups(result, voice, settings))
    return built


def _marks(result: Timing, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    headings = {
        "age_h": say("By age"),
        "share": say("Fed"),
        "interval": interval_heading(voice, settings.level),
        "died_first": say("Died before a first feed"),
        "met": say("Seen fed by then"),
        "not met": say("Seen not fed by then"),
        "died before it was due": say("Died before then, nothing written"),
        "not observed": say("Not observed"),
    }
    formats = {"age_h": "age", "share": "share", "died_first": "share", **dict.fromkeys(STATES, "count")}
    note = say(
        "Shares of {newborns} born alive, death before a first feed counted: {observed} followed, {unseen} "
        "without a first feed written down.",
        observed=printing.count(result.observed),
        unseen=printing.count(result.unseen),
    )
    return Table("colostrum-timing", say("First feed by age"), result.marks, headings, formats, note)


def _groups(result: Timing, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    frame = group_rows(voice, result.groups)
    headings = group_headings(voice, interval_heading(voice, settings.level), say("Later"), say("Known"))
    title = say("First feed later than {mark}, by group", mark=printing.age(result.late_h))
    note = say("q allows for the number of comparisons in this table. Association only.")
    return Table("colostrum-late-groups", title, frame, headings, FORMATS, note)


def figures(result: Timing, voice: Voice, settings: Settings) -> list[Figure]:
    """Cumulative incidence of the first feed against the trade's marks."""
    if result.curve.empty:
        return []
    say, marks = voice.say, settings.marks.colostrum_h
    absorbed = (say("absorbed of the IgG fed at that age (Matte 1982)"), ABSORBED_BY_AGE_H)
    said = "; ".join(
        say("by {mark} {share}", mark=printing.age(row["age_h"]), share=printing.percent(row["share"]))
        for row in result.marks.to_dict("records")
    )
    return [
        draw_time_to(
            {say("fed"): result.curve},
            horizon_h=marks[-1],
            marks_h=marks,
            name="colostrum-timing",
            title=say("Age at first feed"),
            alt=say(
                "Share of {newborns} born alive that had fed by each age, death first counted: {list}.",
                list=said,
            ),
            axis=say("fed, % of {newborns} born alive"),
            age_axis=say("age, hours since birth"),
            waiting=say("waiting"),
            reference=absorbed if voice.species == "cattle" else None,
        )
    ]

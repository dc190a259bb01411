"""Where the newborns and their dams went, step by step: the flow as a picture and as two tables."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.losses import Losses
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.tallies import Went, draw_flow, flow_marks_stand_for
from neonatal_stats.measures.windows import END
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Voice, voice_of
from neonatal_stats.words.names import window_label

Row = dict[Hashable, Any]

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


NEVER_THERE = ("scanned", "gave birth", "born")
"""Steps at which fewer are no deaths: a dam not scanned, or without a birth on record, a fetus that was not born."""


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


def flow_drawn(result: Losses) -> Figure:
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


def newborns_table(result: Losses) -> Table:
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


def dams_table(result: Losses) -> Iterator[Table]:
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

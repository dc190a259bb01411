"""The figures of the first hours: milestones as bars, time to each as curves."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from neonatal_stats.chapters.first_hours.result import HORIZON_H, FirstHours
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_milestones
from neonatal_stats.drawing.curves import draw_time_to
from neonatal_stats.measures.milestones import STATES
from neonatal_stats.measures.time_to import read_at
from neonatal_stats.tables import printing
from neonatal_stats.words import first_hours as words
from neonatal_stats.words.labels import label


def figures(result: FirstHours) -> tuple[Figure, ...]:
    """Milestones; standing, feeding and meconium by age; the first feed by birth type."""
    drawn = [_milestones(result)] if len(result.states) else []
    if any(len(curve) for curve in result.curves.values()):
        drawn.append(_times(result))
    if len(result.by_birth_type) and len(result.by_birth_type["birth_type"].unique()) > 1:
        drawn.append(_by_birth_type(result))
    return tuple(drawn)


def _milestones(result: FirstHours) -> Figure:
    say, marks = result.voice.say, result.settings.marks
    labels = [words.check_label(result.voice, key, marks) for key in result.states["key"]]
    parts = [(state, words.state_label(result.voice, state)) for state in STATES]
    said = [
        say(
            "{check}: {met} of {n} observed",
            check=label,
            met=printing.count(row["events"]),
            n=printing.count(row["n"]),
        )
        for label, row in zip(labels, result.states.to_dict("records"), strict=True)
    ]
    return draw_milestones(
        result.states.assign(label=labels),
        parts,
        name="first_hours-milestones",
        title=say("Who met the marks of the first hours"),
        alt=say(
            "Bars of {newborns} that met each mark, did not, died first or were not observed. {list}.",
            list="; ".join(said),
        ),
        axis=say("{newborns} born alive"),
    )


def _times(result: FirstHours) -> Figure:
    say, marks = result.voice.say, result.settings.marks
    names = {"standing": say("standing"), "feeding": say("fed"), "meconium": say("meconium passed")}
    curves = {names[key]: curve for key, curve in result.curves.items() if len(curve)}
    return draw_time_to(
        curves,
        horizon_h=HORIZON_H,
        marks_h=sorted({marks.standing_h, marks.fed_h, marks.meconium_h}),
        name="first_hours-times",
        title=say("When {newborns} stood, fed and passed meconium"),
        alt=say("Curves of the share by age, death first counted. {list}.", list=_read_out(result, curves)),
        axis=say("% of {newborns} born alive"),
        age_axis=say("age, hours since birth"),
        waiting=say("waiting"),
    )


def _by_birth_type(result: FirstHours) -> Figure:
    say = result.voice.say
    groups = result.by_birth_type.groupby("birth_type", observed=True)
    curves = {label(result.voice, name): frame.reset_index(drop=True) for name, frame in groups}
    alt = say(
        "Curves of the share fed by age in each birth type, death first counted. {list}.",
        list=_read_out(result, curves),
    )
    return draw_time_to(
        curves,
        horizon_h=HORIZON_H,
        marks_h=(result.settings.marks.fed_h,),
        name="first_hours-fed-by-birth-type",
        title=say("First feed by birth type"),
        alt=alt,
        axis=say("fed, % of {newborns} born alive"),
        age_axis=say("age, hours since birth"),
        waiting=say("waiting"),
    )


def _read_out(result: FirstHours, curves: Mapping[str, pd.DataFrame]) -> str:
    """Every curve read at the mark of the first feed, in words."""
    say, mark = result.voice.say, result.settings.marks.fed_h
    return "; ".join(
        say(
            "{what} by {age}: {share}",
            what=what,
            age=printing.age(mark),
            share=printing.percent(_at(curve, mark)),
        )
        for what, curve in curves.items()
    )


def _at(curve: pd.DataFrame, age_h: float) -> float:
    return float(read_at(curve, (), (age_h,))["share"].iloc[0])

"""The pictures of the groups known at birth."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.birth_type.result import BirthType
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_grouped_rates
from neonatal_stats.drawing.points import draw_smooth
from neonatal_stats.tables import printing
from neonatal_stats.words.labels import factor, label


def figures(result: BirthType) -> tuple[Figure, ...]:
    """Every group; birth type within delivery; loss along birth weight."""
    return (_groups(result), *_crossed(result), *_weight(result))


def _groups(result: BirthType) -> Figure:
    say, shown = result.voice.say, result.groups
    shown = shown.assign(
        heading=[factor(result.voice, one) for one in shown["factor"]],
        name=[label(result.voice, one) for one in shown["group"]],
        quiet=shown["n"] < result.settings.minimum_group,
    )
    return draw_grouped_rates(
        shown,
        name="birth_type-groups",
        title=say("Losses by what was known at birth"),
        alt=say(
            "Lost of born, group by group: {told}. The dotted line is all {newborns}.", told=_told(shown)
        ),
        axis=say("lost, % of {newborns} born"),
        reference=result.whole,
    )


def _told(rows: pd.DataFrame) -> str:
    return "; ".join(
        f"{row['name']} {printing.count(row['events'])}/{printing.count(row['n'])}"
        for row in rows.to_dict("records")
    )


def _crossed(result: BirthType) -> Iterator[Figure]:
    large = result.crossed
    large = large[large["n"] >= result.settings.minimum_group] if len(large) else large
    if large.empty or large["birth_type"].nunique() < 2 or large["delivery"].nunique() < 2:
        return
    say = result.voice.say
    large = large.sort_values(["delivery", "birth_type"])
    shown = large.assign(
        heading=[label(result.voice, one) for one in large["delivery"]],
        name=[label(result.voice, one) for one in large["birth_type"]],
        quiet=False,
    )
    told = "; ".join(
        f"{row['heading']}, {row['name']} {printing.count(row['events'])}/{printing.count(row['n'])}"
        for row in shown.to_dict("records")
    )
    yield draw_grouped_rates(
        shown,
        name="birth_type-delivery",
        title=say("Losses by birth type within each kind of delivery"),
        alt=say("Lost of born: {told}. Groups under the minimum size are left out.", told=told),
        axis=say("lost, % of {newborns} born"),
        reference=result.whole,
    )


def _weight(result: BirthType) -> Iterator[Figure]:
    weight, say = result.weight, result.voice.say
    if weight is None:
        return
    told = "; ".join(
        f"{printing.number(row['value'])} kg {printing.percent(row['share'])}"
        for row in weight.read.to_dict("records")
    )
    yield draw_smooth(
        weight.curve,
        weight.weight_kg,
        weight.lost,
        name="birth_type-weight",
        title=say("Loss along birth weight"),
        alt=say("Share lost by the smooth curve: {told}. Every {newborn} weighed is a mark.", told=told),
        axis=say("birth weight, kg"),
        share_axis=say("lost, % of {newborns} weighed"),
        marks=(say("lost"), say("not lost")),
    )

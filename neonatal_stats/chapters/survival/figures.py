"""The survival curves."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from neonatal_stats.chapters.survival.result import Survival, types
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.curves import draw_survival
from neonatal_stats.measures.curves import before_ages
from neonatal_stats.tables import printing
from neonatal_stats.words.labels import label


def figures(result: Survival) -> tuple[Figure, ...]:
    """By birth type where there are several, else all together; then the total loss of all born."""
    return (_by_type(result), _loss(result))


def _by_type(result: Survival) -> Figure:
    say = result.voice.say
    named = [(label(result.voice, name), curve) for name, curve in types(result)]
    if len(named) < 2:
        named = [(say("all"), result.whole)]
    told = "; ".join(_at_end(result, name, curve) for name, curve in named)
    return _draw(
        result,
        named,
        name="survival-birth-types",
        title=say("Survival of {newborns} born alive"),
        alt=say(
            "Share alive against age, falling from 100 %. At {end}: {told}.", end=_end(result), told=told
        ),
        axis=say("alive, % of {newborns} born alive"),
        axis_cut=say("alive, % of {newborns} born alive (axis cut)"),
    )


def _loss(result: Survival) -> Figure:
    say, named = result.voice.say, [(say_all(result), result.loss)]
    told = _at_end(result, *named[0], start=0.0)
    return _draw(
        result,
        named,
        name="survival-total-loss",
        title=say("Total loss of all {newborns} born, those born dead at age 0"),
        alt=say("Share lost against age, rising from birth. At {end}: {told}.", end=_end(result), told=told),
        axis=say("lost, % of {newborns} born"),
        axis_cut="",
        start=0.0,
    )


def say_all(result: Survival) -> str:
    """The name of all newborns together."""
    return result.voice.say("all")


def _end(result: Survival) -> str:
    return printing.age(result.end_h)


def _at_end(result: Survival, name: str, curve: pd.DataFrame, start: float = 1.0) -> str:
    row = before_ages(curve, (), [result.end_h], end_h=result.end_h, start=start).iloc[0]
    return f"{name} {printing.percent(row['share'])} ({printing.percent_range(row['low'], row['high'])})"


def _draw(
    result: Survival,
    named: Sequence[tuple[str, pd.DataFrame]],
    *,
    name: str,
    title: str,
    alt: str,
    axis: str,
    axis_cut: str,
    start: float = 1.0,
) -> Figure:
    say = result.voice.say
    return draw_survival(
        named,
        follow_up_h=result.end_h,
        marks_h=[hour for hour in result.settings.windows_h.values() if hour < result.end_h],
        name=name,
        title=title,
        alt=alt,
        axis=axis,
        axis_cut=axis_cut,
        age_axes=(say("age, hours"), say("age, days")),
        at_risk=say("still watched"),
        start=start,
    )

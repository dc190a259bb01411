"""The figures of the weather: loss by chill class, and as a smooth."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.chapters.weather.result import MAIN_H, Weather
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.drawing.points import draw_smooth
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import printing
from neonatal_stats.words.windows import window_label


def figures(result: Weather) -> tuple[Figure, ...]:
    """Classes, and the smooth where the losses can carry one."""
    drawn = [_classes(result)]
    if np.isfinite(result.smooth.share).any():
        drawn.append(_smooth(result))
    return tuple(drawn)


def _classes(result: Weather) -> Figure:
    say = result.voice.say
    classes = result.labelled
    told = "; ".join(
        f"{row.label}, {printing.share_of(row.events, row.n, row.low, row.high)}" for row in each_row(classes)
    )
    whole = float(result.newborns["event"].mean()) if len(result.newborns) else None
    window = window_label(result.window.name, result.window.end_h)
    return draw_rates(
        classes,
        "label",
        name="weather-classes",
        title=say("Loss by the chill of the first {hours} hours, kJ/m2/h", hours=printing.count(MAIN_H)),
        alt=say("Share lost in each chill class with its interval: {told}.", told=told),
        axis=say("lost by {window}, % of {newborns} born alive", window=window),
        reference=whole,
    )


def _smooth(result: Weather) -> Figure:
    say, smooth = result.voice.say, result.smooth
    curve = pd.DataFrame({"value": smooth.at, "share": smooth.share, "low": smooth.low, "high": smooth.high})
    seen = curve.dropna()
    ends = seen.iloc[[0, -1]]
    told = "; ".join(
        say("at {chill}, {share}", chill=printing.count(row.value), share=printing.percent(row.share))
        for row in each_row(ends)
    )
    inside = result.newborns[result.newborns["chill_72_h"].between(seen["value"].min(), seen["value"].max())]
    window = window_label(result.window.name, result.window.end_h)
    return draw_smooth(
        seen,
        inside["chill_72_h"].round(-1).to_numpy(float),
        inside["event"].to_numpy(bool),
        name="weather-smooth",
        title=say("Loss against the mean chill of the first {hours} hours", hours=printing.count(MAIN_H)),
        alt=say("Share lost as a smooth of the chill met, with its band: {told}.", told=told),
        axis=say("mean chill of the first {hours} hours, kJ/m2/h", hours=printing.count(MAIN_H)),
        share_axis=say("lost by {window}, %", window=window),
        marks=(say("lost"), say("alive")),
    )

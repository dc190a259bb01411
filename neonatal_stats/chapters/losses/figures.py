"""The pictures of the losses: the flow, the windows, the weeks, the hours."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.losses.flow_words import flow_words, headings
from neonatal_stats.chapters.losses.result import Losses
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_flow, draw_weeks
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.measures.windows import END
from neonatal_stats.tables import printing
from neonatal_stats.words.windows import window_label


def figures(result: Losses) -> tuple[Figure, ...]:
    """Flow first; weeks and hours only where births were dated and timed."""
    return (_flow(result), _windows(result), *_weeks(result), *_hours(result))


def _flow(result: Losses) -> Figure:
    say = result.voice.say
    dams, newborns = flow_words(result)
    told = "; ".join(f"{row['label']} {printing.count(row['n'])}" for row in newborns.to_dict("records"))
    alt = say(
        "A staircase of counts. {newborns}: {told}. What went at each step stands beside it.", told=told
    )
    title = say("From {dams} expected to {newborns} alive at {end}", end=_end(result))
    return draw_flow(dams, newborns, headings=headings(result), name="losses-flow", title=title, alt=alt)


def _windows(result: Losses) -> Figure:
    say = result.voice.say
    born = result.by_window[result.by_window["out_of"] == "born"]
    labels = [window_label(window, result.end_h) for window in born["window"]]
    told = "; ".join(
        f"{label}: {printing.share_of(row['events'], row['n'], row['low'], row['high'])}"
        for label, row in zip(labels, born.to_dict("records"), strict=True)
    )
    return draw_rates(
        born.assign(window=labels),
        "window",
        name="losses-windows",
        title=say("Lost by the end of each window"),
        alt=say("Share of {newborns} born that were lost, with intervals. {told}.", told=told),
        axis=say("lost, % of {newborns} born"),
    )


def _weeks(result: Losses) -> Iterator[Figure]:
    weeks, say = result.by_week, result.voice.say
    if len(weeks) < 2:
        return
    whole = _whole(result)
    told = "; ".join(
        f"{label} {printing.count(row['events'])}/{printing.count(row['n'])}"
        for label, row in zip(week_labels(weeks), weeks.to_dict("records"), strict=True)
    )
    yield draw_weeks(
        weeks.assign(label=week_labels(weeks)),
        name="losses-weeks",
        title=say("Births and losses by week of birth"),
        alt=say(
            "Lost of born, week by week: {told}. The share lost, with intervals, is drawn below.", told=told
        ),
        axes_words=(say("{newborns} born"), say("lost, %"), say("week of birth, from Monday")),
        reference=float(whole["share"]),
    )


def _hours(result: Losses) -> Iterator[Figure]:
    hours, say = result.by_hour, result.voice.say
    if len(hours) < 2:
        return
    told = "; ".join(
        f"{row['band']} {printing.count(row['events'])}/{printing.count(row['n'])}"
        for row in hours.to_dict("records")
    )
    yield draw_rates(
        hours,
        "band",
        name="losses-hours",
        title=say("Losses by hour of birth"),
        alt=say("Lost of born, by hour of birth: {told}; the dotted line is the whole season.", told=told),
        axis=say("lost, % of {newborns} born in those hours"),
        reference=float(_whole(result)["share"]),
    )


def week_labels(weeks: pd.DataFrame) -> list[str]:
    """The Monday of each week, "16 Mar" without a language: day and month as numbers."""
    return [f"{monday.day}.{monday.month}." for monday in weeks["week"]]


def _whole(result: Losses) -> pd.Series:
    born = result.by_window[result.by_window["out_of"] == "born"]
    return born[born["window"] == END].iloc[0]


def _end(result: Losses) -> str:
    return window_label(END, result.end_h)

"""The figures of the years: the chart, the split, survival, causes and the groups that moved."""

from __future__ import annotations

import textwrap

import pandas as pd

from neonatal_stats.chapters.years.result import Years
from neonatal_stats.chapters.years.tables import stratum_names
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_terms
from neonatal_stats.drawing.curves import draw_survival
from neonatal_stats.drawing.dots import draw_dumbbell
from neonatal_stats.drawing.points import draw_p_chart
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import printing
from neonatal_stats.words.groups import phrase
from neonatal_stats.words.labels import label
from neonatal_stats.words.windows import window_label

MOST_TERMS = 8
MOST_MOVED = 10


def figures(result: Years) -> tuple[Figure, ...]:
    """Every figure that the records can fill."""
    drawn = [_chart(result), _terms(result)]
    if result.survival:
        drawn.append(_survival(result))
    if len(result.causes):
        drawn.append(_causes(result))
    if len(result.moved):
        drawn.append(_moved(result))
    return tuple(drawn)


def _chart(result: Years) -> Figure:
    say = result.voice.say
    told = "; ".join(
        f"{row.season}: {printing.share_of(row.events, row.n, row.low, row.high)}"
        for row in each_row(result.seasons)
    )
    window = window_label(result.window.name, result.window.end_h)
    return draw_p_chart(
        result.seasons,
        result.chart.centre,
        name="years-chart",
        title=say("Loss by {window}, season by season", window=window),
        alt=say(
            "Share of {newborns} lost in each season with its interval, beside the share on the common mix "
            "and the limits of the chart. {told}.",
            told=told,
        ),
        axis=say("lost by {window}, % of {newborns}", window=window),
        words=(say("as it was"), say("on the common mix"), say("limits of the chart")),
    )


def _terms(result: Years) -> Figure:
    say, pair = result.voice.say, result.pair
    named = result.terms.assign(label=stratum_names(result))
    size = (named["mix_term"].abs() + named["rate_term"].abs()).sort_values(ascending=False, kind="stable")
    top = named.loc[sorted(size.index[:MOST_TERMS])]
    rest = named.loc[size.index[MOST_TERMS:]]
    rows = top[["label", "mix_term", "rate_term"]].to_dict("records")
    columns = ["mix_term", "rate_term"]
    if len(rest):
        rows.append({"label": say("all other births"), **rest[columns].sum().to_dict()})
    rows.append({"label": say("all together"), **named[columns].sum().to_dict()})
    frame = pd.DataFrame(rows)
    frame["label"] = ["\n".join(textwrap.wrap(text, 36)) for text in frame["label"]]
    return draw_terms(
        frame,
        name="years-split",
        title=say("From {first} to {second}: mix or rate", first=pair.first, second=pair.second),
        alt=say(
            "The change in loss split by kind of birth. All together: mix {mix} points, rate {rate} points, "
            "change {change} points.",
            mix=printing.points(pair.mix.estimate),
            rate=printing.points(pair.rate.estimate),
            change=printing.points(pair.change.estimate),
        ),
        axis=say("percentage points of loss"),
        words=(say("mix: other births"), say("rate: other risks")),
    )


def _survival(result: Years) -> Figure:
    say, end_h = result.voice.say, result.settings.follow_up_h
    told = "; ".join(
        f"{name} {printing.percent(curve.iloc[-1]['share'])} "
        f"({printing.percent_range(curve.iloc[-1]['low'], curve.iloc[-1]['high'])})"
        for name, curve in result.survival
    )
    return draw_survival(
        result.survival,
        follow_up_h=end_h,
        marks_h=[hour for hour in result.settings.windows_h.values() if hour < end_h],
        name="years-survival",
        title=say("Survival of {newborns} born alive, season by season"),
        alt=say("Share alive against age in each season. At the last age watched: {told}.", told=told),
        axis=say("alive, % of {newborns} born alive"),
        axis_cut=say("alive, % of {newborns} born alive (axis cut)"),
        age_axes=(say("age, hours"), say("age, days")),
        at_risk=say("still watched"),
    )


def _causes(result: Years) -> Figure:
    say = result.voice.say
    frame = result.causes.assign(label=[label(result.voice, cause) for cause in result.causes["cause"]])
    return _two(
        result,
        frame.assign(clear=(frame["low"] > 0) | (frame["high"] < 0)),
        name="years-causes",
        title=say("Causes of loss in the two seasons"),
        axis=say("lost to the cause, % of {newborns}; difference in points at the right"),
    )


def _moved(result: Years) -> Figure:
    say, share = result.voice.say, result.settings.false_discovery_share
    frame = result.moved.head(MOST_MOVED)
    names = [phrase(result.voice, row.factor, row.level) for row in each_row(frame)]
    frame = frame.assign(
        label=["\n".join(textwrap.wrap(name, 36)) for name in names],
        share_a=frame["events_a"] / frame["n_a"],
        share_b=frame["events_b"] / frame["n_b"],
        clear=(frame["q"] <= share) & ((frame["low"] > 0) | (frame["high"] < 0)),
    )
    return _two(
        result,
        frame,
        name="years-moved",
        title=say("Groups that moved most losses"),
        axis=say("lost, % of the group; difference in points at the right"),
    )


def _two(result: Years, frame: pd.DataFrame, *, name: str, title: str, axis: str) -> Figure:
    say, pair = result.voice.say, result.pair
    told = "; ".join(
        say(
            "{label} {a} then {b}",
            label=" ".join(row.label.split()),
            a=printing.counts(row.events_a, row.n_a),
            b=printing.counts(row.events_b, row.n_b),
        )
        for row in each_row(frame)
    )
    alt = say(
        "Share lost in {first} and in {second}: {told}.", first=pair.first, second=pair.second, told=told
    )
    return draw_dumbbell(frame, seasons=(pair.first, pair.second), name=name, title=title, alt=alt, axis=axis)

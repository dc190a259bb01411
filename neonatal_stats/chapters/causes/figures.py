"""The pictures of the causes: stacked incidence, and the tally by age."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from neonatal_stats.chapters.causes.result import Causes
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_tally, squares_stand_for
from neonatal_stats.drawing.curves import draw_stacked
from neonatal_stats.tables import printing
from neonatal_stats.words.labels import label


def figures(result: Causes) -> tuple[Figure, ...]:
    """Incidence where ages are known; the tally always."""
    return (*_stacked(result), _tally(result))


def _stacked(result: Causes) -> Iterator[Figure]:
    if result.incidence.empty:
        return
    say, curve = result.voice.say, result.incidence
    layers = [(label(result.voice, cause), curve[curve["cause"] == cause]) for cause in result.causes]
    told = "; ".join(f"{name} {printing.percent(frame['share'].iloc[-1])}" for name, frame in layers)
    alt = say("Share of {newborns} born lost to each cause by age, stacked. At {end}: {told}.",
              end=printing.age(result.end_h), told=told)  # fmt: skip
    yield draw_stacked(
        layers,
        follow_up_h=result.end_h,
        marks_h=[hour for hour in result.settings.windows_h.values() if hour < result.end_h],
        name="causes-incidence",
        title=say("Lost to each cause, by age, the causes stacked"),
        alt=alt,
        axis=say("lost, % of {newborns} born"),
        age_axes=(say("age, hours"), say("age, days")),
        at_risk=say("still watched"),
    )


def _tally(result: Causes) -> Figure:
    say = result.voice.say
    counts = result.by_age.pivot_table(index="cause", columns="window", values="events", sort=False)
    counts = counts.loc[result.causes, sorted(counts.columns)].astype(int)
    if not counts.iloc[:, -1].any():
        counts = counts.iloc[:, :-1]
    rows = [label(result.voice, cause) for cause in result.causes]
    told = "; ".join(f"{row} {printing.count(n)}" for row, n in zip(rows, counts.sum(axis=1), strict=True))
    each = squares_stand_for(int(counts.to_numpy().max()))
    return draw_tally(
        counts,
        rows=rows,
        columns=window_names(result)[: counts.shape[1]],
        name="causes-ages",
        title=say("Causes by age at loss"),
        alt=say("Losses counted by cause and age. All ages together: {told}.", told=told),
        axis=say("age at loss"),
        one_square=say("one square: {n} {newborns} lost", n=printing.count(each))
        if each > 1
        else say("one square: one {newborn} lost"),
    )


def window_names(result: Causes) -> list[str]:
    """Born dead, the age windows, and an unknown age, as printed."""
    spans = [printing.age_span(start, end) for start, end in pairwise(result.edges_h)]
    return [result.voice.say("born dead"), *spans, result.voice.say("age not known")]

"""The farms in words."""

from __future__ import annotations

from collections.abc import Iterator

from neonatal_stats.chapters.farms.result import Farms
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence, Verdict
from neonatal_stats.words import farms as words


def sentences(result: Farms) -> tuple[Sentence, ...]:
    """Who was compared, one's own farm, those outside, the spread, those not shown."""
    return (_all(result), *_own(result), *_outside(result), _spread(result), *_hidden(result))


def _all(result: Farms) -> Sentence:
    farms = result.funnel.farms
    events, n = farms["events"].sum(), farms["n"].sum()
    counts = {"farms": printing.count(len(farms)), "n": printing.count(n), "lost": printing.counts(events, n)}
    return Sentence(result.voice.say(words.ALL, **counts))


def _own(result: Farms) -> Iterator[Sentence]:
    farms = result.funnel.farms
    for row in each_row(farms[farms["own"].astype(bool)]):
        yield Sentence(
            result.voice.say(
                words.OWN[bool(row.outside)],
                letter=row.letter,
                counts=printing.counts(row.events, row.n),
                share=printing.percent(row.standardised),
                low=printing.percent(row.funnel_low),
                high=printing.percent(row.funnel_high),
            )
        )


def _outside(result: Farms) -> Iterator[Sentence]:
    farms = result.funnel.farms
    outside = farms[farms["outside"].astype(bool)]
    if outside.empty:
        yield Sentence(result.voice.say(words.NONE_OUTSIDE), Verdict.NO_CLEAR)
    for row in each_row(outside[~outside["own"].astype(bool)]):
        limits = (row.standardised, row.funnel_low, row.funnel_high)
        yield words.outside_sentence(result.voice, row.letter, *limits, row.events - row.expected)


def _spread(result: Farms) -> Sentence:
    return words.spread_sentence(result.voice, result.funnel.phi**0.5)


def _hidden(result: Farms) -> Iterator[Sentence]:
    if result.funnel.hidden:
        counts = {
            "hidden": printing.count(result.funnel.hidden),
            "minimum": printing.count(result.settings.minimum_group),
        }
        yield Sentence(result.voice.say(words.HIDDEN, **counts), role="cannot say")

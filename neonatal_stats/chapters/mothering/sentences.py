"""Mothering-up in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from neonatal_stats.chapters.mothering.evidence import TELLING, pairs, strength, tally
from neonatal_stats.chapters.mothering.result import Mothering
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence, cautions, judge
from neonatal_stats.words import mothering as words
from neonatal_stats.words.comparisons import compare_groups, ratio_in_words


def sentences(result: Mothering) -> tuple[Sentence, ...]:
    """The answer in words."""
    return (
        _rate(result),
        *_groups(result),
        *_handled(result),
        *_litters(result),
        *_afterwards(result),
        cautions.handling(result.voice),
    )


def _share(row: Any) -> str:
    return printing.share_of(row.events, row.n, row.low, row.high)


def _rate(result: Mothering) -> Sentence:
    each, dams = result.rates.itertuples(index=False)
    unjudged = printing.count(result.unjudged)
    return Sentence(words.rate_sentence(result.voice, _share(each), _share(dams), unjudged))


def _groups(result: Mothering) -> Iterator[Sentence]:
    """Clear and leaning comparisons one by one, the others as a number."""
    settings = result.settings
    for pair in pairs(result):
        if strength(result, pair) in TELLING:
            yield compare_groups(
                result.voice,
                pair,
                minimum_group=settings.minimum_group,
                level=settings.level,
                templates=words.FAILURES,
                false_discovery_share=settings.false_discovery_share,
            )
    rest = tally(result)
    if rest["no_clear"] or rest["too_few"]:
        yield Sentence(words.rest_sentence(result.voice, rest["no_clear"], rest["too_few"]))


def _handled(result: Mothering) -> Iterator[Sentence]:
    if result.handled is None:
        return
    found, counts = result.handled, result.handled.counts
    verdict = judge(
        found.stratified.low,
        found.stratified.high,
        found.stratified.p,
        null=1.0,
        events=int(counts["events"].sum() + counts["events_versus"].sum()),
        smallest_group=int(min(counts["n"].sum(), counts["n_versus"].sum())),
        minimum_group=result.settings.minimum_group,
    )
    crude, within = _ratio(result, found.crude), _ratio(result, found.stratified)
    yield Sentence(words.handled_sentence(result.voice, verdict, crude, within), verdict)


def _ratio(result: Mothering, found: Estimate) -> str:
    return ratio_in_words(result.voice, found.estimate, found.low, found.high, result.settings.level)


def _litters(result: Mothering) -> Iterator[Sentence]:
    if len(result.separated):
        _, some, every = result.separated.itertuples(index=False)
        yield Sentence(words.separated_sentence(result.voice, _share(some), _share(every)))


def _afterwards(result: Mothering) -> Iterator[Sentence]:
    n = dict(zip(result.outcomes["reared"], result.outcomes["n"], strict=True))
    failed = sum(n.values())
    if not failed:
        return
    yield Sentence(
        words.outcome_sentence(
            result.voice,
            failed=printing.count(failed),
            fostered=printing.count(n["fostered"]),
            artificial=printing.count(n["artificial"]),
            own=printing.count(n["dam"]),
            unknown=printing.count(n["not written down"]),
            died=printing.count(result.outcomes["died"].sum()),
        )
    )
    shares = {
        row["accepted"]: printing.counts(row["events"], row["n"]) for row in result.deaths.to_dict("records")
    }
    if len(shares) == 2:
        yield Sentence(
            words.death_sentence(
                result.voice, window=result.window, failed=shares["no"], accepted=shares["yes"]
            )
        )
    passed = next(result.passed.itertuples(index=False))
    if passed.n:
        yield Sentence(words.passed_sentence(result.voice, _share(passed)))

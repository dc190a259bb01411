"""How strong the evidence is for each group that is held against another."""

from __future__ import annotations

from typing import Any

from neonatal_stats.chapters.mothering.result import Mothering
from neonatal_stats.words import Verdict
from neonatal_stats.words.comparisons import Compared, verdict_of
from neonatal_stats.words.labels import phrase

TELLING = (Verdict.CLEAR, Verdict.LEANING)


def pairs(result: Mothering) -> list[Compared]:
    """Each group against its comparison, ready for words."""
    against = result.groups[result.groups["versus"].notna()]
    return [_pair(result, row) for row in against.to_dict("records")]


def _pair(result: Mothering, row: dict[Any, Any]) -> Compared:
    return Compared(
        group=phrase(result.voice, row["factor"], row["group"]),
        versus=phrase(result.voice, row["factor"], row["versus"]),
        events=int(row["events"]),
        n=int(row["n"]),
        events_versus=int(row["events_versus"]),
        n_versus=int(row["n_versus"]),
        estimate=row["ratio"],
        low=row["ratio_low"],
        high=row["ratio_high"],
        p=row["p"],
        q=row["q"],
    )


def strength(result: Mothering, pair: Compared) -> Verdict:
    """The verdict on one comparison; a clear one whose q is over the share of false discoveries allowed leans."""
    settings = result.settings
    return verdict_of(
        pair, minimum_group=settings.minimum_group, false_discovery_share=settings.false_discovery_share
    )


def tally(result: Mothering) -> dict[str, int]:
    """How many comparisons are telling, show no clear difference, and are too few to say."""
    found = [strength(result, pair) for pair in pairs(result)]
    return {
        "telling": sum(one in TELLING for one in found),
        "no_clear": found.count(Verdict.NO_CLEAR),
        "too_few": found.count(Verdict.TOO_FEW),
    }

"""How strong the evidence is for each group that is held against another."""

from __future__ import annotations

from neonatal_stats.chapters.mothering.result import Mothering
from neonatal_stats.words import Verdict
from neonatal_stats.words.compared_rows import compared_row
from neonatal_stats.words.comparisons import Compared, verdict_of

TELLING = (Verdict.CLEAR, Verdict.LEANING)


def pairs(result: Mothering) -> list[Compared]:
    """Each group against its comparison, ready for words."""
    against = result.groups[result.groups["versus"].notna()]
    return [compared_row(result.voice, row) for row in against.to_dict("records")]


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

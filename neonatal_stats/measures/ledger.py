"""The ledger of a page: every claim that could be made, decided together.

Questions asked beforehand and comparisons found by looking each have their own part of the share of false findings
that the settings allow (`false_discovery_share`). Those asked: Benjamini-Hochberg with prior weights (Genovese, Roeder
& Wasserman 2006, Biometrika 93:509-524), the weights adding up to the number of questions that could be answered.
Those found by looking: families by their Simes p (Simes 1986, Biometrika 73:751-754), families selected by
Benjamini-Hochberg, and within the R selected of m families the members by Benjamini-Hochberg at R/m of the level
(Benjamini & Bogomolov 2014, J R Stat Soc B 76:297-318).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.estimates.verdict import LEANING_P, Verdict
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.contrasts import NULL
from neonatal_stats.season.settings import Settings

ASKED_PART = 0.75
"""Of the share of false findings allowed, the part kept for the questions asked beforehand."""
WEIGHTS: Mapping[str, float] = {"surgery": 2.0, "season": 2.0}
"""Prior weights of the questions asked beforehand; 0.5 where none is given."""
OTHERS_WEIGH = 0.5


@dataclass(frozen=True)
class Entry:
    """A claim and what was decided: ``q`` is the smallest share allowed at which it would be called clear."""

    claim: Claim
    verdict: Verdict
    q: float


@dataclass(frozen=True)
class Family:
    """A family of claims found by looking: how many could be decided, its Simes p and q, how many are clear."""

    name: str
    looked: int
    p: float
    q: float
    clear: int


@dataclass(frozen=True)
class Ledger:
    """All entries, in the order in which the claims were given, and the families looked at."""

    entries: tuple[Entry, ...]
    families: tuple[Family, ...]
    share: float

    @property
    def verdicts(self) -> Mapping[str, Verdict]:
        """The verdict of each claim by its key: what a chapter's sentences are given."""
        return {entry.claim.key: entry.verdict for entry in self.entries}

    @property
    def looked(self) -> int:
        """How many comparisons could be decided, those asked beforehand included."""
        return sum(entry.verdict is not Verdict.TOO_FEW for entry in self.entries)

    @property
    def clear(self) -> int:
        """How many were called clear."""
        return sum(entry.verdict is Verdict.CLEAR for entry in self.entries)

    @property
    def by_chance(self) -> float:
        """How many of those called clear chance alone is expected to give, at most."""
        return self.share * self.clear


def decide(claims: Iterable[Claim], settings: Settings) -> Ledger:
    """Decide over all claims of a page at once.

    Parameters
    ----------
    claims : of all chapters; the keys all differ.
    settings : ``false_discovery_share`` is the share of false findings allowed.

    Raises
    ------
    ValueError : where two claims have one key.
    """
    claims = tuple(claims)
    _refuse_twice(claims)
    q = {claim.key: math.nan for claim in claims}
    tried = [claim for claim in claims if claim.sayable and not math.isnan(claim.decided_by)]
    asked, found = [c for c in tried if c.asked], [c for c in tried if not c.asked]
    q |= _asked(asked)
    of_families, q_found = _looking(found)
    q |= q_found
    share = settings.false_discovery_share
    entries = tuple(Entry(claim, _verdict(claim, q[claim.key], share), q[claim.key]) for claim in claims)
    clear = [entry.claim for entry in entries if entry.verdict is Verdict.CLEAR and not entry.claim.asked]
    families = tuple(
        Family(name, n, p, fq, sum(one.family == name for one in clear)) for name, n, p, fq in of_families
    )
    return Ledger(entries, families, share)


def decide_alone(claims: Iterable[Claim], settings: Settings) -> Ledger:
    """Decide over the claims of one chapter that is asked alone: the same procedure within itself."""
    return decide(claims, settings)


def settled(
    claims: Iterable[Claim], settings: Settings, verdicts: Mapping[str, Verdict] | None
) -> Mapping[str, Verdict]:
    """The page's verdicts where a page was decided, else those of the chapter asked alone."""
    return decide_alone(claims, settings).verdicts if verdicts is None else verdicts


def _refuse_twice(claims: Sequence[Claim]) -> None:
    seen: set[str] = set()
    for claim in claims:
        if claim.key in seen:
            raise ValueError(f"key: two claims are called {claim.key!r}; give one a topic of its own")
        seen.add(claim.key)


def _asked(claims: Sequence[Claim]) -> dict[str, float]:
    """q of the questions asked beforehand, by weighted Benjamini-Hochberg at their part of the share."""
    if not claims:
        return {}
    weight = np.array([WEIGHTS.get(claim.asked, OTHERS_WEIGH) for claim in claims])
    weight *= len(claims) / weight.sum()
    p = np.array([claim.decided_by for claim in claims])
    q = benjamini_hochberg(np.minimum(p / weight, 1.0)) / ASKED_PART
    return {claim.key: min(1.0, float(one)) for claim, one in zip(claims, q, strict=True)}


def _looking(claims: Sequence[Claim]) -> tuple[list[tuple[str, int, float, float]], dict[str, float]]:
    """(family, how many, p, q) of each family, and q of each claim found by looking, at their part of the share."""
    names = sorted({claim.family for claim in claims})
    if not names:
        return [], {}
    members = {name: [claim for claim in claims if claim.family == name] for name in names}
    within = {name: benjamini_hochberg([c.decided_by for c in members[name]]) for name in names}
    simes = np.array([within[name].min() for name in names])
    family_q = benjamini_hochberg(simes)
    q = {
        claim.key: min(1.0, float(one) / (1 - ASKED_PART))
        for name, of_family in zip(names, family_q, strict=True)
        for claim, one in zip(members[name], _selected(within[name], float(of_family), family_q), strict=True)
    }
    scaled = np.minimum(1.0, family_q / (1 - ASKED_PART))
    rows = zip(names, simes, scaled, strict=True)
    return [(name, len(members[name]), float(p), float(one)) for name, p, one in rows], q


def _selected(within: Floats, own: float, families: Floats) -> Floats:
    """The smallest level at which each member is called clear.

    At level a, R of m families have q at or below a, and a member is clear where its own family is among them and
    its q within the family is at or below a R / m: the least a over all R is in closed form.
    """
    m, ranked = len(families), np.sort(families)
    count = np.arange(1, m + 1)
    at = np.maximum(np.maximum(ranked, own)[None, :], within[:, None] * m / count[None, :])
    return np.asarray(at.min(axis=1), dtype=np.float64)


def _verdict(claim: Claim, q: float, share: float) -> Verdict:
    """Clear where the ledger allows it and the interval says no otherwise; leaning by the claim's own p."""
    if math.isnan(q):
        return Verdict.TOO_FEW
    if q <= share and _left_out(claim):
        return Verdict.CLEAR
    return Verdict.LEANING if claim.decided_by < LEANING_P else Verdict.NO_CLEAR


def _left_out(claim: Claim) -> bool:
    """Does the interval leave out no difference? True for a test, which has none."""
    null = NULL.get(claim.measure)
    return null is None or claim.low > null or claim.high < null

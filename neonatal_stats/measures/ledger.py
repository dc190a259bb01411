"""The ledger of a page: every claim that could be made, decided together.

The page is a tree of hypotheses. Its units are the questions asked beforehand, each one of its own, and the families
of comparisons found by looking. A family branches into lines (claims about groups nested in one another), a line into
claims. A branch has the Simes p of what hangs on it (Simes 1986, Biometrika 73:751-754). Of the units those are
selected that Benjamini-Hochberg with prior weights selects at the share of false findings allowed (setting
`false_discovery_share`; Genovese, Roeder & Wasserman 2006, Biometrika 93:509-524); where R of K were, the branches of
a selected one are tested the same way at its weight times R / K of that level, and so on down to the claims
(Benjamini & Bogomolov 2014, J R Stat Soc B 76:297-318; Bogomolov, Peterson, Benjamini & Sabatti 2021, Biometrika
108:575-590, "TreeBH").

Where nothing differs, the share is the chance that anything on the page is called clear; where something does, it is
the expected share of questions and families wrongly called clear among those called clear, and the same average holds
for the claims within them. Both are proven for independent and positively dependent p; that they hold for a page,
whose comparisons share newborns, is simulated in `tests/simulations/ledger.py`.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.estimates.verdict import LEANING_P, Verdict
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.contrasts import NULL
from neonatal_stats.season.settings import Settings

WEIGHTS: Mapping[str, float] = {"surgery": 10.0, "season": 35.0}
"""Prior weights of questions asked beforehand; the others weigh `ASKED`, a family of comparisons found by looking 1, or
as `FOUND` has it.

On a page of one farm with all six questions and fourteen families, at a share of 0.10, a p of 0.014 is then enough
for surgery where nothing else differs, 0.0042 for another question asked; a family needs 0.0014. The season has 0.049
for its two comparisons together (with the season before, and with all others): the swing between few seasons leaves
it least to go by. Without a second season the others have what is left: 0.027, 0.0081, 0.0027.
"""
ASKED = 3.0
FOUND: Mapping[str, float] = {"farm": 3.0}
"""Families found by looking that weigh more than 1: records of several farms are put together to compare them."""


@dataclass(frozen=True)
class Entry:
    """A claim and what was decided.

    ``q`` is the smallest share allowed at which the ledger would let it be called clear, ``alone`` the p that would be
    enough for it if nothing else on the page differed; both NaN where there is too little to say. A claim is clear
    where q is within the share, and its p and interval, by themselves, are clear at the level of the settings.
    """

    claim: Claim
    verdict: Verdict
    q: float
    alone: float


@dataclass(frozen=True)
class Unit:
    """A question asked beforehand (``asked``), or a family of comparisons found by looking.

    ``looked`` counts the claims that could be decided, ``clear`` those called clear; ``p`` is the Simes p of them all,
    ``q`` as in `Entry`.
    """

    name: str
    asked: bool
    looked: int
    clear: int
    p: float
    q: float


@dataclass(frozen=True)
class Ledger:
    """All entries, in the order in which the claims were given, and the units of the page."""

    entries: tuple[Entry, ...]
    units: tuple[Unit, ...]
    share: float

    @property
    def verdicts(self) -> Mapping[str, Verdict]:
        """The verdict of each claim by its key: what a chapter's sentences are given."""
        return {entry.claim.key: entry.verdict for entry in self.entries}

    @property
    def looked(self) -> int:
        """How many comparisons could be decided, those asked beforehand included."""
        return sum(unit.looked for unit in self.units)

    @property
    def clear(self) -> int:
        """How many were called clear."""
        return sum(unit.clear for unit in self.units)

    @property
    def by_chance(self) -> float:
        """How many of the questions and families called clear chance alone is expected to give, at most."""
        return self.share * sum(unit.clear > 0 for unit in self.units)

    def answers(self, question: str) -> tuple[Entry, ...]:
        """The entries that answer a question asked beforehand; none where no chapter could ask it."""
        return tuple(entry for entry in self.entries if entry.claim.asked == question)

    def standing_out(self, focus: str, said: Collection[str] | None = None) -> tuple[Entry, ...]:
        """The clearest claim of each line with a clear one: this season's first, then by how many losses it speaks of.

        Parameters
        ----------
        focus : the season under review.
        said : the keys that a chapter has a sentence for, which go before others of their line; None for all.

        Returns
        -------
        One entry a line; asked and found claims of one family and line are one line, and of two sides of one
        comparison the group that lost more speaks.
        """
        lines: dict[tuple[str, str], list[Entry]] = {}
        for entry in self.entries:
            if entry.verdict is Verdict.CLEAR:
                lines.setdefault((entry.claim.family, entry.claim.line), []).append(entry)

        def clearest(entry: Entry) -> tuple[bool, bool, float, float]:
            claim = entry.claim
            return said is not None and claim.key not in said, claim.excess < 0, entry.q, claim.decided_by

        leaders = [min(line, key=clearest) for line in lines.values()]
        return tuple(
            sorted(leaders, key=lambda e: (e.claim.period != (focus,), -abs(e.claim.excess), e.claim.key))
        )

    @property
    def typical(self) -> float:
        """The p that would be enough, by itself, for a comparison found by looking: the middle of all lines; NaN where
        nothing was looked at.
        """
        lines = {(e.claim.family, e.claim.line): e.alone for e in self.entries if not e.claim.asked}
        found = [alone for alone in lines.values() if not math.isnan(alone)]
        return float(np.median(found)) if found else math.nan


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
    share = settings.false_discovery_share
    tree = _tree([claim for claim in claims if claim.sayable and not math.isnan(claim.decided_by)])
    q, alone = _decided(tree), _alone(tree, settings)
    keys = [claim.key for claim in claims]
    found = zip(claims, *([of.get(key, math.nan) for key in keys] for of in (q, alone)), strict=True)
    entries = tuple(Entry(claim, _verdict(claim, one, settings), one, enough) for claim, one, enough in found)
    verdicts = {entry.claim.key: entry.verdict for entry in entries}
    return Ledger(entries, tuple(_unit(branch, q, verdicts) for branch in tree), share)


def settled(
    claims: Iterable[Claim], settings: Settings, verdicts: Mapping[str, Verdict] | None
) -> Mapping[str, Verdict]:
    """The page's verdicts where a page was decided; else of the chapter asked alone, its claims the whole page."""
    return decide(claims, settings).verdicts if verdicts is None else verdicts


def _refuse_twice(claims: Sequence[Claim]) -> None:
    seen: set[str] = set()
    for claim in claims:
        if claim.key in seen:
            raise ValueError(f"key: two claims are called {claim.key!r}; give one a topic of its own")
        seen.add(claim.key)


@dataclass(frozen=True)
class _Branch:
    """A unit of the page with its lines of claims."""

    name: str
    asked: bool
    lines: tuple[tuple[Claim, ...], ...]

    @property
    def weight(self) -> float:
        return WEIGHTS.get(self.name, ASKED) if self.asked else FOUND.get(self.name, 1.0)

    @property
    def claims(self) -> tuple[Claim, ...]:
        return tuple(claim for line in self.lines for claim in line)


def _tree(claims: Sequence[Claim]) -> tuple[_Branch, ...]:
    """Questions asked beforehand and families found by looking, each once and in the order given, with their lines."""
    found: dict[tuple[bool, str], dict[str, list[Claim]]] = {}
    for claim in claims:
        unit = found.setdefault((bool(claim.asked), claim.asked or claim.family), {})
        unit.setdefault(claim.line, []).append(claim)
    return tuple(
        _Branch(name, asked, tuple(tuple(line) for line in lines.values()))
        for (asked, name), lines in found.items()
    )


def _decided(tree: Sequence[_Branch]) -> dict[str, float]:
    """q of each claim by its key."""
    units = []
    for branch in tree:
        lines = [_together([np.array([claim.decided_by]) for claim in line]) for line in branch.lines]
        units.append(_together(lines))
    q = _together(units, [branch.weight for branch in tree])
    return dict(zip((claim.key for branch in tree for claim in branch.claims), q.tolist(), strict=True))


def _together(parts: Sequence[Floats], weights: Sequence[float] | None = None) -> Floats:
    """What hangs on one branch: the smallest level, up to 1, at which each claim of its parts is called clear.

    ``parts`` hold that level for each claim as if its part were all there is; the least of a part is then its Simes p.
    Where Benjamini-Hochberg at level a selects R of K parts, a claim is called clear whose own part is selected and
    whose level within it is at or below a R / K times the part's weight: the least such a over all R.
    """
    if not parts:
        return np.array([])
    weight = np.ones(len(parts)) if weights is None else np.asarray(weights, dtype=np.float64)
    weight = weight * (len(parts) / weight.sum())
    selected = benjamini_hochberg(
        [min(1.0, part.min() / one) for part, one in zip(parts, weight, strict=True)]
    )
    ranked, count = np.sort(selected), np.arange(1, len(parts) + 1)
    within = [
        np.maximum(np.maximum(ranked, own), part[:, None] * len(parts) / (count * one)).min(axis=1)
        for part, own, one in zip(parts, selected, weight, strict=True)
    ]
    return np.asarray(np.minimum(np.concatenate(within), 1.0), dtype=np.float64)


def _alone(tree: Sequence[_Branch], settings: Settings) -> dict[str, float]:
    """The p that would be enough for each claim if nothing else on the page differed."""
    whole, share = sum(branch.weight for branch in tree), settings.false_discovery_share
    return {
        claim.key: min(1 - settings.level, share * branch.weight / whole / (len(branch.lines) * len(line)))
        for branch in tree
        for line in branch.lines
        for claim in line
    }


def _verdict(claim: Claim, q: float, settings: Settings) -> Verdict:
    """Clear where the ledger says so, and the claim by itself at the level of the settings; leaning by its own p."""
    if math.isnan(q):
        return Verdict.TOO_FEW
    null, p = NULL.get(claim.measure), claim.decided_by
    left_out = null is None or claim.low > null or claim.high < null
    if q <= settings.false_discovery_share and p < 1 - settings.level and left_out:
        return Verdict.CLEAR
    return Verdict.LEANING if p < LEANING_P else Verdict.NO_CLEAR


def _unit(branch: _Branch, q: Mapping[str, float], verdicts: Mapping[str, Verdict]) -> Unit:
    claims = branch.claims
    lines = [float(benjamini_hochberg([claim.decided_by for claim in line]).min()) for line in branch.lines]
    return Unit(
        branch.name,
        branch.asked,
        len(claims),
        sum(verdicts[claim.key] is Verdict.CLEAR for claim in claims),
        float(benjamini_hochberg(lines).min()),
        min(q[claim.key] for claim in claims),
    )

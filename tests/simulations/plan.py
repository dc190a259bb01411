"""Does a plan whose measures did not change find one that did? Prints a table; not a test.

Run from the top of the project and keep what it prints:

    python -m tests.simulations.plan | tee tests/simulations/plan.txt

A plan of four measures: fed and mothered up (met by 70 and 92 %), lost by two windows (12 and 8 %). Two seasons of so
many dams; litters of one to three share a risk drawn from a beta distribution (correlation 0.2 for what was done, 0.1
for losses). Twins and triplets are fed a fifth less often and lost twice as often, and the mix of births is the same in
both seasons or moves from 30 to 60 % of litters. Losses swing from season to season by so much (standard deviation of
the logarithm of their risk), and the usual swing of a fifth is allowed for, as of farms with few seasons.

Printed: the share of plans in which any measure is called reached, moved or worse, though none changed, by Holm's
procedure as the chapter decides, and by each measure's own p; of losses alone; with its Monte Carlo error. Then, of
plans in which the share fed truly rises, how often that is called reached (target 5 points under the truth). The
arithmetic is that of `measures.before_after`, to which the first plan of each line is held.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.many_groups import holm, skewed_like_counts
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.seasons import later_less_earlier
from neonatal_stats.estimates.standardisation import directly_standardised, variance_under_one_risk
from neonatal_stats.estimates.verdict import Outcome, follow_up
from neonatal_stats.measures.before_after import USUAL_SWING, before_after
from neonatal_stats.season.settings import Settings
from tests.simulations.times import often

RNG_NUMBER, PLANS, LEVEL = 20260718, often(400, least=8), 0.95
TYPES, PARITIES = ["single", "twin", "triplet"], ["first litter", "second or third", "fourth or later"]
MET: Mapping[str, float] = {"fed": 0.70, "mothered": 0.92, "lost": 0.12, "lost early": 0.08}
RHO: Mapping[str, float] = {"fed": 0.2, "mothered": 0.2, "lost": 0.1, "lost early": 0.1}
Numbers = NDArray[np.int64]


@dataclass(frozen=True)
class Births:
    """Two seasons: of each newborn the season, the litter, its kind of birth and parity; what it met."""

    later: Numbers
    litter: Numbers
    kind: Numbers
    parity: Numbers
    met: Mapping[str, Numbers]


def births(
    rng: np.random.Generator, dams: int, many: tuple[float, float], rise: float = 0.0, swing: float = 0.0
) -> Births:
    """``many`` the share of twins and triplets in each season, ``rise`` of the share fed in the later."""
    kind = np.concatenate([rng.choice(3, p=[1 - m, 0.85 * m, 0.15 * m], size=dams) for m in many])
    parity, season = rng.integers(3, size=2 * dams), np.repeat([0, 1], dams)
    litter = np.repeat(np.arange(2 * dams), kind + 1)
    luck = np.exp(swing * rng.normal(size=2) - swing**2 / 2)[season]
    met = {}
    for what, share in MET.items():
        loss = what.startswith("lost")
        risk = np.where(kind > 0, share * (2.0 if loss else 0.8), share) * (luck if loss else 1.0)
        risk = np.clip(risk + rise * season * (what == "fed"), 0.01, 0.99)
        weight = (1 - RHO[what]) / RHO[what]
        own = rng.beta(risk * weight, (1 - risk) * weight)[litter]
        met[what] = (rng.random(len(litter)) < own).astype(np.int64)
    return Births(season[litter], litter, kind[litter], parity[litter], met)


def change(of: Births, what: str) -> tuple[float, Estimate]:
    """The later share on the mix of both seasons, and the change with its p, as `before_after` works them out."""
    stratum, event = of.kind * 3 + of.parity, of.met[what]
    cells = np.zeros((9, 2))
    np.add.at(cells, (stratum, of.later), 1)
    everywhere = (cells > 0).all(axis=1)
    standard, placed = np.where(everywhere, cells.sum(axis=1), 0.0), everywhere[stratum]
    sides = [
        directly_standardised(
            event[placed & (of.later == side)],
            stratum[placed & (of.later == side)],
            standard,
            cluster=of.litter[placed & (of.later == side)],
            level=LEVEL,
        )
        for side in (0, 1)
    ]
    at = event[placed], of.later[placed], stratum[placed]
    variance = variance_under_one_risk(*at, standard, cluster=of.litter[placed])
    ends = ([getattr(side, name) for side in sides] for name in ("estimate", "low", "high"))
    swing = USUAL_SWING * float(event.mean()) if what.startswith("lost") else 0.0
    found = later_less_earlier(*ends, variance, swing=swing, level=LEVEL)
    (c, a), (n0, n1) = np.bincount(of.later, event), np.bincount(of.later)
    p = float(skewed_like_counts(found.p, found.estimate > 0, a, n1, c, n0))
    return sides[1].estimate, Estimate(found.estimate, found.low, found.high, p, found.method)


def as_the_chapter_has_it(of: Births, what: str) -> Estimate:
    """The same by `measures.before_after`."""
    frame = pd.DataFrame(
        {
            "season": pd.Categorical(np.where(of.later == 1, "later", "earlier")),
            "event": of.met[what].astype(bool),
            "cluster": of.litter,
            "birth_type": pd.Categorical.from_codes(of.kind, TYPES, ordered=True),
            "parity_class": pd.Categorical.from_codes(of.parity, PARITIES, ordered=True),
            "born_by": "born naturally",
        }
    )
    swing = USUAL_SWING if what.startswith("lost") else 0.0
    return before_after(frame, "earlier", "later", Settings(), swing=swing).difference


def outcomes(of: Births, target: float = np.nan, alone: bool = False) -> dict[str, Outcome]:
    """What is said of each measure, by Holm over the four or each ``alone``."""
    found = {what: change(of, what) for what in MET}
    own = np.array([one.p for _, one in found.values()])
    p = own if alone else holm(own)
    return {
        what: follow_up(
            one.estimate,
            after,
            target if what == "fed" else np.nan,
            clear=bool(decides <= 1 - LEVEL and (one.low > 0 or one.high < 0)),
            more_is_better=not what.startswith("lost"),
        )
        for (what, (after, one)), decides in zip(found.items(), p, strict=True)
    }


def false_ones(dams: int, many: tuple[float, float], swing: float, plans: int = PLANS) -> NDArray[np.float64]:
    """Of plans in which nothing changed: any found by Holm's procedure, any by its own p, a loss by Holm's."""
    rng = np.random.default_rng([RNG_NUMBER, dams, int(10 * many[1]), int(10 * swing)])
    rows = []
    for _ in range(plans):
        of = births(rng, dams, many, swing=swing)
        together, alone = outcomes(of), outcomes(of, alone=True)
        lost = [one for what, one in together.items() if what.startswith("lost")]
        found = ([*together.values()], [*alone.values()], lost)
        rows.append([any(one is not Outcome.NO_CHANGE for one in said) for said in found])
    return np.asarray(np.mean(rows, axis=0), dtype=np.float64)


def reached(dams: int, rise: float, plans: int = PLANS // 4) -> float:
    """Of plans in which the share fed truly rose the share in which that is called reached."""
    rng = np.random.default_rng([RNG_NUMBER, dams, int(100 * rise)])
    truth = (
        MET["fed"] * (1 - 0.2 * 0.45) + rise
    )  # 45 % of newborns have littermates where 30 % of litters have
    plan = (outcomes(births(rng, dams, (0.3, 0.3), rise), truth - 0.05) for _ in range(plans))
    return float(np.mean([one["fed"] is Outcome.REACHED for one in plan]))


LINES = ((200, (0.3, 0.3), 0.0), (200, (0.3, 0.6), 0.0), (200, (0.3, 0.3), 0.2), (60, (0.3, 0.3), 0.0))


def main() -> None:
    """Print the table."""
    print(f"random generator number {RNG_NUMBER}; {datetime.date.today()}; {PLANS} plans a line\n")
    print("Nothing changed: plans that find a change")
    print("dams  litters of several  swing   by Holm  (error)   each by its own p   a loss by Holm")
    for dams, many, swing in LINES:
        first = births(np.random.default_rng(RNG_NUMBER), dams, many, swing=swing)
        for what in MET:
            ours, theirs = change(first, what)[1], as_the_chapter_has_it(first, what)
            assert np.allclose((ours.estimate, ours.p), (theirs.estimate, theirs.p), rtol=1e-9), what
        together, alone, lost = false_ones(dams, many, swing)
        error, mix = (together * (1 - together) / PLANS) ** 0.5, f"{many[0]:.0%} then {many[1]:.0%}"
        shown = f"{together:8.1%}  ({error:.1%})  {alone:18.1%}  {lost:15.1%}"
        print(f"{dams:4d}  {mix:>18s}  {swing:5.1f}  {shown}", flush=True)
    print("\nThe share fed truly rises: called reached")
    for dams, rise in ((200, 0.10), (200, 0.20), (60, 0.20)):
        print(f"{dams:4d} dams, by {100 * rise:.0f} points  {reached(dams, rise):6.1%}", flush=True)


if __name__ == "__main__":
    main()

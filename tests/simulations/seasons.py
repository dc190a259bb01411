"""Do seasons that swing by themselves pass for a trend, or for a season out of step? Prints two tables; not a test.

Run from the top of the project and keep what it prints:

    python -m tests.simulations.seasons | tee tests/simulations/seasons.txt

The risk of each season is drawn about 12 % with a standard deviation (of its logarithm) of 0 to 0.3: the swing. The
litters of a season, of one to four, share a risk drawn from a beta distribution (correlation 0.15). 500 newborns a
season, or sizes that grow from 150 to 800.

First block, no trend: the share of records with p under 0.05, by the test over newborns alone, by the line through the
seasons alone, and by the weaker of the two, which decides. Last line of each: loss that truly grows by a quarter a
season. Second block, the last season is no exception: the share with p under 0.05 against all the others together, with
no swing allowed for, by the prediction with others - 1 degrees of freedom, and as the chapter does it; then the share
found where it truly is 1.6 times as high, at p under 0.05 and under 0.02.
"""

from __future__ import annotations

import datetime

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.estimates.proportion import wilson
from neonatal_stats.estimates.results import two_sided
from neonatal_stats.estimates.risk_tests import cochran_armitage, line_through
from neonatal_stats.estimates.seasons import one_against_others
from neonatal_stats.estimates.standardisation import variance_under_one_risk
from tests.simulations.times import often

RNG_NUMBER = 20260712
RECORDS, RISK, RHO, LEVEL = often(4000), 0.12, 0.15, 0.95
LITTERS = (0.45, 0.45, 0.085, 0.015)
Numbers = NDArray[np.int64]


def records(
    rng: np.random.Generator, sizes: Numbers, swing: float, ratio: NDArray[np.float64]
) -> tuple[Numbers, Numbers, Numbers]:
    """Whether each newborn was lost, its season and its litter; a season's risk is ``ratio`` times one that swings."""
    risk = np.minimum(RISK * ratio * np.exp(swing * rng.normal(size=len(sizes)) - swing**2 / 2), 0.8)
    size = rng.choice(np.arange(1, 5), p=LITTERS, size=int(sizes.sum()))
    mean = float(np.dot(np.arange(1, 5), LITTERS))
    of_season = np.repeat(np.arange(len(sizes)), np.round(sizes / mean).astype(int))
    size = size[: len(of_season)]
    weight = (1 - RHO) / RHO
    own = rng.beta(risk[of_season] * weight, (1 - risk[of_season]) * weight)
    litter = np.repeat(np.arange(len(of_season)), size)
    return (rng.random(len(litter)) < own[litter]).astype(np.int64), of_season[litter], litter


def trend_p(lost: Numbers, season: Numbers, litter: Numbers) -> tuple[float, float, float]:
    """p over newborns, of the line through the seasons, and the larger of the two."""
    share = np.bincount(season, lost) / np.bincount(season)
    newborns, line = cochran_armitage(lost, season, cluster=litter).p, line_through(share).p
    return newborns, line, max(newborns, line)


def against_p(lost: Numbers, season: Numbers, litter: Numbers) -> tuple[float, float, float]:
    """p of the last season against the others: without swing, by prediction, and with swing allowed for."""
    n, events = np.bincount(season), np.bincount(season, lost)
    variance = variance_under_one_risk(lost, season, np.zeros_like(season), [1.0], cluster=litter)
    low, high = wilson(events, n, level=LEVEL)
    last = len(n) - 1
    found = one_against_others(events / n, low, high, variance, last, level=LEVEL)
    # the same without swing: the others held to agree, so that chance and litters are all there is
    alike = np.where(np.arange(len(n)) < last, events[:-1].sum() / n[:-1].sum(), events[-1] / n[-1])
    plain = one_against_others(alike, low, high, variance, last, level=LEVEL)
    share, worth = events / n, events / n * (1 - events / n) / variance
    return plain.difference.p, prediction_p(share, worth), found.difference.p


def prediction_p(share: NDArray[np.float64], worth: NDArray[np.float64]) -> float:
    """p of the last share against a prediction from the others with others - 1 degrees of freedom, on arcsine roots."""
    y, chance = np.arcsin(np.sqrt(share)), 0.25 / worth
    others, k = y[:-1], len(y) - 1
    spread = max(others.var(ddof=1), chance[:-1].mean())
    error = np.sqrt(spread - chance[:-1].mean() + chance[-1] + spread / k)
    return float(two_sided((y[-1] - others.mean()) / error, k - 1))


def main() -> None:
    """Print both tables."""
    print(
        f"random generator number {RNG_NUMBER}; {datetime.date.today()}; {RECORDS} records a line, p under 0.05\n"
    )
    print(
        "No trend: records in which one is found\nseasons  sizes        swing  over newborns  line  weaker of both"
    )
    for seasons in (4, 5, 7):
        for sizes in (np.full(seasons, 500), np.linspace(150, 800, seasons).astype(int)):
            for swing, growth in ((0.0, 1.0), (0.1, 1.0), (0.2, 1.0), (0.3, 1.0), (0.0, 1.25)):
                rng = np.random.default_rng(
                    [RNG_NUMBER, 0, seasons, int(10 * swing), int(sizes[0]), int(4 * growth)]
                )
                ratio = growth ** np.arange(seasons)
                p = np.array([trend_p(*records(rng, sizes, swing, ratio)) for _ in range(RECORDS)])
                what = "grows" if growth > 1 else f"{swing:.1f}"
                shown = "  ".join(f"{share:6.1%}" for share in (p < 0.05).mean(axis=0))
                print(f"{seasons:7d}  {sizes[0]:3d} to {sizes[-1]:3d}  {what:>5s}  {shown}", flush=True)
    print("\nThe last season against all the others")
    print(
        "others  swing  no swing allowed for  prediction, t  as the chapter   found at 1.6 times: 0.05    0.02"
    )
    for others in (2, 3, 4, 6):
        for swing in (0.0, 0.1, 0.2, 0.3):
            sizes, shares = np.full(others + 1, 500), []
            for last in (1.0, 1.6):
                rng = np.random.default_rng([RNG_NUMBER, 1, others, int(10 * swing), int(10 * last)])
                ratio = np.where(np.arange(others + 1) == others, last, 1.0)
                p = np.array([against_p(*records(rng, sizes, swing, ratio)) for _ in range(RECORDS)])
                shares += [*(p < 0.05).mean(axis=0), (p[:, 2] < 0.02).mean()]
            plain, held, found, _, _, _, seen, strictly = shares
            shown = f"{plain:20.1%}  {held:13.1%}  {found:14.1%}  {seen:22.1%}  {strictly:10.1%}"
            print(f"{others:6d}  {swing:5.1f}  {shown}", flush=True)


if __name__ == "__main__":
    main()

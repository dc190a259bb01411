"""How often does the alarm of a season in progress sound where nothing happens, and how soon where something does?

Run from the top of the project and keep what it prints:

    python -m tests.simulations.season_in_progress | tee tests/simulations/season_in_progress.txt

A season has so many dams with one to three newborns, a litter born within the hour, births over six weeks (most of them
in the middle two, or alike on every day) or over a whole year. Of the newborns a share is lost by 42 days: three in ten
of these born dead, a quarter on the first day, the rest ever more slowly. The newborns of a litter share its luck, a
log-normal factor on the hazard, so that some litters lose all. The season is looked at every evening, from the first on
which ten newborns were born before the last seven days, to a fortnight after the last birth; at each look the test of
the page (`last_days_against_before`) is given what is known on that evening and nothing else.

First table, nothing happens: the share of seasons in which the smallest p of all evenings falls below a limit, and the
limit that one season in twenty would fall below. The page's limit is `ALARM_P`. Of a year the run of evenings to the
first false alarm, in those that had one. Second table, the hazard is raised for all newborns alike from one evening on:
how many of the seasons were told of it within seven and fourteen days, and after how many days half of them were.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.chapters.counted.progress import ALARM_P, DAYS
from neonatal_stats.estimates.recent_losses import last_days_against_before
from tests.simulations.times import often

RNG_NUMBER = 20261115
SIZES, OF_SIZE = (1, 2, 3), (0.30, 0.55, 0.15)
AGES_H = np.array([0, 24, 48, 72, 168, 1008.0])
LOST_BY = np.array([0.30, 0.55, 0.67, 0.75, 0.90, 1.0])
"""Of the losses by 42 days, the part that falls by each age."""
LEAST_BEFORE, AFTER_LAST_BIRTH_D = 10, 14
LIMITS = (0.01, ALARM_P, 0.002)
Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Farm:
    """What a season is drawn from: ``luck`` is the standard deviation of the log hazard between litters."""

    dams: int
    lost: float
    luck: float = 1.0
    days: int = 42
    shape: str = "peaked"


@dataclass(frozen=True, eq=False)
class Season:
    """Hours from the start to birth, age at loss or 42 days, whether lost, litter; one entry a newborn."""

    born_h: Numbers
    age_h: Numbers
    died: NDArray[np.bool_]
    litter: NDArray[np.int64]


def drawn(rng: np.random.Generator, farm: Farm, times: float = 1.0, from_d: float = np.inf) -> Season:
    """A season; from the evening of a day on every newborn's hazard is so many times what it was."""
    size = rng.choice(SIZES, p=OF_SIZE, size=farm.dams)
    middle = rng.normal(0.45 * farm.days, farm.days / 6, size=farm.dams).clip(0, farm.days - 0.01)
    day = middle if farm.shape == "peaked" else rng.uniform(0, farm.days, size=farm.dams)
    litter = np.repeat(np.arange(farm.dams), size)
    born_h = np.floor(24 * day)[litter]
    luck = np.exp(farm.luck * rng.normal(size=farm.dams) - farm.luck**2 / 2)[litter]
    borne = rng.exponential(size=len(litter)) / (luck * -np.log1p(-farm.lost))
    before = np.interp(24 * from_d - born_h, AGES_H, LOST_BY, left=0.0)
    borne = np.where(borne < before, borne, before + (borne - before) / times)
    died = borne < 1.0
    age_h = np.where(borne <= LOST_BY[0], 0.0, np.floor(np.interp(borne, LOST_BY, AGES_H)))
    return Season(born_h, np.where(died, age_h, AGES_H[-1]), died, litter)


def looks(season: Season) -> list[tuple[int, float]]:
    """The day and the p of every evening's look."""
    found = []
    for day in range(DAYS, int(season.born_h.max() // 24) + AFTER_LAST_BIRTH_D + 1):
        now_h = 24.0 * (day + 1)
        if (season.born_h < now_h - 24 * DAYS).sum() < LEAST_BEFORE:
            continue
        born = season.born_h < now_h
        since = now_h - season.born_h[born]
        died = season.died[born] & (season.age_h[born] < since)
        seen = last_days_against_before(
            since,
            np.where(died, season.age_h[born], np.minimum(season.age_h[born], since - 1)),
            died,
            cluster=season.litter[born],
            days=DAYS,
            level=0.95,
        )
        found.append((day, seen.excess_p))
    return found


QUIET = (
    (Farm(40, 0.12), 2000),
    (Farm(120, 0.12), 2000),
    (Farm(400, 0.12), 2000),
    (Farm(1000, 0.12), 600),
    (Farm(400, 0.05), 2000),
    (Farm(400, 0.25), 2000),
    (Farm(400, 0.12, luck=2.0), 2000),
    (Farm(400, 0.12, shape="even"), 1000),
    (Farm(400, 0.12, days=365, shape="even"), 400),
)
RAISED = ((2.0, 120), (2.0, 400), (2.0, 1000), (3.0, 40), (3.0, 120), (3.0, 400), (5.0, 40), (5.0, 120))
SEASONS_RAISED, FROM_D = often(300), 20


def quiet() -> None:
    """The first table."""
    print("Nothing happens: seasons in which the smallest p of all evenings falls below a limit")
    heads = "".join(f"   p < {limit:<5g}" for limit in LIMITS)
    print(f"dams  lost  luck  days  births   seasons  looks{heads}  1 in 20 below  evenings to a false alarm")
    for place, (farm, usual) in enumerate(QUIET):
        seasons = often(usual)
        rng = np.random.default_rng([RNG_NUMBER, 0, place])
        every = [looks(drawn(rng, farm)) for _ in range(seasons)]
        least = np.array([min((p for _, p in found), default=1.0) for found in every])
        shares = [(least < limit).mean() for limit in LIMITS]
        told = "".join(f"  {s:5.1%} ±{100 * np.sqrt(s * (1 - s) / seasons):.1f}" for s in shares)
        runs = [next((n for n, (_, p) in enumerate(found, 1) if p < ALARM_P), None) for found in every]
        first = [n for n in runs if n is not None]
        run = f"{np.median(first):.0f} in {len(first)} of {seasons}" if first else "none"
        line = f"{farm.dams:4d}  {farm.lost:4.0%}  {farm.luck:4.1f}  {farm.days:4d}  {farm.shape:7s}  {seasons:7d}"
        looked = np.mean([len(found) for found in every])
        print(f"{line}  {looked:5.0f}{told}  {np.quantile(least, 0.05):13.4f}  {run:>20s}", flush=True)


def raised() -> None:
    """The second table."""
    print(
        f"\nThe hazard is raised from day {FROM_D} on: told by an alarm at p < {ALARM_P:g}, of {SEASONS_RAISED} seasons"
    )
    print("times  dams  within 7 d  within 14 d  ever  half of the seasons by day")
    for place, (times, dams) in enumerate(RAISED):
        rng = np.random.default_rng([RNG_NUMBER, 1, place])
        after = []
        for _ in range(SEASONS_RAISED):
            found = looks(drawn(rng, Farm(dams, 0.12), times, FROM_D))
            after.append(next((day - FROM_D for day, p in found if day >= FROM_D and p < ALARM_P), np.inf))
        days = np.array(after)
        shares = [(days <= 7).mean(), (days <= 14).mean(), np.isfinite(days).mean()]
        half = f"{np.median(days):.0f}" if np.isfinite(np.median(days)) else "not"
        print(
            f"{times:5.0f}  {dams:4d}  {shares[0]:10.0%}  {shares[1]:11.0%}  {shares[2]:4.0%}  {half:>8s}",
            flush=True,
        )


def main() -> None:
    """Print both tables."""
    print(f"random generator number {RNG_NUMBER}; {datetime.date.today()}\n")
    quiet()
    raised()


if __name__ == "__main__":
    main()

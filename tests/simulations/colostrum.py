"""Does the colostrum chapter find what is there, and nothing that is not? Prints one table; not a test.

Run from the top of the project and keep what it prints:

    python -m tests.simulations.colostrum | tee tests/simulations/colostrum.txt

Each season has about 600 newborns in litters of one to three. One in seven is weak: it feeds late (2.5 times
later) and dies early (6 times the hazard). Littermates share luck through a Gaussian copula, so that the
hazard ratio that the model names is exactly the one simulated. While unfed the hazard is 1 or 2 times what
it is once fed. The seasons go through the chapter's own counting (`colostrum_feeding.cohort`,
`colostrum_effect.landmarks`) as a keeper's records would: a newborn that dies unfed is written as not fed
by then; in the third block deaths are found at rounds six hours apart.
"""

from __future__ import annotations

import argparse
import datetime
from collections import defaultdict

import numpy as np
import pandas as pd
from scipy import special

from neonatal_stats.chapters.counted.colostrum_effect import as_it_happens, landmarks, naive
from neonatal_stats.chapters.counted.colostrum_feeding import cohort
from neonatal_stats.season.settings import Settings
from tests.simulations.times import often

RNG_NUMBER = 20260305
NEWBORNS, WEAK_SHARE, WEAK_HAZARD, WEAK_SLOWER = 600, 0.15, 6.0, 2.5
BASE_PER_H, FADES_H, HORIZON_H, WINDOW_H, ALIKE = 0.004, 12.0, 24.0, 168.0, 0.2
SETTINGS = Settings()
BORN = pd.Timestamp("2026-03-02 06:00")


def flock(rng: np.random.Generator, hazard_ratio: float, rounds_h: float = 0.0) -> pd.DataFrame:
    """One season's births with the columns that the chapter reads."""
    size = rng.choice([1, 2, 3], p=[0.45, 0.47, 0.08], size=NEWBORNS)
    litter = np.repeat(np.arange(NEWBORNS), size)[:NEWBORNS]
    weak = rng.random(NEWBORNS) < WEAK_SHARE
    fed = np.exp(rng.normal(np.log(1.5), 0.9, NEWBORNS)) * np.where(weak, WEAK_SLOWER, 1.0)
    died = _death(rng, litter, np.where(weak, WEAK_HAZARD, 1.0), fed, hazard_ratio)
    return _as_written(weak, size[litter], litter, fed, died, rounds_h)


def _death(
    rng: np.random.Generator, litter: np.ndarray, weak: np.ndarray, fed: np.ndarray, ratio: float
) -> np.ndarray:
    """Ages at death by inverting the cumulative hazard, which fades with age, times ``ratio`` until the
    feed.
    """
    normal = np.sqrt(ALIKE) * rng.normal(size=NEWBORNS)[litter] + np.sqrt(1 - ALIKE) * rng.normal(
        size=NEWBORNS
    )
    wanted = -np.log(special.ndtr(-normal)) / weak
    most = BASE_PER_H * FADES_H
    while_unfed = ratio * most * (1 - np.exp(-fed / FADES_H))
    plain = np.where(wanted < while_unfed, wanted / ratio, wanted - while_unfed * (1 - 1 / ratio)) / most
    return np.where(plain < 1, -FADES_H * np.log1p(-np.minimum(plain, 1 - 1e-12)), np.inf)


def _as_written(
    weak: np.ndarray, size: np.ndarray, litter: np.ndarray, fed: np.ndarray, died: np.ndarray, rounds_h: float
) -> pd.DataFrame:
    dead = died <= WINDOW_H
    age = np.where(dead, died, 1008.0)
    found = np.ceil(age / rounds_h) * rounds_h if rounds_h else age
    seen = np.maximum(found - rounds_h, np.where(fed < age, fed, 0.0)) if rounds_h else np.floor(age)
    whole = np.floor(np.where(dead, found, age))
    births = pd.DataFrame(
        {
            "species": "sheep",
            "stillborn": False,
            "died": dead,
            "age_known": True,
            "age_h": whole,
            "age_low_h": np.where(dead & (rounds_h > 0), np.floor(seen), whole),
            "age_high_h": np.where(dead, whole, np.inf),
            "born": BORN,
            "born_precision": "time",
            "fed_after_h": np.where(fed < age, np.round(fed * 60) / 60, np.nan),
            "fed_not_by_h": np.where(fed < age, np.nan, np.where(dead, found, age)),
            "suck_reflex": np.where(weak, "weak", "strong"),
            "birth_type": pd.Categorical(
                np.where(size > 1, "twin", "single"), ["single", "twin"], ordered=True
            ),
            "cluster": litter,
        }
    )
    if rounds_h:
        return births
    minutes = pd.to_timedelta(np.where(dead, age, 0.0), unit="h")
    return births.assign(died_at=pd.Series(BORN + minutes).where(dead))


def answers(births: pd.DataFrame, truth: float) -> dict[str, bool]:
    """Whether each way of looking covered the truth (ours) or claimed a difference (simply comparing)."""
    group = cohort(births, HORIZON_H)
    simply = naive(group, 4.0, WINDOW_H, SETTINGS)
    hourly = as_it_happens(group, HORIZON_H, SETTINGS)
    late = landmarks(group, (4.0,), WINDOW_H, SETTINGS)
    said = {
        "simply compared from birth: claims a difference": bool(simply["p"][0] < 0.05),
        "hour by hour, allowing for weakness: covers": bool(hourly["low"][1] <= truth <= hourly["high"][1]),
        "hour by hour, crude: covers": bool(hourly["low"][0] <= truth <= hourly["high"][0]),
    }
    if truth == 1.0:
        covered = bool(late["low"][1] <= truth <= late["high"][1])
        said["landmark at 4 h, allowing for weakness: covers"] = covered
    return said


def study(name: str, truth: float, rounds_h: float, flocks: int, rng: np.random.Generator) -> None:
    """Print one block: the share of seasons in which each answer held."""
    held: dict[str, list[bool]] = defaultdict(list)
    deaths = []
    for _ in range(flocks):
        births = flock(rng, truth, rounds_h)
        deaths.append(int((births["died"] & (births["age_h"] < HORIZON_H)).sum()))
        for answer, true in answers(births, truth).items():
            held[answer].append(true)
    print(f"\n{name}; {flocks} seasons, median deaths in the first day {np.median(deaths):.0f}")
    for answer, was in held.items():
        share = np.mean(was)
        print(
            f"  {answer:52s} {100 * share:5.1f} %  (simulation error {100 * np.sqrt(share * (1 - share) / flocks):.1f})"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seasons", type=int, default=often(1000))
    chosen = parser.parse_args()
    rng = np.random.default_rng(RNG_NUMBER)
    print(f"tests/simulations/colostrum.py, {datetime.date.today()}, generator number {RNG_NUMBER}")
    study("No effect of the feed, deaths seen to the minute", 1.0, 0.0, chosen.seasons, rng)
    study("Hazard doubled while unfed, deaths seen to the minute", 2.0, 0.0, chosen.seasons, rng)
    study("No effect of the feed, deaths found at rounds six hours apart", 1.0, 6.0, chosen.seasons, rng)
    study("Hazard doubled while unfed, deaths found at rounds six hours apart", 2.0, 6.0, chosen.seasons, rng)


if __name__ == "__main__":
    main()

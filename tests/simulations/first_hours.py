"""Do checks of the first hours go with loss where they do, and not where they do not? Prints one table; not a test.

Run from the top of the project and keep what it prints:

    python -m tests.simulations.first_hours | tee tests/simulations/first_hours.txt

Each season has about 600 newborns in litters of one to three, some one in seven of which are slow to stand and to feed.
Those slow at either have the hazard of the others, or three times it. Littermates share luck through a Gaussian
copula. Deaths are found at the keeper's rounds, six hours apart: last seen alive is the round before, birth, or when it
was seen to stand or to feed; of one that was found dead before it had stood or fed "not by" the round is written. The
seasons go through the chapter's own counting (`first_hours.checks`, `first_hours.predictors`).
"""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd
from scipy import special

from neonatal_stats.chapters.counted.first_hours import ANSWER, READINGS, changed, checks, predictors
from neonatal_stats.measures.claims import over_readings
from neonatal_stats.season.settings import Settings
from tests.simulations.times import often

RNG_NUMBER = 20260719
NEWBORNS, SLOW_SHARE, SLOWER, ALIKE, ROUNDS_H = 600, 0.15, 3.5, 0.2, 6.0
LOST_BY_H = {2.0: 0.03, 6.0: 0.06, 24.0: 0.10, 72.0: 0.13, 168.0: 0.15}
"""Share lost by each age where the hazard is plain: a quarter of the deaths before the first round is over."""
SETTINGS = Settings()
WINDOW = ("7 d", "lost_by_7_d")
CHECKED = {"standing": SETTINGS.marks.standing_h, "feeding": SETTINGS.marks.fed_h}


def flock(rng: np.random.Generator, hazard_ratio: float) -> pd.DataFrame:
    """One season's newborns born alive with the columns that the chapter reads."""
    size = rng.choice([1, 2, 3], p=[0.45, 0.47, 0.08], size=NEWBORNS)
    litter = np.repeat(np.arange(NEWBORNS), size)[:NEWBORNS]
    slow = rng.random(NEWBORNS) < SLOW_SHARE
    stood = np.exp(rng.normal(np.log(0.4), 0.4, NEWBORNS)) * np.where(slow, SLOWER, 1.0)
    fed = stood + np.exp(rng.normal(np.log(0.6), 0.4, NEWBORNS))
    shared = np.sqrt(ALIKE) * rng.normal(size=NEWBORNS)[litter]
    luck = special.ndtr(shared + np.sqrt(1 - ALIKE) * rng.normal(size=NEWBORNS))
    wanted = -np.log(luck) / np.where(slow, hazard_ratio, 1.0)
    upto = -np.log1p(-np.array([0.0, *LOST_BY_H.values()]))
    died = np.interp(wanted, upto, [0.0, *LOST_BY_H], right=np.inf)
    return _as_written(litter, stood, fed, died, rng.uniform(0, ROUNDS_H, NEWBORNS))


def _as_written(
    litter: np.ndarray, stood: np.ndarray, fed: np.ndarray, died: np.ndarray, first_round: np.ndarray
) -> pd.DataFrame:
    dead = np.isfinite(died)
    gone = np.where(dead, died, 0.0)
    rounds = np.floor((gone - first_round) / ROUNDS_H) * ROUNDS_H + first_round
    done = [np.where(hour < died, hour, 0.0) for hour in (stood, fed)]
    seen, found = np.maximum.reduce([rounds, *done, np.zeros(len(died))]), rounds + ROUNDS_H
    age = np.where(dead, np.floor(found), 1008.0)
    births = pd.DataFrame(
        {
            "stillborn": False,
            "died": dead,
            "age_known": True,
            "age_h": age,
            "age_low_h": np.where(dead, np.floor(seen), age),
            "cluster": litter,
            WINDOW[1]: pd.array(dead & (age < 168.0), dtype="boolean"),
        }
    )
    for name, hour in (("stood", stood), ("fed", fed)):
        births[f"{name}_after_h"] = np.where(hour < died, np.round(hour * 60) / 60, np.nan)
        births[f"{name}_not_by_h"] = np.where(hour < died, np.nan, found)
    return births


def answers(births: pd.DataFrame) -> Iterator[dict[str, Any]]:
    """Each check: its risk ratio and interval, the readings' lowest and highest, the outermost limits of their
    intervals (``bound_low`` and ``bound_high``, open where one is), and the p of the weakest.
    """
    found = checks(births, SETTINGS.marks, ANSWER)
    read = (checks(births, SETTINGS.marks, one) for one in READINGS)
    others = [changed(found, one, "state", "alive") for one in read]
    frames = [predictors(births, one, WINDOW, SETTINGS) for one in (found, *others)]
    for row in over_readings(frames[0], frames[1:]).to_dict("records"):
        if row["check"] in CHECKED:
            limits = pd.concat([one.loc[one["key"] == row["key"], ["low", "high"]] for one in frames])
            low, high = limits["low"].fillna(0).min(), limits["high"].fillna(np.inf).max()
            p = float(np.fmax(row["p"], row["weakest"]))
            yield {**row, "bound_low": low, "bound_high": high, "p": p}


def study(hazard_ratio: float, seasons: int, rng: np.random.Generator) -> None:
    """Print one block: what the answer, and the readings of what the records leave open, say of each check."""
    found = pd.DataFrame([row for _ in range(seasons) for row in answers(flock(rng, hazard_ratio))])
    for check, mark_h in CHECKED.items():
        rows = found[found["check"] == check]
        holds = ((rows["low"].fillna(0) <= 1) & (rows["high"].fillna(np.inf) >= 1)).mean()
        bounds = ((rows["bound_low"] <= 1) & (rows["bound_high"] >= 1)).mean()
        clear = (rows["p"] < 1 - SETTINGS.level).mean()
        error = 1.2533 * np.log(rows["estimate"].where(rows["estimate"] > 0)).std() / np.sqrt(len(rows))
        told = "  ".join(_share(share, seasons) for share in (holds, bounds, clear))
        median, highest = rows["estimate"].median(), rows["highest"].median()
        print(f"  {f'{check} by {mark_h:g} h':16s} {median:6.2f} ({error:.2f})  {told}  {highest:6.2f}")


def _share(p: float, n: int) -> str:
    return f"{100 * p:5.1f} % ({100 * np.sqrt(p * (1 - p) / n):.1f})"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seasons", type=int, default=often(400))
    chosen = parser.parse_args()
    rng = np.random.default_rng(RNG_NUMBER)
    print(f"tests/simulations/first_hours.py, {datetime.date.today()}, generator number {RNG_NUMBER}")
    for ratio, says in ((1.0, "Nothing differs"), (3.0, "The slow have three times the hazard")):
        print(f"\n{says}; {chosen.seasons} seasons: risk ratio of those that had not met a mark")
        print(
            "  check             median (error)  interval holds  bounds hold 1   weakest < 0.05  highest reading"
        )
        study(ratio, chosen.seasons, rng)


if __name__ == "__main__":
    main()

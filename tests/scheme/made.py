"""Invented births of many farms, drawn at once: as many as are asked for, with the types of tidy Parquet."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

CAUSES = np.array(
    ["starvation-mismothering-exposure", "infection", "premature or weak", "accident"], dtype=object
)
HARD, SLOW = 1.8, 60.0


def scheme_births(n: int, *, farms: int, number: int = 1) -> pd.DataFrame:
    """About ``n`` newborns in litters of one to three; littermates share their risk; one dam in 50 is not known."""
    draw = np.random.default_rng(number)
    litters = n // 2
    size = draw.choice([1, 2, 3], litters, p=[0.25, 0.55, 0.2])
    litter = np.repeat(np.arange(litters), size)
    rows = len(litter)
    hard = (draw.random(litters) < 0.12)[litter]
    risk = np.minimum(draw.beta(0.7, 6.0, litters)[litter] * np.where(hard, HARD, 1.0), 1.0)
    born = pd.Timestamp("2026-03-01") + pd.to_timedelta(
        draw.integers(0, 40 * 24 * 4, litters)[litter] * 15, unit="min"
    )
    still = draw.random(rows) < risk / 3
    died = ~still & (draw.random(rows) < risk)
    left = ~still & ~died & (draw.random(rows) < 0.03)
    age_min = np.minimum(draw.exponential(SLOW * 60, rows), 41 * 24 * 60).astype(int)

    def at(which: NDArray[np.bool_], minutes: NDArray[np.int64]) -> pd.Series:
        return pd.Series(born + pd.to_timedelta(minutes, unit="min")).where(which).astype("datetime64[us]")

    return pd.DataFrame(
        {
            "farm": _words(
                [f"farm {place:03d}" for place in range(farms)], draw.integers(0, farms, litters)[litter]
            ),
            "season": _words(["2026"], np.zeros(rows, dtype=int)),
            "species": _words(["sheep"], np.zeros(rows, dtype=int)),
            "dam_id": pd.Series(litter).astype("string").where((draw.random(litters) > 0.02)[litter]),
            "born_at": pd.Series(born).astype("datetime64[us]"),
            "born_at_is_day": False,
            "litter_size": pd.array(size[litter], dtype="Int64"),
            "sex": _words(["female", "male", None], draw.choice([0, 1, 2], rows, p=[0.49, 0.49, 0.02])),
            "delivery": _words(["unassisted", "hard assist"], hard.astype(int)),
            "born_alive": pd.array(~still, dtype="boolean"),
            "died": pd.array(still | died, dtype="boolean"),
            "died_at": at(died, age_min),
            "died_at_is_day": False,
            "cause": _words([*CAUSES, None], np.where(died, draw.integers(0, 5, rows), 4)),
            "left_at": at(left, age_min + 600),
            "left_at_is_day": False,
        }
    )


def _words(words: list[str | None], places: NDArray[np.int64]) -> pd.Series:
    return pd.Series(np.array(words, dtype=object)[places], dtype="string")

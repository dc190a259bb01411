"""Invented births of many farms, drawn at once: as many as are asked for, with the types of tidy Parquet."""

from __future__ import annotations

from pathlib import Path

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


def with_more(births: pd.DataFrame, number: int = 1) -> pd.DataFrame:
    """The births with the dam's litters, weights, mothering-up, the first feed, and a region of their own."""
    draw, n = np.random.default_rng(number), len(births)
    accepted = draw.choice([0, 1, 2], n, p=[0.06, 0.84, 0.10])
    fed = pd.Series(draw.integers(5, 300, n)).where(draw.random(n) < 0.8)
    return births.assign(
        dam_parity=pd.array(draw.integers(1, 7, n), dtype="Int64"),
        birth_weight_kg=np.round(draw.normal(4.2, 0.8, n), 1),
        mothered_up=_words(["no", "yes", None], accepted),
        fed_after_min=pd.array(fed, dtype="Float64"),
        region=_words(["north", "south", "west"], draw.integers(0, 3, n)),
    )


def written(births: pd.DataFrame, folder: Path) -> Path:
    """The births as a file a farm and season."""
    for (farm, season), rows in births.groupby(["farm", "season"]):
        place = folder / f"farm={farm}" / f"season={season}"
        place.mkdir(parents=True)
        rows.to_parquet(place / "births.parquet", index=False)
    return folder


def two_seasons(n: int, *, farms: int) -> pd.DataFrame:
    """So many births in each of two seasons, the second a year later."""
    last, this = (with_more(scheme_births(n, farms=farms, number=one), one) for one in (1, 2))
    year = pd.Timedelta(days=365)
    later = {name: (this[name] + year).astype("datetime64[us]") for name in ("born_at", "died_at", "left_at")}
    season = pd.array(["2027"] * len(this), dtype="string")
    return pd.concat([last, this.assign(season=season, **later)], ignore_index=True)

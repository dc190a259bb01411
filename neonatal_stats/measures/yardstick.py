"""What others have published: the band of losses of comparable flocks and herds, beside which a season is read.

A yardstick is no target and no verdict of a farm's work: the published flocks differ from this one, and from one
another, in breed, weather, care and in what they counted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
import pandas as pd

COLUMNS = (
    "species", "kind", "outcome", "of", "window_h", "low", "middle", "high", "spread", "n", "counted_in", "year",
    "region", "definition", "source",
)  # fmt: skip
BORN_DEAD, LOST, FAILED_TRANSFER = "born dead", "lost", "failed transfer"
BORN, BORN_ALIVE = "born", "born alive"
STUDIES = 2  # a band needs as many

WINDOWS: Mapping[str, tuple[float, float]] = {
    "at birth": (0, 0),
    "two days": (24, 48),
    "a week": (96, 200),
    "a month": (500, 1010),
    "weaning": (1010, 5500),
}
"""Windows that may be read beside each other: hours since birth, from and to, both included."""

OVER_TIME_OR_PLACE = ("flocks", "farms", "years", "countries", "studies", "sites and years")
"""Spreads that are a band of flocks or herds; an interval of one study is not, and its middle counts."""


@dataclass(frozen=True, eq=False)
class Yardstick:
    """The lowest and highest share published for one outcome by about one age; ``rows`` are the studies."""

    low: float
    high: float
    rows: pd.DataFrame

    @property
    def studies(self) -> int:
        """How many sources the band rests on."""
        return int(self.rows["source"].nunique())


@cache
def published() -> pd.DataFrame:
    """The reference table: one row a published figure, `COLUMNS`; shares from 0 to 1, windows in hours.

    ``low`` and ``high`` are the ends of ``spread`` (of flocks, years, or the interval of one study), empty where the
    source gives one figure; ``n`` counts ``counted_in``.
    """
    with (resources.files("neonatal_stats.measures") / "published.csv").open(encoding="utf-8") as file:
        return pd.read_csv(file)


def yardstick(
    species: str,
    outcome: str,
    *,
    of: str = BORN,
    window_h: float = 0.0,
    kind: str = "",
    table: pd.DataFrame | None = None,
) -> Yardstick | None:
    """The band of what was published for an outcome; None where fewer than `STUDIES` sources can be read beside it.

    Parameters
    ----------
    outcome : `BORN_DEAD`, `LOST` or `FAILED_TRANSFER`; deaths at birth are read whatever age a source calls birth.
    of : whether the share is of all born or of those born alive; sources that count the other are left out.
    window_h : the age by which the outcome is counted, hours.
    kind : such as "dairy" or "suckler"; the sources of every kind where it is empty or none names it.
    table : as `published`, with a reader's own references; the published ones by default.
    """
    rows = published() if table is None else table
    rows = rows[(rows["species"] == species) & (rows["outcome"] == outcome)]
    if outcome == LOST:
        low, high = _window(window_h)
        rows = rows[rows["window_h"].between(low, high) & (rows["of"] == of)]
    if kind and (rows["kind"] == kind).any():
        rows = rows[rows["kind"] == kind]
    if rows["source"].nunique() < STUDIES:
        return None
    wide = rows["spread"].isin(OVER_TIME_OR_PLACE)
    lows = rows["low"].where(wide).fillna(rows["middle"])
    highs = rows["high"].where(wide).fillna(rows["middle"])
    return Yardstick(float(lows.min()), float(highs.max()), rows.reset_index(drop=True))


def _window(window_h: float) -> tuple[float, float]:
    """The hours that may be read beside this age; nothing where no window holds it."""
    inside = (ends for ends in WINDOWS.values() if ends[0] <= window_h <= ends[1])
    return next(inside, (np.nan, np.nan))


def beside(low: float, high: float, band: tuple[float, float]) -> str:
    """Where a share lies by its interval: "below", "within" or "above" the band, or "cannot say".

    >>> beside(0.02, 0.03, (0.04, 0.10)), beside(0.05, 0.08, (0.04, 0.10)), beside(0.08, 0.14, (0.04, 0.10))
    ('below', 'within', 'cannot say')
    """
    if high < band[0]:
        return "below"
    if low > band[1]:
        return "above"
    return "within" if band[0] <= low and high <= band[1] else "cannot say"

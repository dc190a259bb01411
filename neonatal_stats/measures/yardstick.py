"""What others have published: the band of losses of comparable flocks and herds, beside which a season is read.

A yardstick is no target and no verdict of a farm's work: the published flocks differ from this one, and from one
another, in breed, weather, care and in what they counted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from importlib import resources

import numpy as np
import pandas as pd

from neonatal_stats.season.settings import Reference
from neonatal_stats.vocabulary.published import (
    ALL_KINDS,
    APART_KINDS,
    AVERAGES,
    BORN,
    BORN_DEAD,
    FAILED_TRANSFER,
    LOST,
    SAME_KIND,
    SINGLE_ONES,
)

COLUMNS = (
    "species", "kind", "outcome", "of", "window_h", "low", "middle", "high", "spread", "n", "counted_in", "year",
    "region", "definition", "source", "in_band",
)  # fmt: skip
STUDIES = 2  # a band needs as many

WINDOWS: Mapping[str, tuple[float, float]] = {
    "at birth": (0, 0),
    "two days": (24, 48),
    "a week": (96, 240),
    "a month": (480, 800),
    "weaning": (840, 5500),
}
"""Windows that may be read beside each other: hours since birth, from and to, both included."""

BELOW, WITHIN, ABOVE, CANNOT_SAY = "below", "within", "above", "cannot say"


@dataclass(frozen=True, eq=False)
class Yardstick:
    """Where published flocks or herds usually lie in one outcome by about one age.

    ``low`` and ``high`` are the ends of the band; ``single`` the lowest and highest single flock or herd that was met
    with (NaN where none is told); ``kind`` the kind of flock it is of, `ALL_KINDS` for several; ``rows`` the figures.
    """

    low: float
    high: float
    single: tuple[float, float]
    kind: str
    rows: pd.DataFrame

    @property
    def studies(self) -> int:
        """How many sources the band rests on."""
        return int(self.rows["source"].nunique())

    @property
    def windows_h(self) -> tuple[float, float]:
        """The first and the last age by which the sources count, hours."""
        return float(self.rows["window_h"].min()), float(self.rows["window_h"].max())


@cache
def published() -> pd.DataFrame:
    """The reference table: one row a published figure, `COLUMNS`; shares from 0 to 1, windows in hours.

    ``low`` and ``high`` are the ends of ``spread`` (of flocks, years, or the interval of one study), empty where the
    source gives one figure; ``n`` counts ``counted_in``. ``in_band`` is "no" where a figure is of some of the newborns
    alone, or of a flock kept for an experiment: it is listed, and makes no band.
    """
    with (resources.files("neonatal_stats.measures") / "published.csv").open(encoding="utf-8") as file:
        return pd.read_csv(file)


def with_own(references: Sequence[Reference]) -> pd.DataFrame:
    """The published figures and a reader's own below them; `COLUMNS`, and ``own``: is it the reader's?"""
    table = published().assign(own=False)
    if not references:
        return table
    mine = pd.DataFrame([asdict(one) for one in references]).assign(in_band="yes", own=True)
    mine["window_h"] = mine["window_h"].fillna(0.0).astype(float)
    numbers = dict.fromkeys(("low", "middle", "high"), float)
    mine = mine.astype(numbers).assign(spread=mine["spread"].replace("", np.nan))
    return pd.concat([table, mine[table.columns]], ignore_index=True)


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
    kind : such as "dairy" or "hill"; where too few sources are of that kind, others are read with them, but milk is
        never read for beef, nor beef for milk.
    table : as `with_own`; the published figures by default.

    Method
    ------
    The band runs from the lowest to the highest of the sources' middles, and of the ends of their spread where it is
    of quartiles, years or countries. Single flocks, however far apart, and the interval of one study do not widen it.
    A figure of the reader's own is enough by itself.
    """
    rows = with_own(()) if table is None else table
    rows = rows[(rows["species"] == species) & (rows["outcome"] == outcome) & (rows["in_band"] == "yes")]
    if outcome == LOST:
        low, high = _window(window_h)
        rows = rows[rows["window_h"].between(low, high) & (rows["of"] == of)]
    rows = _of_kind(rows, SAME_KIND.get(kind, kind))
    return _band(rows) if _enough(rows) else None


def _of_kind(rows: pd.DataFrame, kind: str) -> pd.DataFrame:
    """The figures of a kind; with those that name none, then with those of every kind, where they are too few."""
    mine, unnamed = rows["kind"] == kind, rows["kind"] == ALL_KINDS
    if _enough(rows[mine]):
        return rows[mine]
    return rows[mine | unnamed] if kind in APART_KINDS else rows


def _enough(rows: pd.DataFrame) -> bool:
    return rows["source"].nunique() >= STUDIES or bool(rows["own"].any())


def _band(rows: pd.DataFrame) -> Yardstick | None:
    usual, single = (
        rows[["low", "high"]].where(rows["spread"].isin(names)) for names in (AVERAGES, SINGLE_ONES)
    )
    ends = pd.concat([rows["middle"], usual["low"], usual["high"]])
    if ends.isna().all():
        return None
    kinds = rows["kind"].unique()
    return Yardstick(
        float(ends.min()),
        float(ends.max()),
        (float(single["low"].min()), float(single["high"].max())),
        str(kinds[0]) if len(kinds) == 1 else ALL_KINDS,
        rows.reset_index(drop=True),
    )


def _window(window_h: float) -> tuple[float, float]:
    """The hours that may be read beside this age; nothing where no window holds it."""
    inside = (ends for ends in WINDOWS.values() if ends[0] <= window_h <= ends[1])
    return next(inside, (np.nan, np.nan))


def beside(low: float, high: float, band: tuple[float, float]) -> str:
    """Where a share lies by its interval: `BELOW`, `WITHIN` or `ABOVE` the band, or `CANNOT_SAY`.

    >>> beside(0.02, 0.03, (0.04, 0.10)), beside(0.05, 0.08, (0.04, 0.10)), beside(0.08, 0.14, (0.04, 0.10))
    ('below', 'within', 'cannot say')
    """
    if high < band[0]:
        return BELOW
    if low > band[1]:
        return ABOVE
    return WITHIN if band[0] <= low and high <= band[1] else CANNOT_SAY


__all__ = [
    "ABOVE", "BELOW", "BORN_DEAD", "CANNOT_SAY", "COLUMNS", "FAILED_TRANSFER", "LOST", "WINDOWS", "WITHIN",
    "Yardstick", "beside", "published", "with_own", "yardstick",
]  # fmt: skip

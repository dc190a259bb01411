"""A season: the frames that every chapter reads, what was set aside and why, and the settings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from neonatal_stats.season.settings import Settings

PROBLEM_COLUMNS = ("table", "file", "sheet", "row", "column", "value", "problem", "remedy", "ended")
"""One row per problem; ``ended`` is "set aside", "set to missing" or "noted" (kept as it is, worth a look).

``problem`` and ``remedy`` are English text that keeps its template and what was filled in, see `season.finding.Said`.
"""


@dataclass(frozen=True)
class Balance:
    """Where the rows of one table ended; the three always add up to the rows read."""

    table: str
    rows_read: int
    used: int
    used_with_missing: int
    set_aside: int

    def __post_init__(self) -> None:
        if self.used + self.used_with_missing + self.set_aside != self.rows_read:
            raise ValueError(f"{self.table}: the rows read and the rows accounted for differ: {self}")


@dataclass(frozen=True)
class Source:
    """A file that was read: its name (never its folder), sheet, table, rows and the SHA-256 of its bytes."""

    file: str
    sheet: str
    table: str
    rows: int
    sha256: str


@dataclass(frozen=True, eq=False)
class Season:
    """One or more seasons of birth records, ready to be reviewed.

    ``births`` has one row a newborn, in an order that does not depend on the order of the files' rows, with the
    tidy columns of the vocabulary that were recorded and the columns that `follow` adds (see `season.follow`).
    ``feeds``, ``samples`` and ``weather`` are empty frames where there were none. ``problems`` is the set-aside
    list with the columns of `PROBLEM_COLUMNS`. ``whole`` is the season of all records that this one was taken from
    (`in_focus`), None where it is itself the whole.
    """

    births: pd.DataFrame
    feeds: pd.DataFrame
    samples: pd.DataFrame
    weather: pd.DataFrame
    problems: pd.DataFrame
    balances: tuple[Balance, ...]
    sources: tuple[Source, ...]
    settings: Settings = field(default_factory=Settings)
    whole: Season | None = None

    def has(self, *columns: str) -> bool:
        """True where every one of these columns of births holds at least one value."""
        return not self.lacking(columns)

    def lacking(self, columns: Iterable[str]) -> tuple[str, ...]:
        """Those of the columns of births that were not recorded at all."""
        return tuple(c for c in columns if c not in self.births or not self.births[c].notna().any())

    @property
    def seasons(self) -> tuple[str, ...]:
        """The names of the seasons, in order."""
        return tuple(sorted(self.births["season"].dropna().unique()))

    @property
    def farms(self) -> tuple[str, ...]:
        """The names of the farms, in order."""
        return tuple(sorted(self.births["farm"].dropna().unique()))

    @property
    def species(self) -> str:
        """The one species of the records, or "" where several stand in one table."""
        found = self.births["species"].dropna().unique()
        return str(found[0]) if len(found) == 1 else ""


def in_focus(season: Season, name: str) -> Season:
    """The births, feeds and samples of the season of that name; weather, problems and balances stay whole.

    Raises
    ------
    ValueError : where the records hold no such season; the sentence names those they hold.
    """
    if name not in season.seasons:
        raise ValueError(f"season: no records of {name!r}; the records hold {', '.join(season.seasons)}")
    births = season.births[season.births["season"].astype(str) == name]
    position = pd.Series(np.arange(len(births)), index=births["newborn"].to_numpy())
    births = births.reset_index(drop=True).assign(newborn=np.arange(len(births)))
    return replace(
        season,
        births=births,
        feeds=_of_these(season.feeds, position),
        samples=_of_these(season.samples, position),
        whole=season,
    )


def _of_these(rows: pd.DataFrame, position: pd.Series) -> pd.DataFrame:
    if rows.empty:
        return rows
    kept = rows[rows["newborn"].isin(position.index)].reset_index(drop=True)
    return kept.assign(newborn=position.loc[kept["newborn"]].to_numpy())

"""Colostrum quality, counted: how much of what was tested reached the mark, by dam, hour of milking and source."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.counted.colostrum_transfer import Transfer
from neonatal_stats.measures.colostrum_quality import TESTED_BY, marks, measured, tests
from neonatal_stats.measures.rates import rates
from neonatal_stats.season.model import Season
from neonatal_stats.vocabulary.passive_transfer import Mark, mark

GROUPED_BY = ("parity_class", "milked", "source")
REACHED, UNDER = "reached the mark", "under the mark"


@dataclass(frozen=True, eq=False)
class Quality:
    """Colostrum tested by one measure.

    ``tests`` the frame of `measures.colostrum_quality.tests`; ``reached`` a ``rates`` frame of one row, of those at the
    mark or above; ``groups`` the same by factor and group; ``drunk`` of newborns with both a tested colostrum and a
    classed blood sample, a ``rates`` frame by ``drank`` of those in the lowest class of ``serum``.
    """

    mark: Mark
    tests: pd.DataFrame
    reached: pd.DataFrame
    groups: pd.DataFrame
    drunk: pd.DataFrame
    serum: str


def quality(season: Season, transfer: tuple[Transfer, ...]) -> tuple[Quality, ...]:
    """Every measure of colostrum that has a mark; beside births the one by which most was tested."""
    found = [_quality(season, one, transfer) for one in marks(season)]
    if season.alone:
        return tuple(found)
    return tuple(sorted(found, key=lambda one: -len(one.tests))[:1])


def unmarked(season: Season) -> tuple[str, ...]:
    """The measures of colostrum with a value for which no mark of the species is at hand."""
    return tuple(one for one in TESTED_BY if measured(season, one) and mark(season.species, one) is None)


def _quality(season: Season, one: Mark, transfer: tuple[Transfer, ...]) -> Quality:
    level = season.settings.level
    rows = tests(season, one.measure)
    rows = rows.assign(event=(rows["value"] >= one.least).astype("boolean"))
    parts = []
    for factor in GROUPED_BY:
        known = rows[rows[factor].notna()]
        found = rates(known, (factor,), "event", level=level).rename(columns={factor: "group"})
        if len(found) > 1:
            parts.append(found.assign(factor=factor, group=found["group"].astype(str)))
    names = ["factor", "group", "events", "n", "share", "low", "high", "litters"]
    groups = pd.concat(parts, ignore_index=True)[names] if parts else pd.DataFrame(columns=names)
    serum = next((of for of in transfer if len(of.classed.samples)), None)
    drunk = _drunk(rows, serum, level) if serum else pd.DataFrame()
    measure = serum.classed.scheme.measure if serum else ""
    return Quality(one, rows, rates(rows, (), "event", level=level), groups, drunk, measure)


def _drunk(rows: pd.DataFrame, serum: Transfer, level: float) -> pd.DataFrame:
    """Of newborns with both, those in the lowest class, by whether all colostrum tested of them reached the mark."""
    known = rows[rows["newborn"] >= 0].groupby("newborn")["event"].all()
    classed = serum.classed.samples
    both = classed.assign(reached=classed["newborn"].map(known)).dropna(subset=["reached"])
    if both.empty:
        return pd.DataFrame()
    lowest = serum.classed.scheme.classes[-1]
    kinds = pd.CategoricalDtype([REACHED, UNDER], ordered=True)
    drank = both["reached"].astype(bool).map({True: REACHED, False: UNDER}).astype(kinds)
    event = (both["group"].astype(object) == lowest).astype("boolean")
    return rates(both.assign(drank=drank, event=event), ("drank",), "event", level=level)

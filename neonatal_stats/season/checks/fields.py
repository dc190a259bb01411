"""Is each number one that a newborn, its dam or the weather can have?"""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import Finding, where
from neonatal_stats.season.mapping.units import INTO
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary import ranges
from neonatal_stats.vocabulary.columns import TABLES, Column

MEASURED = ("number", "integer", "elapsed")
REMEDY = "look it up again; if it is right, widen the range in the settings under [ranges]"


def implausible(table: str, frame: pd.DataFrame, species: pd.Series, settings: Settings) -> list[Finding]:
    """Numbers outside the plausible range of their column for the species, one finding a column."""
    found = []
    for column in TABLES[table]:
        if column.kind in MEASURED and column.name in frame:
            found.append(_outside(column, frame[column.name], species, settings))
    return found


def _outside(column: Column, values: pd.Series, species: pd.Series, settings: Settings) -> Finding:
    outside = np.zeros(len(values), dtype=bool)
    sentences = np.empty(len(values), dtype=object)
    for kind in species.unique():
        limits = ranges.plausible(column.name, str(kind), settings.ranges, settings.ranges_by_species)
        if limits is None:
            continue
        here = ((species == kind) & ~values.between(*limits) & values.notna()).to_numpy()
        outside |= here
        for place in np.flatnonzero(here):
            sentences[place] = _sentence(column, float(values.iloc[place]), str(kind), limits)
    at = where(outside)
    return Finding(at, column.name, values.take(at).tolist(), list(sentences[at]), REMEDY, "set to missing")


def _sentence(column: Column, value: float, species: str, limits: ranges.Range) -> str:
    unit = f" {column.unit}" if column.unit else ""
    kind = f" for {species}" if species else ""
    sentence = f"it is outside the plausible {limits[0]:g} to {limits[1]:g}{unit}{kind}"
    for other, (times, plus) in INTO.get(column.unit, {}).items():
        if (times, plus) != (1, 0) and limits[0] <= value * times + plus <= limits[1]:
            return f"{sentence}; it would be inside if {other} was meant"
    return sentence

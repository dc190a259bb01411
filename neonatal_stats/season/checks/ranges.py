"""Values that no newborn has, and columns that hold two units at once."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import CannotRead, Finding, Said, say, term, where
from neonatal_stats.season.grid import Mask
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary import species as ranges
from neonatal_stats.vocabulary.columns import TABLES, Column
from neonatal_stats.vocabulary.terms import SPECIES
from neonatal_stats.vocabulary.units import INTO

Numbers = NDArray[np.float64]
MEASURED = ("number", "integer", "elapsed")
REMEDY = say("look it up again; if it is right, widen the range in the settings under [ranges]")
MOST = 0.5
SOME = 0.05
AT_LEAST = 5
FITTING = 0.85
ASKED_ABOUT = {"kg", "ml", "min", "s", "days", "years", "degrees C", "g/l", "g/dl"}
NOT_UNDERSTOOD = "written, not understood"
"""Stands for a species that is no word of the vocabulary."""
INTO_NAME = {"days": "d", "years": "y", "degrees C": "c"}


def implausible(table: str, frame: pd.DataFrame, species: pd.Series, settings: Settings) -> list[Finding]:
    """Numbers outside the plausible range of their column for the species, one finding a column."""
    found = []
    for column in TABLES[table]:
        if column.kind in MEASURED and column.name in frame:
            found.append(_outside(column, frame[column.name], species, settings))
        if f"{column.name}|limit" in frame:
            found.append(_impossible_limit(column, frame[f"{column.name}|limit"], species, settings))
    return found


def _impossible_limit(column: Column, limits: pd.Series, species: pd.Series, settings: Settings) -> Finding:
    """Limits beyond which no value can be: above the plausible range, or below it."""
    sign, bound = limits.str[:1], pd.to_numeric(limits.str[1:]).astype(float)
    outside = np.zeros(len(limits), dtype=bool)
    for kind in species.unique():
        range_ = ranges.plausible(column.name, str(kind), settings.ranges, settings.ranges_by_species)
        low, high = range_ or ranges.widest(column.name)
        beyond = (sign.isin((">", "≥")) & (bound > high)) | (sign.isin(("<", "≤")) & (bound <= low))
        outside |= ((species == kind) & beyond).to_numpy(dtype=bool)
    at = where(outside)
    problem = say("no value within this limit is plausible; it was not used")
    clears = (f"{column.name}|limit",)
    return Finding(at, column.name, limits.take(at).tolist(), problem, REMEDY, "set to missing", clears)


def _outside(column: Column, values: pd.Series, species: pd.Series, settings: Settings) -> Finding:
    number, kinds = values.to_numpy(dtype=float, na_value=np.nan), species.to_numpy()
    outside = np.zeros(len(values), dtype=bool)
    sentences = np.empty(len(values), dtype=object)
    for kind in pd.unique(kinds):
        limits = ranges.plausible(column.name, str(kind), settings.ranges, settings.ranges_by_species)
        if limits is None and not kind:
            limits = _by_the_bulk(column, number[kinds == kind])
        if limits is None:
            continue
        here = (kinds == kind) & ~_within(number, limits) & ~np.isnan(number)
        outside |= here
        for place in np.flatnonzero(here):
            sentences[place] = _sentence(column, float(number[place]), str(kind), limits)
    at = where(outside)
    return Finding(at, column.name, values.take(at).tolist(), list(sentences[at]), REMEDY, "set to missing")


def _by_the_bulk(column: Column, values: Numbers) -> ranges.Range | None:
    """Without a species, the limits of the species among whose usual values most of a column lies."""
    known = values[~np.isnan(values)]
    if column.name not in ranges.USUAL_BY_SPECIES["sheep"] or not len(known):
        return None
    fitting = [kind for kind in ranges.COMMON if _share(known, ranges.usual(column.name, kind)) > MOST]
    limits = [
        ranges.BY_SPECIES[kind][column.name] for kind in fitting if column.name in ranges.BY_SPECIES[kind]
    ]
    return (
        (min(low for low, _ in limits), max(high for _, high in limits))
        if limits
        else ranges.widest(column.name)
    )


def _within(values: Numbers, limits: ranges.Range) -> Mask:
    return np.asarray((values >= limits[0]) & (values <= limits[1]))


def _share(values: Numbers, limits: ranges.Range | None) -> float:
    return 0.0 if limits is None else float(_within(values, limits).mean())


def _sentence(column: Column, value: float, species: str, limits: ranges.Range) -> Said:
    low, high = f"{limits[0]:g}", f"{limits[1]:g} {column.unit}".strip()
    if species:
        outside = say(
            "it is outside the plausible {low} to {high} for {species}",
            low=low,
            high=high,
            species=term(species),
        )
    else:
        outside = say("it is outside the plausible {low} to {high}", low=low, high=high)
    for other, (times, plus) in INTO.get(column.unit, {}).items():
        if (times, plus) != (1, 0) and limits[0] <= value * times + plus <= limits[1]:
            return say("{outside}; it would be inside if {unit} was meant", outside=outside, unit=other)
    return outside


def ask_about_units(
    table: str,
    frame: pd.DataFrame,
    origin: pd.DataFrame,
    species: pd.Series,
    declared: Mapping[str, str],
    settings: Settings,
) -> None:
    """Raise `CannotRead` where many numbers of a column would be usual in another unit and are not in its own.

    A unit that the map declares for the column, and a range that the settings give for it, end the question.
    """
    settled = {*declared, *settings.ranges}
    asked = [c for c in TABLES[table] if c.name in frame and c.unit in ASKED_ABOUT and c.name not in settled]
    if not asked:
        return
    alike = origin.groupby(["file", "sheet", species.to_numpy()]).indices.values()
    for column in asked:
        values = frame[column.name].to_numpy(dtype=float, na_value=np.nan)
        for rows in alike:
            file, sheet = origin["file"].iloc[rows[0]], origin["sheet"].iloc[rows[0]]
            known = values[rows][~np.isnan(values[rows])]
            if len(known):
                place = f"{file}, sheet {sheet}" if sheet else str(file)
                _ask(column, known, str(species.iloc[rows[0]]), place)


def _ask(column: Column, values: Numbers, species: str, place: str) -> None:
    usual = ranges.usual(column.name, species)
    if usual is None and species in ("", NOT_UNDERSTOOD):
        _ask_without_species(column, values, species, place)
    if usual is None:
        return
    for unit, (times, plus) in INTO[column.unit].items():
        if (times, plus) == (1, 0):
            continue
        odd = values[~_within(values, usual) & _within(values * times + plus, usual)]
        share = len(odd) / len(values)
        if len(odd) >= AT_LEAST and share >= SOME:
            raise CannotRead(_two_units(column, place, unit, len(odd), len(values), float(odd[0]), share))


def _ask_without_species(column: Column, values: Numbers, species: str, place: str) -> None:
    """Raise `CannotRead` where no species has such values in the column's own unit, but one has them in another.

    Where a species is written and not understood, that is said first: it may be one whose newborns weigh as much.
    """
    usual_of = [ranges.USUAL_BY_SPECIES[kind] for kind in ranges.COMMON]
    kinds = [limits[column.name] for limits in usual_of if column.name in limits]
    if len(values) < AT_LEAST or any(_share(values, usual) >= FITTING for usual in kinds):
        return
    for unit, (times, plus) in INTO[column.unit].items():
        fits = max((_share(values * times + plus, usual) for usual in kinds), default=0.0)
        if (times, plus) != (1, 0) and fits >= FITTING:
            odd = values[[not any(low <= value <= high for low, high in kinds) for value in values]]
            example = float((odd if len(odd) else values)[0])
            if species:
                raise CannotRead(_species_first(column, place, unit, len(values), example))
            raise CannotRead(_two_units(column, place, unit, len(values), len(values), example, 1.0))


def _species_first(column: Column, place: str, unit: str, of: int, example: float) -> str:
    own = INTO_NAME.get(column.unit, column.unit)
    return (
        f"{place}, column species: what is written there is none of {', '.join(SPECIES)}; of those, {column.name} "
        f"would be in {unit} and not in {column.unit} ({of:,} values, such as {example:g}); mend the species, in the "
        f"file or in the map under [words.species], or say in the map under [units] {column.name} = "
        f'"{unit}" or "{own}".'
    )


def _two_units(column: Column, place: str, unit: str, odd: int, of: int, example: float, share: float) -> str:
    two = "all of the column seems to be" if share >= MOST else "some of the column seems to be"
    end = (
        f'say in the map under [units] {column.name} = "{unit}"'
        if share >= MOST
        else "write one unit throughout"
    )
    own = INTO_NAME.get(column.unit, column.unit)
    return (
        f"{place}, column {column.name}: {two} in {unit} and not in {column.unit} ({odd:,} of {of:,} values, such as "
        f'{example:g}); {end}, or, if {column.unit} is right, {column.name} = "{own}" under [units].'
    )

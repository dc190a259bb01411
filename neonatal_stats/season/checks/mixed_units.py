"""Does a column hold another unit than its own, or two units? It is asked for and never converted in silence."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from neonatal_stats.season.mapping.units import INTO
from neonatal_stats.season.settings import Settings
from neonatal_stats.season.trouble import CannotRead
from neonatal_stats.vocabulary import ranges
from neonatal_stats.vocabulary.columns import TABLES, Column

MOST = 0.5
SOME = 0.05
AT_LEAST = 5
ASKED_ABOUT = {"kg", "ml", "min", "s", "days", "years", "degrees C", "g/l", "g/dl"}


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
    for column in TABLES[table]:
        known = column.name in declared or column.name in settings.ranges
        if column.name not in frame or column.unit not in ASKED_ABOUT or known:
            continue
        values = frame[column.name].astype(float).dropna()
        by = [
            origin["file"].loc[values.index],
            origin["sheet"].loc[values.index],
            species.loc[values.index],
        ]
        for (file, sheet, kind), found in values.groupby([key.to_numpy() for key in by]):
            _ask(column, found, str(kind), f"{file}, sheet {sheet}" if sheet else str(file))


def _ask(column: Column, values: pd.Series, species: str, place: str) -> None:
    usual = ranges.usual(column.name, species)
    if usual is None:
        return
    for unit, (times, plus) in INTO[column.unit].items():
        if (times, plus) == (1, 0):
            continue
        odd = values[~values.between(*usual) & (values * times + plus).between(*usual)]
        share = len(odd) / len(values)
        if len(odd) >= AT_LEAST and share >= SOME:
            raise CannotRead(_sentence(column, place, unit, len(odd), len(values), float(odd.iloc[0]), share))


def _sentence(column: Column, place: str, unit: str, odd: int, of: int, example: float, share: float) -> str:
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


INTO_NAME = {"days": "d", "years": "y", "degrees C": "c"}

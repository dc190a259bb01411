"""Each newborn's level of the factors known at, or within minutes of, its birth (`vocabulary.factors`).

The suck reflex is checked at about 10 minutes; it groups only newborns born alive and checked.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.factors import AT_BIRTH, BY_NAME

MANY_LEVELS = 40  # a column with more words than this names animals, not groups


@dataclass(frozen=True, eq=False)
class Factor:
    """One factor: its column, its levels in printed order, and each newborn's level (-1 not known)."""

    name: str
    levels: tuple[str, ...]
    code: NDArray[np.int64]

    @property
    def known(self) -> NDArray[np.bool_]:
        """Newborns whose level is known."""
        return self.code >= 0

    def holds(self, level: str) -> NDArray[np.bool_]:
        """Newborns of a level."""
        return np.asarray(self.code == self.levels.index(level))


def factors(births: pd.DataFrame) -> tuple[Factor, ...]:
    """Every factor with at least one newborn whose level is known, in the order of `AT_BIRTH`.

    Counted: for the suck reflex only newborns born alive; for birth order only litters of two or more.
    """
    made = (factor_of(births, name) for name in AT_BIRTH)
    return tuple(one for one in made if one is not None)


def factor_of(births: pd.DataFrame, name: str) -> Factor | None:
    """One factor; None where no newborn's level is known, or where its levels are too many to be groups."""
    columns, make = MAKERS.get(name, ((name,), lambda births: births[name]))
    if not set(columns) <= set(births):
        return None
    values = _not_lost_already(make(births))
    if not values.notna().any():
        return None
    if not isinstance(values.dtype, pd.CategoricalDtype):
        values = values.astype(object).where(values.notna(), None).astype("category")
    values = values.cat.remove_unused_categories()
    if len(values.cat.categories) > MANY_LEVELS:
        return None
    levels = tuple(str(level) for level in values.cat.categories)
    return Factor(name, levels, np.asarray(values.cat.codes, dtype=np.int64))


BY_EMBRYOTOMY = ("embryotomy", terms.BORN_BY["embryotomy"])
"""Groups of newborns that were lost already."""


def _not_lost_already(values: pd.Series) -> pd.Series:
    """Without those born by embryotomy: it is done for a newborn that is lost already, and so is no risk of loss."""
    lost = values.isin(BY_EMBRYOTOMY)
    return values.mask(lost) if lost.any() else values


def with_made(births: pd.DataFrame, *names: str) -> pd.DataFrame:
    """The births with the columns of these factors of `MAKERS`, of those whose own columns are there."""
    made = {name: MAKERS[name][1](births) for name in names if set(MAKERS[name][0]) <= set(births)}
    return births.assign(**made)


def _several(births: pd.DataFrame) -> pd.Series:
    return _either(births["birth_type"].notna(), births["birth_type"] != terms.BIRTH_TYPES[0], "several")


def _first_litter(births: pd.DataFrame) -> pd.Series:
    return _either(
        births["parity_class"].notna(), births["parity_class"] != terms.PARITY_CLASSES[0], "first_litter"
    )


def _premature(births: pd.DataFrame) -> pd.Series:
    return _either(
        births["premature"].notna(), births["premature"].astype("boolean").fillna(False), "premature"
    )


def _either(known: pd.Series, second: pd.Series, factor: str) -> pd.Series:
    """The second of a factor's two levels where it is so, the first where not, missing where it is not known."""
    levels = pd.CategoricalDtype(list(BY_NAME[factor].levels), ordered=True)
    code = np.where(known, second, -1).astype(int)
    return pd.Series(pd.Categorical.from_codes(code, dtype=levels), index=known.index)


def _suck(births: pd.DataFrame) -> pd.Series:
    return births["suck_class"].where(~births["stillborn"])


def _order(births: pd.DataFrame) -> pd.Series:
    several = births["birth_type"].notna() & (births["birth_type"] != terms.BIRTH_TYPES[0])
    return _cut(
        births["birth_order"].astype(float).where(several), [0, 1, 2, np.inf], "birth_order", right=True
    )


def _condition(births: pd.DataFrame) -> pd.Series:
    return _cut(births["dam_condition"], [-np.inf, 2.5, 3.5 + 1e-9, np.inf], "dam_condition", right=False)


def _time_of_birth(births: pd.DataFrame) -> pd.Series:
    return _cut(births["born_hour"], [0, 6, 12, 18, 24], "time_of_birth", right=False)


NIGHT_FROM, NIGHT_TO = 20, 8


def by_night(births: pd.DataFrame) -> pd.Series:
    """Born by night (20 to 08) or by day (08 to 20): ordered categorical; missing where no time was written."""
    hour = births["born_hour"]
    return _either(hour.notna(), (hour >= NIGHT_FROM) | (hour < NIGHT_TO), "night")


def _cut(values: pd.Series, edges: list[float], factor: str, *, right: bool) -> pd.Series:
    return pd.cut(values.astype(float), edges, labels=list(BY_NAME[factor].levels), right=right)


MAKERS: Mapping[str, tuple[tuple[str, ...], Callable[[pd.DataFrame], pd.Series]]] = {
    "several": (("birth_type",), _several),
    "first_litter": (("parity_class",), _first_litter),
    "suck_class": (("suck_class", "stillborn"), _suck),
    "birth_order": (("birth_order", "birth_type"), _order),
    "dam_condition": (("dam_condition",), _condition),
    "time_of_birth": (("born_hour",), _time_of_birth),
    "premature": (("premature",), _premature),
    "night": (("born_hour",), by_night),
}
"""The births columns that a factor is made from, and how; every other one is the births column of its name."""

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

COLUMNS = AT_BIRTH
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


def factors(births: pd.DataFrame) -> tuple[Factor, ...]:
    """Every factor with at least one newborn whose level is known, in the order of `AT_BIRTH`.

    Counted: for the suck reflex only newborns born alive; for birth order only litters of two or more.
    """
    made = (_factor(births, name) for name in AT_BIRTH)
    return tuple(one for one in made if one is not None)


def _factor(births: pd.DataFrame, name: str) -> Factor | None:
    values = MAKERS[name](births) if name in MAKERS else _column(births, name)
    if values is None or not values.notna().any():
        return None
    if not isinstance(values.dtype, pd.CategoricalDtype):
        values = values.astype(object).where(values.notna(), None).astype("category")
    values = values.cat.remove_unused_categories()
    if len(values.cat.categories) > MANY_LEVELS:
        return None
    levels = tuple(str(level) for level in values.cat.categories)
    return Factor(name, levels, np.asarray(values.cat.codes, dtype=np.int64))


def _column(births: pd.DataFrame, name: str) -> pd.Series | None:
    return births.get(name, None)


def _several(births: pd.DataFrame) -> pd.Series | None:
    if "birth_type" not in births:
        return None
    single = births["birth_type"].astype(object).eq(terms.BIRTH_TYPES[0])
    levels = BY_NAME["several"].levels
    words = single.map(dict(zip((True, False), levels, strict=True))).where(births["birth_type"].notna())
    return words.astype(pd.CategoricalDtype(list(levels), ordered=True))


def _suck(births: pd.DataFrame) -> pd.Series | None:
    if "suck_class" not in births:
        return None
    alive = ~births["stillborn"]
    return births["suck_class"].where(alive)


def _cut(values: pd.Series, edges: list[float], factor: str, *, right: bool) -> pd.Series:
    return pd.cut(values.astype(float), edges, labels=list(BY_NAME[factor].levels), right=right)


def _order(births: pd.DataFrame) -> pd.Series | None:
    if "birth_order" not in births or "birth_type" not in births:
        return None
    several = births["birth_type"].astype(object) != terms.BIRTH_TYPES[0]
    order = births["birth_order"].astype(float).where(several & births["birth_type"].notna())
    return _cut(order, [0, 1, 2, np.inf], "birth_order", right=True)


def _condition(births: pd.DataFrame) -> pd.Series | None:
    if "dam_condition" not in births:
        return None
    condition = births["dam_condition"].astype(float)
    return _cut(condition, [-np.inf, 2.5, 3.5 + 1e-9, np.inf], "dam_condition", right=False)


def _time_of_birth(births: pd.DataFrame) -> pd.Series | None:
    if "born_hour" not in births:
        return None
    return _cut(births["born_hour"], [0, 6, 12, 18, 24], "time_of_birth", right=False)


def _premature(births: pd.DataFrame) -> pd.Series | None:
    if "premature" not in births:
        return None
    levels = BY_NAME["premature"].levels
    words = births["premature"].astype(object).map(dict(zip((False, True), levels, strict=True)))
    return words.astype(pd.CategoricalDtype(list(levels), ordered=True))


MAKERS: Mapping[str, Callable[[pd.DataFrame], pd.Series | None]] = {
    "several": _several,
    "suck_class": _suck,
    "birth_order": _order,
    "dam_condition": _condition,
    "time_of_birth": _time_of_birth,
    "premature": _premature,
}

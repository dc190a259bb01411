"""A column of somebody's own laid beside the births: by identity, or row by row."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from numbers import Real
from typing import Any
from warnings import warn

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.parsed import is_nothing
from neonatal_stats.vocabulary.columns import BIRTHS
from neonatal_stats.vocabulary.derived import derived
from neonatal_stats.vocabulary.factors import BY_NAME

Values = pd.Series | Mapping[Any, Any] | Callable[[pd.DataFrame], Any] | Sequence[Any] | NDArray[Any]
"""Values by identity, what makes them of the births, or one a newborn in the order of the births."""


def own_column(
    births: pd.DataFrame, all_of_it: pd.DataFrame, name: str, values: Values, of: str
) -> pd.Series:
    """The values as a column of births, a function given ``all_of_it``; see `Season.with_column`."""
    if not isinstance(name, str) or not name:
        raise ValueError(f"with_column: a column is named by a text; found {name!r}.")
    if name in births or name in BY_NAME or derived("births", name) or any(c.name == name for c in BIRTHS):
        raise ValueError(f"with_column: {name!r} is a column of the records already; choose another name.")
    if of not in ("newborn_id", "dam_id"):
        raise ValueError(f"with_column, of: use newborn_id or dam_id; found {of!r}.")
    if callable(values) and not isinstance(values, pd.Series):
        return _plain(_by_row(births, name, values(all_of_it), "the function gave"))
    if isinstance(values, pd.Series | Mapping):
        given = (
            values if isinstance(values, pd.Series) else pd.Series(dict(values), dtype=object).infer_objects()
        )
        return _plain(_by_identity(births, name, given, of))
    return _plain(_by_row(births, name, values, "found"))


def _by_row(births: pd.DataFrame, name: str, values: Any, found: str) -> pd.Series:
    """Values one a newborn; a Series is laid by the labels of the births, in whatever order it stands."""
    several = isinstance(
        values, Sequence | np.ndarray | pd.Index | pd.Series | pd.api.extensions.ExtensionArray
    )
    if not several or isinstance(values, str | bytes) or np.ndim(values) != 1:
        raise ValueError(
            f"with_column, {name}: {found} {type(values).__name__}; give one value a newborn in the order of "
            "season.births, a Series or dict by newborn_id, or a function of the births that gives a Series."
        )
    if len(values) != len(births):
        raise ValueError(
            f"with_column, {name}: {len(values):,} values for {len(births):,} newborns; give one a newborn in the "
            "order of season.births, a Series or dict by newborn_id, or a function of the births."
        )
    if not isinstance(values, pd.Series):
        return pd.Series(values, index=births.index)
    if not values.index.is_unique or not births.index.isin(values.index).all():
        raise ValueError(
            f"with_column, {name}: the Series that {found} has other labels than the births, so nobody can tell "
            "which value is whose; keep the index of the births, or give an array in their order (.to_numpy())."
        )
    return values.reindex(births.index)


def _plain(values: pd.Series) -> pd.Series:
    """Texts without blanks around them, and words for "not recorded" missing, as in a file; yes-no values as such."""
    if values.dtype != object and not isinstance(values.dtype, pd.StringDtype):
        return values
    read = pd.Series([_cell(one) for one in values], index=values.index, dtype=object)
    answers = read.dropna()
    only_yes_no = len(answers) > 0 and all(isinstance(one, bool | np.bool_) for one in answers)
    return read.astype("boolean") if only_yes_no else read


def _cell(one: object) -> object:
    """A value as a cell of a file holds it: text without blanks around it, None for "not recorded"."""
    told = one.strip() if isinstance(one, str) else one
    nothing = told is None or told is pd.NA or told is pd.NaT or told != told
    return None if nothing or told == "" or is_nothing(told) else told


def age_h(argument: str, value: object) -> float:
    """An age in hours, 0 or more; anything else is refused in the argument's name."""
    if isinstance(value, bool) or not isinstance(value, Real) or not 0 <= float(value) < np.inf:
        raise ValueError(f"{argument}: give an age in hours as a number, 0 or more; found {value!r}.")
    return float(value)


def _by_identity(births: pd.DataFrame, name: str, values: pd.Series, of: str) -> pd.Series:
    """Values laid at the newborns that bear their identity, or whose dam does."""
    if of not in births:
        raise ValueError(f"with_column, {name}: these records hold no {of}, so values cannot be laid by it.")
    held = values.set_axis(values.index.map(lambda label: str(label).strip()))
    twice = held.index[held.index.duplicated()]
    if len(twice):
        raise ValueError(
            f"with_column, {name}: {of} {twice[0]!r} has several values; give each identity one."
        )
    identity = births[of].astype(object).map(str, na_action="ignore")
    if of == "newborn_id":
        named = identity[identity.isin(held.index)]
        if named.duplicated().any():
            raise ValueError(
                f"with_column, {name}: newborn_id {named[named.duplicated()].iloc[0]!r} stands at several newborns; "
                "take one season, or give one value a newborn in the order of season.births."
            )
    found = identity.isin(held.index).to_numpy()
    if not found.any():
        raise ValueError(
            f"with_column, {name}: none of the labels of the values is a {of} of these records, which look like "
            f"{next(iter(identity.dropna()), 'nothing')!r}; set_index({of!r}) first, or make the values of the births "
            "themselves: lambda births: ..."
        )
    strangers = held.index[~held.index.isin(identity)]
    if len(strangers):
        warn(
            f"with_column, {name}: {len(strangers):,} of {len(held):,} labels are no {of} of these records and were "
            f"not used, such as {strangers[0]!r}.",
            stacklevel=4,
        )
    place = held.index.get_indexer(pd.Index(identity, dtype=object))
    taken = held.take(np.maximum(place, 0)).set_axis(births.index)
    return taken.where(found)

"""The kinds of all columns of births, held once, so that nobody who reads them has to make sure again."""

from __future__ import annotations

import numpy as np
import pandas as pd
from pandas.api.types import (
    is_bool_dtype,
    is_datetime64_any_dtype,
    is_float_dtype,
    is_integer_dtype,
    is_object_dtype,
)

from neonatal_stats.vocabulary.columns import BIRTHS
from neonatal_stats.vocabulary.derived import derived

OF_KIND = {
    "text": "text",
    "terms": "text",
    "moment": "moment",
    "date": "moment",
    "number": "number",
    "integer": "number",
    "elapsed": "number",
    "yes_no": "flag or missing",
}
ORDERED = (
    "farm",
    "season",
    "delivery",
    "sex",
    "birth_place",
    "suck_reflex",
    "mothered_up",
    "rearing",
    "left_reason",
    "cause",
    "cause_basis",
)
"""Tidy columns that are ordered classes, those of the season by time."""


def kind_of(name: str) -> str:
    """The kind of a column of births as `follow` leaves it; "" for a column that is not of the vocabulary."""
    if (found := derived("births", name)) is not None:
        return found.kind
    if name == "died" or name.endswith("_is_day"):
        return "flag"
    if name in ORDERED:
        return "class"
    if name.endswith("_not_by"):
        return "number"
    return next((OF_KIND.get(column.kind, "text") for column in BIRTHS if column.name == name), "")


def checked(births: pd.DataFrame) -> pd.DataFrame:
    """The frame itself. Raises `TypeError`, naming each column of another kind than agreed."""
    odd = [
        f"{name} is {births[name].dtype} and should be a {kind}"
        for name in map(str, births.columns)
        if (kind := kind_of(name)) and not _is(births[name], kind)
    ]
    if odd:
        raise TypeError(f"births: {'; '.join(odd)}")
    return births


def _is(values: pd.Series, kind: str) -> bool:
    dtype = values.dtype
    if kind == "class":
        return isinstance(dtype, pd.CategoricalDtype) and bool(dtype.ordered)
    if isinstance(dtype, pd.CategoricalDtype):
        return False
    if kind == "flag":
        return is_bool_dtype(dtype) and isinstance(dtype, np.dtype)
    if kind == "flag or missing":
        return is_bool_dtype(dtype) and not isinstance(dtype, np.dtype)
    if kind == "number":
        return is_float_dtype(dtype)
    if kind == "code":
        return is_integer_dtype(dtype)
    return is_datetime64_any_dtype(dtype) if kind == "moment" else is_object_dtype(dtype)

"""Arguments are checked once, here: a bad one is named, with the first place where it is bad."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


def refuse(name: str, bad: NDArray[np.bool_], values: NDArray[Any], must: str) -> None:
    """Name the argument and the first position where it is bad, if there is one."""
    if bad.any():
        position = int(np.flatnonzero(bad)[0])
        raise ValueError(f"{name}: {must}; found {values.ravel()[position]} at position {position}")


def one_of(value: str, choices: Sequence[str], name: str) -> str:
    """One of a few words."""
    if value not in choices:
        raise ValueError(f"{name}: must be one of {', '.join(choices)}; found {value} at position 0")
    return value


def _numbers(values: ArrayLike, name: str) -> Floats:
    """Floats, or an error that names the first value that is no number."""
    try:
        return np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        for position, value in enumerate(np.asarray(values, dtype=object).ravel()):
            try:
                float(value)
            except (TypeError, ValueError):
                raise ValueError(f"{name}: must be numbers; found {value!r} at position {position}") from None
        raise


def ages(values: ArrayLike, name: str = "age_h") -> Floats:
    """Hours since birth: finite and not negative."""
    array = _numbers(values, name)
    refuse(name, ~np.isfinite(array), array, "ages must be finite")
    refuse(name, array < 0, array, "ages must not be negative")
    return array


def codes(values: ArrayLike, name: str, below: int | None = None) -> Integers:
    """Whole numbers from 0: outcomes, groups and clusters; ``below`` is the first number too large."""
    array = np.asarray(values)
    if array.dtype.kind == "f":
        refuse(name, ~np.isfinite(array) | (array != np.floor(array)), array, "codes must be whole numbers")
    elif array.dtype.kind not in "iub":
        raise ValueError(f"{name}: codes must be whole numbers; found {array.dtype} at position 0")
    array = array.astype(np.int64, copy=False)
    refuse(name, array < 0, array, "codes must not be negative")
    if below is not None:
        refuse(name, array >= below, array, f"codes must be below {below}")
    return array


def as_recorded(values: ArrayLike, name: str = "age_h") -> NDArray[Any]:
    """Ages checked as by :func:`ages` but left in the type they came in, so that a million cost no copy."""
    array = np.asarray(values)
    if array.dtype.kind not in "iuf":
        array = _numbers(values, name)
    if array.ndim != 1:
        raise ValueError(f"{name}: must have one dimension; found {array.ndim}")
    if array.size and not (array.min() >= 0 and array.max() < np.inf):
        ages(array, name)
    return array


def small_codes(values: ArrayLike, name: str, below: int | None = None) -> tuple[NDArray[Any], int]:
    """Codes checked as by :func:`codes` but left in the type they came in, and the first number unused."""
    array = np.asarray(values)
    if array.dtype.kind == "b":
        array = array.view(np.uint8)
    if array.dtype.kind not in "iu":
        array = codes(array, name)
    if array.ndim != 1:
        raise ValueError(f"{name}: must have one dimension; found {array.ndim}")
    if not array.size:
        return array, 1
    # read as unsigned, a negative code is a very large one, so that one pass finds both ends
    last = int(array.view(array.dtype.str.replace("i", "u")).max())
    if last > np.iinfo(array.dtype).max or (below is not None and last >= below):
        codes(array, name, below)
    return array, last + 1


def weights(values: ArrayLike | None, size: int) -> Floats:
    """Frequency weights: how many newborns a row stands for; finite and not negative. None means one each."""
    if values is None:
        return np.ones(size)
    array = _numbers(values, "weight")
    refuse("weight", ~np.isfinite(array), array, "weights must be finite")
    refuse("weight", array < 0, array, "weights must not be negative")
    same_length(**{"weight": array, "the newborns": np.empty(size)})
    return array


def no_repeats(repeats: ArrayLike | None, why: str) -> None:
    """Refuse cluster weights where identical clusters cannot stand for each other."""
    if repeats is not None:
        raise ValueError(f"repeats: {why}; give every newborn a row of its own, without repeats")


def same_length(**arrays: NDArray[Any]) -> None:
    """All arrays must have as many rows as the first."""
    (first, reference), *others = arrays.items()
    for name, array in others:
        if len(array) != len(reference):
            shorter = min(len(array), len(reference))
            raise ValueError(
                f"{name}: must be as long as {first} ({len(reference)}); found {len(array)}, "
                f"they part at position {shorter}"
            )


def entries(entry_h: ArrayLike | None, age_h: Floats) -> Floats | None:
    """Ages at which watching began (late-tagged newborns): before the age at which it ended."""
    if entry_h is None:
        return None
    array = ages(entry_h, "entry_h")
    same_length(age_h=age_h, entry_h=array)
    refuse("entry_h", array > age_h, array, "entry must not come after exit")
    return array


def share(value: float, name: str = "level") -> float:
    """A share strictly between 0 and 1, such as a confidence level."""
    if not 0 < value < 1:
        raise ValueError(f"{name}: must lie between 0 and 1; found {value} at position 0")
    return float(value)

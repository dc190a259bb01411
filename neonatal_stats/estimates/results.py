"""An estimate with its interval, a test with its p, and the quantiles that both are made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from neonatal_stats.estimates.arguments import Floats, share

if TYPE_CHECKING:
    import pandas as pd


class OfArrays:
    """A result of arrays by group, then age or window, then cause: short when shown, and a frame to go on with."""

    def to_frame(self) -> pd.DataFrame:
        """One row a group (from 0), and age or window, and cause (from 1), where it has these; plain numbers.

        >>> from neonatal_stats.estimates import kaplan_meier
        >>> kaplan_meier([5, 9, 9], [1, 1, 0], level=0.95).to_frame()[["group", "age_h", "at_risk", "share"]].round(2)
           group  age_h  at_risk  share
        0      0    5.0      3.0   0.67
        1      0    9.0      2.0   0.33
        """
        import pandas as pd

        held = {
            name: np.asarray(values) for name, values in vars(self).items() if not isinstance(values, str)
        }
        shape = max((values.shape for values in held.values()), key=len)
        place = np.indices(shape).reshape(len(shape), -1)
        labels = {"group": place[0]} | ({"cause": place[2] + 1} if len(shape) == 3 else {})
        cells = {name: np.broadcast_to(_laid(values, shape), shape).ravel() for name, values in held.items()}
        return pd.DataFrame({**labels, **cells})

    def __repr__(self) -> str:
        groups = max((np.shape(values) for values in vars(self).values()), key=len)[0]
        return f"<{type(self).__name__}: {groups} group{'' if groups == 1 else 's'}, {getattr(self, 'method', '')}>"


def _laid(values: NDArray[np.generic], shape: tuple[int, ...]) -> NDArray[np.generic]:
    """Ages and windows, which stand once for all groups, along the second axis; the others along the first."""
    if values.ndim == 1 and len(shape) > 1:
        values = values[None, :]
    return values.reshape(values.shape + (1,) * (len(shape) - values.ndim))


@dataclass(frozen=True, eq=False)
class Estimate:
    """One number with its honest interval.

    ``low`` and ``high`` bound the estimate at the level that was asked for; ``p`` is two-sided against "no
    difference" (NaN where no test belongs). ``method`` names the formula in a few words, as printed on the page.
    ``note`` says in one sentence what could not be done ("cannot be estimated: no deaths in one group"), else "".
    A number that cannot be estimated is NaN, never infinite.
    """

    estimate: float
    low: float
    high: float
    p: float
    method: str
    note: str = ""


@dataclass(frozen=True, eq=False)
class Test:
    """A test of one hypothesis: chi-square (or other) statistic, degrees of freedom and two-sided p."""

    __test__ = False  # the name is the statistician's; pytest must not collect it

    statistic: float
    df: int
    p: float
    method: str
    note: str = ""


def critical(level: float, df: ArrayLike = np.inf) -> Floats:
    """Two-sided critical value: normal where ``df`` is infinite, else Student's t."""
    upper = 0.5 + share(level) / 2
    degrees = np.asarray(df, dtype=np.float64)
    finite = np.isfinite(degrees)
    student = special.stdtrit(np.where(finite, degrees, 1.0), upper)
    return np.asarray(np.where(finite, student, special.ndtri(upper)), dtype=np.float64)


def two_sided(statistic: ArrayLike, df: ArrayLike = np.inf) -> Floats:
    """Two-sided p of a normal (infinite ``df``) or Student statistic."""
    size = -np.abs(np.asarray(statistic, dtype=np.float64))
    degrees = np.asarray(df, dtype=np.float64)
    finite = np.isfinite(degrees)
    tail = np.where(finite, special.stdtr(np.where(finite, degrees, 1.0), size), special.ndtr(size))
    return np.asarray(2 * tail, dtype=np.float64)


def chi_square_p(statistic: float, df: int) -> float:
    """Upper tail of the chi-square distribution; NaN when nothing is left to test."""
    if df < 1 or not np.isfinite(statistic):
        return float("nan")
    return float(special.chdtrc(df, statistic))


def ratio(numerator: ArrayLike, denominator: ArrayLike) -> Floats:
    """Division that gives NaN, and no warning, where the denominator is zero."""
    top, bottom = np.asarray(numerator, np.float64), np.asarray(denominator, np.float64)
    out = np.full(np.broadcast(top, bottom).shape, np.nan)
    np.divide(top, bottom, out=out, where=bottom != 0)
    return out


def turning_point(passed: Callable[[Floats], NDArray[np.bool_]], start: Floats, end: Floats) -> Floats:
    """Where a test that fails at ``start`` and holds from some point on towards ``end`` begins to hold.

    Parameters
    ----------
    passed : takes an array with one axis more than ``start``, so that many points are tried at once.

    Returns
    -------
    As ``start``, to within 2^-55 of the distance (cut into 32 parts eleven times); ``end`` where it never holds.
    """
    inner = np.arange(1, 32) / 32
    near, far = np.asarray(start, dtype=np.float64), np.asarray(end, dtype=np.float64)
    for _ in range(11):
        step = far - near
        holds = passed(near[..., None] + step[..., None] * inner)
        first = np.where(holds.any(axis=-1), holds.argmax(axis=-1), 31)
        near, far = near + step * (first / 32), near + step * ((first + 1) / 32)
    return (near + far) / 2

"""Groups of newborns: from columns that a chapter names to codes that an estimate counts by."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray


def grouped(newborns: pd.DataFrame, by: Sequence[str]) -> tuple[pd.DataFrame, NDArray[np.int64]]:
    """The groups that occur, in printed order, and each newborn's group number (-1 where a column is
    missing).

    Parameters
    ----------
    newborns : frame with the columns of `by`; ordered categoricals keep their order, other columns are
    sorted. by : columns; an empty sequence makes one group of all.

    Returns
    -------
    (groups, code) : a frame of the group columns, one row a group, and an integer array as long as
    `newborns`.
    """
    if not by:
        return pd.DataFrame(index=range(1)), np.zeros(len(newborns), dtype=np.int64)
    keys = newborns[list(by)]
    number = keys.groupby(list(by), observed=True, sort=True, dropna=True).ngroup()
    code = number.fillna(-1).to_numpy(dtype=np.int64)
    first = pd.Series(np.arange(len(keys))).groupby(code).first()
    first = first[first.index >= 0]
    return keys.iloc[first.to_numpy()].reset_index(drop=True), np.where(code < 0, -1, code)

"""The rows of a frame one by one, by the names of its columns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd


def each_row(frame: pd.DataFrame) -> Iterator[Any]:
    """The rows as named tuples: ``row.events``; typed loosely, since a frame does not tell its columns' types."""
    return frame.itertuples(index=False)

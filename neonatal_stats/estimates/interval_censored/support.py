"""Distinct intervals with their counts, and the innermost intervals in which deaths can be placed."""

from __future__ import annotations

import numpy as np

from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.regression.risk_sets import sum_by


def distinct(low: Floats, high: Floats, counted: Floats) -> tuple[Floats, Floats, Floats]:
    """Distinct (low, high] and how many newborns share each."""
    lows, low_at = _levels(low)
    highs, high_at = _levels(high)
    cell = low_at * len(highs) + high_at
    size = len(lows) * len(highs)
    if size <= 16 * len(low) + 1_000_000:
        total = sum_by(cell, counted, size)
        used = np.flatnonzero(total)
        return lows[used // len(highs)], highs[used % len(highs)], total[used]
    used, at = np.unique(cell, return_inverse=True)
    total = sum_by(at, counted, len(used))
    return lows[used // len(highs)], highs[used % len(highs)], total


def _levels(values: Floats) -> tuple[Floats, Integers]:
    """Sorted distinct values and each value's place among them; whole hours need no sorting."""
    finite = np.isfinite(values)
    top = values.max(initial=0, where=finite)
    if top <= 4 * len(values) + 1024:
        hour = np.where(finite, values, top + 1).astype(np.int64)
        if (hour == values)[finite].all():
            seen = np.bincount(hour) > 0
            known = np.flatnonzero(seen).astype(np.float64)
            known[known > top] = np.inf
            return known, (np.cumsum(seen) - 1)[hour]
    known, place = np.unique(values, return_inverse=True)
    return known, place


def support(low: Floats, high: Floats) -> tuple[Floats, Integers, Integers]:
    """Innermost intervals (M, 2), and for each given interval the first and last of them that it covers.

    Ends are ordered along the line: at one age a death at exactly that age begins, then everything that ends
    there ends, then everything open at that age begins. An innermost interval is a beginning followed at once
    by an end.
    """
    exact = low == high
    ages = np.unique(np.concatenate([low, high]))
    begins = 3 * np.searchsorted(ages, low) + np.where(exact, 0, 2)
    ends = 3 * np.searchsorted(ages, high) + 1
    begin_keys, end_keys = np.unique(begins), np.unique(ends)
    following = np.searchsorted(end_keys, begin_keys)
    last_of_run = (
        np.append(following[1:] != following[:-1], True) if len(following) else np.empty(0, dtype=bool)
    )
    starts = begin_keys[last_of_run]
    stops = end_keys[following[last_of_run]]
    intervals = np.column_stack([ages[starts // 3], ages[stops // 3]])
    first = np.searchsorted(starts, begins)
    last = np.searchsorted(stops, ends, side="right") - 1
    return intervals, first, last

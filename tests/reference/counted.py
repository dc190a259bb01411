"""Counts, as textbooks print them, turned into the columns that estimates take: one weighted row an outcome."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike


def groups(events: ArrayLike, n: ArrayLike, place: ArrayLike | None = None) -> tuple[Any, Any, Any]:
    """Outcome, group (or its place) and weight of events among n."""
    x, size = np.asarray(events, dtype=float), np.asarray(n, dtype=float)
    where = np.arange(len(x)) if place is None else np.asarray(place)
    return np.repeat([1, 0], len(x)), np.tile(where, 2), np.concatenate([x, size - x])


def tables(a: ArrayLike, n1: ArrayLike, c: ArrayLike, n0: ArrayLike) -> dict[str, Any]:
    """a events of n1 exposed and c of n0 others, a stratum each: columns of `mantel_haenszel`."""
    event, stratum, exposed_weight = groups(a, n1)
    _, _, other_weight = groups(c, n0)
    return {
        "event": np.tile(event, 2),
        "exposed": np.repeat([1, 0], len(event)),
        "stratum": np.tile(stratum, 2),
        "weight": np.concatenate([exposed_weight, other_weight]),
    }


def seasons(events_a: ArrayLike, n_a: ArrayLike, events_b: ArrayLike, n_b: ArrayLike) -> dict[str, Any]:
    """Deaths and newborns of each stratum in two seasons: columns of `mix_and_rate`."""
    columns = tables(events_b, n_b, events_a, n_a)
    later = columns.pop("exposed")
    return {**columns, "later": later}


def mix(events: ArrayLike, n: ArrayLike) -> dict[str, Any]:
    """Deaths and newborns of each stratum: columns of `directly_standardised`."""
    event, stratum, weight = groups(events, n)
    return {"event": event, "stratum": stratum, "weight": weight}

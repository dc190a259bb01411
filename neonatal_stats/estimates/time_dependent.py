"""Exposures that take time to happen (the first feed): split rows and landmarks, never a grouping from birth.

A newborn that dies at 3 h cannot be fed at 6 h. Grouping newborns by when they were fed and counting from
birth credits the late groups with hours in which they could not die and still be in the group (immortal
time). Here a newborn is unfed until it is fed (split rows), or groups are formed at a mark among those alive
and followed then.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.cox_regression import CoxFit, cox

JUST_AFTER_BIRTH = float(np.nextafter(0.0, 1.0))


@dataclass(frozen=True, eq=False)
class SplitRows:
    """Start-stop rows: at risk over (start_h, stop_h], ``event`` 1 for a death, ``fed`` 1 once fed.

    ``index`` is the newborn each row belongs to, in ascending order: use it to carry covariates and clusters.
    """

    start_h: Floats
    stop_h: Floats
    event: Integers
    fed: Integers
    index: Integers


@dataclass(frozen=True, eq=False, repr=False)
class LandmarkFit(CoxFit):
    """Fed by the mark against not, from the mark on: the Cox fit ("fed" first) and who was counted.

    ``fed`` and ``unfed`` are newborns alive and followed at the mark, ``fed_deaths`` and ``unfed_deaths`` how
    many of them died later; ``dead_before`` and ``left_before`` were not counted.
    """

    mark_h: float
    fed: int
    unfed: int
    fed_deaths: int
    unfed_deaths: int
    dead_before: int
    left_before: int


def split_at_feed(
    age_h: ArrayLike, died: ArrayLike, fed_h: ArrayLike, *, entry_h: ArrayLike | None = None
) -> SplitRows:
    """Start-stop rows in which each newborn is unfed until its first feed and fed from then on, ready for ``cox``.

    ``fed_h`` (n,) is the age at first feed, NaN or infinite where never fed while watched. There are n rows and one
    more for each newborn fed before it died or left.

    Counted
    -------
    Every newborn at risk, by its state at the start of each hour. A death in the very hour of the first feed
    counts as unfed: with whole hours nobody knows which came first, and were such newborns counted as fed,
    those that died before their feed in that hour would be left to the unfed alone, a small immortal time.
    For the same reason a newborn fed in hour 0 is unfed for deaths in hour 0; its fed row starts just after
    birth (``JUST_AFTER_BIRTH``), because entry 0 means watched from birth, hour 0 included.

    Examples
    --------
    Fed at 2 h, died at 5 h: rows (0, 2] unfed without event and (2, 5] fed with event. Fed at 5 h, died at 5 h:
    one row (0, 5] unfed with event.

    >>> from neonatal_stats.estimates import split_at_feed
    >>> rows = split_at_feed([5, 5], [1, 1], [2, 5])
    >>> rows.start_h.tolist(), rows.stop_h.tolist(), rows.fed.tolist(), rows.event.tolist()
    ([0.0, 2.0, 0.0], [2.0, 5.0, 5.0], [0, 1, 0], [0, 1, 1])
    """
    age = arguments.ages(age_h)
    event = arguments.codes(died, "died", below=2)
    arguments.same_length(age_h=age, died=event)
    fed = feed_ages(fed_h, age, event)
    entry = arguments.entries(entry_h, age)
    start = np.zeros(len(age)) if entry is None else entry
    fed_from = np.where(fed == 0, JUST_AFTER_BIRTH, fed)
    ever = fed_from < age
    unfed = ~ever | (start < fed_from)
    newborn = np.arange(len(age))
    index = np.concatenate([newborn[unfed], newborn[ever]])
    order = np.argsort(index, kind="stable")
    return SplitRows(
        np.concatenate([start[unfed], np.maximum(fed_from, start)[ever]])[order],
        np.concatenate([np.where(ever, fed, age)[unfed], age[ever]])[order],
        np.concatenate([np.where(ever, 0, event)[unfed], event[ever]])[order],
        np.repeat([0, 1], [unfed.sum(), ever.sum()])[order],
        index[order],
    )


def fed_hazard_ratio(
    age_h: ArrayLike,
    died: ArrayLike,
    fed_h: ArrayLike,
    covariates: ArrayLike | None = None,
    *,
    cluster: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    names: tuple[str, ...] | list[str] | None = None,
    level: float,
) -> CoxFit:
    """Hazard of death once fed against not yet fed, by Cox regression on split rows; "fed" is the first name.

    Parameters and tie rule as in `split_at_feed`; ``covariates`` (n, p) must be known by the first feed and
    are what makes a newborn both slow to feed and likely to die. ``names`` names them.
    """
    rows = split_at_feed(age_h, died, fed_h)
    z, said = _with_fed(rows.fed, None if covariates is None else _table(covariates)[rows.index], names)
    litter, each = (None if one is None else np.asarray(one)[rows.index] for one in (cluster, repeats))
    return cox(
        rows.stop_h,
        rows.event,
        z,
        cluster=litter,
        entry_h=rows.start_h,
        repeats=each,
        names=said,
        level=level,
    )


def landmark(
    age_h: ArrayLike,
    died: ArrayLike,
    fed_h: ArrayLike,
    covariates: ArrayLike | None = None,
    *,
    mark_h: float,
    lag_h: float = 0.0,
    cluster: ArrayLike | None = None,
    stratum: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    repeats: ArrayLike | None = None,
    until_h: float | None = None,
    names: tuple[str, ...] | list[str] | None = None,
    level: float,
) -> LandmarkFit:
    """Death after a mark among newborns alive and followed at it: fed by the mark against not fed by it.

    Parameters
    ----------
    fed_h : as in `split_at_feed`.
    covariates : (n, p) known by the mark, or None; ``names`` (p) are theirs, "fed" is put before them.
    mark_h : the landmark, in hours after birth.
    lag_h : hours after the mark whose deaths are left out, because a dying newborn does not feed; grouped is still by
        the mark.
    stratum : the season (or farm); risk sets are formed within it.
    weight, repeats : as in `cox`.
    until_h : follow no further than this age (later deaths are censored); default to the end.

    Counted
    -------
    Newborns whose watching ended after the mark. One that died or left in the hour of the mark is out, as one
    that died before. Fed means a first feed at or before the mark; a later feed does not change the group.

    Limits
    ------
    Says nothing about deaths before the mark, and compares newborns, weak ones with strong, unless the
    covariates hold what made them slow. Anderson, Cain & Gelber 1983, J Clin Oncol 1:710.
    """
    age = arguments.ages(age_h)
    event = arguments.codes(died, "died", below=2)
    arguments.same_length(age_h=age, died=event)
    by_mark = feed_ages(fed_h, age, event) <= mark_h
    there = age > mark_h + lag_h
    end = np.inf if until_h is None else until_h
    event = np.where(age > end, 0, event)
    table = None if covariates is None else _table(covariates)
    if table is not None:
        arguments.same_length(age_h=age, covariates=table)
    z, said = _with_fed(by_mark[there], None if table is None else table[there], names)
    litter = None if cluster is None else np.asarray(cluster)[there]
    since = np.minimum(age, end)[there] - mark_h - lag_h
    entry, stop = apart(np.zeros(len(since)), since, None if stratum is None else np.asarray(stratum)[there])
    each, times = (None if one is None else np.asarray(one)[there] for one in (weight, repeats))
    fit = cox(
        stop,
        event[there],
        z,
        cluster=litter,
        entry_h=entry,
        weight=each,
        repeats=times,
        names=said,
        level=level,
    )
    return LandmarkFit(**vars(fit), mark_h=float(mark_h), **_heads(by_mark, there, event == 1, repeats))


def _heads(
    by_mark: NDArray[np.bool_], there: NDArray[np.bool_], died: NDArray[np.bool_], repeats: ArrayLike | None
) -> dict[str, Any]:
    """How many stand on either side of a landmark, fed and unfed, and how many were gone before it."""
    counted = np.ones(len(there), dtype=np.int64) if repeats is None else arguments.codes(repeats, "repeats")
    late, early = died & there, died & ~there
    heads = {
        "fed": by_mark & there,
        "unfed": ~by_mark & there,
        "fed_deaths": by_mark & late,
        "unfed_deaths": ~by_mark & late,
        "dead_before": early,
        "left_before": ~there & ~early,
    }
    return {name: int(counted @ rows) for name, rows in heads.items()}


def apart(start_h: ArrayLike, stop_h: ArrayLike, stratum: ArrayLike | None) -> tuple[Floats, Floats]:
    """Start-stop rows moved so far apart, stratum by stratum, that no two strata are ever at risk together.

    `cox` on them is the Cox model stratified by ``stratum``: one hazard a stratum, one ratio for all. It asks only
    for the order of hours, so these are counted through: hours that differ stay different however far they move.

    >>> from neonatal_stats.estimates.time_dependent import apart
    >>> [hours.tolist() for hours in apart([0, 1, 0], [1, 2, 2], [0, 0, 1])]
    [[0.0, 1.0, 3.0], [1.0, 2.0, 6.0]]
    """
    start, stop = np.asarray(start_h, dtype=np.float64), np.asarray(stop_h, dtype=np.float64)
    if stratum is None or not len(stop):
        return start, stop
    hours = np.unique(np.concatenate([[0.0], start, stop]))
    place = np.asarray(stratum) * (len(hours) + 1.0)
    since_birth = (start == 0) & (place > 0)  # entry 0 means hour 0 included, and so must its moved like
    entered, left = (np.searchsorted(hours, times).astype(np.float64) for times in (start, stop))
    return np.where(since_birth, place - 1.0, entered + place), left + place


def feed_ages(fed_h: ArrayLike, age_h: Floats, died: Integers) -> Floats:
    """Ages at first feed, infinite for a newborn never fed while watched; a feed after death is an error."""
    fed = np.array(fed_h, dtype=np.float64)
    arguments.same_length(age_h=age_h, fed_h=fed)
    fed[np.isnan(fed)] = np.inf
    arguments.refuse("fed_h", fed < 0, fed, "ages must not be negative")
    late = np.isfinite(fed) & (fed > age_h)
    arguments.refuse("fed_h", late & (died == 1), fed, "a newborn cannot be fed after it died")
    fed[late] = np.inf
    return fed


def _table(covariates: ArrayLike) -> Floats:
    table = np.asarray(covariates, dtype=np.float64)
    return table[:, None] if table.ndim == 1 else table


def _with_fed(
    fed: ArrayLike, covariates: Floats | None, names: tuple[str, ...] | list[str] | None
) -> tuple[Floats, tuple[str, ...]]:
    """The fed column before the others, and its name before theirs."""
    first = np.asarray(fed, dtype=np.float64)[:, None]
    if covariates is None:
        return first, ("fed",)
    said = tuple(names) if names is not None else tuple(f"x{j + 1}" for j in range(covariates.shape[1]))
    return np.hstack([first, covariates]), ("fed", *said)

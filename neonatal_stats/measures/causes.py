"""What the losses were put down to: counts, shares, ages, and how far unknown ones could move the answer."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.estimates.proportion import proportions

UNKNOWN = "unknown"


def losses_by_cause(births: pd.DataFrame, *, level: float = 0.95) -> pd.DataFrame:
    """Losses of each cause, of all losses, largest first and "unknown" last.

    Returns
    -------
    ``rates`` frame with `cause`, n the losses of all causes; and highest (share if every loss of unknown
    cause were of this one). A cause without losses is not in the frame.
    """
    lost = births[births["died"].astype(bool)]
    cause = lost["cause"].astype(str)
    events = cause.value_counts()
    known = sorted((c for c in events.index if c != UNKNOWN), key=lambda c: (-events[c], c))
    order = [*known, *([UNKNOWN] if UNKNOWN in events.index else [])]
    rows = [_share((cause == one).to_numpy(), lost["cluster"].to_numpy(), level) for one in order]
    frame = pd.DataFrame(rows, columns=["events", "n", "share", "low", "high"])
    unknown = int(events.get(UNKNOWN, 0))
    highest = np.where(np.array(order) == UNKNOWN, np.nan, (frame["events"] + unknown) / max(len(lost), 1))
    named = pd.DataFrame({"cause": pd.Categorical(order, order, ordered=True)})
    return pd.concat([named, frame.assign(highest=highest)], axis=1)


def _share(of_cause: np.ndarray, cluster: np.ndarray, level: float) -> tuple[int, int, float, float, float]:
    found = proportions(of_cause, cluster=cluster, level=level)
    share, low, high = (float(limit[0]) for limit in (found.share, found.low, found.high))
    return int(found.events[0]), int(found.n[0]), share, low, high


def cause_by_age(births: pd.DataFrame, causes: Sequence[str], edges_h: Sequence[float]) -> pd.DataFrame:
    """Losses of each cause by age window.

    Returns
    -------
    One row a cause and window: cause, window (number of the window; -1 stillborn, the number of windows for
    an unknown age), events. Every pair is there, 0 where there were none.
    """
    lost = births[births["died"].astype(bool)]
    last = len(edges_h) - 1
    place = np.searchsorted(np.asarray(edges_h[1:-1]), lost["age_h"].fillna(0).to_numpy(float), side="right")
    place = np.where(lost["age_known"].astype(bool), place, last)
    place = np.where(lost["stillborn"].astype(bool), -1, place)
    pairs = pd.MultiIndex.from_product([list(causes), range(-1, last + 1)], names=["cause", "window"])
    counted = pd.Series(place, index=lost.index).groupby([lost["cause"].astype(str), place]).size()
    counted.index.names = ["cause", "window"]
    return counted.reindex(pairs, fill_value=0).rename("events").reset_index()


def cause_by_basis(births: pd.DataFrame, causes: Sequence[str], bases: Sequence[str]) -> pd.DataFrame:
    """What each cause rests on: one row a cause, a column of counts a basis, `not given` and `n`."""
    lost = births[births["died"].astype(bool)]
    if "cause_basis" not in lost:
        lost = lost.assign(cause_basis=None)
    basis = lost["cause_basis"].astype(object).where(lost["cause_basis"].notna(), "not given")
    counted = pd.crosstab(lost["cause"].astype(str), basis)
    counted = counted.reindex(index=list(causes), columns=[*bases, "not given"], fill_value=0)
    counted = counted.rename_axis(index="cause", columns=None).reset_index()
    return counted.assign(n=counted[[*bases, "not given"]].sum(axis=1))

"""Losses of each cause, of all losses."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.measures.rates import Alike, newborns_in, standing_for
from neonatal_stats.measures.windows import UNKNOWN

RATES = ("events", "n", "share", "low", "high")


def losses_by_cause(births: pd.DataFrame, *, level: float, alike: Alike | None = None) -> pd.DataFrame:
    """Losses of each cause, of all losses, largest first and "unknown" last.

    Returns
    -------
    ``rates`` frame with `cause`, n the losses of all causes; and highest (share if every loss of unknown
    cause were of this one). A cause without losses is not in the frame.

    Counted: every loss once, the stillborn included; those that left alive are no losses.
    """
    lost = births[births["died"]]
    cause = lost["cause"].astype(str)
    events = pd.Series(newborns_in(lost, alike), index=lost.index).groupby(cause).sum()
    known = sorted((c for c in events.index if c != UNKNOWN), key=lambda c: (-events[c], c))
    order = [*known, *([UNKNOWN] if UNKNOWN in events.index else [])]
    rows = [share_of_cause((cause == one).to_numpy(), lost, level, alike) for one in order]
    frame = pd.DataFrame(rows, columns=list(RATES))
    unknown = int(events.get(UNKNOWN, 0))
    all_lost = max(int(events.sum()), 1)
    highest = np.where(np.array(order) == UNKNOWN, np.nan, (frame["events"] + unknown) / all_lost)
    named = pd.DataFrame({"cause": pd.Categorical(order, order, ordered=True)})
    return pd.concat([named, frame.assign(highest=highest)], axis=1)


def share_of_cause(
    of_cause: NDArray[np.bool_], newborns: pd.DataFrame, level: float, alike: Alike | None = None
) -> tuple[int, int, float, float, float]:
    """How many of these newborns are of one cause: events, n, share, low, high; the interval allows for litters."""
    times: dict[str, Any] = standing_for(newborns, alike)
    found = proportions(of_cause, cluster=newborns["cluster"].to_numpy(), level=level, **times)
    share, low, high = (float(limit[0]) for limit in (found.share, found.low, found.high))
    return int(found.events[0]), int(found.n[0]), share, low, high

"""The windows in which losses are counted, the ages that they cover, and the one window in which seasons, farms and
groups are compared: the longest that all of them were watched through; and losses by cause.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.estimates.survival import kaplan_meier
from neonatal_stats.measures.curves import survival
from neonatal_stats.measures.rates import Alike, how_many, newborns_in, rates, standing_for
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.terms import STILLBIRTH

END = "end"


def window_columns(settings: Settings) -> dict[str, str]:
    """The yes-no column of each window, by the window's name; the last is "end", the end of follow-up.

    A newborn that left alive before a window's end, or died at an unknown age, is missing there: neither lost
    nor not lost. The column of the last holds every newborn: one that left alive was not lost while watched.
    """
    columns = {name: f"lost_by_{name.replace(' ', '_')}" for name in settings.windows_h}
    return columns | {END: "lost"}


def last_early_window(settings: Settings) -> tuple[str, str]:
    """The name of the last early window and its yes-no column; "" and that of the whole where none is set."""
    name = list(settings.windows_h)[-1] if settings.windows_h else ""
    return name, window_columns(settings)[name or END]


def not_watched(births: pd.DataFrame, end_h: float) -> pd.Series:
    """Newborns that left alive, or were last seen alive, before this age: yes-no, one per newborn."""
    return ~births["died"] & (births["age_h"] < end_h)


BORN_DEAD, UNDATED = "born dead", "age not known"
"""When newborns were lost that no window holds."""


def when_lost(births: pd.DataFrame, settings: Settings) -> pd.Series:
    """When each newborn was lost, missing for those not lost.

    Returns
    -------
    Ordered categorical, one a newborn: "born dead", the first of `stated_windows` that had not closed, "age not known".
    A window is closed at its end; the last takes its end in, and where it is the only one those of unknown age as well.
    """
    windows = stated_windows(births, settings)
    stages = [BORN_DEAD, *windows, UNDATED]
    ends = np.array(list(windows.values()))[:-1]
    place = 1 + np.searchsorted(ends, births["age_h"].fillna(0).to_numpy(float), side="right")
    place = np.where(births["age_known"] | (len(windows) == 1), place, len(stages) - 1)
    place = np.where(births["stillborn"], 0, place)
    named = pd.Series(np.array(stages, dtype=object)[place], index=births.index).where(births["died"])
    return named.astype(pd.CategoricalDtype(stages, ordered=True))


UNKNOWN = "unknown"
"""The cause of a loss for which none was written down."""


def cause_found(births: pd.DataFrame) -> pd.Series:
    """Whether a cause is written down that says why: "stillbirth" only says when. Not asked of those not lost."""
    found: pd.Series = ~births["cause"].astype(str).isin((UNKNOWN, STILLBIRTH))
    return found


UNKNOWN_AGES = 0.10
"""Share of the losses whose age may be unknown before nothing is said of the early windows."""


def deaths_without_age(births: pd.DataFrame, alike: Alike | None = None) -> int:
    """Losses at an unknown age."""
    return how_many(births, births["died"] & ~births["age_known"], alike)


def ages_of_losses_known(births: pd.DataFrame, alike: Alike | None = None) -> bool:
    """Whether the ages at loss are known well enough to speak of the early windows."""
    return deaths_without_age(births, alike) <= UNKNOWN_AGES * how_many(births, births["died"], alike)


LEFT_EARLY = 0.50
"""Share of those born that may have left before a window's end before nothing is said of it."""
FEWEST_WATCHED = 10
"""A curve ends where fewer newborns than this, or in a small group fewer than a tenth of it, are still watched."""


def fewest_watched(n: float) -> int:
    """How many of a group must still be watched for its curve to be read.

    >>> fewest_watched(606), fewest_watched(35), fewest_watched(6)
    (10, 4, 1)
    """
    return max(1, min(FEWEST_WATCHED, math.ceil(n / 10)))


def fewest_drawn(n: float) -> int:
    """How many of a group must still be watched for its curve to be drawn solid: ten, and a tenth of it.

    >>> fewest_drawn(606), fewest_drawn(35)
    (61, 10)
    """
    return max(FEWEST_WATCHED, math.ceil(n / 10))


def well_watched(curve: pd.DataFrame) -> pd.DataFrame:
    """A ``curve`` of one group up to the last age at which enough are watched to read it (`fewest_watched`)."""
    return curve[curve["at_risk"] >= fewest_watched(float(curve["at_risk"].max()))] if len(curve) else curve


def well_watched_h(ages_h: pd.Series, newborns: NDArray[np.int64] | None = None) -> float:
    """The last age to which enough of these newborns were watched (`fewest_watched`); NaN where none is known.

    ``newborns`` says how many each age is of, where that is not one.
    """
    known = ages_h.notna().to_numpy()
    ages = ages_h.to_numpy(float)[known]
    each = np.ones(len(ages), dtype=np.int64) if newborns is None else newborns[known]
    if not each.sum():
        return math.nan
    oldest_first = np.argsort(-ages, kind="stable")
    so_far = np.cumsum(each[oldest_first])
    place = int(np.searchsorted(so_far, fewest_watched(float(so_far[-1]))))
    return float(ages[oldest_first[place]])


def stated_windows(births: pd.DataFrame, settings: Settings, alike: Alike | None = None) -> dict[str, float]:
    """The windows that these records can speak of, and the hour at which each ends; always the last, "end", which ends
    at `watched_to_h`.

    An early window is left out where fewer than half of those born were watched through it (or lost), where it ends
    after `watched_to_h`, or where more than a tenth of the losses have no known age.
    """
    end_h = watched_to_h(births, settings, alike)
    dated, born = ages_of_losses_known(births, alike), int(newborns_in(births, alike).sum())
    early = {
        name: hour
        for name, hour in settings.windows_h.items()
        if hour < end_h and dated and how_many(births, not_watched(births, hour), alike) <= LEFT_EARLY * born
    }
    return early | {END: end_h}


def by_the_end(births: pd.DataFrame, settings: Settings, alike: Alike | None = None) -> pd.DataFrame:
    """The births with ``lost`` as it was at the end that is stated, `watched_to_h`.

    A newborn that died at a later age, to which too few were watched to speak of it, was not lost by then; one that
    died at an unknown age was.
    """
    return lost_to(births, watched_to_h(births, settings, alike))


def lost_to(births: pd.DataFrame, end_h: float) -> pd.DataFrame:
    """The births with ``lost`` as it was at an age."""
    later = births["age_known"] & (births["age_h"] > end_h)
    return births.assign(lost=births["lost"] & ~later)


def last_age_h(births: pd.DataFrame, settings: Settings) -> float:
    """The last age at which any newborn was watched; the end of follow-up where none is known."""
    known = births.loc[births["age_known"], "age_h"]
    last = float(known.max()) if len(known) else settings.follow_up_h
    return last if last > 0 else settings.follow_up_h


def watched_to_h(births: pd.DataFrame, settings: Settings, alike: Alike | None = None) -> float:
    """The last age to which enough were watched (`fewest_watched`), from two days on in whole days completed.

    0 where none of those born alive was watched beyond its birth, as in a book of the born alive and the born dead.
    """
    known = births.loc[births["age_known"], ["age_h", *(alike.names if alike else ())]]
    last = well_watched_h(known["age_h"], newborns_in(known, alike))
    alive = births.loc[~births["stillborn"], ["age_known", "age_h", "died"]]
    if len(alive) and alive["age_known"].all() and (alive["age_h"] == 0).all() and not alive["died"].any():
        return 0.0
    last = last if last > 0 else settings.follow_up_h
    return last if last < 48 else 24.0 * (last // 24)


def losses_by_window(births: pd.DataFrame, settings: Settings, alike: Alike | None = None) -> pd.DataFrame:
    """Share lost by the end of each window, of all born and of those born alive.

    Returns
    -------
    ``rates`` frame with the columns out_of ("born", "born alive") and window; not_watched, how many left
    alive before the window's end; curve, curve_low, curve_high, the share lost by then from the Kaplan-Meier
    curve, which allows for those that left (missing where no age is known, or where a tenth of the losses has none).

    Counted
    -------
    As `window_columns`: those not watched to a window's end are not in n, but are in n of the last window. Those lost
    after its end are not lost in it (`by_the_end`).
    """
    births = by_the_end(births, settings, alike)
    alive = births[~births["stillborn"]]
    parts, columns = [], window_columns(settings)
    for out_of, newborns in (("born", births), ("born alive", alive)):
        dated = ages_of_losses_known(newborns, alike) and bool(newborns["age_known"].any())
        curve = survival(newborns, level=settings.level, alike=alike) if dated else None
        for window, end_h in stated_windows(births, settings, alike).items():
            counted = rates(newborns, (), columns[window], level=settings.level, alike=alike)
            by_curve = _lost_by_curve(curve, end_h, closed=window == END)
            gone = how_many(newborns, not_watched(newborns, end_h), alike)
            parts.append(counted.assign(out_of=out_of, window=window, not_watched=gone, **by_curve))
    whole = pd.concat(parts, ignore_index=True)
    order = list(stated_windows(births, settings, alike))
    return whole.assign(
        out_of=pd.Categorical(whole["out_of"], ["born", "born alive"], ordered=True),
        window=pd.Categorical(whole["window"], order, ordered=True),
    )


def _lost_by_curve(curve: pd.DataFrame | None, end_h: float, closed: bool) -> dict[str, float]:
    """The curve read just before an age, or at it in the last window, which takes in its end."""
    names = ("curve", "curve_low", "curve_high")
    if curve is None:
        return dict.fromkeys(names, np.nan)
    before = curve[(curve["age_h"] <= end_h) if closed else (curve["age_h"] < end_h)]
    if before.empty:
        return dict.fromkeys(names, 0.0) | {"curve_high": np.nan, "curve_low": np.nan}
    last = before.iloc[-1]
    return {"curve": 1 - last["share"], "curve_low": 1 - last["high"], "curve_high": 1 - last["low"]}


def age_edges_h(settings: Settings, end_h: float) -> tuple[float, ...]:
    """The edges of the age windows of the life table, in hours: birth, each window's end, weeks, the last
    age.
    """
    steps = [0.0, 12.0, 24.0, 72.0, *settings.windows_h.values(), 336.0]
    inside = {step for step in steps if step < end_h}
    return (*sorted(inside), end_h)


UNWATCHED = 0.10
"""Share of the newborns of a season (or farm) that may have left a window's view before it is not compared."""


@dataclass(frozen=True)
class Window:
    """A window of loss: its name ("end" for the end of follow-up), its yes-no column, its end in hours."""

    name: str
    column: str
    end_h: float
    shortened: bool


def compared_window(
    births: pd.DataFrame, settings: Settings, by: str = "season", alike: Alike | None = None
) -> Window:
    """The longest window that at least nine in ten newborns of every season (or farm) were watched through; with no
    ``by``, of all together.

    Falls back to the whole follow-up where ages are not known (died yes or no, without a time), and to the
    shortest window where none was watched through.
    """
    columns = window_columns(settings)
    ends = {**settings.windows_h, END: settings.follow_up_h}
    whole = Window(END, columns[END], settings.follow_up_h, False)
    dated = births.loc[~births["died"], "age_h"].notna().any() or not births["died"].any()
    if not dated or not ages_of_losses_known(births, alike):
        return whole
    longest_first = sorted(ends, key=lambda name: -ends[name])
    for name in longest_first:
        if (share_gone(births, ends[name], by, alike) <= UNWATCHED).all():
            return Window(name, columns[name], ends[name], name != END)
    name = longest_first[-1]
    return Window(name, columns[name], ends[name], name != END)


def share_gone(births: pd.DataFrame, end_h: float, by: str, alike: Alike | None = None) -> pd.Series:
    """The share of newborns that left a window's view before an age, by group; of all together with no ``by``."""
    newborns = pd.Series(newborns_in(births, alike), index=births.index)
    group = births[by].astype(str) if by else pd.Series("", index=births.index)
    gone = newborns.where(not_watched(births, end_h), 0)
    return gone.groupby(group).sum() / newborns.groupby(group).sum()


def watched_through(births: pd.DataFrame, window: Window) -> bool:
    """Whether nine in ten of each season were watched through a window, and the ages at loss are known."""
    dead = int(births["died"].sum())
    if deaths_without_age(births) > UNKNOWN_AGES * dead:
        return window.name == END
    if not births.loc[~births["died"], "age_h"].notna().any() and dead:
        return window.name == END
    gone = not_watched(births, window.end_h).groupby(births["season"].astype(str)).mean()
    return bool((gone <= UNWATCHED).all())


def not_known_in(births: pd.DataFrame, window: Window) -> tuple[tuple[str, int], ...]:
    """The newborns that `known_in` leaves out, with the reason; empty where there are none."""
    n = int(births[window.column].isna().sum())
    return (("left alive before the window's end", n),) if n else ()


def watched_weight(newborns: pd.DataFrame, window: str, column: str, settings: Settings) -> pd.Series:
    """How many newborns each one stands for in whom it is known whether it was lost in a window; missing in the others.

    Without it the dead of a window count whole and those that left alive before its end not at all. One that died at
    an age, or was watched to the window's end, stands for itself and for its like that had left by then: one over the
    share of newborns still watched (inverse probability of being watched; Robins & Rotnitzky 1992). All 1 where
    nobody left before the end, or the last window is meant.
    """
    known = newborns[column].notna()
    end_h = settings.windows_h.get(window, np.inf)
    left = ~newborns["died"] & newborns["age_h"].notna() & (newborns["age_h"] < end_h)
    if not left.any() or not np.isfinite(end_h):
        return pd.Series(1.0, index=newborns.index).where(known)
    age = newborns["age_h"].where(newborns["age_known"] | ~newborns["died"])
    watched = age.notna().to_numpy()
    found = kaplan_meier(age[watched].to_numpy(float), left[watched].to_numpy(int), level=settings.level)
    until = np.minimum(age.fillna(end_h).to_numpy(float), end_h)
    place = np.searchsorted(found.age_h, until, side="left") - 1
    share = np.where(place < 0, 1.0, found.share[0][np.maximum(place, 0)])
    return pd.Series(1 / np.maximum(share, 1e-9), index=newborns.index).where(known)


def known_in(births: pd.DataFrame, window: Window) -> pd.DataFrame:
    """Newborns of which it is known whether they were lost in the window, with a plain yes-no `event`."""
    known = births[births[window.column].notna()]
    return known.assign(event=known[window.column].astype(bool))


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

"""Actions weighed: the losses that each is aimed at, what it could spare, what that is worth beside its cost."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.estimates.verdict import MINIMUM_EVENTS
from neonatal_stats.measures.birth_factors import factor_of
from neonatal_stats.measures.curves import as_lost, before_ages, survival
from neonatal_stats.measures.rates import rates
from neonatal_stats.measures.windows import END, UNKNOWN_AGES, deaths_without_age, stated_windows
from neonatal_stats.season.costed import CostedAction
from neonatal_stats.season.settings import Settings

COLUMNS = (
    "what", "source", "factor", "group", "window", "end_h", "weeks", "cost", "least", "most", "n", "lost", "why",
    "aimed", "aimed_low", "aimed_high", "spared", "spared_low", "spared_high", "net", "net_low", "net_high",
    "even", "even_low", "even_high",
)  # fmt: skip
ABSENT, FEW, UNWATCHED = "absent", "few", "unwatched"
"""Why an action cannot be weighed: no newborn of its group, too few of them or of their losses, not watched so long."""


def weighed(births: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Each action of the settings beside the losses that it is aimed at, a season, over all seasons recorded.

    Returns
    -------
    One row an action, `COLUMNS`: n and lost newborns of its group over all seasons; aimed, the losses by the window's
    end a season (newborns a season times the curve's share); spared, of these; net, spared times the price less the
    cost; even, the share that it must spare to pay for itself; each with low and high. Missing where ``why`` says why
    not, and net and even where no price is set.

    Counted
    -------
    Newborns of the group with a known level; with ``weeks`` those born in so many weeks of each season, where most are.

    Method
    ------
    The interval of aimed is the Kaplan-Meier curve's, with litters (that of the plain share where over a tenth of the
    losses have no age); spared is the product of both lower and of both upper ends, and so holds at least as surely.

    Limits
    ------
    Losses beside an action are not losses that it would have spared: that share is not in the records. Seasons swing.
    """
    seasons = max(1, births["season"].nunique())
    rows = [_row(births, seasons, action, settings) for action in settings.action]
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _row(births: pd.DataFrame, seasons: int, action: CostedAction, settings: Settings) -> dict[str, Any]:
    windows, window = stated_windows(births, settings), action.window or END
    group = _aimed_at(births, action)
    named = ("what", "source", "factor", "weeks", "cost")
    told: dict[str, Any] = {name: getattr(action, name) for name in named}
    told |= {"group": action.level, "window": window, "end_h": windows.get(window, math.nan), "n": len(group)}
    told |= {"least": action.spares[0], "most": action.spares[1], "lost": 0, "why": ""}
    if group.empty:
        return told | {"why": ABSENT}
    if window not in windows:
        return told | {"why": UNWATCHED}
    read = _lost_by(group, windows[window], windows[END], settings.level)
    told["lost"] = int(read["lost"])
    if len(group) < settings.minimum_group or read["lost"] < MINIMUM_EVENTS or math.isnan(read["low"]):
        return told | {"why": FEW}
    aimed = {end: float(read[name]) * len(group) / seasons for end, name in READ.items()}
    return told | _worth(aimed, action, settings.price)


def _lost_by(group: pd.DataFrame, end_h: float, last_h: float, level: float) -> pd.Series:
    """How many were lost by an age, and the share with its interval."""
    if deaths_without_age(group) > UNKNOWN_AGES * int(group["died"].sum()):
        found = rates(group, (), "lost", level=level).rename(columns={"events": "lost"})
    else:
        curve = as_lost(survival(group, level=level))
        found = before_ages(curve, (), [end_h], end_h=last_h, start=0.0)
    first: pd.Series = found.iloc[0]
    return first


READ = {"": "share", "_low": "low", "_high": "high"}


def _worth(aimed: dict[str, float], action: CostedAction, price: float | None) -> dict[str, float]:
    """What it could spare of the losses aimed at, net of its cost, and the share at which it pays."""
    least, most = action.spares
    share = {"": (least + most) / 2, "_low": least, "_high": most}
    found = {f"aimed{end}": n for end, n in aimed.items()}
    found |= {f"spared{end}": n * share[end] for end, n in aimed.items()}
    if price is None:
        return found
    found |= {f"net{end}": found[f"spared{end}"] * price - action.cost for end in READ}
    other = {"": "", "_low": "_high", "_high": "_low"}
    even = {f"even{end}": _even(action.cost, aimed[other[end]] * price) for end in READ}
    return found | even


def _even(cost: float, at_stake: float) -> float:
    """The share of what is at stake that pays the cost; missing where nothing is at stake."""
    return cost / at_stake if at_stake > 0 else math.nan


def _aimed_at(births: pd.DataFrame, action: CostedAction) -> pd.DataFrame:
    """The newborns that an action is aimed at."""
    group = births
    if action.factor:
        found = factor_of(births, action.factor)
        if found is None or action.level not in found.levels:
            return births.head(0)
        group = births[found.holds(action.level)]
    if not action.weeks or group.empty:
        return group
    kept = [
        busiest(of_season["born"], action.weeks) for _, of_season in group.groupby("season", observed=True)
    ]
    inside: pd.DataFrame = group[pd.concat(kept).reindex(group.index)]
    return inside


def busiest(born: pd.Series, weeks: int) -> pd.Series:
    """Born in those weeks on end in which most are, the first where several are alike: yes-no, one a newborn."""
    day = born.dt.normalize()
    days = np.sort(day.dropna().unique())
    if not len(days):
        return pd.Series(False, index=born.index)
    span = pd.Timedelta(weeks=weeks)
    within = [int(((day >= first) & (day < first + span)).sum()) for first in days]
    start = pd.Timestamp(days[int(np.argmax(within))])
    inside: pd.Series = (day >= start) & (day < start + span)
    return inside

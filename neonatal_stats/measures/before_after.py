"""One season against the one before it, on one mix of births: a measure before an action and after it.

Seasons swing by themselves: how far their true losses lie apart, and what is taken where few seasons cannot tell.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.many_groups import skewed_like_counts
from neonatal_stats.estimates.proportion import wilson
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.seasons import later_less_earlier, swing
from neonatal_stats.estimates.standardisation import variance_under_one_risk
from neonatal_stats.measures.rates import rates
from neonatal_stats.measures.standardised import CommonMix, common_mix, standardised
from neonatal_stats.season.settings import Settings

PLACED = 0.90
"""Share of each season's newborns that must have a place in a mix for the seasons to be standardised by it."""
IN_STRATUM = 10
"""Newborns of the smaller season that each stratum must hold on average; with fewer the interval is too narrow."""
DIFFERENCE = "standardised difference"


@dataclass(frozen=True)
class Side:
    """A measure in one season: counts, and the share on the common mix with its interval; NaN where there is none."""

    season: str
    events: int
    n: int
    share: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Change:
    """A measure before and after; ``mix`` the columns that both are standardised by, none where they could not be.

    ``difference`` is the later share less the earlier, with a p that the skewness of the counts and the swing of
    seasons are allowed for in.
    """

    before: Side
    after: Side
    difference: Estimate
    mix: tuple[str, ...] = ()

    def cells(self) -> dict[str, object]:
        """The cells of a contrast row, from season to p, the earlier being what is held against."""
        found = self.difference
        return {
            "season": self.after.season,
            "versus": self.before.season,
            "measure": DIFFERENCE,
            "events": self.after.events,
            "n": self.after.n,
            "events_versus": self.before.events,
            "n_versus": self.before.n,
            "estimate": found.estimate,
            "low": found.low,
            "high": found.high,
            "p": found.p,
        }


def before_after(
    newborns: pd.DataFrame, first: str, second: str, settings: Settings, *, swing: float = 0.0
) -> Change:
    """How a measure changed from one season to the next.

    Parameters
    ----------
    newborns : births with ``event`` (`plan_measures.seen`), in both seasons; others are left out.
    swing : standard deviation of the seasons' true shares by themselves, as a share of their mean.

    Method
    ------
    Each season directly standardised to the births of both (`measures.standardised`), by as many columns of the setting
    standard_mix as leave nine in ten newborns a place and ten newborns to a stratum; interval by litters, Wilson's at
    the effective number; their difference by `estimates.seasons.later_less_earlier`, its p made no smaller than the
    skewness of the counts allows.
    """
    pair = newborns[newborns["season"].astype(str).isin([first, second])].reset_index(drop=True)
    pair = pair.assign(season=pd.Categorical(pair["season"].astype(str), [first, second], ordered=True))
    mix = fitting_mix(pair, settings.standard_mix)
    counted = rates(pair, ("season",), "event", level=settings.level)[["season", "events", "n"]]
    rows = counted.merge(standardised(pair, mix, level=settings.level), on="season").to_dict("records")
    before, after = (_side(row) for row in rows)
    placed = mix.placed
    variance = variance_under_one_risk(
        pair.loc[placed, "event"].to_numpy(int),
        pair.loc[placed, "season"].cat.codes.to_numpy(np.int64),
        mix.code[placed],
        mix.standard,
        cluster=pair.loc[placed, "cluster"].to_numpy(),
    )
    return _change(before, after, variance, swing, settings.level, mix.columns)


def _side(row: Mapping[Hashable, Any]) -> Side:
    """A season's counts, and its share on the common mix."""
    ends = (float(row[name]) for name in ("standardised", "standardised_low", "standardised_high"))
    return Side(str(row["season"]), int(row["events"]), int(row["n"]), *ends)


def after_alone(
    newborns: pd.DataFrame, season: str, before: tuple[int, int], settings: Settings, *, swing: float = 0.0
) -> Change:
    """The same where the records do not hold the season before, and only its counts were written down.

    Parameters
    ----------
    newborns : births of the season with ``event``.
    before : of how many newborns the measure was met before, and how many those were.

    Method
    ------
    As `before_after`, as the births came: what is not recorded cannot be standardised. The earlier season's litters are
    taken to shrink it as this one's do.
    """
    counted = rates(newborns, (), "event", level=settings.level).iloc[0]
    events, n, effect = int(counted["events"]), int(counted["n"]), max(1.0, float(counted["design_effect"]))
    had, of = before
    low, high = (float(end) for end in wilson(had / effect, of / effect, level=settings.level))
    earlier = Side("", had, of, had / of, low, high)
    later = Side(season, events, n, *(float(counted[name]) for name in ("share", "low", "high")))
    pooled = (events + had) / (n + of)
    variance = pooled * (1 - pooled) * effect / np.array([of, n], dtype=np.float64)
    return _change(earlier, later, variance, swing, settings.level, ())


def _change(
    before: Side, after: Side, variance: Floats, swing: float, level: float, mix: tuple[str, ...]
) -> Change:
    mean = (before.events + after.events) / (before.n + after.n)
    found = later_less_earlier(
        [before.share, after.share],
        [before.low, after.low],
        [before.high, after.high],
        variance,
        swing=swing * mean,
        level=level,
    )
    counts = after.events, after.n, before.events, before.n
    p = (
        float(skewed_like_counts(found.p, found.estimate > 0, *counts))
        if not math.isnan(found.p)
        else math.nan
    )
    return Change(before, after, Estimate(found.estimate, found.low, found.high, p, found.method), mix)


def fitting_mix(pair: pd.DataFrame, wanted: Sequence[str]) -> CommonMix:
    """The common mix of two seasons by as many of the wanted columns, from the first on, as their newborns fill.

    A few dozen samples cannot be standardised by twenty kinds of birth: most kinds would stand in one season only.
    """
    columns = list(wanted)
    while columns:
        mix = common_mix(pair, columns)
        if _filled(pair, mix):
            return mix
        columns = list(mix.columns)[:-1]
    return common_mix(pair, ())


def _filled(pair: pd.DataFrame, mix: CommonMix) -> bool:
    placed = pd.Series(mix.placed).groupby(pair["season"].to_numpy(), observed=True)
    strata = int((mix.standard > 0).sum())
    return bool((placed.mean() >= PLACED).all() and placed.sum().min() >= IN_STRATUM * strata)


SWING_FROM = 3  # seasons from which their swing is measured
USUAL_SWING = 0.20
"""Swing of seasons, as a share of their loss, where it cannot be measured: common practice, no source."""
LEAST_SWING = 0.10
"""Few seasons cannot show that there is none: a swing that came out smaller is taken as this."""


@dataclass(frozen=True)
class Swing:
    """How far the true losses of seasons lie apart: their standard deviation as a share of their mean.

    ``measured`` over the ``seasons`` that hold enough newborns, NaN under three; ``taken`` is what is planned with.
    """

    seasons: int
    measured: float
    taken: float


def swing_of(births: pd.DataFrame, minimum_group: int) -> Swing:
    """How far the seasons swing beyond chance and litters, and what is taken for it.

    Counted: newborns with `event`, of seasons that hold at least ``minimum_group`` of them.
    """
    sizes = births["season"].astype(str).value_counts()
    used = births[births["season"].astype(str).isin(sizes.index[sizes >= minimum_group])]
    season = pd.factorize(used["season"].astype(str))[0]
    seasons, event = int(season.max(initial=-1)) + 1, used["event"].to_numpy(int)
    if seasons < SWING_FROM or not 0 < event.mean() < 1:
        return Swing(seasons, math.nan, USUAL_SWING)
    of_one = np.zeros_like(season)
    variance = variance_under_one_risk(event, season, of_one, [1.0], cluster=used["litter"].to_numpy())
    share = np.bincount(season, event) / np.bincount(season)
    measured = math.sqrt(swing(share, variance)) / float(share.mean())
    return Swing(seasons, measured, max(LEAST_SWING, measured))

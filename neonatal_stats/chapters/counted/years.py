"""Seasons compared: crude, on a common mix, on their chart and as curves; two of them side by side."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import pandas as pd

from neonatal_stats.chapters.counted.years_side_by_side import (
    Pair,
    cause_changes,
    moved_groups,
    recording_changes,
    two_seasons,
)
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.populations.control_chart import ControlChart, p_chart
from neonatal_stats.estimates.results import Test
from neonatal_stats.estimates.shares.trend import cochran_armitage_births, slope
from neonatal_stats.measures.birth_factors import factors
from neonatal_stats.measures.compared_window import Window, compared_window, known_in, not_known_in
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.curves import survival
from neonatal_stats.measures.occurrence import rates
from neonatal_stats.measures.standardised import CommonMix, common_mix, standardised
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

TREND_FROM = 4
MOST_PAIRS = 10
MOST_CURVES = 6


@dataclass(frozen=True, eq=False)
class Years(Shown):
    """Seasons compared.

    ``seasons`` one row a season: events, n, share, low, high, design_effect, the columns of
    `measures.standardised` and the chart's chart_low, chart_high, outside; ``mix`` the common mix; ``chart``;
    ``trend`` and ``slope`` (None under four seasons); ``pair`` the two seasons compared, ``terms`` its split stratum
    by stratum, ``pairs`` the split of every pair (at most ten, the last); ``recording``, ``moved``, ``causes`` the
    frames of their measures; ``survival`` the curves of those born alive, by season.
    """

    seasons: pd.DataFrame
    mix: CommonMix
    chart: ControlChart
    trend: Test | None
    slope: float
    pair: Pair
    pairs: tuple[Pair, ...]
    terms: pd.DataFrame
    recording: pd.DataFrame
    moved: pd.DataFrame
    causes: pd.DataFrame
    survival: tuple[tuple[str, pd.DataFrame], ...]
    window: Window
    counted: Counted
    settings: Settings
    species: str


def known_seasons(season: Season) -> tuple[str, ...]:
    """The seasons with any newborn whose fate in the compared window is known."""
    births = known_in(season.births, compared_window(season.births, season.settings))
    return tuple(sorted(births["season"].astype(str).unique()))


def answer(season: Season) -> Years:
    """Compare the seasons.

    Counted: newborns of which it is known whether they were lost in the longest window that nine in ten of every
    season were watched through; recording and survival look at every newborn.
    """
    settings = season.settings
    window = compared_window(season.births, settings)
    births = known_in(season.births, window).reset_index(drop=True)
    births = births.assign(season=births["season"].cat.remove_unused_categories())
    mix = common_mix(births, settings.standard_mix)
    table, chart = _seasons(births, mix, settings.level)
    first, second = settings.compare or season.seasons[-2:]
    named, terms = two_seasons(births, mix, first, second, settings.level)
    others = list(combinations(known_seasons(season), 2))[-MOST_PAIRS:]
    return Years(
        seasons=table,
        mix=mix,
        chart=chart,
        trend=_trend(births, table),
        slope=slope(table["events"], table["n"]) if len(table) >= TREND_FROM else float("nan"),
        pair=named,
        pairs=tuple(two_seasons(births, mix, *pair, settings.level)[0] for pair in others),
        terms=terms,
        recording=recording_changes(season.births, first, second, settings.follow_up_h),
        moved=moved_groups(
            births, factors(births), first, second, minimum_group=settings.minimum_group, level=settings.level
        ),
        causes=cause_changes(births, first, second, settings.level),
        survival=survival_curves(season.births, settings.level),
        window=window,
        counted=Counted(len(births), left_out=not_known_in(season.births, window)),
        settings=settings,
        species=season.species,
    )


def _seasons(births: pd.DataFrame, mix: CommonMix, level: float) -> tuple[pd.DataFrame, ControlChart]:
    """Every season as it was and on the common mix, with the limits of the chart they all stand on."""
    crude = rates(births, ("season",), "event", level=level)
    chart = p_chart(crude["events"] / crude["design_effect"], crude["n"] / crude["design_effect"])
    table = crude.merge(standardised(births, mix, level=level), on="season")
    limits = {"chart_low": chart.low, "chart_high": chart.high, "outside": chart.outside}
    return table.assign(season=crude["season"].astype(str), **limits), chart


def _trend(births: pd.DataFrame, table: pd.DataFrame) -> Test | None:
    """Does loss rise or fall from season to season? Not asked of fewer than four."""
    if len(table) < TREND_FROM:
        return None
    place = births["season"].cat.codes.to_numpy()
    event = births["event"].to_numpy(int)
    return cochran_armitage_births(event, place, cluster=births["cluster"].to_numpy())


def survival_curves(births: pd.DataFrame, level: float) -> tuple[tuple[str, pd.DataFrame], ...]:
    """Survival of those born alive, a curve a season, the last six at most; none where no age is known."""
    alive = births[~births["stillborn"].astype(bool) & births["age_known"].astype(bool)]
    if alive.empty or not alive["died"].any():
        return ()
    curve = survival(alive, ("season",), level=level)
    names = [str(name) for name in alive["season"].cat.remove_unused_categories().cat.categories]
    return tuple((name, curve[curve["season"].astype(str) == name]) for name in names[-MOST_CURVES:])

"""Seasons compared: crude, on a common mix, their chart, and two of them split into mix and rate."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.chapters.years.side_by_side import cause_changes, survival_curves
from neonatal_stats.estimates.populations.control_chart import ControlChart, p_chart
from neonatal_stats.estimates.results import Estimate, Test
from neonatal_stats.estimates.shares.contrast import compare
from neonatal_stats.estimates.shares.trend import cochran_armitage_births, slope
from neonatal_stats.measures.birth_factors import factors
from neonatal_stats.measures.compared_window import Window, compared_window, known_in, not_known_in
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.moved_groups import moved_groups
from neonatal_stats.measures.occurrence import rates
from neonatal_stats.measures.recording_changes import recording_changes
from neonatal_stats.measures.standardised import CommonMix, common_mix, mix_and_rate_split, standardised
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice
from neonatal_stats.words.years import Pair

TREND_FROM = 4
MOST_PAIRS = 10


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
    voice: Voice


def known_seasons(season: Season) -> tuple[str, ...]:
    """The seasons with any newborn whose fate in the compared window is known."""
    births = known_in(_of_named(season), compared_window(season.births, season.settings))
    return tuple(map(str, births["season"].cat.remove_unused_categories().cat.categories))


def answer(season: Season) -> Years:
    """Compare the seasons; births that belong to none are left out."""
    settings, of_named = season.settings, _of_named(season)
    window = compared_window(of_named, settings)
    births = known_in(of_named, window).reset_index(drop=True)
    births = births.assign(season=births["season"].cat.remove_unused_categories())
    mix = common_mix(births, settings.standard_mix)
    table, chart = _seasons(births, mix, settings.level)
    first, second = season.compared
    named, terms = _split(births, mix, first, second, settings.level)
    others = list(combinations(known_seasons(season), 2))[-MOST_PAIRS:]
    return Years(
        seasons=table,
        mix=mix,
        chart=chart,
        trend=_trend(births, table),
        slope=slope(table["events"], table["n"]) if len(table) >= TREND_FROM else float("nan"),
        pair=named,
        pairs=tuple(_split(births, mix, *pair, settings.level)[0] for pair in others),
        terms=terms,
        recording=recording_changes(of_named, first, second, settings.follow_up_h),
        moved=moved_groups(
            births, factors(births), first, second, minimum_group=settings.minimum_group, level=settings.level
        ),
        causes=cause_changes(births, first, second, settings.level),
        survival=survival_curves(of_named, settings.level),
        window=window,
        counted=Counted(
            len(births), left_out=(*not_known_in(of_named, window), *_of_no_season(season, of_named))
        ),
        settings=settings,
        voice=voice_of(season),
    )


def _of_named(season: Season) -> pd.DataFrame:
    """The births that belong to a season."""
    return season.births[season.births["season"].isin(season.named)]


def _of_no_season(season: Season, of_named: pd.DataFrame) -> tuple[tuple[str, int], ...]:
    n = len(season.births) - len(of_named)
    return (("no date of birth and no season", n),) if n else ()


def _seasons(births: pd.DataFrame, mix: CommonMix, level: float) -> tuple[pd.DataFrame, ControlChart]:
    crude = rates(births, ("season",), "event", level=level)
    chart = p_chart(crude["events"] / crude["design_effect"], crude["n"] / crude["design_effect"])
    table = crude.merge(standardised(births, mix, level=level), on="season")
    limits = {"chart_low": chart.low, "chart_high": chart.high, "outside": chart.outside}
    return table.assign(season=crude["season"].astype(str), **limits), chart


def _trend(births: pd.DataFrame, table: pd.DataFrame) -> Test | None:
    if len(table) < TREND_FROM:
        return None
    place = births["season"].cat.codes.to_numpy()
    event = births["event"].to_numpy(int)
    return cochran_armitage_births(event, place, cluster=births["cluster"].to_numpy())


def _split(
    births: pd.DataFrame, mix: CommonMix, first: str, second: str, level: float
) -> tuple[Pair, pd.DataFrame]:
    """The split; the change has Newcombe's limits, which hold for few losses too."""
    found, terms = mix_and_rate_split(births, mix, first, second, level=level)
    pair = births[births["season"].isin([first, second])]
    change = compare(
        pair["event"].to_numpy(int),
        (pair["season"] == second).to_numpy(int),
        cluster=pair["cluster"].to_numpy(),
        measure="risk_difference",
        level=level,
    )
    events = int(terms["events_a"].sum()), int(terms["events_b"].sum())
    n = int(terms["n_a"].sum()), int(terms["n_b"].sum())
    return Pair(first, second, events, n, change, found.mix, _never_too_sure(found.rate, change)), terms


def _never_too_sure(rate: Estimate, change: Estimate) -> Estimate:
    """The rate part with the change's own width where no variance could be seen (all or none lost in a kind)."""
    if rate.high > rate.low:
        return rate
    shift = rate.estimate - change.estimate
    return replace(rate, low=change.low + shift, high=change.high + shift, p=change.p)

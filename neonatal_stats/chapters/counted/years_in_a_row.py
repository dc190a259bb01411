"""The seasons in a row: one of them against all the others, the trend over them, and their chart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.estimates.control_limits import ControlChart, p_chart
from neonatal_stats.estimates.results import Test
from neonatal_stats.estimates.risk_tests import cochran_armitage, line_through, risk_slope
from neonatal_stats.estimates.seasons import AgainstOthers, one_against_others
from neonatal_stats.estimates.standardisation import variance_under_one_risk
from neonatal_stats.measures.claims import Claim, claim_of_counts, claims_of, keyed
from neonatal_stats.measures.contrasts import REST, cells_of, contrast_rows, counts_of
from neonatal_stats.measures.rates import rates
from neonatal_stats.measures.standardised import CommonMix, standardised
from neonatal_stats.season.settings import Settings

TREND_FROM = 4
OTHERS_FROM = 3
"""Seasons from which one is held against all the others: of two, the pair says all."""
CHART_FROM = 8
"""Seasons from which control limits mean something; of fewer, none can lie outside its own."""
TREND, DIFFERENCE = "years/trend", "standardised difference"


@dataclass(frozen=True, eq=False)
class Trend:
    """Does loss rise or fall from season to season, by ``slope`` a season?

    ``newborns`` is the test over newborns, ``line`` that over the seasons, each once; the weaker of the two decides.
    """

    slope: float
    newborns: Test
    line: Test

    @property
    def p(self) -> float:
        """The p that decides."""
        return float(np.fmax(self.newborns.p, self.line.p))


def seasons_in_a_row(births: pd.DataFrame, mix: CommonMix, level: float) -> tuple[pd.DataFrame, ControlChart]:
    """Every season as it was and on the common mix, with the limits of the chart they all stand on."""
    crude = rates(births, ("season",), "event", level=level)
    chart = p_chart(crude["events"] / crude["design_effect"], crude["n"] / crude["design_effect"])
    table = crude.merge(standardised(births, mix, level=level), on="season")
    limits = {"chart_low": chart.low, "chart_high": chart.high, "outside": chart.outside, "chart_p": chart.p}
    if len(table) < CHART_FROM:
        limits = {**dict.fromkeys(limits, np.full(len(table), np.nan)), "outside": np.full(len(table), False)}
    return table.assign(season=crude["season"].astype(str), **limits), chart


def held_against_others(
    births: pd.DataFrame, mix: CommonMix, table: pd.DataFrame, this: str, settings: Settings
) -> tuple[AgainstOthers, tuple[str, ...]] | None:
    """One season against all the others on the common mix, and the others; None under three seasons.

    Counted: newborns in the common mix, of seasons that have at least the setting minimum_group of them.

    Parameters
    ----------
    table : the seasons, as `seasons_in_a_row` gives them.
    """
    used = table[table["n_standardised"] >= settings.minimum_group]
    names = list(used["season"])
    if len(names) < OTHERS_FROM or this not in names:
        return None
    season = pd.Index(names).get_indexer(pd.Index(births["season"].astype(str)))
    placed = mix.placed & (season >= 0)
    variance = variance_under_one_risk(
        births.loc[placed, "event"].to_numpy(int),
        season[placed].astype(np.int64),
        mix.code[placed],
        mix.standard,
        cluster=births.loc[placed, "cluster"].to_numpy(),
    )
    if not (variance > 0).all():
        return None
    share, low, high = (
        used[name].to_numpy(float) for name in ("standardised", "standardised_low", "standardised_high")
    )
    found = one_against_others(share, low, high, variance, names.index(this), level=settings.level)
    return found, tuple(name for name in names if name != this)


def against_frame(
    births: pd.DataFrame, found: AgainstOthers | None, this: str, others: tuple[str, ...], settings: Settings
) -> pd.DataFrame:
    """The same as a keyed contrast frame of one row, or none; counts are of all newborns of the seasons.

    ``excess`` is the difference times the newborns of the season.
    """
    rows = []
    if found is not None:
        here = births[births["season"].isin([this, *others])]
        counts = counts_of(here["event"], here["season"] == this)
        held = {"measure": DIFFERENCE, "versus": REST, **counts, **cells_of(found.difference)}
        rows.append({"part": "against the others", "season": this, **held})
    frame = contrast_rows(rows, ("part", "season"), settings=settings)
    return keyed(frame.assign(excess=frame["estimate"] * frame["n"]), "years")


def trend(births: pd.DataFrame, table: pd.DataFrame) -> Trend | None:
    """Does loss rise or fall from season to season? Not asked of fewer than four."""
    if len(table) < TREND_FROM:
        return None
    place, event = births["season"].cat.codes.to_numpy(), births["event"].to_numpy(int)
    newborns = cochran_armitage(event, place, cluster=births["cluster"].to_numpy())
    slope = risk_slope(table["events"], table["n"])
    return Trend(slope, newborns, line_through(table["share"].to_numpy(float)))


def charted(season: str) -> str:
    """The key of the claim that a season lies outside the limits of the chart."""
    return f"years/chart/{season}"


def claims_in_a_row(
    table: pd.DataFrame,
    against: pd.DataFrame,
    others: tuple[str, ...],
    found: Trend | None,
    settings: Settings,
) -> Iterator[Claim]:
    """The season against all the others (asked beforehand), the trend, and seasons outside the chart."""
    for row in against.to_dict("records"):
        yield from claims_of(
            against,
            chapter="years",
            family="season",
            line="change",
            period=(*others, row["season"]),
            against=others,
            asked={row["key"]: "season"},
            settings=settings,
        )
    seasons = table.set_index("season")
    names = tuple(map(str, seasons.index))
    given: Any = {"chapter": "years", "family": "season", "settings": settings, "period": names}
    if found is not None:
        first, last = (seasons.loc[name, ["events", "n"]] for name in (names[0], names[-1]))
        made = claim_of_counts(TREND, "trend", found.newborns.p, (*last, *first), **given)
        by_line = (
            found.slope * (len(names) - 1) * made.n
        )  # where the first and last season say otherwise than the line
        excess = made.excess if made.excess * found.slope > 0 else by_line
        yield replace(made, weakest=found.line.p, excess=excess)
    for name, season in seasons.iterrows() if len(table) >= CHART_FROM else ():
        rest = seasons.drop(index=name)[["events", "n"]].sum()
        counts = season["events"], season["n"], *rest
        yield claim_of_counts(charted(str(name)), "chart", season["chart_p"], counts, **given)

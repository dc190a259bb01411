"""Seasons compared: written down alike or not, crude, on a common mix, on their chart, as curves, two by two."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted.years_side_by_side import (
    Split,
    cause_changes,
    moved_groups,
    split_of,
    two_seasons,
)
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.control_limits import ControlChart, Expected, p_chart, predicted
from neonatal_stats.estimates.results import Test
from neonatal_stats.estimates.risk_tests import cochran_armitage, risk_slope
from neonatal_stats.measures.birth_factors import factors
from neonatal_stats.measures.claims import Claim, claim_of_counts, claims_of, family_of_factor, keyed
from neonatal_stats.measures.curves import survival
from neonatal_stats.measures.rates import Counted, rates, too_few
from neonatal_stats.measures.standardised import CommonMix, common_mix, standardised
from neonatal_stats.measures.windows import Window, compared_window, known_in, not_known_in, not_watched
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import BIRTHS

TREND_FROM = 4
CHART_FROM = 8
"""Seasons from which control limits mean something; of fewer, none can lie outside its own."""
MOST_PAIRS = 10
MOST_CURVES = 6
STEP = 0.20
"""Difference between two seasons in the share recorded from which it is flagged."""
LEFT_OUT = ("farm", "season", "species", "newborn_id", "litter_id", "resuscitation")
ONLY_THE_LOST = ("died_at", "last_alive_at", "found_dead_at", "cause", "cause_basis")
ONLY_SOME = (
    "left_at",
    "left_reason",
    "last_seen_at",
    "died",
    "born_on",
    "born_at",
    "warmed",
    "rectal_temperature_c",
)
Row = tuple[str, str, int, int, int, int, bool]
RECORDING_COLUMNS = ("what", "detail", "first", "n_first", "second", "n_second", "flagged")


@dataclass(frozen=True, eq=False)
class Years(Shown):
    """Seasons compared.

    ``seasons`` one row a season: events, n, share, low, high, design_effect, the columns of
    `measures.standardised` and the chart's chart_low, chart_high, outside, p (missing under eight seasons); ``mix`` the
    common mix; ``chart`` and ``expected``, what the other seasons lead one to expect of the second compared (None from
    eight on); ``trend`` and ``slope`` (None under four); ``first`` and ``second`` the two compared, ``pairs`` the
    contrast frame of every pair (at most ten, the last, and those two), three rows each: part (change, mix, rate),
    season, versus, ...; ``terms`` their split stratum by stratum; ``recording``, ``moved``, ``causes`` the frames of
    their measures; ``survival`` the curves of those born alive, by season, and ``few`` the seasons too small to draw,
    with n and litters.
    """

    seasons: pd.DataFrame
    mix: CommonMix
    chart: ControlChart
    expected: Expected | None
    trend: Test | None
    slope: float
    first: str
    second: str
    pairs: pd.DataFrame
    terms: pd.DataFrame
    recording: pd.DataFrame
    moved: pd.DataFrame
    causes: pd.DataFrame
    survival: tuple[tuple[str, pd.DataFrame], ...]
    few: pd.DataFrame
    window: Window
    counted: Counted
    settings: Settings
    species: str

    @property
    def named(self) -> pd.DataFrame:
        """The rows of ``pairs`` of the two seasons compared, keyed."""
        here = (self.pairs["season"] == self.second) & (self.pairs["versus"] == self.first)
        return keyed(self.pairs[here], "years")

    @property
    def parts(self) -> dict[str, dict[Hashable, Any]]:
        """The change between the two seasons compared, and its parts of mix and rate: rows of ``pairs``."""
        return {row["part"]: row for row in self.named.to_dict("records")}

    @property
    def charted(self) -> bool:
        """Whether there are seasons enough for control limits."""
        return len(self.seasons) >= CHART_FROM

    @property
    def split(self) -> Split:
        """What the change between the two seasons compared is made of."""
        return split_of(self.parts)


TREND, EXPECTED = "years/trend", "years/expected"


def claims(result: Years) -> tuple[Claim, ...]:
    """The change between the two seasons (asked beforehand), its parts, causes, groups; the trend; odd seasons."""
    given: Any = {"chapter": "years", "period": (result.first, result.second), "settings": result.settings}
    pairs, moved, causes = result.named, result.moved, result.causes
    change = pairs["part"] == "change"
    asked = dict.fromkeys(pairs.loc[change, "key"], "season")
    beyond = {"estimate": "beyond", "low": "beyond_low", "high": "beyond_high"}
    interaction = moved.drop(columns=list(beyond)).rename(columns={new: old for old, new in beyond.items()})
    return (
        *claims_of(pairs[change], family="season", line="change", asked=asked, **given),
        *claims_of(pairs[~change], family="season", line="mix or rate", **given),
        *claims_of(causes, family="cause", line=causes["cause"].astype(str), **given),
        *claims_of(
            interaction.assign(excess=moved["moved"]),
            family=moved["factor"].map(family_of_factor).astype(object),
            line="moved, " + moved["factor"].astype(str),
            **given,
        ),
        *_of_all_seasons(result),
    )


def _of_all_seasons(result: Years) -> Iterator[Claim]:
    """The trend, and whether a season lies further out than the seasons do."""
    seasons, settings = result.seasons.set_index("season"), result.settings
    names = tuple(map(str, seasons.index))
    given: Any = {"chapter": "years", "family": "season", "settings": settings}
    if result.trend is not None:
        first, last = (seasons.loc[name, ["events", "n"]] for name in (names[0], names[-1]))
        yield claim_of_counts(TREND, "trend", result.trend.p, (*last, *first), period=names, **given)
    for name, row in seasons.iterrows() if result.charted or result.expected is not None else ():
        others = seasons.drop(index=name)[["events", "n"]].sum()
        counts = row["events"], row["n"], *others
        if result.charted:
            yield claim_of_counts(charted(str(name)), "chart", row["chart_p"], counts, period=names, **given)
        elif result.expected is not None and name == result.second:
            yield claim_of_counts(
                EXPECTED, "chart", float(result.expected.p[0]), counts, period=names, **given
            )


def charted(season: str) -> str:
    """The key of the claim that a season lies outside the limits of the chart."""
    return f"years/chart/{season}"


def known_seasons(season: Season) -> tuple[str, ...]:
    """The seasons with any newborn whose fate in the compared window is known."""
    births = known_in(of_named(season), compared_window(season.births, season.settings))
    return tuple(map(str, births["season"].cat.remove_unused_categories().cat.categories))


def _of_no_season(season: Season, dated: pd.DataFrame) -> tuple[tuple[str, int], ...]:
    n = len(season.births) - len(dated)
    return (("no date of birth and no season", n),) if n else ()


def of_named(season: Season) -> pd.DataFrame:
    """The births that belong to a season."""
    return season.births[season.births["season"].isin(season.named)]


def answer(season: Season) -> Years:
    """Compare the seasons; births that belong to none are left out.

    Counted: newborns of which it is known whether they were lost in the longest window that nine in ten of every
    season were watched through; recording and survival look at every newborn.
    """
    settings, dated = season.settings, of_named(season)
    window = compared_window(dated, settings)
    births = known_in(dated, window).reset_index(drop=True)
    births = births.assign(season=births["season"].cat.remove_unused_categories())
    mix = common_mix(births, settings.standard_mix)
    table, chart = _seasons(births, mix, settings.level)
    first, second = season.compared
    named = first, second
    pairs = dict.fromkeys([*list(combinations(known_seasons(season), 2))[-MOST_PAIRS:], named])
    few = too_few(dated[~dated["stillborn"]], "season", settings.minimum_group)
    split = {pair: two_seasons(births, mix, *pair, settings) for pair in pairs}
    return Years(
        seasons=table,
        mix=mix,
        chart=chart,
        expected=_expected(table, second, settings.level),
        trend=_trend(births, table),
        slope=risk_slope(table["events"], table["n"]) if len(table) >= TREND_FROM else float("nan"),
        first=first,
        second=second,
        pairs=pd.concat([parts for parts, _ in split.values()], ignore_index=True),
        terms=split[named][1],
        recording=recording_changes(dated, first, second, settings.follow_up_h),
        moved=keyed(moved_groups(births, factors(births), first, second, settings), "years", "moved"),
        causes=keyed(cause_changes(births, first, second, settings), "years", "cause"),
        survival=survival_curves(dated[~dated["season"].isin(few["season"])], settings.level),
        few=few.astype({"season": str}),
        window=window,
        counted=Counted(len(births), left_out=(*not_known_in(dated, window), *_of_no_season(season, dated))),
        settings=settings,
        species=season.species,
    )


def recording_changes(births: pd.DataFrame, first: str, second: str, end_h: float) -> pd.DataFrame:
    """How recording differs between two seasons.

    Returns
    -------
    One row a thing looked at, with the columns of `RECORDING_COLUMNS`: what ("recorded", "causes", "unknown cause",
    "post-mortem", "time of birth", "stillborn", "watched"), detail (the column, or the causes that only one season
    has), newborns (or losses) it applies to in each season (first of n_first, second of n_second), flagged.

    Counted
    -------
    Every newborn of the two seasons, watched or not; for causes the lost. Columns that are asked of some only are
    not looked at.
    """
    sides = [births[births["season"].astype(str) == name] for name in (first, second)]
    rows = [_filled(sides, column.name) for column in BIRTHS if _wanted(births, column.name)]
    lost = [side[side["died"]] for side in sides]
    rows += [*_cause_rows(lost), _share("time of birth", sides, "born_precision", "time")]
    rows.append(_counted("watched", sides, [~not_watched(side, end_h) for side in sides]))
    rows.append(_stillborn(sides))
    return pd.DataFrame([row for row in rows if row is not None], columns=list(RECORDING_COLUMNS))


def _wanted(births: pd.DataFrame, column: str) -> bool:
    return column in births and column not in (*LEFT_OUT, *ONLY_THE_LOST, *ONLY_SOME)


def _counted(what: str, sides: list[pd.DataFrame], yes: list[pd.Series], detail: str = "") -> Row | None:
    """How many of each season it applies to; flagged where the shares lie a step apart."""
    n = [len(side) for side in sides]
    if not all(n):
        return None
    events = [int(one.sum()) for one in yes]
    shares = [event / size for event, size in zip(events, n, strict=True)]
    return what, detail, events[0], n[0], events[1], n[1], abs(shares[1] - shares[0]) >= STEP


def _filled(sides: list[pd.DataFrame], column: str) -> Row | None:
    return _counted("recorded", sides, [side[column].notna() for side in sides], column)


def _share(what: str, sides: list[pd.DataFrame], column: str, value: str) -> Row | None:
    if column not in sides[0]:
        return None
    return _counted(what, sides, [side[column].astype(object) == value for side in sides])


def _cause_rows(lost: list[pd.DataFrame]) -> list[Row | None]:
    """Causes unknown and by post-mortem; flagged where two causes or more came into use, or went, among 20 lost."""
    rows = [
        _share("unknown cause", lost, "cause", "unknown"),
        _share("post-mortem", lost, "cause_basis", "post-mortem"),
    ]
    used = [_named(side) for side in lost]
    if not all(len(side) for side in lost):
        return rows
    only = [sorted(used[1] - used[0]), sorted(used[0] - used[1])]
    grew = min(len(side) for side in lost) >= 20 and abs(len(used[1]) - len(used[0])) >= 2
    detail = ", ".join(only[0] or only[1]) if grew else ""
    return [*rows, ("causes", detail, len(used[0]), len(lost[0]), len(used[1]), len(lost[1]), grew)]


def _named(lost: pd.DataFrame) -> set[str]:
    return set(lost["cause"].dropna().astype(str)) - {"unknown"}


def _stillborn(sides: list[pd.DataFrame]) -> Row | None:
    """Flagged where one season has no stillborn at all and the other shows that there should have been some."""
    row = _counted("stillborn", sides, [side["stillborn"] for side in sides])
    if row is None:
        return None
    events, n = (row[2], row[4]), (row[3], row[5])
    none, other = min(events), events.index(max(events))
    due = max(events) / n[other] * n[1 - other]
    return (*row[:-1], none == 0 and due >= 5)


def _seasons(births: pd.DataFrame, mix: CommonMix, level: float) -> tuple[pd.DataFrame, ControlChart]:
    """Every season as it was and on the common mix, with the limits of the chart they all stand on."""
    crude = rates(births, ("season",), "event", level=level)
    chart = p_chart(crude["events"] / crude["design_effect"], crude["n"] / crude["design_effect"])
    table = crude.merge(standardised(births, mix, level=level), on="season")
    limits = {"chart_low": chart.low, "chart_high": chart.high, "outside": chart.outside, "chart_p": chart.p}
    if len(table) < CHART_FROM:
        limits = {**dict.fromkeys(limits, np.full(len(table), np.nan)), "outside": np.full(len(table), False)}
    return table.assign(season=crude["season"].astype(str), **limits), chart


def _expected(table: pd.DataFrame, second: str, level: float) -> Expected | None:
    """What the other seasons lead one to expect of the second, where there are two others and no chart yet."""
    if not 3 <= len(table) < CHART_FROM:
        return None
    this = (table["season"] == second).to_numpy()
    share, n = table["share"].to_numpy(float), (table["n"] / table["design_effect"]).to_numpy(float)
    return predicted(share[this], n[this], share[~this], n[~this], level=level)


def _trend(births: pd.DataFrame, table: pd.DataFrame) -> Test | None:
    """Does loss rise or fall from season to season? Not asked of fewer than four."""
    if len(table) < TREND_FROM:
        return None
    place = births["season"].cat.codes.to_numpy()
    event = births["event"].to_numpy(int)
    return cochran_armitage(event, place, cluster=births["cluster"].to_numpy())


def survival_curves(births: pd.DataFrame, level: float) -> tuple[tuple[str, pd.DataFrame], ...]:
    """Survival of those born alive, a curve a season, the last six at most; none where no age is known."""
    alive = births[~births["stillborn"] & births["age_known"]]
    if alive.empty or not alive["died"].any():
        return ()
    curve = survival(alive, ("season",), level=level)
    names = [str(name) for name in alive["season"].cat.remove_unused_categories().cat.categories]
    return tuple((name, curve[curve["season"].astype(str) == name]) for name in names[-MOST_CURVES:])

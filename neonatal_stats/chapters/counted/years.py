"""Seasons compared: written down alike or not, crude, on a common mix, on their chart, as curves, two by two; and in a
row: one of them against all the others, and the trend over them.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.chapters.counted.years_side_by_side import (
    Split,
    cause_changes,
    moved_groups,
    split_of,
    two_seasons,
)
from neonatal_stats.estimates.control_limits import ControlChart, p_chart
from neonatal_stats.estimates.results import Test
from neonatal_stats.estimates.risk_tests import cochran_armitage, line_through, risk_slope
from neonatal_stats.estimates.seasons import AgainstOthers, one_against_others
from neonatal_stats.estimates.standardisation import variance_under_one_risk
from neonatal_stats.measures.birth_factors import factors
from neonatal_stats.measures.claims import Claim, claim_of_counts, claims_of, family_of_factor, keyed
from neonatal_stats.measures.contrasts import REST, cells_of, contrast_rows, counts_of
from neonatal_stats.measures.curves import survival
from neonatal_stats.measures.rates import Counted, rates, too_few
from neonatal_stats.measures.standardised import CommonMix, common_mix, standardised
from neonatal_stats.measures.windows import Window, compared_window, known_in, not_known_in, not_watched
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import BIRTHS

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
TREND_FROM = 4
OTHERS_FROM = 3
"""Seasons from which one is held against all the others: of two, the pair says all."""
CHART_FROM = 8
"""Seasons from which control limits mean something; of fewer, none can lie outside its own."""
TREND, DIFFERENCE = "years/trend", "standardised difference"
Row = tuple[str, str, int, int, int, int, bool]
RECORDING_COLUMNS = ("what", "detail", "first", "n_first", "second", "n_second", "flagged")


@dataclass(frozen=True, eq=False)
class Years(Shown):
    """Seasons compared.

    ``seasons`` one row a season: events, n, share, low, high, design_effect, the columns of
    `measures.standardised` and the chart's chart_low, chart_high, outside, p (missing under eight seasons); ``mix`` the
    common mix; ``chart``; ``first`` and ``second`` the two compared, ``pairs`` the contrast frame of every pair (at
    most ten, the last, and those two), three rows each: part (change, mix, rate), season, versus, ...; ``usual`` the
    second against all ``others`` (None under three seasons), ``against`` the same as a keyed contrast frame;
    ``trend`` None under four; ``terms`` the split of the two stratum by stratum; ``recording``, ``moved``, ``causes``
    the frames of their measures; ``survival`` the curves of those born alive, by season, and ``few`` the seasons too
    small to draw, with n and litters.
    """

    seasons: pd.DataFrame
    mix: CommonMix
    chart: ControlChart
    usual: AgainstOthers | None
    others: tuple[str, ...]
    against: pd.DataFrame
    trend: Trend | None
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


def claims(result: Years) -> tuple[Claim, ...]:
    """The season against the one compared and all others (asked beforehand), parts, causes, groups; the trend."""
    given: Any = {
        "chapter": "years",
        "period": (result.first, result.second),
        "against": (result.first,),
        "settings": result.settings,
    }
    pairs, moved, causes = result.named, result.moved, result.causes
    change = pairs["part"] == "change"
    asked = dict.fromkeys(pairs.loc[change, "key"], "season")
    beyond = {"estimate": "beyond", "low": "beyond_low", "high": "beyond_high"}
    interaction = moved.drop(columns=list(beyond)).rename(columns={new: old for old, new in beyond.items()})
    return (
        *claims_of(pairs[change], family="season", line="change", asked=asked, **given),
        *claims_of(pairs[~change], family="season", line="change", **given),
        *claims_of(causes, family="cause", line=causes["cause"].astype(str), **given),
        *claims_of(
            interaction.assign(excess=moved["moved"]),
            family=moved["factor"].map(family_of_factor).astype(object),
            line="moved, " + moved["factor"].astype(str),
            **given,
        ),
        *claims_in_a_row(result.seasons, result.against, result.others, result.trend, result.settings),
    )


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
    table, chart = seasons_in_a_row(births, mix, settings.level)
    first, second = season.compared
    usual, others = held_against_others(births, mix, table, second, settings) or (None, ())
    named = first, second
    pairs = dict.fromkeys([*list(combinations(known_seasons(season), 2))[-MOST_PAIRS:], named])
    few = too_few(dated[~dated["stillborn"]], "season", settings.minimum_group)
    split = {pair: two_seasons(births, mix, *pair, settings) for pair in pairs}
    return Years(
        seasons=table,
        mix=mix,
        chart=chart,
        usual=usual,
        others=others,
        against=against_frame(births, usual, second, others, settings),
        trend=trend(births, table),
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


def survival_curves(births: pd.DataFrame, level: float) -> tuple[tuple[str, pd.DataFrame], ...]:
    """Survival of those born alive, a curve a season, the last six at most; none where no age is known."""
    alive = births[~births["stillborn"] & births["age_known"]]
    if alive.empty or not alive["died"].any():
        return ()
    curve = survival(alive, ("season",), level=level)
    names = [str(name) for name in alive["season"].cat.remove_unused_categories().cat.categories]
    return tuple((name, curve[curve["season"].astype(str) == name]) for name in names[-MOST_CURVES:])


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

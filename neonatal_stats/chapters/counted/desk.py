"""The adviser's desk: farms of one species in the order in which a visit may buy most, and their records."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.estimates.verdict import Outcome, Verdict
from neonatal_stats.measures.desk_farm import FarmMeasures, pooled
from neonatal_stats.measures.farms import (
    FarmFunnel,
    Visits,
    digests,
    expected_by_what_is_recorded,
    farm_funnel,
    letters,
    visits,
)
from neonatal_stats.measures.rates import Counted, rates
from neonatal_stats.measures.windows import END, Window, known_in, not_known_in, window_columns
from neonatal_stats.season.settings import Settings

MOST_FARMS = 0.90
"""Share of the farms that a window must let compare to be the desk's."""
SEASON, WATCHED, FEW = "other season", "not watched so long", "too few"
"""Why a farm is not compared."""


@dataclass(frozen=True)
class Moved:
    """A farm's loss in the season under review against the one before, on the same mix, as its own review says it."""

    versus: str
    estimate: float
    low: float
    high: float
    verdict: Verdict


@dataclass(frozen=True, eq=False)
class OnDesk:
    """One farm that was read: its name, what was counted of it, and what its own review says.

    ``moved`` is None where no other season was recorded; ``kept`` the agreed actions: what, whether done, what became;
    ``beside`` where its loss lies beside published ones, "" where nothing is published.
    """

    name: str
    measures: FarmMeasures
    moved: Moved | None = None
    kept: tuple[tuple[str, str, Outcome], ...] = ()
    beside: str = ""


@dataclass(frozen=True, eq=False)
class Desk(Shown):
    """Farms of one species, by where a visit may buy most.

    ``farms`` one row a farm, those compared first, in order: name, letter, compared (yes-no), why (it is not), season,
    events, n, share, low, high, design_effect, expected, standardised, raw, excess, excess_low, excess_high, other_low,
    other_high, p, q, named. ``funnel`` the farms as their keepers see them, None under two; ``spread`` whether they
    differ by more than chance; ``mix`` the columns by which each is standardised.
    """

    farms: pd.DataFrame
    read: Mapping[str, OnDesk]
    funnel: FarmFunnel | None
    spread: bool
    centre: float
    mix: Mapping[str, tuple[str, ...]]
    season: str
    window: Window
    counted: Counted
    settings: Settings
    species: str

    @property
    def compared(self) -> pd.DataFrame:
        """The farms that are compared."""
        return self.farms[self.farms["compared"]]

    @property
    def named(self) -> pd.DataFrame:
        """Those that lost more than the others lead one to expect."""
        return self.farms[self.farms["named"]]


def answer(read: Sequence[OnDesk], settings: Settings, season: str = "") -> Desk:
    """Set farms of one species side by side.

    Parameters
    ----------
    season : the season to compare; by default the one that most of them have under review, of as many the latest.

    Counted: newborns of that season of which it is known whether they were lost in the longest window that nine in ten
    of the farms were watched through. A farm under the minimum size, of another season or not watched so long is read
    and listed, and not compared.
    """
    named = {one.name: one for one in read}
    season = season or commonest([one.measures.season for one in read])
    mine = {name: one.measures for name, one in named.items() if one.measures.season == season}
    window = desk_window(mine, settings)
    watched = {name: one for name, one in mine.items() if window.name in one.windows}
    large = {name: one for name, one in watched.items() if _newborns(one, window) >= settings.minimum_group}
    why = {name: SEASON if name not in mine else WATCHED if name not in watched else FEW for name in named}
    if not large:
        return _none(named, why, season, window, settings)
    births = pooled(large, settings)
    known = known_in(births, window).reset_index(drop=True)
    found, mix, funnel, centre, spread = _compared(known, settings)
    others = [_not_compared(name, one, why[name]) for name, one in sorted(named.items()) if name not in large]
    rest = pd.DataFrame(others, columns=list(FARM))
    farms = found.assign(season=season, why="", compared=True)
    whole = pd.concat([farms, rest], ignore_index=True)[list(FARM)] if len(rest) else farms[list(FARM)]
    return Desk(
        farms=_typed(whole),
        read=named,
        funnel=funnel,
        spread=spread,
        centre=centre,
        mix=mix,
        season=season,
        window=window,
        counted=Counted(len(known), left_out=not_known_in(births, window)),
        settings=settings,
        species=next(iter(named.values())).measures.species,
    )


FARM = (
    "name", "letter", "compared", "why", "season", "events", "n", "share", "low", "high", "design_effect", "expected",
    "standardised", "raw", "excess", "excess_low", "excess_high", "other_low", "other_high", "p", "q", "named",
)  # fmt: skip


def commonest(seasons: Sequence[str]) -> str:
    """The season that most have; of as many the latest by its name."""
    counted = Counter(seasons)
    return max(counted, key=lambda name: (counted[name], name), default="")


def desk_window(farms: Mapping[str, FarmMeasures], settings: Settings) -> Window:
    """The longest window that nine in ten of the farms can be compared in; where there is none, that of most farms."""
    columns, ends = window_columns(settings), {**settings.windows_h, END: settings.follow_up_h}
    by_length = sorted(columns, key=lambda name: -ends[name])
    of = {name: sum(name in one.windows for one in farms.values()) for name in by_length}
    name = next((name for name in by_length if of[name] >= MOST_FARMS * len(farms)), "")
    name = name or max(by_length, key=lambda one: of[one])
    return Window(name, columns[name], ends[name], name != END)


def _newborns(farm: FarmMeasures, window: Window) -> int:
    return int(farm.newborns[window.column].notna().sum()) if window.column in farm.newborns else 0


def _compared(
    known: pd.DataFrame, settings: Settings
) -> tuple[pd.DataFrame, Mapping[str, tuple[str, ...]], FarmFunnel | None, float, bool]:
    """The farms in their order, the mix of each, their funnel, the loss of all, and whether they differ at all."""
    risk, mix = expected_by_what_is_recorded(known, settings.standard_mix)
    letter = letters(digests(known))
    crude = rates(known, ("farm",), "event", level=settings.level, cluster="litter")
    expected = pd.Series(risk).groupby(known["farm"].astype(str).to_numpy()).sum()
    names = crude["farm"].astype(str)
    due = names.map(expected).to_numpy(float)
    seen = visits(crude["events"], crude["n"], due, crude["design_effect"], settings)
    funnel = farm_funnel(known, risk, settings) if len(crude) > 1 else None
    found = crude.drop(columns="farm").assign(
        name=names, letter=names.map(letter), expected=due, **_visit_columns(seen)
    )
    return found.iloc[seen.order].reset_index(drop=True), mix, funnel, seen.excess.centre, seen.excess.spread


def _visit_columns(seen: Visits) -> dict[str, np.ndarray]:
    return {
        "standardised": seen.others.share,
        "raw": seen.excess.raw,
        "excess": seen.excess.excess,
        "excess_low": seen.excess.low,
        "excess_high": seen.excess.high,
        "other_low": seen.others.low,
        "other_high": seen.others.high,
        "p": seen.others.p,
        "q": seen.q,
        "named": seen.named,
    }


def _not_compared(name: str, one: OnDesk, why: str) -> dict[str, object]:
    """A farm's row where it is read and not compared: what it lost by the end, as it was."""
    births = one.measures.newborns
    row: dict[str, object] = dict.fromkeys(FARM, math.nan)
    counts = {"events": int(births["lost"].astype(bool).sum()), "n": len(births)}
    return {
        **row,
        **counts,
        "name": name,
        "letter": "",
        "compared": False,
        "why": why,
        "season": one.measures.season,
        "named": False,
    }


def _none(
    named: Mapping[str, OnDesk], why: Mapping[str, str], season: str, window: Window, settings: Settings
) -> Desk:
    """A desk on which no farm can be compared."""
    rows = [_not_compared(name, one, why[name]) for name, one in sorted(named.items())]
    species = next(iter(named.values())).measures.species
    farms = _typed(pd.DataFrame(rows, columns=list(FARM)))
    return Desk(farms, named, None, False, math.nan, {}, season, window, Counted(0), settings, species)


def _typed(farms: pd.DataFrame) -> pd.DataFrame:
    """The farms with columns of one type each, whatever stands in the rows of those not compared."""
    texts = ("name", "letter", "why", "season")
    yes_no = ("compared", "named")
    numbers = [name for name in FARM if name not in (*texts, *yes_no)]
    return farms.assign(
        **{name: farms[name].astype(str) for name in texts},
        **{name: farms[name].astype(bool) for name in yes_no},
        **{name: farms[name].astype(float) for name in numbers},
    )


def jointly(desks: Sequence[Desk]) -> tuple[Desk, ...]:
    """Desks of several species decided together: false discoveries are counted over all their farms."""
    q = benjamini_hochberg(np.concatenate([desk.farms["p"].to_numpy(float) for desk in desks]))
    ends = np.cumsum([0, *[len(desk.farms) for desk in desks]])
    return tuple(
        _decided(desk, q[first:last]) for desk, first, last in zip(desks, ends[:-1], ends[1:], strict=True)
    )


def _decided(desk: Desk, q: np.ndarray) -> Desk:
    """A desk with these q; a farm that is not named among its like is not named among all."""
    named = desk.farms["named"].to_numpy(bool) & (q <= desk.settings.false_discovery_share)
    return replace(desk, farms=desk.farms.assign(q=q, named=named))

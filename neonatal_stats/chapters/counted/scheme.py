"""A scheme's season, counted from what an engine answered: losses, survival, causes, groups, first hours, farms.

Births come as frames of which each row stands for many (`measures.rates.Alike`), one a question; what is counted of
them are the numbers that the same newborns in memory would give.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.birth_factors import BY_EMBRYOTOMY
from neonatal_stats.measures.claims import Claim, claims_of, family_of_factor, judged, keyed, line_of_factor
from neonatal_stats.measures.contrasts import SHOWN, by_factor, contrast_rows, contrasts
from neonatal_stats.measures.curves import before_ages, incidence, survival
from neonatal_stats.measures.farms import expected_by_what_is_recorded, letters, visits
from neonatal_stats.measures.ledger import Ledger, decide
from neonatal_stats.measures.milestones import mothering_judged
from neonatal_stats.measures.rates import Alike, Counted, each_row, how_many, newborns_in, rates
from neonatal_stats.measures.windows import (
    UNWATCHED,
    Window,
    ages_of_losses_known,
    compared_window,
    known_in,
    losses_by_cause,
    losses_by_window,
    lost_to,
    share_gone,
    watched_to_h,
)
from neonatal_stats.season.settings import Settings

ALIKE = Alike()
NAME = "scheme"
NOT_GROUPS = ("outcomes", "season", "farms", "fed")
MOTHERING, FED = "mothering", "fed"
EVENT_OF = {MOTHERING: "failed_mothering", FED: "fed_in_time"}


@dataclass(frozen=True, eq=False)
class Asked:
    """A yes-no question about newborns born alive: ``whole`` its ``rates`` frame, ``groups`` a keyed contrast frame,
    ``unknown`` how many born alive nobody can tell of."""

    whole: pd.DataFrame
    groups: pd.DataFrame
    unknown: int


@dataclass(frozen=True, eq=False)
class FarmsOfScheme:
    """Farms large enough, and watched long enough, in the order of what they lost beyond what is expected of them.

    ``farms`` one row a farm: farm, letter, events, n, share, low, high, design_effect, litters, expected, excess,
    excess_low, excess_high, raw, other_low, other_high, p, q, named. ``spread`` whether they differ by more than
    chance; ``few`` and ``unwatched`` how many are not compared, since too few newborns are known or were watched so
    long; ``mix`` the columns of the common mix that any farm records.
    """

    farms: pd.DataFrame
    spread: bool
    few: int
    unwatched: int
    window: Window
    mix: tuple[str, ...]

    @property
    def named(self) -> pd.DataFrame:
        """Those that lost more than the others lead one to expect."""
        return self.farms[self.farms["named"]]


@dataclass(frozen=True, eq=False)
class Scheme(Shown):
    """One season of a scheme, and its seasons side by side.

    ``overview`` farms, seasons and species as `scheme.asking.overview` counts them; ``by_window`` as
    `measures.windows.losses_by_window`; ``alive`` the ``curve`` frame of those born alive and ``at_ages`` it read at
    the windows' ends (both empty where no age is known); ``by_cause`` losses of each cause and ``incidence`` their
    curves (empty where too few ages are known); ``groups`` the keyed frame of `measures.contrasts.by_factor`, q
    over all of it; ``seasons`` the ``rates`` of every season in ``season_window`` and ``change`` the keyed contrast of
    this one with the one before; ``asked`` who was accepted and who was fed by the mark; ``farms`` them side by side;
    ``ledger`` what the page decided; ``undated`` losses at an unknown age; ``cluster`` what the intervals cluster on.
    """

    overview: pd.DataFrame
    by_window: pd.DataFrame
    alive: pd.DataFrame
    at_ages: pd.DataFrame
    by_cause: pd.DataFrame
    incidence: pd.DataFrame
    groups: pd.DataFrame
    seasons: pd.DataFrame
    season_window: Window | None
    change: pd.DataFrame
    asked: Mapping[str, Asked]
    farms: FarmsOfScheme | None
    ledger: Ledger
    end_h: float
    undated: int
    season: str
    every_season: tuple[str, ...]
    cluster: str
    counted: Counted
    settings: Settings
    species: str

    @property
    def verdicts(self) -> Mapping[str, Verdict]:
        """What the page decided, by key."""
        return self.ledger.verdicts

    @property
    def this(self) -> pd.DataFrame:
        """The overview of the season under review."""
        return self.overview[self.overview["season"] == self.season]

    @property
    def of_all_born(self) -> pd.DataFrame:
        """The rows of ``by_window`` that count losses of all born; the end is last."""
        return self.by_window[self.by_window["out_of"] == "born"]


def answer(
    overview: pd.DataFrame,
    told: Mapping[str, pd.DataFrame],
    settings: Settings,
    *,
    season: str,
    seasons: Sequence[str],
    cluster: str,
) -> Scheme:
    """Count a scheme's season.

    Parameters
    ----------
    overview, told : what `scheme.asking.ask` was answered.
    season, seasons : the season under review, and all by time.
    cluster : what the intervals cluster on.

    Counted: all newborns of the season under review; each group those whose group is known.
    """
    births = told["outcomes"]
    end_h, level = watched_to_h(births, settings, ALIKE), settings.level
    alive = births[~births["stillborn"]]
    dated = ages_of_losses_known(births, ALIKE) and bool(births["age_known"].any())
    aged = bool(alive["age_known"].any())
    curve = survival(alive, level=level, alike=ALIKE) if aged else pd.DataFrame()
    ages = [*(hour for hour in settings.windows_h.values() if hour < end_h), end_h]
    groups = _groups(told, end_h, settings)
    all_asked = {name: _asked(told, name, settings) for name in EVENT_OF if _frames_of(told, name)}
    asked = {name: one for name, one in all_asked.items() if one.whole["n"].iloc[0]}
    window, of_seasons, change = _seasons(told.get("season"), season, seasons, settings)
    this = overview[overview["season"] == season]
    farms = _farms_of(told["farms"], this, settings) if "farms" in told else None
    claims = (
        *_claims(groups, season, settings),
        *(claim for name, one in asked.items() for claim in _asked_claims(name, one, season, settings)),
        *_change_claims(change, season, settings),
    )
    species = sorted(set(this["species"]))
    return Scheme(
        overview=overview,
        by_window=losses_by_window(births, settings, ALIKE),
        alive=curve,
        at_ages=before_ages(curve, (), ages, end_h=end_h) if aged else pd.DataFrame(),
        by_cause=_by_cause(births, end_h, dated, level),
        incidence=_incidence(births, end_h, level) if dated else pd.DataFrame(),
        groups=groups,
        seasons=of_seasons,
        season_window=window,
        change=change,
        asked=asked,
        farms=farms,
        ledger=decide(claims, settings),
        end_h=end_h,
        undated=int(this["undated"].sum()),
        season=season,
        every_season=tuple(seasons),
        cluster=cluster,
        counted=Counted(int(newborns_in(births, ALIKE).sum())),
        settings=settings,
        species=species[0] if len(species) == 1 else "",
    )


def _by_cause(births: pd.DataFrame, end_h: float, dated: bool, level: float) -> pd.DataFrame:
    """Losses of each cause with the share of all born lost to it by the end, missing where too few ages are known."""
    counted = losses_by_cause(births, level=level, alike=ALIKE)
    names = {"share": "at_end", "low": "at_end_low", "high": "at_end_high"}
    if not dated:
        return counted.assign(**dict.fromkeys(names.values(), math.nan))
    curve = _incidence(births, end_h, level)
    last = (
        curve.groupby(curve["cause"].astype(str)).tail(1).assign(cause=lambda one: one["cause"].astype(str))
    )
    return counted.merge(last[["cause", *names]].rename(columns=names), on="cause", how="left")


def _incidence(births: pd.DataFrame, end_h: float, level: float) -> pd.DataFrame:
    curve = incidence(births, level=level, alike=ALIKE)
    return curve[curve["age_h"] <= end_h].reset_index(drop=True)


def _groups(told: Mapping[str, pd.DataFrame], end_h: float, settings: Settings) -> pd.DataFrame:
    """The groups of every factor against its reference; q over all of them, embryotomy aside."""
    parts = []
    for name, frame in told.items():
        if name not in NOT_GROUPS and not name.startswith(MOTHERING):
            births = lost_to(frame, end_h)
            lost_already = births[name].astype(str).isin(BY_EMBRYOTOMY)
            births = births.assign(**{name: births[name].where(~lost_already)})
            parts.append(by_factor(births, (name,), outcome="lost", settings=settings, alike=ALIKE))
    return keyed(_together(parts, settings), NAME)


def _together(parts: Sequence[pd.DataFrame], settings: Settings) -> pd.DataFrame:
    """Frames of `by_factor` as one, q over all of its rows."""
    rows: list[Any] = [row for part in parts for row in part.to_dict("records")]
    return contrast_rows(rows, ("factor", "group"), settings=settings, many=True, extra=SHOWN)


def _claims(groups: pd.DataFrame, season: str, settings: Settings) -> tuple[Claim, ...]:
    return claims_of(
        groups,
        chapter=NAME,
        family=groups["factor"].map(family_of_factor),
        line=groups["factor"].map(line_of_factor),
        period=(season,),
        settings=settings,
    )


def _frames_of(told: Mapping[str, pd.DataFrame], name: str) -> list[pd.DataFrame]:
    return [frame for key, frame in told.items() if key == name or key.startswith(f"{name}-")]


def _asked(told: Mapping[str, pd.DataFrame], name: str, settings: Settings) -> Asked:
    """The yes-no question over all born alive, and by what each of its frames groups them."""
    event, parts, level = EVENT_OF[name], [], settings.level
    frames = [frame[~frame["stillborn"]] for frame in _frames_of(told, name)]
    for frame in frames:
        known = mothering_judged(frame) if name == MOTHERING else frame[frame[event].notna()]
        factor = next(str(one) for one in frame if isinstance(frame[one].dtype, pd.CategoricalDtype))
        parts.append(by_factor(known, (factor,), outcome=event, settings=settings, alike=ALIKE))
    first = frames[0]
    return Asked(
        whole=rates(first, (), event, level=level, alike=ALIKE),
        groups=keyed(_together(parts, settings), NAME, name),
        unknown=how_many(first, first[event].isna(), ALIKE),
    )


FAMILY_OF = {MOTHERING: "mothering", FED: "first hours"}
BEFOREHAND = {f"{NAME}/{MOTHERING}/born_by/born by surgery": "mothering after surgery"}


def _asked_claims(name: str, one: Asked, season: str, settings: Settings) -> tuple[Claim, ...]:
    return claims_of(
        one.groups,
        chapter=NAME,
        family=FAMILY_OF[name],
        line=one.groups["factor"].map(lambda factor: f"{name} {line_of_factor(factor)}"),
        period=(season,),
        settings=settings,
        asked=BEFOREHAND,
    )


def _seasons(
    births: pd.DataFrame | None, season: str, seasons: Sequence[str], settings: Settings
) -> tuple[Window | None, pd.DataFrame, pd.DataFrame]:
    """The window in which seasons can be compared, the losses of each, and this one against the one before."""
    if births is None:
        return None, pd.DataFrame(), pd.DataFrame()
    window = compared_window(births, settings, alike=ALIKE)
    of_each = rates(births, ("season",), window.column, level=settings.level, alike=ALIKE)
    before = list(seasons)[: list(seasons).index(season)]
    if not before:
        return window, of_each, pd.DataFrame()
    pair = births[births["season"].isin([before[-1], season])]
    change = contrasts(
        pair, "season", versus=before[-1], outcome=window.column, settings=settings, alike=ALIKE
    )
    return window, of_each, keyed(change, NAME, "season")


def _change_claims(change: pd.DataFrame, season: str, settings: Settings) -> Iterator[Claim]:
    if len(change):
        before = str(change["versus"].iloc[0])
        yield from claims_of(
            change,
            chapter=NAME,
            family="season",
            line="season",
            period=(before, season),
            settings=settings,
            against=(before,),
        )


def _farms_of(births: pd.DataFrame, overview: pd.DataFrame, settings: Settings) -> FarmsOfScheme:
    """Set the farms side by side.

    Parameters
    ----------
    births : newborns alike with their farm, in litters.
    overview : the season's farms as they were counted, from which their letters follow.

    Method
    ------
    `measures.farms.visits` on losses in the longest window that nine in ten of all newborns were watched through.
    """
    window = compared_window(births, settings, by="", alike=ALIKE)
    gone = share_gone(births, window.end_h, "farm", ALIKE) if window.shortened or _dated(births) else None
    short = set() if gone is None else set(gone.index[gone > UNWATCHED])
    known = known_in(births[~births["farm"].astype(str).isin(short)], window)
    born = pd.Series(newborns_in(known, ALIKE), index=known.index).groupby(known["farm"]).sum()
    large = known[known["farm"].isin(born.index[born >= settings.minimum_group])].reset_index(drop=True)
    few = len(born) - len(set(large["farm"]))
    if large.empty:
        return FarmsOfScheme(pd.DataFrame({"named": []}, dtype=bool), False, few, len(short), window, ())
    crude = rates(large, ("farm",), "event", level=settings.level, alike=ALIKE)
    risk, used = expected_by_what_is_recorded(large, settings.standard_mix, ALIKE)
    due = pd.Series(risk * newborns_in(large, ALIKE)).groupby(large["farm"].to_numpy()).sum()
    crude = crude.assign(expected=crude["farm"].map(due).astype(float))
    found = visits(crude["events"], crude["n"], crude["expected"], crude["design_effect"], settings)
    names = letters(_digests(overview))
    farms = crude.assign(
        letter=crude["farm"].map(names),
        excess=found.excess.excess,
        excess_low=found.excess.low,
        excess_high=found.excess.high,
        raw=found.excess.raw,
        other_low=found.others.low,
        other_high=found.others.high,
        p=found.others.p,
        q=found.q,
        named=found.named,
    )
    columns = tuple(dict.fromkeys(name for names in used.values() for name in names))
    ordered = farms.iloc[np.asarray(found.order)].reset_index(drop=True)
    return FarmsOfScheme(ordered, found.excess.spread, few, len(short), window, columns)


def _dated(births: pd.DataFrame) -> bool:
    return bool(births.loc[~births["died"], "age_h"].notna().any())


def _digests(overview: pd.DataFrame) -> Mapping[str, str]:
    """What tells a farm's records apart from others', and outsiders do not know."""
    counts = overview.groupby("farm")[["newborns", "litters", "lost"]].sum().reset_index()
    return {str(row.farm): f"{row.newborns} {row.litters} {row.lost}" for row in each_row(counts)}


def decided(result: Scheme, frame: pd.DataFrame) -> pd.DataFrame:
    """A keyed frame with what the page decided as its verdicts."""
    return judged(frame, result.verdicts)

"""Losses, counted: the windows, the flow, the life table, those reared per dam joined, the litters, the calendar."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.life_tables import life_table as deaths_by_window
from neonatal_stats.estimates.results import Test, critical
from neonatal_stats.estimates.verdict import Verdict, judge_test
from neonatal_stats.measures.birth_factors import by_night
from neonatal_stats.measures.claims import Claim, claim_of_test, claims_of, keyed
from neonatal_stats.measures.contrasts import contrasts, risk_differs
from neonatal_stats.measures.rates import Counted, rates
from neonatal_stats.measures.windows import (
    END,
    UNKNOWN_AGES,
    age_edges_h,
    by_the_end,
    deaths_without_age,
    last_age_h,
    losses_by_window,
    not_watched,
    stated_windows,
    watched_to_h,
)
from neonatal_stats.season.following.ages import left_undated
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Expected, Settings


@dataclass(frozen=True, eq=False)
class Losses(Shown):
    """Losses of a season.

    ``by_window`` as `measures.windows.losses_by_window`; ``flow`` of dams and newborns; ``by_age`` the life table of
    those born alive (empty where over a tenth of the deaths have no known age); ``by_litter`` litters by how many
    were lost (empty where no dam is known); ``by_week`` and ``by_hour`` ``rates`` frames of loss by time of birth
    (empty where it was not written); ``weeks_differ`` the test over weeks and ``weeks_verdict`` what it allows to be
    said (None where fewer than two weeks are large enough); ``night`` the ``contrasts`` frame of births by night
    against by day, keyed; ``end_h`` the last age watched, and ``later`` losses after it, which are counted in the life
    table alone; ``period`` the seasons counted; ``undated`` losses at an unknown age;
    ``left_unknown_when`` those that left alive without a date; ``next_day`` deaths on
    the day after birth of which no hour is known, so that some may have come within 24 hours; ``born_dead_known``
    whether birth alive or dead was written; ``born_dead`` the ``rates`` frame of those born dead, of all born;
    ``joined`` what was reared for each dam put to the male, where those were counted.
    """

    by_window: pd.DataFrame
    born_dead: pd.DataFrame
    flow: Flow
    by_age: pd.DataFrame
    by_litter: pd.DataFrame
    by_week: pd.DataFrame
    by_hour: pd.DataFrame
    weeks_differ: Test
    weeks_verdict: Verdict | None
    night: pd.DataFrame
    end_h: float
    later: int
    period: tuple[str, ...]
    undated: int
    left_unknown_when: int
    next_day: int
    born_dead_known: bool
    joined: Joined | None
    counted: Counted
    settings: Settings
    species: str

    @property
    def of_all_born(self) -> pd.DataFrame:
        """The rows of ``by_window`` that count losses of all born, the stillborn included; the end is last."""
        return self.by_window[self.by_window["out_of"] == "born"]

    @property
    def ever_dated(self) -> bool:
        """Is the age of any loss after birth known, or was nothing lost after birth?"""
        newborns = self.flow.newborns
        still = int(newborns.loc[newborns["stage"] == "born alive", "lost"].sum())
        return self.undated == 0 or self.undated < int(self.whole["events"]) - still

    @property
    def whole(self) -> dict[Hashable, Any]:
        """The last of them: losses of all born by the end."""
        return self.of_all_born.to_dict("records")[-1]


@dataclass(frozen=True)
class Joined:
    """``reared`` newborns not lost by the end, of ``dams`` put to the male; ``each`` reared for each of them, from
    ``low`` to ``high``.
    """

    reared: int
    dams: int
    each: float
    low: float
    high: float


def answer(season: Season) -> Losses:
    """Count losses by window, age, litter, week and hour, to the last age watched; the stillborn are lost at age 0."""
    settings, births = season.settings, by_the_end(season.births, season.settings)
    alive = births[~births["stillborn"]]
    end_h = watched_to_h(births, settings)
    timed = births.assign(night=by_night(births))
    edges = age_edges_h(settings, last_age_h(births, settings))
    dams = season.has("dam_id") or season.has("litter_id")
    dated = alive["age_known"].any() and deaths_without_age(alive) <= UNKNOWN_AGES * int(alive["died"].sum())
    weeks, differ = losses_by_week(births, level=settings.level), risk_differs(births, ("born_week",), "lost")
    return Losses(
        by_window=losses_by_window(births, settings),
        born_dead=rates(births, (), "stillborn", level=settings.level),
        flow=flow(season),
        by_age=life_table(alive, edges, level=settings.level) if dated else pd.DataFrame(),
        undated=deaths_without_age(births),
        left_unknown_when=int(left_undated(births, births["died"]).sum()),
        next_day=int((alive["died"] & (alive["age_precision"] == "day") & (alive["age_h"] == 24)).sum()),
        by_litter=litters_by_losses(births if dams else births.head(0)),
        born_dead_known=season.has("born_alive") or bool(births["stillborn"].any()),
        joined=reared_per_joined(births, _expected(settings.expected, season.seasons), level=settings.level),
        by_week=weeks,
        by_hour=losses_by_hour(births, level=settings.level),
        weeks_differ=differ,
        weeks_verdict=_weeks_verdict(weeks, differ, settings),
        night=keyed(contrasts(timed, "night", versus="by day", outcome="lost", settings=settings), "losses"),
        end_h=end_h,
        later=int(season.births["lost"].sum() - births["lost"].sum()),
        period=season.seasons,
        counted=Counted(len(births)),
        settings=settings,
        species=season.species,
    )


BY_WEEK = "losses/born_week"
"""The key of the claim that weeks of birth differ in losses."""


def claims(result: Losses) -> tuple[Claim, ...]:
    """Whether weeks of birth differ, and births by night against births by day."""
    night = claims_of(
        result.night,
        chapter="losses",
        family="time",
        line="time of birth",
        period=result.period,
        settings=result.settings,
    )
    if result.weeks_verdict is None:
        return night
    weeks = result.by_week[result.by_week["n"] > 0]
    large, lost, n = weeks[weeks["n"] >= BIRTHS_IN_A_WEEK], weeks["events"].sum(), weeks["n"].sum()
    by_week = claim_of_test(
        result.weeks_differ.p,
        key=BY_WEEK,
        family="time",
        line="week of birth",
        events=int(lost),
        n=int(n),
        excess=float(lost - n * large["share"].min()),
        period=result.period,
        sayable=result.weeks_verdict is not Verdict.TOO_FEW,
    )
    return (*night, by_week)


@dataclass(frozen=True, eq=False)
class Flow:
    """The flow of dams (empty where no dam is known) and of newborns: a row a stage, columns of `FLOW_COLUMNS`."""

    dams: pd.DataFrame
    newborns: pd.DataFrame


FLOW_COLUMNS = ("stage", "n", "lost", "left", "age_unknown")
"""``n`` reached the stage; of those at the stage before, ``lost`` were lost, ``left`` left alive and
``age_unknown`` were lost at an age not known (they leave the flow at birth)."""


def flow(season: Season) -> Flow:
    """Count dams and newborns at every stage that was counted.

    Counted: all newborns born; those that left alive or out of sight before a stage, and those lost at an
    unknown age, leave the flow there and are shown. The last stage holds those alive at the end or when last
    seen, and not those that were sold, moved or lent before. Counts made before birth come from the settings
    and may be missing; a stage that was not counted is not in the frame.
    """
    births = by_the_end(season.births, season.settings)
    expected = _expected(season.settings.expected, season.seasons)
    known = season.has("dam_id") or season.has("litter_id")
    dams = _dams(births, expected) if known else pd.DataFrame(columns=list(FLOW_COLUMNS))
    return Flow(dams, _newborns(births, expected, stated_windows(births, season.settings)))


def _expected(counts: Iterable[Expected], seasons: tuple[str, ...]) -> dict[str, int | None]:
    """Counts before birth over the seasons and groups; None where one of them was not counted."""
    mine = [one for one in counts if not one.season or one.season in seasons]
    covered = {one.season for one in mine}
    if not mine or not ("" in covered or covered.issuperset(seasons)):
        return {}
    names = ("dams_put_to_male", "dams_scanned", "newborns_scanned")
    return {name: _total([getattr(one, name) for one in mine]) for name in names}


def _total(counts: list[int | None]) -> int | None:
    known = [count for count in counts if count is not None]
    return sum(known) if len(known) == len(counts) else None


def _dams(births: pd.DataFrame, expected: dict[str, int | None]) -> pd.DataFrame:
    all_lost = births.groupby("litter")["lost"].all()
    stages = {
        "put to the male": expected.get("dams_put_to_male"),
        "scanned": expected.get("dams_scanned"),
        "gave birth": int(births["litter"].nunique()),
        "with a newborn alive or sold alive": int((~all_lost).sum()),
    }
    rows, before = [], None
    for stage, n in stages.items():
        if n is not None:
            rows.append((stage, n, 0 if before is None else before - n, 0, 0))
            before = n
    return pd.DataFrame(rows, columns=list(FLOW_COLUMNS))


def _newborns(births: pd.DataFrame, expected: dict[str, int | None], ends: dict[str, float]) -> pd.DataFrame:
    born, stillborn = len(births), births["stillborn"]
    scanned = expected.get("newborns_scanned")
    rows = [] if scanned is None else [("scanned", scanned, 0, 0, 0)]
    rows.append(("born", born, 0 if scanned is None else scanned - born, 0, 0))
    told = [name for name in ("died", "age_known", "age_h", "left_at", "left_reason") if name in births]
    alive = births.loc[~stillborn, told]
    rows.append(("born alive", len(alive), int(stillborn.sum()), 0, 0))
    for window, end_h in ends.items():
        died = alive["died"]
        unknown = died & ~alive["age_known"]
        before = (alive["age_h"] <= end_h) if window == END else (alive["age_h"] < end_h)
        lost, gone = died & before & ~unknown, not_watched(alive, end_h)
        if window == END:
            gone &= _sold_or_moved(alive)
        still = alive[~(lost | gone | unknown)]
        rows.append((window, len(still), int(lost.sum()), int(gone.sum()), int(unknown.sum())))
        alive = still
    return pd.DataFrame(rows, columns=list(FLOW_COLUMNS))


def _sold_or_moved(newborns: pd.DataFrame) -> pd.Series:
    """Sold, moved or lent, as against only last seen alive."""
    told = [newborns[name].notna() for name in ("left_at", "left_reason") if name in newborns]
    return pd.concat(told, axis=1).any(axis=1) if told else pd.Series(False, index=newborns.index)


def life_table(alive_at_birth: pd.DataFrame, edges_h: Sequence[float], *, level: float) -> pd.DataFrame:
    """Deaths of newborns born alive by age window.

    Returns
    -------
    One row a window: start_h, end_h, at_risk, events (deaths), share (of those at risk that died in it),
    low, high, newborn_days, and per_1000_days with rate_low and rate_high (deaths per 1000 newborn-days
    watched).

    Counted
    -------
    Newborns born alive with a known age; a newborn that left alive counts up to when it left.

    Method
    ------
    Kaplan-Meier within each window, exact Poisson limits of the rate; both allow for litters.
    """
    known = alive_at_birth[alive_at_birth["age_known"]]
    found = deaths_by_window(
        known["age_h"].to_numpy(float),
        known["died"].to_numpy(bool),
        list(edges_h),
        cluster=known["cluster"].to_numpy(),
        level=level,
    )
    return pd.DataFrame(
        {
            "start_h": found.start_h,
            "end_h": found.end_h,
            "at_risk": found.at_risk[0],
            "events": found.deaths[0],
            "share": found.risk[0],
            "low": found.risk_low[0],
            "high": found.risk_high[0],
            "newborn_days": found.newborn_days[0],
            "per_1000_days": 1000 * found.hazard[0],
            "rate_low": 1000 * found.hazard_low[0],
            "rate_high": 1000 * found.hazard_high[0],
        }
    )


def reared_per_joined(
    births: pd.DataFrame, expected: Mapping[str, int | None], *, level: float
) -> Joined | None:
    """Reared for each dam joined; None where those joined were not counted, or fewer than gave birth.

    Counted: newborns not lost by the end that is stated, those that left alive among them; a dam without a birth on
    record rears none.

    Method
    ------
    The mean over dams with its normal interval, the spread between dams taken as it is (a dam is a cluster).
    """
    dams, litters = expected.get("dams_put_to_male"), births["litter"].nunique()
    if not dams or dams < max(litters, 2):
        return None
    reared = (~births["lost"]).groupby(births["litter"]).sum().to_numpy(float)
    each = float(reared.sum()) / dams
    spread = (float((reared**2).sum()) - dams * each**2) / (dams - 1)
    margin = float(critical(level)) * math.sqrt(max(spread, 0.0) / dams)
    return Joined(int(reared.sum()), dams, each, max(0.0, each - margin), each + margin)


def litters_by_losses(births: pd.DataFrame) -> pd.DataFrame:
    """Litters by how many newborns they held and how many of those were lost.

    Returns
    -------
    One row a number born: born, litters, none, some, all (litters that lost none, some, all of theirs).

    Counted: every litter; a newborn of an unknown dam is a litter of its own.
    """
    whole = births.groupby("litter")["lost"].agg(["size", "sum"])
    born, lost = whole["size"].astype(int), whole["sum"].astype(int)
    table = pd.DataFrame(
        {"born": born, "none": lost == 0, "some": (lost > 0) & (lost < born), "all": lost == born}
    )
    counted = table.groupby("born")[["none", "some", "all"]].sum().astype(int)
    return counted.assign(litters=counted.sum(axis=1)).reset_index()


def losses_by_week(births: pd.DataFrame, *, level: float) -> pd.DataFrame:
    """Births and losses by week of birth, weeks without births included.

    Returns
    -------
    ``rates`` frame with `week` (the Monday); n is 0 and share missing in an empty week. Gaps of more than
    eight weeks are left out.

    Counted: newborns whose date of birth was written; the stillborn are losses.
    """
    dated = births[births["born_week"].notna()]
    counted = rates(dated.assign(week=dated["born_week"]), ("week",), "lost", level=level)
    if counted.empty:
        return counted
    weeks = pd.date_range(counted["week"].min(), counted["week"].max(), freq="7D")
    if len(weeks) - len(counted) > 8:
        return counted
    filled = counted.set_index("week").reindex(weeks).rename_axis("week").reset_index()
    return filled.assign(**{name: filled[name].fillna(0).astype(int) for name in ("events", "n")})


BIRTHS_IN_A_WEEK = 10


def _weeks_verdict(weeks: pd.DataFrame, differ: Test, settings: Settings) -> Verdict | None:
    large = weeks[weeks["n"] >= BIRTHS_IN_A_WEEK]
    if len(large) < 2 or not differ.df:
        return None
    return judge_test(
        differ.p,
        level=settings.level,
        events=int(weeks["events"].sum()),
        smallest_group=int(large["n"].min()),
        minimum_group=settings.minimum_group,
    )


HOURS_IN_BAND = 4


def losses_by_hour(births: pd.DataFrame, *, level: float) -> pd.DataFrame:
    """Births and losses by four-hour band of the day: a ``rates`` frame with `band`, "00-04" to "20-24".

    Counted: newborns whose time of birth was written, not only its date.
    """
    timed = births[births["born_hour"].notna()]
    start = (timed["born_hour"].to_numpy(float) // HOURS_IN_BAND).astype(int)
    bands = [f"{h:02d}\u2013{h + HOURS_IN_BAND:02d}" for h in range(0, 24, HOURS_IN_BAND)]
    band = pd.Categorical([bands[place] for place in start], bands, ordered=True)
    return rates(timed.assign(band=band), ("band",), "lost", level=level)

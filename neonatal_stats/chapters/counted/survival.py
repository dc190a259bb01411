"""Survival of those born alive, and total loss of all born, as curves and at stated ages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.interval_censored import IntervalCensored, turnbull
from neonatal_stats.estimates.results import Test
from neonatal_stats.estimates.survival import restricted_mean
from neonatal_stats.estimates.verdict import Verdict, judge_test
from neonatal_stats.measures.claims import Claim, claim_of_test
from neonatal_stats.measures.contrasts import survival_differs
from neonatal_stats.measures.curves import as_lost, before_ages, survival
from neonatal_stats.measures.rates import Counted, grouped, too_few
from neonatal_stats.measures.windows import (
    UNKNOWN_AGES,
    deaths_without_age,
    fewest_watched,
    not_watched,
    watched_to_h,
    well_watched_h,
)
from neonatal_stats.season.following.ages import left_undated
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

TYPE = ("birth_type",)


@dataclass(frozen=True, eq=False)
class Survival(Shown):
    """Survival to ``end_h``, the last age watched; ``common_h`` the last day to which every large type was.

    ``whole`` and ``by_type`` are ``curve`` frames of those born alive; ``few`` birth types too small to draw, with n
    and litters; ``loss`` the ``curve`` frame of all born, as shares lost, the stillborn at age 0; ``at_ages`` shares
    alive at the windows' ends, all together (birth_type "all") and by type; ``days`` mean days alive; ``differ`` the
    clustered log-rank test between types and ``verdict`` what it allows to be said; ``between`` what the deaths known
    only to lie between two checks change (None where there are none); ``who`` counts; ``period`` the seasons counted.
    """

    whole: pd.DataFrame
    by_type: pd.DataFrame
    few: pd.DataFrame
    loss: pd.DataFrame
    at_ages: pd.DataFrame
    days: pd.DataFrame
    differ: Test
    verdict: Verdict
    between: FoundDead | None
    who: dict[str, int]
    end_h: float
    common_h: float
    period: tuple[str, ...]
    counted: Counted
    settings: Settings
    species: str

    @property
    def types(self) -> list[tuple[str, pd.DataFrame]]:
        """Birth types large enough to draw, each with its curve as shares lost, in order."""
        column, few = self.by_type["birth_type"], set(self.few["birth_type"])
        large = [one for one in column.cat.categories if (column == one).any() and one not in few]
        return [(str(one), as_lost(self.by_type[column == one])) for one in large]

    @property
    def at_common(self) -> pd.DataFrame:
        """Each birth type at ``common_h``, with ``n`` born alive, as ``at_ages`` and ``days`` have them."""
        return _at_common(self.at_ages, self.days, self.common_h)


def ages_known(alive: pd.DataFrame) -> bool:
    """Is the age at death, or at the last sight, known for enough of those born alive to draw a curve?"""
    undated = deaths_without_age(alive)
    return bool(undated <= UNKNOWN_AGES * int(alive["died"].sum()) and alive["age_known"].any())


def answer(season: Season) -> Survival:
    """Follow those born alive until they died, left, or the watching ended.

    Counted: in the curves those born alive with a known age (in the curve of total loss those born dead too, at
    age 0); a newborn that left or was last seen alive counts until then. ``counted`` says who was left out.
    """
    births, settings = season.births, season.settings
    alive = births[~births["stillborn"]]
    end_h = watched_to_h(alive, settings)
    whole, by_type = survival(alive, level=settings.level), survival(alive, TYPE, level=settings.level)
    common_h = _common_h(alive, end_h, settings.minimum_group)
    ages = sorted({*(hour for hour in settings.windows_h.values() if hour < end_h), common_h, end_h})
    at_ages, days = _at_ages(whole, by_type, ages, end_h), _days(alive, common_h, settings.level)
    differ = survival_differs(alive, TYPE)
    return Survival(
        whole=whole,
        by_type=by_type,
        few=too_few(alive, "birth_type", settings.minimum_group),
        loss=as_lost(survival(births, level=settings.level)),
        at_ages=at_ages,
        days=days,
        differ=differ,
        verdict=_verdict(differ, _at_common(at_ages, days, common_h), settings),
        between=found_dead(alive, ages),
        who=_who(alive, settings.follow_up_h),
        end_h=end_h,
        common_h=common_h,
        period=season.seasons,
        counted=_counted(births, alive),
        settings=settings,
        species=season.species,
    )


BY_TYPE = "survival/birth_type"
"""The key of the claim that birth types differ in survival."""


def claims(result: Survival) -> tuple[Claim, ...]:
    """Whether survival differs between birth types, over all ages."""
    groups = result.at_common
    if len(groups) < 2:
        return ()
    lost, n = groups["lost"], groups["n"]
    claim = claim_of_test(
        result.differ.p,
        key=BY_TYPE,
        family="litter size",
        line="litter size",
        events=int(lost.sum()),
        n=int(n.sum()),
        excess=float(lost.sum() - n.sum() * (lost / n).min()),
        period=result.period,
        sayable=result.verdict is not Verdict.TOO_FEW,
    )
    return (claim,)


def _common_h(alive: pd.DataFrame, end_h: float, minimum_group: int) -> float:
    """The last whole day to which every birth type with enough newborns was watched."""
    known = alive[alive["age_known"]]
    groups = known.groupby("birth_type", observed=True)["age_h"]
    last = groups.agg(well_watched_h)[groups.size() >= minimum_group]
    common_h = float(last.min()) if len(last) and last.min() > 0 else end_h
    return common_h if common_h < 48 else 24.0 * (common_h // 24)


def _at_ages(whole: pd.DataFrame, by_type: pd.DataFrame, ages: Sequence[float], end_h: float) -> pd.DataFrame:
    """Shares alive at the stated ages, all together (birth_type "all") and by birth type."""
    together = before_ages(whole, (), ages, end_h=end_h).assign(birth_type="all")
    apart = before_ages(by_type, TYPE, ages, end_h=end_h)
    apart = apart.assign(birth_type=apart["birth_type"].astype(str))
    begun = by_type.groupby(by_type["birth_type"].astype(str))["at_risk"].max().map(fewest_watched)
    thin = (apart["watched"] < apart["birth_type"].map(begun)) & (apart["share"] > 0)
    apart.loc[thin, ["share", "low", "high"]] = np.nan
    return pd.concat([together, apart] if len(apart) else [together], ignore_index=True)


def _at_common(at_ages: pd.DataFrame, days: pd.DataFrame, common_h: float) -> pd.DataFrame:
    last = at_ages[(at_ages["age_h"] == common_h) & (at_ages["birth_type"] != "all")]
    return last.merge(days[["birth_type", "n"]], on="birth_type", how="left")


def _verdict(differ: Test, groups: pd.DataFrame, settings: Settings) -> Verdict:
    """What the test between birth types allows to be said; too few to say unless two of them are large enough."""
    large = groups[groups["n"] >= settings.minimum_group]
    return judge_test(
        differ.p,
        level=settings.level,
        events=int(groups["lost"].sum()),
        smallest_group=int(large["n"].min()) if len(large) > 1 else 0,
        minimum_group=settings.minimum_group,
    )


def _days(alive: pd.DataFrame, end_h: float, level: float) -> pd.DataFrame:
    """Mean days alive, all together (birth_type "all") and by birth type."""
    together = days_alive(alive, (), until_h=end_h, level=level).assign(birth_type="all")
    apart = days_alive(alive, TYPE, until_h=end_h, level=level)
    apart = apart.assign(birth_type=apart["birth_type"].astype(str))
    return pd.concat([together, apart] if len(apart) else [together], ignore_index=True)


def days_alive(
    newborns: pd.DataFrame,
    by: Sequence[str],
    *,
    until_h: float,
    level: float,
) -> pd.DataFrame:
    """Mean days alive out of the first so many hours, per group.

    Returns
    -------
    One row a group: the columns of `by`, n, days, low, high and note (why it cannot be estimated, or ""). A
    group of a single litter has no interval.

    Counted: newborns of those given whose age is known.

    Method
    ------
    Area under the Kaplan-Meier curve, its variance clustered.
    """
    known = newborns[newborns["age_known"]]
    groups, code = grouped(known, by)
    rows = []
    for number in range(len(groups)):
        mine = known[code == number]
        found = restricted_mean(
            mine["age_h"].to_numpy(float),
            mine["died"].to_numpy(bool),
            until_h=until_h,
            cluster=mine["cluster"].to_numpy(),
            level=level,
        )
        alone = mine["cluster"].nunique() < 2
        low, high = (np.nan, np.nan) if alone else (found.low / 24, found.high / 24)
        rows.append((len(mine), found.estimate / 24, low, high, found.note))
    counted = pd.DataFrame(rows, columns=["n", "days", "low", "high", "note"], index=groups.index)
    return pd.concat([groups, counted], axis=1)


@dataclass(frozen=True, eq=False)
class FoundDead:
    """Survival at stated ages two ways: ``frame`` has age_h, found, earliest, latest (shares alive).

    ``found`` takes each death at the age it was found (Kaplan-Meier); ``earliest`` and ``latest`` are the
    ends of what the checks allow (Turnbull's maximum likelihood; they differ only inside an interval).
    ``between_checks`` deaths of ``deaths`` were known only to an interval of over an hour, ``typical_h`` long
    at the median.
    """

    frame: pd.DataFrame
    between_checks: int
    deaths: int
    typical_h: float
    moves: float
    converged: bool


def found_dead(alive_at_birth: pd.DataFrame, ages_h: Sequence[float]) -> FoundDead | None:
    """Compare the two readings at stated ages; None where no death was known only to an interval.

    Counted: newborns born alive with a known age. ``moves`` is the largest gap between the share alive by the
    time found and what the checks allow, over the stated ages.
    """
    known = alive_at_birth[alive_at_birth["age_known"]]
    died = known["died"].to_numpy(bool)
    low, high = known["age_low_h"].to_numpy(float), known["age_high_h"].to_numpy(float)
    wide = died & (high - low > 1)
    if not wide.any():
        return None
    fitted = turnbull(low, np.where(died, high, np.inf))
    at_found = turnbull(
        np.where(died, known["age_h"].to_numpy(float), low),
        np.where(died, known["age_h"].to_numpy(float), np.inf),
    )
    frame = pd.DataFrame(
        [(age, _alive(at_found, age)[0], *_alive(fitted, age)) for age in ages_h],
        columns=["age_h", "found", "earliest", "latest"],
    )
    moves = max((frame["found"] - frame["earliest"]).max(), (frame["latest"] - frame["found"]).max(), 0.0)
    return FoundDead(
        frame,
        int(wide.sum()),
        int(died.sum()),
        float(np.median((high - low)[wide])),
        float(moves),
        fitted.converged,
    )


def _alive(fitted: IntervalCensored, age_h: float) -> tuple[float, float]:
    """Lowest and highest share alive just before an age, by where mass may lie inside its interval."""
    surely_before = fitted.mass[fitted.intervals[:, 1] < age_h].sum()
    perhaps_before = fitted.mass[fitted.intervals[:, 0] < age_h].sum()
    return 1 - float(perhaps_before), 1 - float(surely_before)


def _who(alive: pd.DataFrame, follow_up_h: float) -> dict[str, int]:
    """Those born alive by what became of them; deaths between checks are also among those of a known hour or day."""
    died, known = alive["died"], alive["age_known"]
    width = alive["age_high_h"] - alive["age_low_h"]
    gone = int(left_undated(alive, died).sum())
    return {
        "born alive": len(alive),
        "watched to the end": int((~died & known & (alive["age_h"] >= follow_up_h)).sum()),
        "left alive or out of sight": int((not_watched(alive, follow_up_h) & known).sum()),
        **({"left alive without a date": gone} if gone else {}),
        "died at a known hour": int((died & known & (alive["age_precision"] == "hour")).sum()),
        "died on a known day": int((died & known & (alive["age_precision"] == "day")).sum()),
        "died between checks over an hour apart": int((died & known & (width > 1)).sum()),
        "died at an unknown age": deaths_without_age(alive),
    }


def _counted(births: pd.DataFrame, alive: pd.DataFrame) -> Counted:
    """Who is in the curves of those born alive, and who is left out and why."""
    known = int(alive["age_known"].sum())
    left_out = [
        ("born dead (they are in the curve of all born)", len(births) - len(alive)),
        ("age at death or at the last sight not known", len(alive) - known),
    ]
    return Counted(known, "{newborns}", tuple((why, n) for why, n in left_out if n))

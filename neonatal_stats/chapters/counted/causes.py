"""Losses by cause: counts, shares of all losses, incidence against age, by age window, by basis, by birth type."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.estimates.verdict import Verdict, judge_test
from neonatal_stats.measures.claims import Claim, claim_of_test
from neonatal_stats.measures.contrasts import cause_differs
from neonatal_stats.measures.curves import incidence
from neonatal_stats.measures.rates import Counted
from neonatal_stats.measures.windows import (
    RATES,
    UNKNOWN,
    UNKNOWN_AGES,
    age_edges_h,
    cause_found,
    deaths_without_age,
    last_age_h,
    losses_by_cause,
    share_of_cause,
    watched_to_h,
    when_lost,
)
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.terms import CAUSE_BASES

LEADING_EVENTS = 10
"""A cause is compared between birth types from this many losses on."""


@dataclass(frozen=True, eq=False)
class Causes(Shown):
    """Losses by cause.

    ``by_cause`` a ``rates`` frame (of all losses) with `highest`, and at_end, at_end_low, at_end_high: the
    share of all born lost to the cause by the last age watched, of ``born`` newborns (the simple share where too few
    ages are known); ``incidence`` the ``curve`` frame of every
    cause and "alive" (empty where too few ages are known); ``by_age`` counts by cause and age window,
    between ``edges_h``; ``by_basis`` what each cause rests on; ``by_type`` Gray's test of each leading cause
    between birth ``types``, with q, its verdict, and events_ and n_ of each type (lost to the cause, born);
    ``by_stage`` the frame of `largest_by_stage`; ``period`` the seasons counted.
    """

    by_cause: pd.DataFrame
    incidence: pd.DataFrame
    by_age: pd.DataFrame
    edges_h: tuple[float, ...]
    by_basis: pd.DataFrame
    by_type: pd.DataFrame
    by_stage: pd.DataFrame
    types: tuple[str, ...]
    born: int
    end_h: float
    period: tuple[str, ...]
    counted: Counted
    settings: Settings
    species: str

    @property
    def causes(self) -> list[str]:
        """The causes that occurred, largest first and "unknown" last."""
        return [str(cause) for cause in self.by_cause["cause"]]

    @property
    def known(self) -> list[dict[Hashable, Any]]:
        """The rows of ``by_cause`` without those of unknown cause, largest first."""
        return self.by_cause[self.by_cause["cause"].astype(str) != UNKNOWN].to_dict("records")


def answer(season: Season) -> Causes:
    """Count every loss once, under the cause that was written down; none written is "unknown"."""
    births, settings = season.births, season.settings
    dated = deaths_without_age(births) <= UNKNOWN_AGES * int(births["died"].sum())
    end_h = watched_to_h(births, settings)
    by_cause = losses_by_cause(births, level=settings.level)
    causes = [str(cause) for cause in by_cause["cause"]]
    curve = _incidence(births, end_h, settings.level) if dated else pd.DataFrame()
    edges_h = age_edges_h(settings, last_age_h(births, settings))
    large = _in_large_types(births, settings.minimum_group)
    return Causes(
        by_cause=by_cause.merge(
            _at_end(curve) if dated else _of_born(births, causes, settings.level), on="cause", how="left"
        ),
        incidence=curve,
        by_age=cause_by_age(births, causes, edges_h),
        edges_h=edges_h,
        by_basis=cause_by_basis(births, causes, CAUSE_BASES),
        by_type=_by_type(large, by_cause, settings) if dated else pd.DataFrame(),
        by_stage=largest_by_stage(births, settings),
        types=tuple(
            str(one) for one in large["birth_type"].cat.categories if (large["birth_type"] == one).any()
        ),
        born=len(births),
        end_h=end_h,
        period=season.seasons,
        counted=_counted(births),
        settings=settings,
        species=season.species,
    )


def type_key(cause: object) -> str:
    """The key of the claim that birth types differ in a cause."""
    return f"causes/birth_type/{cause}"


def claims(result: Causes) -> tuple[Claim, ...]:
    """Whether birth types differ in each leading cause, a line a cause."""
    return tuple(_claim(result, row) for row in result.by_type.to_dict("records"))


def _claim(result: Causes, row: dict[Hashable, Any]) -> Claim:
    counts = [(float(row[f"events_{name}"]), float(row[f"n_{name}"])) for name in result.types]
    lowest, n = min(events / born for events, born in counts), sum(born for _, born in counts)
    return claim_of_test(
        float(row["p"]),
        key=type_key(row["cause"]),
        family="cause",
        line=str(row["cause"]),
        events=int(row["events"]),
        n=int(n),
        excess=sum(events for events, _ in counts) - n * lowest,
        period=result.period,
        sayable=row["verdict"] is not Verdict.TOO_FEW,
    )


def largest_stands(largest: float, runner_up: float, unknown: float) -> bool:
    """Would the largest cause stay the largest if every loss of unknown cause were of the next one?

    >>> largest_stands(10, 6, 3), largest_stands(10, 6, 4), largest_stands(10, 0, 12)
    (True, False, False)
    """
    return largest > runner_up + unknown


def _incidence(births: pd.DataFrame, end_h: float, level: float) -> pd.DataFrame:
    """The curves up to the last age to which enough were watched."""
    curve = incidence(births, level=level)
    return curve[curve["age_h"] <= end_h].reset_index(drop=True)


AT_END = {"share": "at_end", "low": "at_end_low", "high": "at_end_high"}


def _at_end(curve: pd.DataFrame) -> pd.DataFrame:
    """Share of all born lost to each cause by the last age watched."""
    last = curve.groupby(curve["cause"].astype(str)).tail(1)
    last = last.assign(cause=last["cause"].astype(str))
    return last[["cause", *AT_END]].rename(columns=AT_END)


def _of_born(births: pd.DataFrame, causes: list[str], level: float) -> pd.DataFrame:
    """Share of all born lost to each cause at whatever age; those that left alive count as not lost to it."""
    cause = births["cause"].astype(str).where(births["died"])
    rows = [share_of_cause((cause == one).to_numpy(), births, level) for one in causes]
    frame = pd.DataFrame(rows, columns=[*RATES[:2], *AT_END.values()])
    return frame[list(AT_END.values())].assign(cause=causes)


def cause_by_age(births: pd.DataFrame, causes: Sequence[str], edges_h: Sequence[float]) -> pd.DataFrame:
    """Losses of each cause by age window.

    Returns
    -------
    One row a cause and window: cause, window (number of the window; -1 stillborn, the number of windows for
    an unknown age), events. Every pair is there, 0 where there were none.
    """
    lost = births[births["died"]]
    last = len(edges_h) - 1
    place = np.searchsorted(np.asarray(edges_h[1:-1]), lost["age_h"].fillna(0).to_numpy(float), side="right")
    place = np.where(lost["age_known"], place, last)
    place = np.where(lost["stillborn"], -1, place)
    pairs = pd.MultiIndex.from_product([list(causes), range(-1, last + 1)], names=["cause", "window"])
    counted = pd.Series(place, index=lost.index).groupby([lost["cause"].astype(str), place]).size()
    counted.index.names = ["cause", "window"]
    return counted.reindex(pairs, fill_value=0).rename("events").reset_index()


def largest_by_stage(births: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """The largest known cause at each time of loss.

    Returns
    -------
    One row a stage of `measures.windows.when_lost` with losses: stage, n (lost), cause ("" where none is known; several
    that tie stand one after the other with "; "), events (lost to each), unknown. Stillbirth is no cause here.
    """
    when = when_lost(births, settings)
    cause = births["cause"].astype(str).where(cause_found(births), UNKNOWN)
    rows = []
    for stage in when.cat.categories:
        mine = cause[when == stage].value_counts()
        known = mine.drop(UNKNOWN, errors="ignore")
        first = sorted(map(str, known.index[known == known.max()]))
        events = int(known.max()) if len(known) else 0
        rows.append((stage, int(mine.sum()), "; ".join(first), events, int(mine.get(UNKNOWN, 0))))
    frame = pd.DataFrame(rows, columns=["stage", "n", "cause", "events", "unknown"])
    return frame[frame["n"] > 0].reset_index(drop=True)


def cause_by_basis(births: pd.DataFrame, causes: Sequence[str], bases: Sequence[str]) -> pd.DataFrame:
    """What each cause rests on: one row a cause, a column of counts a basis, `not given` and `n`."""
    lost = births[births["died"]]
    if "cause_basis" not in lost:
        lost = lost.assign(cause_basis=None)
    basis = lost["cause_basis"].astype(object).where(lost["cause_basis"].notna(), "not given")
    counted = pd.crosstab(lost["cause"].astype(str), basis)
    counted = counted.reindex(index=list(causes), columns=[*bases, "not given"], fill_value=0)
    counted = counted.rename_axis(index="cause", columns=None).reset_index()
    return counted.assign(n=counted[[*bases, "not given"]].sum(axis=1))


def _in_large_types(births: pd.DataFrame, minimum_group: int) -> pd.DataFrame:
    """Newborns of the birth types that are large enough to be compared."""
    size = births["birth_type"].value_counts()
    return births[births["birth_type"].isin(size[size >= minimum_group].index)]


def _by_type(births: pd.DataFrame, by_cause: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Gray's test between birth types of every known cause with enough losses; q over all that were tried."""
    leading = by_cause[(by_cause["events"] >= LEADING_EVENTS) & (by_cause["cause"] != UNKNOWN)]
    if births["birth_type"].nunique() < 2 or leading.empty:
        return pd.DataFrame()
    frame = pd.DataFrame([_one_cause(births, str(cause)) for cause in leading["cause"]])
    frame = frame.assign(q=benjamini_hochberg(frame["p"].to_numpy(float)))
    verdicts = [
        judge_test(
            row["q"],
            level=settings.level,
            events=row["events"],
            smallest_group=row["smallest"],
            minimum_group=settings.minimum_group,
        )
        for row in frame.to_dict("records")
    ]
    return frame.assign(verdict=pd.Series(verdicts, dtype=object))


def _one_cause(births: pd.DataFrame, cause: str) -> dict[str, object]:
    """Gray's test of one cause, with its losses and the born of every birth type."""
    test, of_cause = cause_differs(births, ("birth_type",), cause), births["cause"].astype(str) == cause
    groups = births.assign(events=of_cause).groupby("birth_type", observed=True)["events"]
    counts = {str(name): (int(mine.sum()), len(mine)) for name, mine in groups}
    return {
        "cause": cause,
        "events": int(of_cause.sum()),
        "smallest": min(n for _, n in counts.values()),
        **{f"events_{name}": events for name, (events, _) in counts.items()},
        **{f"n_{name}": n for name, (_, n) in counts.items()},
        "statistic": test.statistic,
        "df": test.df,
        "p": test.p,
    }


def _counted(births: pd.DataFrame) -> Counted:
    """All losses."""
    lost = int(births["died"].sum())
    return Counted(lost, "{newborns} lost")

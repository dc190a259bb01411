"""Mothering-up, counted: who was not accepted, per newborn, dam and litter, and what became of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.results import Estimate, Test
from neonatal_stats.estimates.stratified import mantel_haenszel
from neonatal_stats.measures.compared import compared
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.occurrence import rates
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

FACTORS: dict[str, str | None] = {
    "parity_class": "second or third",
    "birth_type": "single",
    "sex_mix": None,
    "difficulty": "easy",
    "birth_place": "indoors",
    "weight_class": "middle",
    "season": None,
}


KEPT_ALL, LEFT_SOME, LEFT_ALL = "kept all", "left some, kept some", "left all"


REARED = ("fostered", "artificial", "dam", "not written down")


@dataclass(frozen=True, eq=False)
class Mothering(Shown):
    """Failures at mothering-up (rejected, abandoned or mismothered).

    ``rates`` has one row per newborn judged and one per dam judged (unit, events, n, share, low, high);
    ``groups`` is the frame of `measures.compared`; ``handled`` the comparison within difficulty;
    ``separated`` litters kept whole, in part or left; ``outcomes`` what became of the failures; ``deaths``
    deaths after a failure and after mothering up; ``passed`` the share of deaths that passed through a
    failure.
    """

    rates: pd.DataFrame
    groups: pd.DataFrame
    handled: Handled | None
    separated: pd.DataFrame
    outcomes: pd.DataFrame
    deaths: pd.DataFrame
    window: str
    passed: pd.DataFrame
    unjudged: int
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> Mothering:
    """Count the failures.

    Counted
    -------
    Born alive and judged yes or no. The stillborn and those nobody judged are left out, each with their number:
    not judged is never taken as accepted.
    """
    births, settings = season.births, season.settings
    level = settings.level
    known = judged(births)
    stillborn = int(births["stillborn"].fillna(False).sum())
    unjudged = len(births) - stillborn - len(known)
    window = list(settings.windows_h)[-1] if settings.windows_h else ""
    return Mothering(
        rates=_rates(births, known, level),
        groups=compared(known, FACTORS, "failed_mothering", level=level, minimum=settings.minimum_group),
        handled=handled(births, level=level),
        separated=separated(births, level=level),
        outcomes=outcomes(births),
        deaths=_deaths(known, window, level),
        window=window,
        passed=_passed(known, level),
        unjudged=unjudged,
        counted=Counted(len(known), left_out=(("stillborn", stillborn), ("not judged", unjudged))),
        settings=settings,
        species=season.species,
    )


def judged(newborns: pd.DataFrame) -> pd.DataFrame:
    """Born alive with mothering-up judged yes or no."""
    alive = ~newborns["stillborn"].fillna(False).astype(bool)
    return newborns[alive & newborns["failed_mothering"].notna()]


def by_litter(newborns: pd.DataFrame) -> pd.DataFrame:
    """One row a litter with at least one newborn judged: how many born alive, judged and failed, and
    `any_failed`.
    """
    alive = newborns[~newborns["stillborn"].fillna(False).astype(bool)]
    known = alive["failed_mothering"].notna()
    frame = alive.assign(known=known, failed=alive["failed_mothering"].fillna(False).astype(bool))
    keys = frame.groupby("litter", sort=True)
    litters = keys.agg(
        born_alive=("known", "size"),
        judged=("known", "sum"),
        failed=("failed", "sum"),
        cluster=("cluster", "first"),
    )
    litters = litters[litters["judged"] > 0].reset_index()
    return litters.assign(any_failed=(litters["failed"] > 0).astype("boolean"))


def _rates(births: pd.DataFrame, known: pd.DataFrame, level: float) -> pd.DataFrame:
    """Failures of the newborns judged, and of the dams with at least one judged: a dam counts once a season."""
    each = rates(known, (), "failed_mothering", level=level).assign(unit="newborns")
    dams = rates(by_litter(births), (), "any_failed", level=level).assign(unit="dams")
    return pd.concat([each, dams], ignore_index=True)


def separated(newborns: pd.DataFrame, *, level: float) -> pd.DataFrame:
    """Litters of two or more born alive, all judged: how many the dam kept whole, kept in part, or left.

    Returns
    -------
    A ``rates`` frame: kept (`KEPT_ALL`, `LEFT_SOME`, `LEFT_ALL`), events, n, share, low, high; empty where
    there are none.

    Examples
    --------
    Of 103 ewes with twins 51 left one for good (Stevens, Alexander & Lynch 1982): 49.5 %, 40.1 to 59.0 %.
    """
    litters = by_litter(newborns)
    whole = litters[(litters["born_alive"] >= 2) & (litters["judged"] == litters["born_alive"])]
    conditions = [whole["failed"] == 0, whole["failed"] == whole["judged"]]
    kept = np.select(conditions, [KEPT_ALL, LEFT_ALL], LEFT_SOME)
    rows = []
    for name in (KEPT_ALL, LEFT_SOME, LEFT_ALL):
        if len(whole):
            event = pd.Series(kept == name, index=whole.index, dtype="boolean")
            rows.append({"kept": name, **rates(whole.assign(event=event), (), "event", level=level).iloc[0]})
    return pd.DataFrame(rows, columns=["kept", "events", "n", "share", "low", "high"])


def outcomes(newborns: pd.DataFrame) -> pd.DataFrame:
    """What became of newborns not accepted: reared (`REARED`), n, died; counts only.

    Every failure stands in one row; "dam" is one that went back to its dam.
    """
    failed = judged(newborns)
    failed = failed[failed["failed_mothering"].astype(bool)]
    rearing = failed["rearing"] if "rearing" in failed else pd.Series(None, index=failed.index, dtype=object)
    reared = rearing.astype(object).where(rearing.notna(), REARED[-1])
    died = failed["died"].astype(bool)
    rows = [
        {"reared": name, "n": int((reared == name).sum()), "died": int((died & (reared == name)).sum())}
        for name in REARED
    ]
    return pd.DataFrame(rows)


def _deaths(known: pd.DataFrame, window: str, level: float) -> pd.DataFrame:
    """Lost by the end of the window, of those not accepted and of those accepted: side by side, no
    contrast. Those whose fate in the window is not known are not counted.
    """
    lost = f"lost_by_{window.replace(' ', '_')}" if window else "lost"
    accepted = known["failed_mothering"].map({True: "no", False: "yes"})
    frame = known.assign(accepted=pd.Categorical(accepted, ["no", "yes"], ordered=True))
    return rates(frame, ("accepted",), lost, level=level)


def _passed(known: pd.DataFrame, level: float) -> pd.DataFrame:
    """Of those judged and lost, whenever they were lost, how many had not been accepted."""
    lost = known[known["lost"].fillna(False).astype(bool)]
    return rates(lost, (), "failed_mothering", level=level)


@dataclass(frozen=True, eq=False)
class Handled:
    """Handled before bonding against failure: counts by difficulty of delivery, crude ratio, and within
    strata.

    ``counts`` has one row a stratum: difficulty, events, n (handled), events_versus, n_versus (not handled),
    share and share_versus.
    """

    counts: pd.DataFrame
    crude: Estimate
    stratified: Estimate
    homogeneity: Test


def handled(newborns: pd.DataFrame, *, level: float) -> Handled | None:
    """Risk ratio of failure, handled before bonding against not, crude and within easy and difficult births.

    Counted
    -------
    Judged newborns with `handled` and `difficulty` known; None where one of the groups is empty.

    Method
    ------
    Mantel-Haenszel risk ratio with a variance summed over litters.
    """
    if "handled" not in newborns or "difficulty" not in newborns:
        return None
    known = judged(newborns)
    known = known[known["handled"].notna() & known["difficulty"].notna()]
    event, touched = known["failed_mothering"].to_numpy(bool), known["handled"].to_numpy(bool)
    if not touched.any() or touched.all():
        return None
    hard = (known["difficulty"] == "difficult").to_numpy()
    litter = known["cluster"].to_numpy()
    crude, _ = mantel_haenszel(
        event, touched, np.zeros(len(known), int), cluster=litter, measure="risk_ratio", level=level
    )
    within, agree = mantel_haenszel(
        event, touched, hard.astype(int), cluster=litter, measure="risk_ratio", level=level
    )
    return Handled(_strata(event, touched, hard), crude, within, agree)


def _strata(event: np.ndarray, touched: np.ndarray, hard: np.ndarray) -> pd.DataFrame:
    rows = []
    for name, stratum in (("easy", ~hard), ("difficult", hard)):
        one, other = event[stratum & touched], event[stratum & ~touched]
        rows.append(
            {
                "difficulty": name,
                "events": int(one.sum()),
                "n": len(one),
                "events_versus": int(other.sum()),
                "n_versus": len(other),
                "share": float(one.mean()) if len(one) else np.nan,
                "share_versus": float(other.mean()) if len(other) else np.nan,
            }
        )
    return pd.DataFrame(rows)

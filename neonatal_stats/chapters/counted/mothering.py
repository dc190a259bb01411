"""Mothering-up, counted: who was not accepted, per newborn, dam and litter, and what became of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.results import ratio
from neonatal_stats.estimates.stratified import mantel_haenszel
from neonatal_stats.measures.claims import Claim, claims_of, keyed
from neonatal_stats.measures.contrasts import by_factor, cells_of, contrast_rows, counts_of
from neonatal_stats.measures.milestones import mothering_judged
from neonatal_stats.measures.rates import Counted, rates
from neonatal_stats.measures.windows import last_early_window
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

FACTORS = (
    "parity_class", "birth_type", "sex_mix", "born_by", "difficulty", "birth_place", "weight_class", "season",
)  # fmt: skip
"""What the groups held against each other are made by."""
KEPT_ALL, LEFT_SOME, LEFT_ALL = "kept all", "left some, kept some", "left all"
REARED = ("fostered", "artificial", "dam", "not written down")


@dataclass(frozen=True, eq=False)
class Mothering(Shown):
    """Failures at mothering-up (rejected, abandoned or mismothered).

    ``rates`` has one row per newborn judged and one per dam judged (unit, events, n, share, low, high); ``groups`` is
    the frame of `measures.contrasts.by_factor`, keyed; ``handled`` is None where it was not written down;
    ``separated`` litters kept whole, in part or left; ``outcomes`` what became of the failures; ``deaths`` deaths after
    a failure and after mothering up; ``passed`` the share of deaths that passed through a failure; ``period`` the
    seasons counted.
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
    period: tuple[str, ...]
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
    known = mothering_judged(births)
    stillborn = int(births["stillborn"].sum())
    unjudged = len(births) - stillborn - len(known)
    window, lost = last_early_window(settings)
    return Mothering(
        rates=_rates(births, known, level),
        groups=keyed(by_factor(known, FACTORS, outcome="failed_mothering", settings=settings), "mothering"),
        handled=handled(births, settings),
        separated=separated(births, level=level),
        outcomes=outcomes(births),
        deaths=_deaths(known, lost, level),
        window=window,
        passed=_passed(known, level),
        unjudged=unjudged,
        period=season.seasons,
        counted=Counted(len(known), left_out=(("stillborn", stillborn), ("not judged", unjudged))),
        settings=settings,
        species=season.species,
    )


AFTER_SURGERY = "mothering/born_by/born by surgery"
WITHIN = "within difficulty"


def claims(result: Mothering) -> tuple[Claim, ...]:
    """Each group against its reference, birth by surgery asked beforehand; handled before bonding within difficulty."""
    groups = claims_of(
        result.groups,
        chapter="mothering",
        family="mothering",
        line=result.groups["factor"].astype(str),
        period=result.period,
        settings=result.settings,
        asked={AFTER_SURGERY: "mothering after surgery"},
    )
    if result.handled is None:
        return groups
    found = result.handled.contrasts
    within = claims_of(
        found[found["how"] == WITHIN],
        chapter="mothering",
        family="mothering",
        line="handled",
        period=result.period,
        settings=result.settings,
    )
    return (*groups, *within)


def by_litter(newborns: pd.DataFrame) -> pd.DataFrame:
    """One row a litter with at least one newborn judged: how many born alive, judged and failed, and
    `any_failed`.
    """
    alive = newborns[~newborns["stillborn"]]
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
            event = kept == name
            rows.append({"kept": name, **rates(whole.assign(event=event), (), "event", level=level).iloc[0]})
    return pd.DataFrame(rows, columns=["kept", "events", "n", "share", "low", "high"])


def outcomes(newborns: pd.DataFrame) -> pd.DataFrame:
    """What became of newborns not accepted: reared (`REARED`), n, died; counts only.

    Every failure stands in one row; "dam" is one that went back to its dam.
    """
    failed = mothering_judged(newborns)
    failed = failed[failed["failed_mothering"].astype(bool)]
    rearing = failed["rearing"] if "rearing" in failed else pd.Series(None, index=failed.index, dtype=object)
    reared = rearing.astype(object).where(rearing.notna(), REARED[-1])
    died = failed["died"]
    rows = [
        {"reared": name, "n": int((reared == name).sum()), "died": int((died & (reared == name)).sum())}
        for name in REARED
    ]
    return pd.DataFrame(rows)


def _deaths(known: pd.DataFrame, lost: str, level: float) -> pd.DataFrame:
    """Lost by the end of the window, of those not accepted and of those accepted: side by side, no contrast.

    Those whose fate in the window is not known are not counted.
    """
    accepted = known["failed_mothering"].map({True: "no", False: "yes"})
    frame = known.assign(accepted=pd.Categorical(accepted, ["no", "yes"], ordered=True))
    return rates(frame, ("accepted",), lost, level=level)


def _passed(known: pd.DataFrame, level: float) -> pd.DataFrame:
    """Of those judged and lost, whenever they were lost, how many had not been accepted."""
    lost = known[known["lost"]]
    return rates(lost, (), "failed_mothering", level=level)


@dataclass(frozen=True, eq=False)
class Handled:
    """Failures of those handled before bonding against the others.

    ``counts`` has one row a difficulty of delivery: events, n (handled), events_versus, n_versus (not handled), share
    and share_versus. ``contrasts`` is a contrast frame of two rows, handled "yes" against "no": how is "crude" or
    "within difficulty".
    """

    counts: pd.DataFrame
    contrasts: pd.DataFrame


def handled(newborns: pd.DataFrame, settings: Settings) -> Handled | None:
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
    known = mothering_judged(newborns)
    known = known[known["handled"].notna() & known["difficulty"].notna()]
    event, touched = known["failed_mothering"].to_numpy(bool), known["handled"].to_numpy(bool)
    if not touched.any() or touched.all():
        return None
    hard = (known["difficulty"] == "difficult").to_numpy()
    litter = known["cluster"].to_numpy()
    rows = []
    for how, strata in (("crude", np.zeros(len(known), int)), (WITHIN, hard.astype(int))):
        found, _ = mantel_haenszel(
            event, touched, strata, cluster=litter, measure="risk_ratio", level=settings.level
        )
        row = {"how": how, "handled": "yes", "versus": "no", "measure": "risk ratio"}
        rows.append(row | counts_of(event, touched) | cells_of(found))
    frame = contrast_rows(rows, ("how", "handled"), settings=settings)
    return Handled(_strata(event, touched, hard), keyed(frame, "mothering", "handled"))


def _strata(event: np.ndarray, touched: np.ndarray, hard: np.ndarray) -> pd.DataFrame:
    strata = {"easy": ~hard, "difficult": hard}
    rows = [{"difficulty": name, **counts_of(event[one], touched[one])} for name, one in strata.items()]
    frame = pd.DataFrame(rows)
    return frame.assign(
        share=ratio(frame["events"], frame["n"]),
        share_versus=ratio(frame["events_versus"], frame["n_versus"]),
    )

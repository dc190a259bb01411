"""Newborns ready for the question "did the age at first feed go with survival?": who can be counted, and
what is known.

Whether a newborn was fed is known only while it lives. Those that died unfed are kept (leaving them out
would hide the harm); those of which nobody wrote a feed are left out, and counted.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from neonatal_stats.measures.between_rounds import placed
from neonatal_stats.measures.milestones import FEEDING, hours

SECOND_H = 1 / 3600
KNOWN_SHARE = 0.7  # a covariate written down for fewer newborns than this is not used


@dataclass(frozen=True, eq=False)
class Cohort:
    """One row a newborn: age_h, died, fed_h (infinite where unfed to the end of watching), cluster, and
    covariates.

    ``names`` are the covariate columns in use, ``not_used`` those with too little written down; ``left_out``
    counts newborns by reason; ``taken_unfed`` died before ``horizon_h`` with no feed written down and are
    taken as unfed.
    """

    rows: pd.DataFrame
    names: tuple[str, ...]
    not_used: tuple[str, ...]
    left_out: tuple[tuple[str, int], ...]
    taken_unfed: int


def watched_age_h(births: pd.DataFrame, within: float | None = None) -> pd.Series:
    """Hours watched, to the minute where the moments of birth and death are known, else whole hours.

    A death known only to lie between two rounds is placed by `measures.between_rounds`, or, for comparison,
    at ``within`` of the way from last seen alive (0) to found dead (1).
    """
    age = births["age_h"].astype(float)
    died = births["died"].astype(bool)
    if "died_at" in births:
        exact = (births["died_at"] - births["born"]).dt.total_seconds() / 3600
        minute = died & exact.notna() & (births["born_precision"] == "time") & (np.floor(exact) == age)
        age = age.where(~minute, exact)
    low, high = births["age_low_h"].astype(float), births["age_high_h"].astype(float)
    between = died & np.isfinite(high) & (low < high)
    if within is not None:
        return age.where(~between, low + within * (high - low))
    fed = hours(births, FEEDING[0]).fillna(np.inf).to_numpy(float)
    known = age.notna().to_numpy()
    out = age.to_numpy(float).copy()
    who = between.to_numpy()
    out[who] = placed(low.to_numpy(float)[who], high.to_numpy(float)[who], fed[who], fed[known], out[known])
    return pd.Series(out, index=births.index)


def cohort(births: pd.DataFrame, horizon_h: float, within: float | None = None) -> Cohort:
    """Newborns whose first feed and fate are known well enough, with what makes a newborn slow to feed and
    likely to die.

    Parameters
    ----------
    births : born dead included (they are left out here).
    horizon_h : a newborn that died before this age with no feed written down is taken as unfed.
    within : where between last alive and found dead a death is placed, 0 to 1; None places it fairly.

    Returns
    -------
    Cohort

    Counted
    -------
    Born alive, fate and age known. "Not fed by HH:MM" and nothing later: watched until then, unless it died
    unfed. No feed written down and alive past the horizon: left out. Any covariate in use not written down:
    left out.
    """
    alive = births[~births["stillborn"].fillna(False).astype(bool)]
    placed, unseen, taken = _feed_times(alive[alive["age_known"].astype(bool)], horizon_h, within)
    frame, names, not_used = with_covariates(placed)
    complete = frame[frame[list(names)].notna().all(axis=1)] if names else frame
    left_out = (
        ("stillborn", len(births) - len(alive)),
        ("died at an unknown age", int((~alive["age_known"].astype(bool)).sum())),
        ("first feed not observed", unseen),
        ("something else adjusted for not written down", len(frame) - len(complete)),
    )
    return Cohort(complete.reset_index(drop=True), names, not_used, left_out, taken)


def _feed_times(known: pd.DataFrame, horizon_h: float, within: float | None) -> tuple[pd.DataFrame, int, int]:
    at, not_by = hours(known, FEEDING[0]), hours(known, FEEDING[1])
    age, died = watched_age_h(known, within), known["died"].astype(bool)
    unfed_death = at.isna() & died & (age < horizon_h)
    seen_unfed = at.isna() & not_by.notna() & ~unfed_death
    kept = at.notna() | unfed_death | seen_unfed
    age = age.where(at.isna() | (age > at), at + SECOND_H)
    frame = known.assign(
        followed_h=age,
        lost=died,
        age_h=age.where(~seen_unfed, np.minimum(age, not_by)),
        died=died & ~seen_unfed,
        fed_h=at.where(at.notna(), np.inf),
        unfed_until_h=not_by.where(seen_unfed),
    )
    return frame[kept], int((~kept).sum()), int((unfed_death & not_by.isna()).sum())


def with_covariates(newborns: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, ...], tuple[str, ...]]:
    """Weak or absent suck reflex, birth weight (standard deviations within species), difficult delivery,
    litter size.

    Returns
    -------
    The frame with one numeric column a covariate, the names in use, and those not used: too little written
    down, or the same in all.
    """
    parts = _covariates(newborns)
    frame = newborns.assign(**parts)
    names = [name for name in parts if _tells(frame[name])]
    recorded = [name for name in parts if frame[name].notna().any()]
    return frame, tuple(names), tuple(name for name in recorded if name not in names)


def _tells(values: pd.Series) -> bool:
    return bool(values.notna().mean() >= KNOWN_SHARE and values.min() < values.max())


def _covariates(newborns: pd.DataFrame) -> dict[str, pd.Series]:
    parts: dict[str, pd.Series] = {}
    if "suck_reflex" in newborns:
        reflex = newborns["suck_reflex"].astype(object)
        checked = reflex.isin(["strong", "weak", "absent"])
        parts["weak_suck"] = (reflex == "weak").astype(float).where(checked)
        parts["absent_suck"] = (reflex == "absent").astype(float).where(checked)
    if "birth_weight_kg" in newborns:
        weight = newborns["birth_weight_kg"].astype(float)
        by_species = weight.groupby(newborns["species"].astype(str))
        parts["birth_weight_sd"] = (weight - by_species.transform("mean")) / by_species.transform("std")
    if "difficulty" in newborns:
        delivery = newborns["difficulty"]
        parts["difficult_delivery"] = (delivery == "difficult").astype(float).where(delivery.notna())
    if "birth_type" in newborns:
        kind = newborns["birth_type"]
        parts["twin"] = (kind == "twin").astype(float).where(kind.notna())
        parts["triplet_or_more"] = kind.isin(["triplet", "four or more"]).astype(float).where(kind.notna())
    return parts


def until(group: Cohort, age_h: float) -> Cohort:
    """The same newborns watched no further than an age."""
    rows = group.rows
    later = rows["age_h"] > age_h
    cut = rows.assign(age_h=rows["age_h"].clip(upper=age_h), died=rows["died"] & ~later)
    fed = cut["fed_h"].where(cut["fed_h"] <= cut["age_h"], np.inf)
    return replace(group, rows=cut.assign(fed_h=fed))

"""Newborns ready for the question "did the age at first feed go with survival?": who can be counted, and
what is known.

Whether a newborn was fed is known only while it lives. Those written as not fed up to their death are kept as unfed
(leaving them out would hide the harm). A blank is missing whatever became of the newborn: to take the dead among the
blanks for unfed, and to leave out the living, makes being unfed deadly where it is harmless. What the blanks could do
to the answer is shown by taking them all as fed, all as unfed, and by weighing those written down for those that are
not.

When may a newborn found dead at a round have died? One that died unfed between two rounds is more likely to have died
early in between, when many were still unfed, than late. Placing it at the round (or half way) sets it against others of
which too many have fed, and being unfed then looks deadlier than it is. So it stands at its likely ages, given how
many others were still unfed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.measures.milestones import FEEDING, hours

Floats = NDArray[np.floating[Any]]
SECOND_H = 1 / 3600
STEP_H = 0.05
PARTS = 8
POSSIBLE = tuple(f"possible_h_{part}" for part in range(PARTS))
LEFT_OUT, ALL_FED, ALL_UNFED, WEIGHTED = "left out", "all fed", "all unfed", "weighted"
"""What is done with newborns of which no feed was written: see `cohort`."""
ROWS = ("cluster", "stratum", "weight", "followed_h", "lost", "age_h", "died", "fed_h", "unfed_until_h")
READ = (
    "stillborn", "age_known", "died", "age_h", "age_low_h", "age_high_h", "died_at", "born", "born_precision",
    "cluster", "season", "species", *FEEDING, "suck_reflex", "birth_weight_kg", "difficulty", "birth_type",
)  # fmt: skip
"""The columns of births that tell of the first feed, of what became of the newborn, and of what goes with both."""
HEAVIEST = 10.0  # no newborn stands for more than so many
KNOWN_SHARE = 0.7  # a covariate written down for fewer newborns than this is not used


@dataclass(frozen=True, eq=False)
class Cohort:
    """One row a newborn: `ROWS`, `POSSIBLE` and the covariates in use.

    age_h and died end where it was last seen unfed, followed_h and lost at the end of all watching; fed_h is
    infinite where it was unfed to the end; unfed_until_h is the age at which it was last seen unfed, with no
    feed written down after; the columns of `POSSIBLE` are the likely ages of a death known only to lie
    between two rounds; weight is 1 unless they were weighed; stratum numbers the season. ``names`` are the covariate
    columns in use, ``not_used`` those with too little written down; ``left_out`` counts newborns by reason; of
    ``blank`` nobody wrote a feed, and ``blank_dead`` of these died before the horizon.
    """

    rows: pd.DataFrame
    names: tuple[str, ...]
    not_used: tuple[str, ...]
    left_out: tuple[tuple[str, int], ...]
    blank: int
    blank_dead: int

    @property
    def stratum(self) -> NDArray[np.int64] | None:
        """The season of each row, for a model stratified by it; None where there is one only."""
        found: NDArray[np.int64] = self.rows["stratum"].to_numpy(np.int64)
        return found if len(found) and np.ptp(found) else None


def cohort(
    births: pd.DataFrame, horizon_h: float, within: float | None = None, blank: str = LEFT_OUT
) -> Cohort:
    """Newborns whose first feed and fate are known well enough, with what makes them slow to feed and likely
    to die.

    Parameters
    ----------
    births : born dead included (they are left out here).
    horizon_h : a newborn written as not fed up to its death counts as dying unfed where that was before this age.
    within : as in `watched_age_h`.
    blank : newborns of which no feed was written are `LEFT_OUT`; or all taken as fed from birth; or as never fed; or
        `WEIGHTED`: those written down stand for them as well, by one over the share written down among those of the
        same fate (died before the horizon or not) and suck reflex.

    Returns
    -------
    Cohort

    Counted
    -------
    Born alive, fate and age known. "Not fed by HH:MM" and nothing later: watched until then, or to its death where
    it was last seen alive no later. Any covariate in use not written down: left out.
    """
    births = births[[name for name in READ if name in births]]
    alive = births[~births["stillborn"]]
    known = alive[alive["age_known"]]
    empty = hours(known, FEEDING[0]).isna() & hours(known, FEEDING[1]).isna()
    placed = _feed_times(known, horizon_h, within, empty & (blank in (ALL_FED, ALL_UNFED)), blank == ALL_FED)
    placed = placed.assign(
        weight=_recorded_weight(known, empty, horizon_h) if blank == WEIGHTED else 1.0,
        stratum=pd.factorize(placed["season"].astype(str), sort=True)[0] if "season" in placed else 0,
    )
    unseen = len(known) - len(placed)
    frame, names, not_used = with_covariates(placed)
    complete = frame[frame[list(names)].notna().all(axis=1)] if names else frame
    left_out = (
        ("stillborn", len(births) - len(alive)),
        ("died at an unknown age", int((~alive["age_known"]).sum())),
        ("first feed not observed", unseen),
        ("something else adjusted for not written down", len(frame) - len(complete)),
    )
    dead = int((empty & known["died"] & (known["age_h"] < horizon_h)).sum())
    rows = complete[[*ROWS, *POSSIBLE, *names]].reset_index(drop=True)
    return Cohort(rows, names, not_used, left_out, int(empty.sum()), dead)


def _recorded_weight(known: pd.DataFrame, empty: pd.Series, horizon_h: float) -> pd.Series:
    """One over the share of newborns with a feed written down among those of the same fate and suck reflex."""
    suck = known["suck_reflex"].astype(object).fillna("") if "suck_reflex" in known else ""
    cells = pd.DataFrame(
        {"early": known["died"] & (known["age_h"] < horizon_h), "suck": suck}, index=known.index
    )
    share = (~empty).astype(float).groupby([cells["early"], cells["suck"]]).transform("mean")
    return 1 / share.clip(lower=1 / HEAVIEST)


def _feed_times(
    known: pd.DataFrame, horizon_h: float, within: float | None, taken: pd.Series, as_fed: bool
) -> pd.DataFrame:
    """Feeds and ages of those with a feed written down, and of those ``taken`` as fed from birth or as never fed."""
    if as_fed:
        at_birth = hours(known, FEEDING[0]).mask(taken, 0.0)
        known = known.assign(**{FEEDING[0]: at_birth})
    at, not_by = hours(known, FEEDING[0]), hours(known, FEEDING[1])
    died = known["died"]
    age, possible = watched_age_h(known, within)
    to_death = at.isna() & died & (age < horizon_h) & (known["age_low_h"] <= np.ceil(not_by) + 1)
    never = to_death | (taken & (not as_fed))
    seen_unfed = at.isna() & not_by.notna() & ~never
    age = age.where(at.isna() | (age > at), at + SECOND_H)
    frame = known.assign(
        followed_h=age,
        lost=died,
        age_h=age.where(~seen_unfed, np.minimum(age, not_by)),
        died=died & ~seen_unfed,
        fed_h=at.where(at.notna(), np.inf),
        unfed_until_h=not_by.where(seen_unfed),
        **{name: possible[name].where(~seen_unfed) for name in POSSIBLE},
    )
    kept: pd.DataFrame = frame[at.notna() | never | seen_unfed]
    return kept


def watched_age_h(births: pd.DataFrame, within: float | None = None) -> tuple[pd.Series, pd.DataFrame]:
    """Hours watched, and the equally likely ages of deaths known only to lie between two rounds.

    To the minute where the moments of birth and death are known, else whole hours. A death between two
    rounds stands at the middle of its likely ages (`possible_ages`), or, for comparison, at
    ``within`` of the way from last seen alive (0) to found dead (1), with no likely ages.

    Returns
    -------
    The hours, and a frame with the columns of `POSSIBLE`, missing where the age at death is known.
    """
    age = births["age_h"].astype(float)
    died = births["died"]
    if "died_at" in births:
        exact = (births["died_at"] - births["born"]).dt.total_seconds() / 3600
        minute = died & exact.notna() & (births["born_precision"] == "time") & (np.floor(exact) == age)
        age = age.where(~minute, exact)
    low, high = births["age_low_h"].astype(float), births["age_high_h"].astype(float)
    between = died & np.isfinite(high) & (low < high)
    possible = pd.DataFrame(np.nan, index=births.index, columns=list(POSSIBLE))
    if within is not None or not between.any():
        return age.where(~between, low + (within or 0.0) * (high - low)), possible
    fed = hours(births, FEEDING[0])
    known = age.notna() & (fed.notna() | hours(births, FEEDING[1]).notna())
    fed = fed.fillna(np.inf)
    bounds = (low[between].to_numpy(), high[between].to_numpy(), fed[between].to_numpy())
    possible.loc[between] = possible_ages(*bounds, fed[known].to_numpy(), age[known].to_numpy())
    return age.where(~between, possible[POSSIBLE[PARTS // 2]]), possible


def possible_ages(
    low_h: Floats, high_h: Floats, fed_h: Floats, all_fed_h: Floats, all_watched_h: Floats, parts: int = PARTS
) -> Floats:
    """Equally likely ages at death for newborns known to have died after ``low_h`` and by ``high_h``.

    Parameters
    ----------
    low_h, high_h, fed_h : last seen alive, found dead, first feed (infinite where none) of those found dead.
    all_fed_h, all_watched_h : of all newborns, to tell how many were still unfed at each age.
    parts : how many ages each.

    Returns
    -------
    (n, parts) ages, rising, between low (or its own feed) and high.

    Method
    ------
    Under a level hazard in between, a newborn that died unfed died at t with a chance in proportion to the
    share still unfed at t, whatever being unfed does to the hazard; one that had fed, with an even chance
    after its feed. The ages are the middles of ``parts`` equal parts of that chance.

    Limits
    ------
    Takes the hazard as level between two rounds.

    Examples
    --------
    Half of the others fed at 1 h. A death unfed between 0 and 2 h was twice as likely in the first hour as
    in the second: of three ages two lie in the first hour.
    """
    grid = np.arange(0.0, float(high_h.max(initial=0.0)) + STEP_H, STEP_H)
    share = unfed_share(all_fed_h, all_watched_h, grid)
    middles = (np.arange(parts) + 0.5) / parts
    fed = np.isfinite(fed_h)
    starts = np.searchsorted(grid, np.maximum(low_h, np.where(fed, fed_h, low_h)), side="right")
    ends = np.searchsorted(grid, high_h, side="right")
    spans, own = np.unique(np.stack([starts, ends, fed]), axis=1, return_inverse=True)
    ages = np.zeros((spans.shape[1], parts))
    for place, (start, end, had_fed) in enumerate(spans.T):
        if start < end:
            chance = np.ones(end - start) if had_fed else share[start:end]
            ages[place] = _quantiles(grid[start:end], chance, middles)
    return np.where((starts < ends)[:, None], ages[own], (low_h + high_h)[:, None] / 2)


def unfed_share(fed_h: Floats, watched_h: Floats, ages_h: Floats) -> Floats:
    """Share not yet fed at each age, of those still watched at it; never rising.

    Parameters
    ----------
    fed_h : age at first feed, infinite where none.
    watched_h : age at which watching ended.
    """
    watched, fed = np.sort(watched_h), np.sort(np.maximum(fed_h, 0.0)[np.isfinite(fed_h)])
    alive = len(watched) - np.searchsorted(watched, ages_h, side="right")
    gone_unfed = np.sort(watched_h[~np.isfinite(fed_h)])
    unfed = len(fed_h) - np.searchsorted(fed, ages_h, side="right")
    unfed = unfed - np.searchsorted(gone_unfed, ages_h, side="right")
    share = np.divide(unfed, alive, out=np.zeros(len(ages_h)), where=alive > 0)
    return np.minimum.accumulate(np.clip(share, 0.0, 1.0))


def _quantiles(ages: Floats, chance: Floats, at: Floats) -> Floats:
    level = chance if chance.sum() > 0 else np.ones(len(ages))
    upto = np.cumsum(level) / level.sum()
    return ages[np.minimum(np.searchsorted(upto, at), len(ages) - 1)]


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


def spread(rows: pd.DataFrame) -> tuple[pd.DataFrame, NDArray[np.float64]]:
    """Each death between two rounds as several rows, one at each of its likely ages, and the weight of every
    row.

    Example: a newborn with eight likely ages becomes eight rows that count 1/8 each; all others count 1.
    """
    between = rows[POSSIBLE[0]].notna().to_numpy()
    found = rows[between]
    after = _after_feed(found)
    age_h = np.concatenate(
        [rows.loc[~between, "age_h"], *(np.maximum(found[name], after) for name in POSSIBLE)]
    )
    weight = np.concatenate([np.ones(int((~between).sum())), np.full(PARTS * len(found), 1 / PARTS)])
    return pd.concat([rows[~between], *[found] * PARTS], ignore_index=True).assign(age_h=age_h), weight


def _after_feed(rows: pd.DataFrame) -> pd.Series:
    return (rows["fed_h"] + SECOND_H).where(np.isfinite(rows["fed_h"]) & (rows["fed_h"] < rows["age_h"]), 0.0)


def until(rows: pd.DataFrame, age_h: float) -> pd.DataFrame:
    """The same newborns watched no further than an age."""
    later = rows["age_h"] > age_h
    cut = rows.assign(age_h=rows["age_h"].clip(upper=age_h), died=rows["died"] & ~later)
    return cut.assign(fed_h=cut["fed_h"].where(cut["fed_h"] <= cut["age_h"], np.inf))

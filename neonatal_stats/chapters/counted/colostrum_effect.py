"""First feed and death, counted: landmarks, the feed as it happens, what simply comparing would have said, and what if
every newborn alive had been fed by the mark.

All hazard ratios here hold the unfed (or late fed) against the fed: over 1 means that the unfed died faster.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted.colostrum_feeding import (
    ALL_FED,
    ALL_UNFED,
    WEIGHTED,
    Cohort,
    cohort,
    spread,
    until,
)
from neonatal_stats.estimates.cox_regression import CoxFit, cox
from neonatal_stats.estimates.emulated_trial import EmulatedTrial, fed_by_mark
from neonatal_stats.estimates.formulas import e_value
from neonatal_stats.estimates.time_dependent import apart, landmark, split_at_feed
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.claims import Claim, claims_of, keyed, weakest_p
from neonatal_stats.measures.contrasts import NULL, contrast_rows, counts_of
from neonatal_stats.measures.rates import one_below_another
from neonatal_stats.season.settings import Settings

GROUPS = ("how", "mark_h", "adjusted")
EXTRA = ("dead_before", "e_value", "e_limit", "note")
"""What stands before and after the columns of a contrast frame: unfed newborns (or hours) against the fed."""
HOURLY, FROM_MARK, ALL_FROM_BIRTH, ONLY_THOSE_FED = (
    "as it happens", "landmark", "all from birth", "only those fed",
)  # fmt: skip
RARE = 0.15
WIDEST = 200.0  # a limit beyond this (or under one over it) is no limit that the records set
LAG_H = 4.0
ANSWER, LAGGED = "answer", "lagged"
EARLIEST, LATEST = {"within": 0.0}, {"within": 1.0}
READINGS: Mapping[str, Mapping[str, Any]] = {
    ANSWER: {}, "earliest": EARLIEST, "latest": LATEST,
    WEIGHTED: {"blank": WEIGHTED}, ALL_FED: {"blank": ALL_FED}, ALL_UNFED: {"blank": ALL_UNFED}, LAGGED: {},
}  # fmt: skip
"""What the records leave open, and how `cohort` takes it: when deaths between two checks fell, what blank feeds were,
and, with the deaths of the next `LAG_H` hours left out, whether the newborn was dying already."""
CRUDE_AND_ADJUSTED, ONLY_ADJUSTED = (False, True), (True,)
RESAMPLES = 200
GENERATOR_NUMBER = 4
FEWEST = 5  # deaths, and survivors, that the imitated trial needs among the fed and the unfed


@dataclass(frozen=True, eq=False)
class Effect:
    """Hazard of death of the unfed against the fed; every frame is a contrast frame with `GROUPS` and `EXTRA`.

    ``landmarks`` from each mark to ``until_h``, crude and adjusted; ``hourly`` the feed as it happens, to
    ``horizon_h``, both keyed; ``simply`` the two ways of simply comparing from birth, at ``main_mark_h``; ``readings``
    the adjusted ones in every way that the records allow (``reading``, of `READINGS`), those that make no difference
    left out. Stratified by season where there are several. ``deaths`` and ``needed`` deaths counted and needed;
    ``births`` would bring as many.
    """

    group: Cohort
    landmarks: pd.DataFrame
    hourly: pd.DataFrame
    simply: pd.DataFrame
    readings: pd.DataFrame
    main_mark_h: float
    until_h: float
    horizon_h: float
    deaths: int
    needed: int
    births: int

    @property
    def bounds(self) -> pd.DataFrame:
        """How far what the records leave open moves each adjusted ratio: one row a comparison (how, mark_h).

        ``lowest`` and ``highest`` ratio of its readings, deaths placed both ways and blank feeds taken both ways;
        ``low`` and ``high``, the outermost limits of their intervals, NaN where one of them has none. The lagged
        reading asks something else and is not among them.
        """
        read = self.readings[self.readings["reading"] != LAGGED]
        return read.groupby(["how", "mark_h"], dropna=False, sort=False, as_index=False).agg(
            lowest=("estimate", "min"),
            highest=("estimate", "max"),
            low=("low", lambda low: low.min(skipna=False)),
            high=("high", lambda high: high.max(skipna=False)),
        )


def effect(births: pd.DataFrame, settings: Settings) -> Effect:
    """Work out the association of the first feed with death, among the newborns of `cohort`."""
    marks = settings.marks.colostrum_h
    horizon, until_h = marks[-1], max([*settings.windows_h.values(), marks[-1] + 1])
    group = cohort(births, horizon)
    early = tuple(mark for mark in marks if mark < horizon)
    mark = early[1] if len(early) > 1 else early[0]
    deaths = int((group.rows["lost"] & (group.rows["followed_h"] <= until_h)).sum()) if len(group.rows) else 0
    unfed = float((group.rows["fed_h"] > mark).mean()) if len(group.rows) else 0.5
    needed = deaths_needed(unfed)
    at_marks = keyed(landmarks(group, early, until_h, settings), "colostrum")
    by_hour = keyed(as_it_happens(group, horizon, settings), "colostrum")
    return Effect(
        group=group,
        landmarks=at_marks,
        hourly=by_hour,
        simply=naive(group, mark, until_h, settings),
        readings=_readings(births, group, (at_marks, by_hour), until_h, settings),
        main_mark_h=mark,
        until_h=until_h,
        horizon_h=horizon,
        deaths=deaths,
        needed=needed,
        births=int(np.ceil(needed * len(births) / deaths)) if deaths else 0,
    )


def _readings(
    births: pd.DataFrame, group: Cohort, answers: Sequence[pd.DataFrame], until_h: float, settings: Settings
) -> pd.DataFrame:
    """The adjusted ratios read in every way that could matter, the answer first."""
    horizon = settings.marks.colostrum_h[-1]
    early = tuple(answers[0]["mark_h"].unique())
    dead = births[births["died"] & births["age_known"] & (births["age_h"] < until_h)]
    between = bool((dead["age_low_h"] < dead["age_high_h"]).any())
    parts = [frame.assign(reading=ANSWER) for frame in answers]
    for name, how in READINGS.items():
        idle = ("within" in how and not between) or ("blank" in how and not group.blank)
        if name == ANSWER or idle:
            continue
        other, lag = (cohort(births, horizon, **how) if how else group), LAG_H if name == LAGGED else 0.0
        at_marks = landmarks(other, early, until_h, settings, lag, ONLY_ADJUSTED)
        by_hour = as_it_happens(other, horizon, settings, lag, ONLY_ADJUSTED)
        parts += [one.assign(reading=name) for one in (at_marks, by_hour)]
    whole = pd.concat(parts, ignore_index=True)
    return whole[whole["adjusted"]].reset_index(drop=True)


def claims(result: Effect, period: tuple[str, ...], settings: Settings) -> tuple[Claim, ...]:
    """The adjusted ratios, one line: fed late against in time at the main mark is asked beforehand."""
    whole = one_below_another(result.landmarks, result.hourly)
    frame = whole[whole["adjusted"]].reset_index(drop=True)
    lone = (frame["how"] == HOURLY) & (frame[["events", "events_versus"]].min(axis=1) == 0)
    main = frame.loc[(frame["how"] == FROM_MARK) & (frame["mark_h"] == result.main_mark_h), "key"]
    return claims_of(
        frame.assign(p=frame["p"].mask(lone), excess=frame["events"] * (1 - 1 / frame["estimate"])),
        chapter="colostrum",
        family="feeding",
        line="first feed",
        period=period,
        settings=settings,
        asked=dict.fromkeys(main, "fed late"),
        weakest=frame.apply(lambda row: weakest(result.readings, row["how"], row["mark_h"]), axis=1),
    )


def weakest(readings: pd.DataFrame, how: str, mark_h: float) -> float:
    """The largest p of all readings of a comparison; 1 where one points the other way or cannot be estimated.

    With the deaths of the next hours left out there are fewer of them, whatever the truth is: that reading must point
    the same way, but its p does not count.
    """
    same = readings[(readings["how"] == how) & ((readings["mark_h"] == mark_h) | (how == HOURLY))]
    p = same["p"].astype(float).where((same["reading"] != LAGGED) | same["p"].isna(), 0.0)
    return weakest_p(same["estimate"].astype(float).tolist(), p.tolist(), NULL["hazard ratio"])


def _judged(rows: Iterable[dict[str, object]], settings: Settings) -> pd.DataFrame:
    """The contrast frame. Hour by hour all start unfed: without a death in each state there is too little to say."""
    found = contrast_rows(rows, GROUPS, settings=settings, extra=EXTRA)
    lone = (found["how"] == HOURLY) & (found[["events", "events_versus"]].min(axis=1) == 0)
    return found.assign(verdict=found["verdict"].mask(lone, Verdict.TOO_FEW))


def landmarks(
    group: Cohort,
    marks_h: Sequence[float],
    until_h: float,
    settings: Settings,
    lag_h: float = 0.0,
    ways: tuple[bool, ...] = CRUDE_AND_ADJUSTED,
) -> pd.DataFrame:
    """Death after each mark, not fed by it against fed by it, crude and adjusted: a contrast frame.

    Parameters
    ----------
    lag_h : hours after the mark whose deaths are left out.

    Counted
    -------
    Alive and followed at the mark, and known to have been fed or not by then. Deaths before the mark are
    counted beside it (``dead_before``), never in it.
    """
    tried = ((mark, adjusted) for mark in marks_h for adjusted in ways)
    return _judged(
        (_landmark(group, mark, (until_h, lag_h), settings.level, adjusted) for mark, adjusted in tried),
        settings,
    )


def _landmark(
    group: Cohort, mark_h: float, watched: tuple[float, float], level: float, adjusted: bool
) -> dict[str, object]:
    told = group.rows["unfed_until_h"].isna() | (group.rows["unfed_until_h"] >= mark_h)
    rows, (until_h, lag_h) = group.rows[told], watched
    names = group.names if adjusted else ()
    found = landmark(
        rows["followed_h"].to_numpy(float),
        rows["lost"].to_numpy(int),
        np.where(rows["fed_h"] <= rows["followed_h"], rows["fed_h"], np.inf),
        rows[list(names)].to_numpy(float) if names else None,
        mark_h=mark_h,
        lag_h=lag_h,
        cluster=rows["cluster"].to_numpy(),
        stratum=None if group.stratum is None else group.stratum[told.to_numpy()],
        weight=rows["weight"].to_numpy(float),
        until_h=until_h,
        names=names or None,
        level=level,
    )
    counts = {
        "how": FROM_MARK,
        "mark_h": mark_h,
        "adjusted": adjusted,
        "events": found.unfed_deaths,
        "n": found.unfed,
        "events_versus": found.fed_deaths,
        "n_versus": found.fed,
        "dead_before": found.dead_before,
    }
    rare = (found.unfed_deaths + found.fed_deaths) < RARE * max(found.unfed + found.fed, 1)
    return counts | turned(found, rare)


def as_it_happens(
    group: Cohort,
    until_h: float,
    settings: Settings,
    lag_h: float = 0.0,
    ways: tuple[bool, ...] = CRUDE_AND_ADJUSTED,
) -> pd.DataFrame:
    """Hazard of death while not yet fed against once fed, crude and adjusted: a contrast frame.

    Parameters
    ----------
    until_h : watching stops at this age (after it nearly all are fed, and weakness at birth fades).
    lag_h : a newborn counts as unfed for so many hours after its first feed, and as fed only from then on.

    Counted
    -------
    Every newborn is unfed until its first feed and fed from then on; ``events`` died while unfed. ``n`` is how many
    started unfed (all), ``n_versus`` how many were fed while watched.
    """
    rows = (_as_it_happens(group, until_h, settings.level, adjusted, lag_h) for adjusted in ways)
    return _judged(rows, settings)


def _as_it_happens(
    group: Cohort, until_h: float, level: float, adjusted: bool, lag_h: float
) -> dict[str, object]:
    rows = until(_later(group.rows, lag_h), until_h)
    died, fed = rows["died"].to_numpy(bool), np.isfinite(rows["fed_h"].to_numpy(float))
    counts = {
        "how": HOURLY,
        "mark_h": np.nan,
        "adjusted": adjusted,
        "events": int((died & ~fed).sum()),
        "n": len(rows),
        "events_versus": int((died & fed).sum()),
        "n_versus": int(fed.sum()),
        "dead_before": 0,
    }
    fit = _hourly_fit(group, until_h, group.names if adjusted else (), level, lag_h)
    return counts | turned(fit, bool(died.mean() < RARE) if len(died) else True)


def _later(rows: pd.DataFrame, lag_h: float) -> pd.DataFrame:
    """First feeds so many hours later; a death before then is a death unfed."""
    return rows.assign(fed_h=rows["fed_h"] + lag_h) if lag_h else rows


def _hourly_fit(group: Cohort, until_h: float, names: tuple[str, ...], level: float, lag_h: float) -> CoxFit:
    """Cox on rows split at the feed; a death between two rounds counts in parts at each of its likely
    ages.
    """
    spread_rows, weight = spread(group.rows)
    rows = until(_later(spread_rows, lag_h), until_h)
    split = split_at_feed(
        rows["age_h"].to_numpy(float), rows["died"].to_numpy(int), rows["fed_h"].to_numpy(float)
    )
    known = rows[list(names)].to_numpy(float)[split.index]
    season = None if group.stratum is None else rows["stratum"].to_numpy(int)[split.index]
    entry, stop = apart(split.start_h, split.stop_h, season)
    return cox(
        stop,
        split.event,
        np.column_stack([split.fed.astype(float), known]),
        cluster=rows["cluster"].to_numpy()[split.index],
        entry_h=entry,
        weight=(weight * rows["weight"].to_numpy(float))[split.index],
        names=("fed", *names),
        level=level,
    )


def naive(group: Cohort, mark_h: float, until_h: float, settings: Settings) -> pd.DataFrame:
    """What simply comparing from birth would have said, two ways: never to be read as an effect.

    Returns
    -------
    Contrast frame: "all from birth" holds all not fed by the mark, those that died first with them,
    against those fed by it (``dead_before`` counts the unfed deaths before the mark: they could not have
    been fed by it); "only those fed" holds those fed after the mark, who had to live to be fed, against
    those fed by it.
    """
    rows = group.rows[group.rows["unfed_until_h"].isna() | (group.rows["unfed_until_h"] >= mark_h)]
    fed = rows[np.isfinite(rows["fed_h"])]
    both = ((ALL_FROM_BIRTH, rows), (ONLY_THOSE_FED, fed))
    return _judged((_naive(how, part, mark_h, until_h, settings.level) for how, part in both), settings)


def _naive(how: str, rows: pd.DataFrame, mark_h: float, until_h: float, level: float) -> dict[str, object]:
    late = (rows["fed_h"] > mark_h).to_numpy()
    age = rows["followed_h"].clip(upper=until_h).to_numpy(float)
    died = (rows["lost"] & (rows["followed_h"] <= until_h)).to_numpy(bool)
    counts = {
        "how": how,
        "mark_h": mark_h,
        "adjusted": False,
        **counts_of(died, late),
        "dead_before": int((died & late & (age <= mark_h)).sum()),
    }
    litter = rows["cluster"].to_numpy()
    fit = cox(age, died.astype(int), (~late).astype(float), cluster=litter, names=("fed",), level=level)
    return counts | turned(fit, True)


def turned(fit: CoxFit, rare: bool) -> dict[str, object]:
    """The hazard ratio of the unfed against the fed, with its E-value, from a fit whose first covariate is "fed"."""
    ratio, low, high = (float(x[0]) for x in (fit.hazard_ratio, fit.high, fit.low))
    ratio, low, high = (1 / x if x > 0 else np.nan for x in (ratio, low, high))
    low, high = low if low > 1 / WIDEST else np.nan, high if high < WIDEST else np.nan
    cells: dict[str, object] = {
        "versus": "fed",
        "measure": "hazard ratio",
        "estimate": ratio,
        "low": low,
        "high": high,
        "p": float(fit.p[0]),
        "note": " ".join(fit.notes),
    }
    if not np.isfinite(ratio):
        return cells | {"e_value": np.nan, "e_limit": np.nan}
    found = e_value(ratio, low, high, measure="hazard_ratio", rare=rare)
    return cells | {"e_value": found.estimate, "e_limit": found.limit}


def deaths_needed(unfed_share: float, hazard_ratio: float = 2.0) -> int:
    """Deaths needed to see a hazard ratio with 80 % power at the 5 % level, whatever the number of newborns.

    References
    ----------
    Schoenfeld DA (1983) Biometrics 39:499-503: (1.960 + 0.842)^2 / (p (1 - p) (log HR)^2).

    Examples
    --------
    Half unfed, hazard ratio 2: 7.85 / (0.25 x 0.4805) = 65.3, so 66.
    """
    share = min(max(unfed_share, 0.02), 0.98)
    return int(np.ceil(7.8489 / (share * (1 - share) * np.log(hazard_ratio) ** 2)))


@dataclass(frozen=True, eq=False)
class Attempt:
    """One mark: the trial, and why its answer is not shown ("few" and no trial, or "thin"; "" where it is
    shown).
    """

    mark_h: float
    trial: EmulatedTrial | None
    reason: str


def attempts(group: Cohort, settings: Settings, until_h: float) -> tuple[Attempt, ...]:
    """Try the first two marks, among the newborns of `cohort`."""
    return tuple(_attempt(group, mark, until_h, settings.level) for mark in settings.marks.colostrum_h[:2])


def _attempt(group: Cohort, mark_h: float, until_h: float, level: float) -> Attempt:
    rows = group.rows
    if not _enough(rows, mark_h):
        return Attempt(mark_h, None, "few")
    found = fed_by_mark(
        rows["fed_h"].to_numpy(float),
        rows["age_h"].to_numpy(float),
        rows["died"].to_numpy(int),
        rows[list(group.names)].to_numpy(float) if group.names else None,
        mark_h=mark_h,
        until_h=until_h,
        cluster=rows["cluster"].to_numpy(),
        n_boot=RESAMPLES,
        rng=GENERATOR_NUMBER,
        level=level,
    )
    return Attempt(mark_h, found, "" if found.difference.low <= found.difference.high else "thin")


def _enough(rows: pd.DataFrame, mark_h: float) -> bool:
    """At least so many deaths and survivors past the mark among those fed and those not fed by it."""
    past = rows[rows["age_h"] > mark_h]
    fed = past["fed_h"] <= mark_h
    cells = [
        int((fed == arm).astype(bool).mul(past["died"] == died).sum())
        for arm in (True, False)
        for died in (True, False)
    ]
    return min(cells) >= FEWEST

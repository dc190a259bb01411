"""Curves over age: survival, and cumulative incidence with every cause at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.estimates.incidence import aalen_johansen
from neonatal_stats.estimates.survival import kaplan_meier
from neonatal_stats.measures.rates import Alike, clusters_of, grouped, standing_for


def survival(
    newborns: pd.DataFrame,
    by: Sequence[str] = (),
    *,
    level: float,
    cluster: str = "cluster",
    alike: Alike | None = None,
) -> pd.DataFrame:
    """Share surviving against age, per group: the ``curve`` frame.

    Counted: newborns with a known age (`age_known`); watching stops at death, at leaving or at the end of
    follow-up. Pass only those born alive for survival from birth; pass all for total loss from age 0.
    Method: Kaplan-Meier, variance by the infinitesimal jackknife summed within clusters, log-log interval.
    Limits: a group of a single litter has no interval.
    """
    known = newborns[newborns["age_known"]]
    groups, code = grouped(known, by)
    known, code = known[code >= 0], code[code >= 0]
    times = standing_for(known, alike)
    curve = kaplan_meier(
        known["age_h"].to_numpy(float),
        known["died"].to_numpy(bool),
        cluster=known[cluster].to_numpy(),
        group=code,
        n_groups=len(groups),
        level=level,
        **times,
    )
    cells = {name: getattr(curve, name) for name in ("at_risk", "events", "share", "low", "high")}
    alone = clusters_of(known[cluster].to_numpy(), code, len(groups), times.get("repeats")) < 2
    cells |= {name: np.where(alone[:, None], np.nan, cells[name]) for name in ("low", "high")}
    return _long(groups, curve.age_h, cells)


def as_lost(curve: pd.DataFrame) -> pd.DataFrame:
    """The curve of shares surviving as one of shares lost."""
    return curve.assign(share=1 - curve["share"], low=1 - curve["high"], high=1 - curve["low"])


def incidence(
    newborns: pd.DataFrame,
    by: Sequence[str] = (),
    *,
    level: float,
    cluster: str = "cluster",
    alike: Alike | None = None,
) -> pd.DataFrame:
    """Cumulative incidence of every cause against age, per group: a ``curve`` frame with a `cause` column.

    The rows with cause "alive" hold the share still alive; at each age the shares of a group add up to 1.
    Method: Aalen-Johansen, variance by the infinitesimal jackknife summed within clusters.
    """
    known = newborns[newborns["age_known"]]
    groups, code = grouped(known, by)
    known, code = known[code >= 0], code[code >= 0]
    causes = list(known["cause"].cat.categories)
    outcome = np.where(known["died"].to_numpy(bool), known["cause"].cat.codes.to_numpy() + 1, 0)
    found = aalen_johansen(
        known["age_h"].to_numpy(float),
        outcome,
        cluster=known[cluster].to_numpy(),
        group=code,
        n_groups=len(groups),
        n_causes=len(causes),
        level=level,
        **standing_for(known, alike),
    )
    no_interval = np.full_like(found.alive, np.nan)
    parts = []
    for c, cause in enumerate(["alive", *causes]):
        at = c - 1
        cells = {
            "at_risk": found.at_risk,
            "events": found.events[:, :, at] if c else np.zeros_like(found.alive),
            "share": found.share[:, :, at] if c else found.alive,
            "low": found.low[:, :, at] if c else no_interval,
            "high": found.high[:, :, at] if c else no_interval,
        }
        parts.append(_long(groups, found.age_h, cells, cause=cause))
    whole = pd.concat(parts, ignore_index=True)
    whole["cause"] = pd.Categorical(whole["cause"], ["alive", *causes], ordered=True)
    return whole


def before_ages(
    curve: pd.DataFrame, by: Sequence[str], ages_h: Sequence[float], *, end_h: float, start: float = 1.0
) -> pd.DataFrame:
    """The curve read just before stated ages, or at the age where it is `end_h`, the last age watched.

    Returns
    -------
    One row a group and age: the columns of `by`, age_h, watched (still watched then), lost (so far), share,
    low, high. Before the first loss the share is `start`; past the last age at which a group was watched,
    and not all lost, share, low and high are missing.
    """
    parts = curve.groupby(list(by), observed=True, sort=True) if by else [((), curve)]
    rows = []
    for keys, mine in parts:
        named = dict(zip(by, keys if isinstance(keys, tuple) else (keys,), strict=True))
        rows += [named | _read(mine, age, end_h, start) for age in ages_h]
    frame = pd.DataFrame(rows, columns=[*by, "age_h", "watched", "lost", "share", "low", "high"])
    for name in by:
        if isinstance(curve[name].dtype, pd.CategoricalDtype):
            frame[name] = pd.Categorical(frame[name], curve[name].cat.categories, ordered=True)
    return frame


def _read(curve: pd.DataFrame, age_h: float, end_h: float, start: float) -> dict[str, float]:
    at_end = age_h >= end_h
    curve = curve[curve["at_risk"] > 0]
    past = (curve["age_h"] <= age_h) if at_end else (curve["age_h"] < age_h)
    before, after = curve[past], curve[curve["age_h"] >= age_h]
    watched = float(after["at_risk"].iloc[0]) if len(after) else 0.0
    watched -= float(after["events"].iloc[0]) if at_end and len(after) else 0.0
    row = {"age_h": age_h, "watched": watched, "lost": float(before["events"].sum())}
    if before.empty:
        return row | {"share": start, "low": np.nan, "high": np.nan}
    last = before.iloc[-1]
    known = len(after) > 0 or last["share"] == 1.0 - start
    return row | {name: float(last[name]) if known else np.nan for name in ("share", "low", "high")}


def _long(
    groups: pd.DataFrame, age_h: np.ndarray, cells: dict[str, np.ndarray], **constant: str
) -> pd.DataFrame:
    repeated = groups.loc[np.repeat(np.arange(len(groups)), len(age_h))].reset_index(drop=True)
    repeated = repeated.assign(**constant)
    repeated["age_h"] = np.tile(age_h, len(groups))
    return repeated.assign(**{name: values.ravel() for name, values in cells.items()})

"""Counts by the mob: what went from one stage to the next, and the shares that the mobs, as clusters, allow."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.proportion import proportions, wilson_limits
from neonatal_stats.estimates.results import critical
from neonatal_stats.estimates.seasons import swing
from neonatal_stats.estimates.totals import ratio_of_totals
from neonatal_stats.season.following.mobs import EACH, count, foetuses, in_young, scanned

NEWBORN_STAGES = ("foetuses", "born", "born alive", "marked", "weaned")
DAM_STAGES = ("joined", "scanned", "in young")
LAST = ("marked", "weaned")
"""Counts of newborns still there, the one by which mobs are compared first."""
FEWEST_MOBS = 6
"""Mobs from which the intervals hold (tests/simulations/mobs.txt); of fewer they are rough."""
MANY, RARE = "twin or more", 0.10
"""Triplets are counted with the twins where they are under such a share of the foetuses."""
FEWEST_TOLD = 3
"""Of two mobs an interval of so many for each dam says nothing, and none is given."""
RECORDED = 2 / 3
"""A stage is one of a season's where so large a share of the season's mobs was counted at it."""
CLASS_OF = {"scanned_single": "single", "scanned_twin": "twin", "scanned_triplet": "triplet"}
WIDEST, AT_BOUND = 0.40, 0.005
"""Limits further apart than this, or a fit so near to 0 or 1, do not tell a class's survival."""
TOO_ALIKE = 30.0
"""Condition number of the mobs' shares of each class, from which their mixes cannot tell the classes apart."""


def class_survival(foetuses: ArrayLike, kept: ArrayLike) -> Floats:
    """Survival of each scanned class from the totals of mobs, shares from 0 to 1; NaN where the mobs cannot tell.

    Parameters
    ----------
    foetuses : array_like (C, K)
        Foetuses of each of K classes in each mob.
    kept : array_like (C,)
        Newborns of all classes that were there at the later count.

    Method
    ------
    Least squares of the kept on the foetuses of each class, weighted by 1 / foetuses and held between 0 and 1. Of mobs
    of one class each it is the ratio of their totals; mixed mobs tell of a class by how much of it they hold. A class
    is NaN where fewer mobs than classes hold any, or the mobs' mixes are too much alike to part it from the others.
    """
    x, y = np.asarray(foetuses, dtype=np.float64), np.asarray(kept, dtype=np.float64)
    found = np.full(x.shape[1], np.nan)
    held = x.sum(axis=0) > 0
    size = x.sum(axis=1)
    x, y, size = x[size > 0][:, held], y[size > 0], size[size > 0]
    if not held.any() or len(y) < held.sum():
        return found
    scale = 1 / np.sqrt(size)
    design = x * scale[:, None]
    if np.linalg.cond(x / size[:, None]) > TOO_ALIKE:
        return found
    from scipy.optimize import lsq_linear

    found[held] = lsq_linear(design, y * scale, bounds=(0, 1)).x
    return found


def class_limits(foetuses: ArrayLike, kept: ArrayLike, *, level: float) -> tuple[Floats, Floats]:
    """Limits of `class_survival` for each class, from the mobs' scatter about the fit; NaN where it cannot be told.

    Method
    ------
    Weighted least squares without bounds, its residual variance over the mobs and Student's t (mobs less classes
    degrees of freedom); at least the variance of newborns that fare one by one. Nothing can be told of a class whose
    fit lies at 0 or 100 %, whose limits lie further apart than `WIDEST`, or where no mobs are left over.
    """
    x, y = np.asarray(foetuses, dtype=np.float64), np.asarray(kept, dtype=np.float64)
    low, high = np.full(x.shape[1], np.nan), np.full(x.shape[1], np.nan)
    fit = class_survival(x, y)
    held = x.sum(axis=0) > 0
    some = x.sum(axis=1) > 0
    x, y = x[some][:, held], y[some]
    spare = len(y) - x.shape[1]
    if np.isnan(fit[held]).any() or spare < 1:
        return low, high
    weight = 1 / x.sum(axis=1)
    inverse = np.linalg.inv((x * weight[:, None]).T @ x)
    free = inverse @ ((x * weight[:, None]).T @ y)
    alike = y.sum() / x.sum()
    scatter = max(float((weight * (y - x @ free) ** 2).sum()) / spare, alike * (1 - alike))
    reach = float(critical(level, spare)) * np.sqrt(scatter * np.diag(inverse))
    told = (free > AT_BOUND) & (free < 1 - AT_BOUND) & (2 * reach <= WIDEST)
    low[held] = np.where(told, np.maximum(free - reach, 0), np.nan)
    high[held] = np.where(told, np.minimum(free + reach, 1), np.nan)
    return low, high


def with_stages(mobs: pd.DataFrame) -> pd.DataFrame:
    """The mobs with a column for each stage of dams and newborns, missing where it was not counted."""
    born = count(mobs, "born")
    classes = {word: EACH[name] * count(mobs, name) for name, word in CLASS_OF.items()}
    return mobs.assign(
        **{name: count(mobs, name) for name in ("joined", "born", "marked", "weaned", "dams_died")},
        **{f"foetuses {word}": values for word, values in classes.items()},
        dry=count(mobs, "scanned_dry"),
        scanned=scanned(mobs),
        foetuses=foetuses(mobs),
        **{"in young": in_young(mobs), "born alive": born - count(mobs, "born_dead")},
    )


def stages_of(mobs: pd.DataFrame, names: Sequence[str]) -> tuple[str, ...]:
    """The stages at which most of the mobs were counted, in their order."""
    return tuple(name for name in names if mobs[name].notna().mean() >= RECORDED and mobs[name].sum() > 0)


def flow(mobs: pd.DataFrame, names: Sequence[str]) -> pd.DataFrame:
    """How many there were at each stage, and how many fewer than at the one before: stage, n, lost, mobs.

    Of the mobs that were counted at all of these stages; nothing where there are fewer than two stages.
    """
    whole = mobs[mobs[list(names)].notna().all(axis=1)] if names else mobs.iloc[:0]
    if len(names) < 2 or whole.empty:
        return pd.DataFrame(columns=["stage", "n", "lost", "mobs"])
    n = whole[list(names)].sum().to_numpy().astype(int)
    lost = np.concatenate([[0], n[:-1] - n[1:]])
    return pd.DataFrame({"stage": list(names), "n": n, "lost": lost, "mobs": len(whole)})


def part(mobs: pd.DataFrame, of: str, kept: str, *, level: float, lost: bool) -> dict[str, float]:
    """How many of one count were still there at another (or were not, ``lost``), with the mobs as clusters.

    events, n, share, low, high, mobs. Of a single mob the interval allows for chance and littermates alone. Where a mob
    had more at the later count, the share is the ratio of the totals (see `ratio_of_totals`).
    """
    both = mobs[(mobs[of] > 0) & mobs[kept].notna()]
    n, there = both[of].to_numpy(), both[kept].to_numpy()
    events = n.sum() - there.sum() if lost else there.sum()
    found = {"events": events, "n": n.sum(), "mobs": len(both)}
    share, low, high = _share(both, n, there, level)
    if lost:
        share, low, high = 1 - share, max(0.0, 1 - high), 1 - low
    return found | {"share": share, "low": low, "high": high}


def _share(mobs: pd.DataFrame, n: Floats, there: Floats, level: float) -> tuple[float, float, float]:
    if not len(n):
        return np.nan, np.nan, np.nan
    if (there > n).any():
        ratio = ratio_of_totals(there, n, level=level)
        return ratio.estimate, ratio.low, ratio.high
    if len(n) == 1:
        low, high = of_one_mob(mobs, n, there, level)
        return float(there[0] / n[0]), float(low[0]), float(high[0])
    of_mob = np.tile(np.arange(len(n)), 2)
    event = np.repeat([1, 0], len(n))
    found = proportions(event, cluster=of_mob, weight=np.concatenate([there, n - there]), level=level)
    return float(found.share[0]), float(found.low[0]), float(found.high[0])


def litter(mobs: pd.DataFrame) -> pd.Series:
    """Foetuses that share a dam with one of them, itself among them, on average over the foetuses of a mob; 1 at least.

    The largest design effect that littermates can have within a mob: where all of a litter share one fate.
    """
    words = list(CLASS_OF.values())
    each = mobs[[f"foetuses {word}" for word in words]].to_numpy(float)
    sizes = np.arange(1, len(words) + 1)
    total = np.nansum(each, axis=1)
    mean = np.divide(
        (np.nan_to_num(each) * sizes).sum(axis=1), total, where=total > 0, out=np.full(len(mobs), np.nan)
    )
    of_all = (mobs["foetuses"] / mobs["in young"]).to_numpy(float)
    return pd.Series(
        np.maximum(np.nan_to_num(np.where(np.isnan(mean), of_all, mean), nan=1.0), 1.0), mobs.index
    )


def of_one_mob(mobs: pd.DataFrame, n: Floats, events: Floats, level: float) -> tuple[Floats, Floats]:
    """Wilson's limits of each mob's own share, as if littermates always shared one fate."""
    apart = litter(mobs).to_numpy()
    return wilson_limits(events / n, n / apart, float(critical(level)))


def for_each(mobs: pd.DataFrame, of: str, there: str, *, level: float) -> dict[str, float]:
    """So many there for each of the dams: numerator, denominator, each, low, high, mobs."""
    both = mobs[(mobs[of] > 0) & mobs[there].notna()]
    found = ratio_of_totals(both[there].to_numpy(), both[of].to_numpy(), level=level)
    return {
        "numerator": both[there].sum(),
        "denominator": both[of].sum(),
        "each": found.estimate,
        "low": found.low if len(both) >= FEWEST_TOLD else np.nan,
        "high": found.high if len(both) >= FEWEST_TOLD else np.nan,
        "mobs": len(both),
    }


FITTED = ("fitted", "fit_low", "fit_high")
BY_CLASS = ["scan_class", "survival", *FITTED, "events", "n", "share", "low", "high", "mobs"]
"""The columns of `by_class`, also where there is no row."""


def by_class(mobs: pd.DataFrame, start: str, kept: str, *, level: float) -> pd.DataFrame:
    """Survival of each scanned class: scan_class, survival, and of the mobs of that class alone events, n, share, ....

    ``survival`` is the fit over all mobs (`class_survival`), as expectations need it; ``fitted`` is the same with its
    limits fit_low and fit_high, missing where the mobs cannot tell the class (`class_limits`); events, n, share, low,
    high and mobs are of those that hold no other class, none where there are no such mobs. Triplets that are few, and
    that no mob holds alone, are counted with the twins.
    """
    if start != "foetuses":
        return pd.DataFrame(columns=BY_CLASS)
    held = _of_classes(mobs)
    known = held.notna().all(axis=1) & mobs[kept].notna() & (held.sum(axis=1) > 0)
    held, scanned_so = held[known], mobs[known]
    if _too_rare(held):
        held = pd.DataFrame({"single": held["single"], MANY: held["twin"] + held["triplet"]})
    fitted = class_survival(held.to_numpy(), scanned_so[kept].to_numpy())
    low, high = class_limits(held.to_numpy(), scanned_so[kept].to_numpy(), level=level)
    rows = []
    for word, survival, *ends in zip(held, fitted, low, high, strict=True):
        alone = scanned_so[held[word] == held.sum(axis=1)]
        if held[word].sum():
            told = part(alone, start, kept, level=level, lost=False)
            fit = np.nan if np.isnan(ends).any() else survival
            limits = dict(zip(FITTED, (fit, *ends), strict=True))
            rows.append({"scan_class": word, "survival": survival, **limits, **told})
    return pd.DataFrame(rows, columns=BY_CLASS)


def _of_classes(mobs: pd.DataFrame) -> pd.DataFrame:
    """Foetuses of each class in each mob."""
    return pd.DataFrame({word: mobs[f"foetuses {word}"] for word in CLASS_OF.values()})


def _too_rare(held: pd.DataFrame) -> bool:
    alone = (held["triplet"] > 0) & (held["triplet"] == held.sum(axis=1))
    few = 0 < held["triplet"].sum() < RARE * held.to_numpy().sum()
    return bool(few and not alone.any())


def expected(mobs: pd.DataFrame, classes: pd.DataFrame) -> pd.Series:
    """What each mob would have kept had each of its foetuses done as its class did over all; missing where unknown."""
    if classes.empty or classes["survival"].isna().any() or len(classes) < 2:
        return pd.Series(np.nan, index=mobs.index)
    held = _of_classes(mobs)
    held[MANY] = held["twin"] + held["triplet"]
    of_class = classes.set_index("scan_class")["survival"]
    return (held[list(of_class.index)] * of_class).sum(axis=1, skipna=False)


def between(n: Floats, events: Floats, apart: Floats) -> float:
    """Standard deviation of the mobs' shares beyond chance and littermates; NaN under three mobs."""
    if len(n) < 3:
        return float("nan")
    share = events.sum() / n.sum()
    if not 0 < share < 1:
        return 0.0
    return float(np.sqrt(swing(events / n, share * (1 - share) * apart / n)))

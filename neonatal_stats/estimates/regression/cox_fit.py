"""Newton's road to the Cox maximum: steps halved, columns that say nothing set aside, separation noticed."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.regression.cox_likelihood import Derivatives, derivatives
from neonatal_stats.estimates.regression.risk_sets import Rows, Units, Watch, units

COLLINEAR = 1e-9  # share of a column's own information left after the columns before it
RUNAWAY = 0.1  # a step in log hazard across the covariate's range, still asked for when ...
NO_RATIO = "so it has no finite hazard ratio and none is given."
FARTHEST = 8.0  # longest step in log hazard across a covariate's range
FLAT = 1e-8  # ... the log likelihood rises by less than this


@dataclass(frozen=True, eq=False)
class Maximum:
    """Where Newton stopped: coefficients of the kept columns and the information there."""

    beta: Floats
    at: Derivatives
    converged: bool
    runaway: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Prepared:
    """Rows and columns a likelihood can be maximised over, and why the other columns were set aside."""

    rows: Rows
    table: Units
    kept: NDArray[np.int64]
    used: NDArray[np.bool_]
    notes: list[str] = field(default_factory=list)


def prepare(z: Floats, watched: Watch, names: tuple[str, ...]) -> Prepared:
    """Set aside levels without deaths (with their newborns) and columns that the others already say.

    A newborn at a level where nobody died weighs nothing at the maximum (its hazard tends to 0), so the other
    coefficients are those of the newborns that are left.
    """
    notes: list[str] = []
    kept = np.arange(len(z))
    used = np.ones(z.shape[1], dtype=bool)
    for j, values in enumerate(z):
        lone = _level_without_deaths(values, watched)
        if lone is not None:
            high = lone > values[watched.dead[0]]
            notes.append(f"{names[j]}: no deaths at its {'higher' if high else 'lower'} level, {NO_RATIO}")
            used &= values != lone
            kept = kept[kept != j]
    if not used.all():
        watched, z = watched.keep(used), z[:, used]
    rows = _rows(z, kept, watched)
    table = units(rows.z, watched)
    good, said = _independent(rows, table, tuple(names[j] for j in kept))
    if said:
        kept = kept[good]
        rows = _rows(z, kept, watched)
        table = units(rows.z, watched)
    return Prepared(rows, table, kept, used, notes + said)


def _rows(z: Floats, kept: NDArray[np.int64], watched: Watch) -> Rows:
    """The kept columns; no copy is made of all of them."""
    return Rows(z if len(kept) == len(z) else np.ascontiguousarray(z[kept]), watched)


def _level_without_deaths(values: Floats, watched: Watch) -> float | None:
    """The value of a two-valued covariate at which nobody died though somebody was at risk, else None."""
    low, high = float(values.min()), float(values.max())
    dead = values[watched.dead]
    if low == high or not (dead == dead[0]).all() or dead[0] not in (low, high):
        return None
    lone = low + high - float(dead[0])
    two = (values == low) | (values == high)
    return lone if two.all() else None


def _independent(rows: Rows, table: Units, names: tuple[str, ...]) -> tuple[list[int], list[str]]:
    """Columns whose information at no effect is more than what the columns before them hold."""
    watched, notes, good = rows.watch, [], list[int]()
    dead_weight = watched.weight[watched.dead]
    at_nothing = derivatives(table, watched, rows.z[:, watched.dead] @ dead_weight, np.zeros(len(rows.z)))
    information = at_nothing.information
    for j, name in enumerate(names):
        block, cross, own = information[np.ix_(good, good)], information[good, j], information[j, j]
        spread = float(np.square(rows.z[j]).mean() * dead_weight.sum())
        left = own - (cross @ linalg.solve(block, cross, assume_a="pos") if good else 0.0)
        if own <= COLLINEAR * spread:
            notes.append(f"{name}: the same in all newborns at risk at each death, so it was left out.")
        elif left <= COLLINEAR * own:
            notes.append(f"{name}: already said by the other covariates (collinear), so it was left out.")
        else:
            good.append(j)
    return good, notes


def maximise(rows: Rows, table: Units, *, most: int = 60, tolerance: float = 1e-10) -> Maximum:
    """Newton with halved steps from no effect; a likelihood that only flattens is reported as runaway."""
    watched, p = rows.watch, len(rows.z)
    dead_z = rows.z[:, watched.dead] @ watched.weight[watched.dead]
    reach = np.ptp(rows.z, axis=1)
    beta, runaway = np.zeros(p), np.zeros(p, dtype=bool)
    here = derivatives(table, watched, dead_z, beta)
    for _ in range(most):
        step = _solve(here.information, here.score)
        step = step / max(1.0, float((np.abs(step) * reach).max(initial=0)) / FARTHEST)
        runaway = np.abs(step) * reach > RUNAWAY
        if np.abs(step).max(initial=0) < tolerance:
            return Maximum(beta + step, here, True, runaway)
        for _ in range(30):
            there = derivatives(table, watched, dead_z, beta + step)
            if (
                there.loglik >= here.loglik - 1e-12 * abs(here.loglik)
                and np.isfinite(there.information).all()
            ):
                break
            step = step / 2
        else:
            return Maximum(beta, here, not runaway.any(), runaway)
        gain = there.loglik - here.loglik
        beta, here = beta + step, there
        if gain < FLAT and runaway.any():
            return Maximum(beta, here, False, runaway)
    return Maximum(beta, here, False, runaway)


def _solve(information: Floats, score: Floats) -> Floats:
    """Newton's step; least squares where the information has all but gone (a runaway column)."""
    try:
        return np.asarray(linalg.cho_solve(linalg.cho_factor(information), score), dtype=np.float64)
    except linalg.LinAlgError:
        return np.asarray(np.linalg.lstsq(information, score, rcond=1e-10)[0], dtype=np.float64)

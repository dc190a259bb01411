"""The arguments of a Cox model, checked once and turned to the shape the arithmetic wants."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates import arguments
from neonatal_stats.estimates.arguments import Floats, Integers


@dataclass(frozen=True, eq=False)
class Problem:
    """Checked arguments of a Cox model; ``covariates`` has one row per covariate."""

    age_h: Floats
    died: Integers
    covariates: Floats
    cluster: Integers | None
    entry_h: Floats | None
    weight: Floats
    count: Floats | None
    names: tuple[str, ...]

    @property
    def copies(self) -> Floats:
        """How many newborns each row stands for; none where its weight is 0."""
        each = np.ones(len(self.age_h)) if self.count is None else self.count
        return each * (self.weight > 0)


def standardised(z: Floats) -> tuple[Floats, Floats]:
    """Covariates with mean 0 and standard deviation 1 (constants keep their unit), and the deviations."""
    centre, spread = z.mean(axis=1), z.std(axis=1)
    spread[np.ptp(z, axis=1) == 0] = 1.0
    scaled = z - centre[:, None]
    scaled /= spread[:, None]
    return scaled, spread


def checked(
    age_h: ArrayLike,
    died: ArrayLike,
    covariates: ArrayLike,
    cluster: ArrayLike | None,
    entry_h: ArrayLike | None,
    weight: ArrayLike | None,
    names: tuple[str, ...] | list[str] | None,
    count: ArrayLike | None,
) -> Problem:
    """Every argument, checked and of one length; covariates turned to one row per covariate."""
    age = arguments.ages(age_h)
    event = arguments.codes(died, "died", below=2)
    z = np.asarray(covariates, dtype=np.float64)
    z = z[:, None] if z.ndim == 1 else z
    arguments.same_length(age_h=age, died=event, covariates=z)
    entry = arguments.entries(entry_h, age)
    if entry is not None:
        instant = (event == 1) & (entry == age) & (entry > 0)
        arguments.refuse("entry_h", instant, entry, "a newborn that dies must have entered before its death")
    litter = None if cluster is None else arguments.codes(cluster, "cluster")
    if litter is not None:
        arguments.same_length(age_h=age, cluster=litter)
    said = tuple(names) if names is not None else tuple(f"x{j + 1}" for j in range(z.shape[1]))
    if len(said) != z.shape[1]:
        raise ValueError(
            f"names: must name each of {z.shape[1]} covariates; found {len(said)} names at position 0"
        )
    _finite(z, said)
    copies = None if count is None else arguments.codes(count, "count").astype(np.float64)
    if copies is not None:
        arguments.same_length(age_h=age, count=copies)
    weighed = arguments.weights(weight, len(age))
    return Problem(age, event, np.ascontiguousarray(z.T), litter, entry, weighed, copies, said)


def _finite(z: Floats, names: tuple[str, ...]) -> None:
    """A missing covariate is named with its row: the caller decides who is left out, and says so."""
    bad = ~np.isfinite(z)
    if bad.any():
        row, column = (int(place[0]) for place in np.nonzero(bad))
        found = f"found {z[row, column]} in {names[column]} at position {row}"
        raise ValueError(f"covariates: every covariate must be finite; {found}")

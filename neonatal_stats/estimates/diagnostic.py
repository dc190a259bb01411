"""How well does a check in the first hours tell which newborns will die?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Integers, codes, same_length
from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.estimates.results import Estimate


@dataclass(frozen=True, eq=False)
class Screening:
    """What a check says of death; shares from 0 to 1 and two likelihood ratios, each with its interval.

    ``prevalence`` is the risk of death among those checked; ``n`` newborns were checked.
    """

    sensitivity: Estimate
    specificity: Estimate
    positive_predictive_value: Estimate
    negative_predictive_value: Estimate
    positive_likelihood_ratio: Estimate
    negative_likelihood_ratio: Estimate
    prevalence: Estimate
    n: int


def screening(
    check_positive: ArrayLike, died: ArrayLike, *, cluster: ArrayLike | None = None, level: float
) -> Screening:
    """Sensitivity, specificity, predictive values and likelihood ratios of a check for death.

    Parameters
    ----------
    check_positive : array_like of 0 and 1
        1 where the check points to trouble (say, no suck reflex at 10 minutes).
    died : array_like of 0 and 1
        Death within the window.
    cluster : array_like of whole numbers, optional
        Litter of each newborn.

    Counted
    -------
    Only newborns alive when the check was due and checked: leave the others out before the call.

    Method
    ------
    Shares by `proportions` (Wilson, clustered); the likelihood ratios are risk ratios of a positive
    (negative) check between those that died and those that lived, by `compare`.

    Limits
    ------
    Predictive values hold for flocks with the same risk of death only.

    References
    ----------
    Altman DG, Bland JM (1994) BMJ 308:1552 and 309:102; Simel DL et al. (1991) J Clin Epidemiol 44:763-770.

    Examples
    --------
    Of 10 that died 8 had no suck reflex, of 90 that lived 9:

    >>> from neonatal_stats.estimates import screening
    >>> no_reflex, died = [1] * 8 + [0] * 2 + [1] * 9 + [0] * 81, [1] * 10 + [0] * 90
    >>> found = screening(no_reflex, died, level=0.95)
    >>> shares = found.sensitivity, found.specificity, found.positive_likelihood_ratio
    >>> [round(share.estimate, 9) for share in shares]
    [0.8, 0.9, 8.0]
    """
    check, dead = codes(check_positive, "check_positive", below=2), codes(died, "died", below=2)
    same_length(check_positive=check, died=dead)
    right = check == dead
    by_death, by_check = (_shares(right, group, cluster, level) for group in (dead, check))
    over = proportions(dead, cluster=cluster, level=level)
    prevalence = Estimate(
        float(over.share[0]),
        float(over.low[0]),
        float(over.high[0]),
        float("nan"),
        over.method,
        _said(over.n[0], ""),
    )
    return Screening(
        sensitivity=by_death[1],
        specificity=by_death[0],
        positive_predictive_value=by_check[1],
        negative_predictive_value=by_check[0],
        positive_likelihood_ratio=compare(check, dead, cluster=cluster, level=level),
        negative_likelihood_ratio=compare(1 - check, dead, cluster=cluster, level=level),
        prevalence=prevalence,
        n=len(check),
    )


def _shares(
    right: np.ndarray, group: Integers, cluster: ArrayLike | None, level: float
) -> tuple[Estimate, Estimate]:
    """Share of right answers among the negatives and among the positives."""
    got = proportions(right, group=group, cluster=cluster, n_groups=2, level=level)
    first, second = (
        Estimate(
            float(got.share[g]), float(got.low[g]), float(got.high[g]), float("nan"), got.method,
            _said(got.n[g], " of this kind"),
        )
        for g in (0, 1)
    )  # fmt: skip
    return first, second


def _said(n: float, kind: str) -> str:
    return "" if n else f"cannot be estimated: no newborns{kind}"

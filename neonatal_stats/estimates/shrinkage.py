"""Small groups swing widely: their risks drawn towards the flock's, by as much as chance would swing them.

References
----------
Carlin BP, Louis TA (2000) Bayes and Empirical Bayes Methods for Data Analysis, 2nd ed., ch. 3; Kleinman JC
(1973) J Am Stat Assoc 68:46-54 (moments).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from neonatal_stats.estimates.arguments import Floats, share
from neonatal_stats.estimates.proportion import checked_counts
from neonatal_stats.estimates.results import ratio

MOST = 1e6  # prior newborns beyond which groups do not differ at all
GRID = 25  # values of the prior's weight that the limits average over
JEFFREYS = "Jeffreys' prior: no groups to learn from"


@dataclass(frozen=True)
class Prior:
    """Beta(``a``, ``b``) with its ``mean`` and its ``weight`` in newborns, a + b.

    ``converged`` is False where the likelihood was flat and moments were used instead; ``method`` says which.
    """

    mean: float
    weight: float
    converged: bool
    method: str

    @property
    def a(self) -> float:
        """Deaths that the prior is worth."""
        return self.mean * self.weight

    @property
    def b(self) -> float:
        """Survivors that the prior is worth."""
        return (1 - self.mean) * self.weight


@dataclass(frozen=True, eq=False)
class Shrunk:
    """Risks of G groups drawn towards the common one.

    ``share`` (G,) with ``low`` and ``high``, NaN for a group without newborns; the prior is Beta(``a``,
    ``b``): ``a + b`` is how many newborns' worth of weight the flock's risk has. ``converged`` and ``method``
    as in `Prior`.
    """

    share: Floats
    low: Floats
    high: Floats
    a: float
    b: float
    converged: bool
    method: str


def beta_binomial_shrink(
    events: ArrayLike, n: ArrayLike, *, level: float, design_effect: ArrayLike = 1.0
) -> Shrunk:
    """Empirical Bayes risks of groups, beta-binomial.

    Parameters
    ----------
    events, n : array_like (G,)
        Deaths and newborns of each group; groups should not overlap.
    design_effect : float or array_like (G,)
        Litters: both counts are divided by it.

    Method
    ------
    The prior's mean and weight maximise the marginal likelihood; a group's risk is the posterior mean. Limits
    are quantiles of the posterior averaged over the prior's weight, each weight by its likelihood, with the
    share of shrinkage of a middling group uniform beforehand, so that not knowing how much the groups differ
    widens them.

    Limits
    ------
    Limits cover their level on average over groups, not for each: a group truly far out is drawn in too far.

    References
    ----------
    Christiansen CL, Morris CN (1997) J Am Stat Assoc 92:618-632 (the uniform shrinkage).
    """
    x, size = _counts(events, n, design_effect)
    prior = _prior(x, size)
    used = size > 0
    if prior.method == JEFFREYS:
        tail = (1 - share(level)) / 2
        low, high = (special.betaincinv(x + prior.a, size - x + prior.b, q) for q in (tail, 1 - tail))
    else:
        low, high = _limits(x, size, prior.mean, level)
    posterior = np.where(used, ratio(x + prior.a, size + prior.weight), np.nan)
    low, high = (
        np.where(used, limit, np.nan) for limit in (np.minimum(low, posterior), np.maximum(high, posterior))
    )
    return Shrunk(posterior, low, high, prior.a, prior.b, prior.converged, prior.method)


def beta_binomial_prior(events: ArrayLike, n: ArrayLike, *, design_effect: ArrayLike = 1.0) -> Prior:
    """The beta distribution that the groups' risks seem drawn from: what `beta_binomial_shrink` draws them to.

    Parameters and Method as there. Where there is one group, or no deaths, or only deaths, nothing can be learnt
    and it is Jeffreys' prior.
    """
    return _prior(*_counts(events, n, design_effect))


def _counts(events: ArrayLike, n: ArrayLike, design_effect: ArrayLike) -> tuple[Floats, Floats]:
    """Deaths and newborns of each group, over the design effect."""
    x, size = (np.atleast_1d(cells) for cells in checked_counts(events, n))
    effect = np.broadcast_to(np.asarray(design_effect, dtype=np.float64), x.shape)
    return x / effect, size / effect


def _prior(x: Floats, n: Floats) -> Prior:
    used = n > 0
    if used.sum() < 2 or x[used].sum() in (0.0, n[used].sum()):
        return Prior(0.5, 1.0, False, JEFFREYS)
    mean, weight, converged = _fit(x[used], n[used])
    how = "marginal likelihood" if converged else "moments"
    return Prior(mean, weight, converged, f"beta-binomial empirical Bayes, {how}")


def _log_likelihood(x: Floats, n: Floats, mean: float, weight: float) -> float:
    """Beta-binomial log likelihood, without the binomial coefficients."""
    a, b = mean * weight, (1 - mean) * weight
    return float((special.betaln(x + a, n - x + b) - special.betaln(a, b)).sum())


def _fit(x: Floats, n: Floats) -> tuple[float, float, bool]:
    """Mean and weight of the prior, and whether the likelihood had a maximum inside its range."""
    from scipy import optimize

    def loss(point: Floats) -> float:
        return -_log_likelihood(x, n, float(special.expit(point[0])), float(np.exp(point[1])))

    crude = x.sum() / n.sum()
    start = np.array([special.logit(crude), np.log(_moment_weight(x, n, crude))])
    best = optimize.minimize(
        loss,
        start,
        method="L-BFGS-B",
        bounds=[(-20, 20), (np.log(1e-2), np.log(MOST))],
        options={"ftol": 1e-14},
    )
    mean, weight = float(special.expit(best.x[0])), float(np.exp(best.x[1]))
    if best.success and weight < 0.99 * MOST:
        return mean, weight, True
    return float(crude), _moment_weight(x, n, crude), False


def _moment_weight(x: Floats, n: Floats, mean: float) -> float:
    """Kleinman's weight of the prior from the spread of risks beyond chance."""
    spread = (n * (x / n - mean) ** 2).sum()
    chance = mean * (1 - mean) * (len(n) - 1)
    freedom = n.sum() - (n**2).sum() / n.sum()
    phi = (spread - chance) / (mean * (1 - mean) * (freedom - (len(n) - 1)) + 1e-300)
    return float(np.clip(1 / max(phi, 1 / MOST) - 1, 1e-2, MOST))


def _limits(x: Floats, n: Floats, mean: float, level: float) -> tuple[Floats, Floats]:
    """Posterior quantiles averaged over the weight of the prior."""
    tail = (1 - share(level)) / 2
    used = n > 0
    middling = float(np.median(n[used]))
    shrinkage = (np.arange(GRID) + 0.5) / GRID
    weights = middling * shrinkage / (1 - shrinkage)
    logs = np.array([_log_likelihood(x[used], n[used], mean, weight) for weight in weights])
    belief = np.exp(logs - logs.max())
    belief /= belief.sum()
    a, b = mean * weights, (1 - mean) * weights
    out = []
    for target in (tail, 1 - tail):
        low, high = np.zeros(x.shape), np.ones(x.shape)
        for _ in range(32):
            middle = (low + high) / 2
            below = special.betainc(x[:, None] + a, (n - x)[:, None] + b, middle[:, None]) @ belief
            low, high = np.where(below < target, middle, low), np.where(below < target, high, middle)
        out.append(np.where(used, (low + high) / 2, np.nan))
    return out[0], out[1]

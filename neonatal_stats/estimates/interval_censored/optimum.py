"""The maximum of an interval-censored likelihood, by a primal-dual interior-point Newton method.

Maximise sum n_i log P_i - n sum p_j over masses p >= 0, where P_i is the mass under interval i. At the
maximum the slopes d_j = sum of n_i / P_i over the intervals that cover j satisfy d_j <= n, with equality
wherever there is mass (which then adds to 1). The slack z_j = n - d_j and the mass are driven to p_j z_j = 0
together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from neonatal_stats.estimates.arguments import Floats, Integers
from neonatal_stats.estimates.regression.risk_sets import sum_by


@dataclass(frozen=True, eq=False)
class Cover:
    """Each distinct interval covers innermost intervals first..last and stands for ``counted`` newborns."""

    first: Integers
    last: Integers
    counted: Floats
    size: int

    @property
    def n(self) -> float:
        return float(self.counted.sum())

    def under(self, mass: Floats) -> Floats:
        """Mass under each interval."""
        running = np.concatenate([[0.0], np.cumsum(mass)])
        # a narrow interval's mass is summed on its own: the difference of running sums would lose its digits
        total = running[self.last + 1] - running[self.first]
        narrow = self.first == self.last
        total[narrow] = mass[self.first[narrow]]
        return np.asarray(np.maximum(total, 1e-300), dtype=np.float64)

    def loglik(self, mass: Floats) -> float:
        return float(self.counted @ np.log(self.under(mass)))

    def derivatives(self, mass: Floats) -> Floats:
        """Directional derivatives d_j."""
        rate = self.counted / self.under(mass)
        change = sum_by(self.first, rate, self.size + 1)
        change -= sum_by(self.last + 1, rate, self.size + 1)
        return np.cumsum(change)[:-1]

    def curvature(self, mass: Floats) -> sparse.csc_matrix:
        """Minus the Hessian of the log likelihood in the running sums of mass F_0 = 0, F_1 .. F_M (M, M)."""
        bend = self.counted / self.under(mass) ** 2
        a, b, size = self.first, self.last + 1, self.size + 1
        row = np.concatenate([a, b, a, b])
        column = np.concatenate([a, b, b, a])
        value = np.concatenate([bend, bend, -bend, -bend])
        return sparse.csc_matrix((value, (row, column)), shape=(size, size))[1:, 1:]


def climb(cover: Cover, tolerance: float, max_steps: int) -> tuple[Floats, int]:
    """Masses at the maximum, and how many Newton steps it took; it starts from a few steps of EM."""
    n, size = cover.n, cover.size
    close = 0.1 * tolerance * n
    mass = np.full(size, 1 / size)
    for _ in range(10):
        mass = mass * cover.derivatives(mass) / n
    mass = np.maximum(mass, 1e-6 / size)
    slack = n * 1e-2 * mass.mean() / mass
    for step in range(max_steps):
        above = n - cover.derivatives(mass)
        gap = float(mass @ slack)
        if gap < close and np.abs(above - slack).max() < close:
            tidy = _tidy(cover, mass)
            if cover.derivatives(tidy).max() <= n * (1 + tolerance):
                return tidy, step
        target = 0.1 * gap / size
        change = _newton(cover, mass, slack, above - target / mass)
        slack_change = target / mass - slack - slack / mass * change
        mass = mass + _reach(mass, change) * change
        slack = slack + _reach(slack, slack_change) * slack_change
    return _tidy(cover, mass), max_steps


def _newton(cover: Cover, mass: Floats, slack: Floats, gradient: Floats) -> Floats:
    """Change of the masses from the sparse equations in their running sums."""
    barrier = slack / mass
    size = cover.size
    inner = sparse.diags_array(
        [barrier + np.append(barrier[1:], 0), -barrier[1:], -barrier[1:]],
        offsets=[0, 1, -1],
        shape=(size, size),
    )
    right = -(gradient - np.append(gradient[1:], 0))
    running = splu(sparse.csc_matrix(cover.curvature(mass) + inner)).solve(right)
    return np.diff(running, prepend=0.0)


def _reach(values: Floats, change: Floats) -> float:
    """How far one may go along a change before 99.5 % of some value is spent, at most 1."""
    falling = change < 0
    if not falling.any():
        return 1.0
    return min(1.0, 0.995 * float((-values[falling] / change[falling]).min()))


def _tidy(cover: Cover, mass: Floats) -> Floats:
    """Masses that add to 1, those driven to nothing (far below the rarest interval's share) set to 0, then EM."""
    least = float(cover.counted.min()) / cover.n
    tidy = np.where(mass < 1e-9 * least, 0.0, mass)
    tidy = tidy / tidy.sum()
    return np.asarray(tidy * cover.derivatives(tidy) / cover.n, dtype=np.float64)

"""A natural cubic spline in few columns: straight beyond the outer knots, knots at quantiles of the data."""

from __future__ import annotations

import numpy as np

from neonatal_stats.estimates.arguments import Floats

# Harrell, Regression Modeling Strategies, table of knots for restricted cubic splines
QUANTILES = {
    2: (0.10, 0.50, 0.90),
    3: (0.05, 0.35, 0.65, 0.95),
    4: (0.05, 0.275, 0.50, 0.725, 0.95),
    5: (0.05, 0.23, 0.41, 0.59, 0.77, 0.95),
    6: (0.025, 0.1833, 0.3417, 0.50, 0.6583, 0.8167, 0.975),
}


def knots(x: Floats, df: int) -> Floats:
    """Knots for ``df`` columns, fewer where values are too few to part them; none for a straight line."""
    for size in range(min(df, 6), 1, -1):
        placed = np.quantile(x, QUANTILES[size], method="inverted_cdf")
        if (np.diff(placed) > 0).all():
            return np.asarray(placed, dtype=np.float64)
    return np.empty(0)


def natural_spline(x: Floats, placed: Floats) -> Floats:
    """Basis (n, 1 + columns): a constant, x, and one column per knot but the last two.

    Each further column is the cubic that starts at its knot, less the multiples of the last two that make it
    straight beyond the last knot, divided by the square of the knots' span.
    """
    columns = [np.ones_like(x), x]
    if len(placed):
        before, last = placed[-2], placed[-1]
        cubes = np.maximum(x[:, None] - placed, 0) ** 3
        for j in range(len(placed) - 2):
            back = cubes[:, -2] * (last - placed[j]) - cubes[:, -1] * (before - placed[j])
            columns.append((cubes[:, j] - back / (last - before)) / (last - placed[0]) ** 2)
    return np.column_stack(columns)

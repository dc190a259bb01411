"""Random draws made from uniform numbers alone, so that one generator number keeps giving the same bytes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import ndtri

Array = np.ndarray


class Draws:
    """A stream of draws named by whole numbers; the same numbers always give the same stream."""

    def __init__(self, *numbers: int) -> None:
        self._generator = np.random.Generator(np.random.PCG64(list(numbers)))

    def uniform(self, n: int) -> Array:
        """Numbers spread evenly over 0 to 1."""
        return self._generator.random(n)

    def normal(self, n: int) -> Array:
        """Standard normal numbers."""
        return np.asarray(ndtri(np.clip(self.uniform(n), 1e-12, 1 - 1e-12)))

    def exponential(self, n: int) -> Array:
        """Waiting times with mean 1."""
        return np.asarray(-np.log1p(-self.uniform(n)))

    def yes(self, share: Array | float, n: int) -> Array:
        """True with the given share."""
        return np.asarray(self.uniform(n) < share)

    def pick(self, words: Sequence[object], shares: Sequence[float], n: int) -> Array:
        """Words in the given shares, which need not sum to 1."""
        upto = np.cumsum(np.asarray(shares, dtype=float))
        found = np.searchsorted(upto / upto[-1], self.uniform(n), side="right")
        return np.asarray(words, dtype=object)[np.minimum(found, len(words) - 1)]

"""How often a simulation repeats: as often as its script says, or a share of that, to see that it runs."""

from __future__ import annotations

import os

SHARE = "SIMULATIONS_SHARE"


def often(usual: int, least: int = 2) -> int:
    """The usual number of repetitions; where the environment names a share, that share of it, at least ``least``.

    >>> os.environ.pop(SHARE, None); often(2000)
    2000
    """
    return max(least, round(usual * float(os.environ.get(SHARE, 1))))

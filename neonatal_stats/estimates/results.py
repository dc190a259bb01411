"""What an estimate looks like when it leaves this room."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, eq=False)
class Estimate:
    """One number with its honest interval.

    ``low`` and ``high`` bound the estimate at the level that was asked for; ``p`` is two-sided against "no
    difference" (NaN where no test belongs). ``method`` names the formula in a few words, as printed on the page.
    ``note`` says in one sentence what could not be done ("cannot be estimated: no deaths in one group"), else "".
    A number that cannot be estimated is NaN, never infinite.
    """

    estimate: float
    low: float
    high: float
    p: float
    method: str
    note: str = ""


@dataclass(frozen=True, eq=False)
class Test:
    """A test of one hypothesis: chi-square (or other) statistic, degrees of freedom and two-sided p."""

    __test__ = False  # the name is the statistician's; pytest must not collect it

    statistic: float
    df: int
    p: float
    method: str
    note: str = ""

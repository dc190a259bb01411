"""Deaths known only to lie between two checks: how far the answer moves against taking the time found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.estimates.interval_censored import IntervalCensored, turnbull


@dataclass(frozen=True, eq=False)
class FoundDead:
    """Survival at stated ages two ways: ``frame`` has age_h, found, earliest, latest (shares alive).

    ``found`` takes each death at the age it was found (Kaplan-Meier); ``earliest`` and ``latest`` are the
    ends of what the checks allow (Turnbull's maximum likelihood; they differ only inside an interval).
    ``between_checks`` deaths of ``deaths`` were known only to an interval of over an hour, ``typical_h`` long
    at the median.
    """

    frame: pd.DataFrame
    between_checks: int
    deaths: int
    typical_h: float
    moves: float
    converged: bool


def found_dead(alive_at_birth: pd.DataFrame, ages_h: Sequence[float]) -> FoundDead | None:
    """Compare the two readings at stated ages; None where no death was known only to an interval.

    Counted: newborns born alive with a known age. ``moves`` is the largest gap between the share alive by the
    time found and what the checks allow, over the stated ages.
    """
    known = alive_at_birth[alive_at_birth["age_known"].astype(bool)]
    died = known["died"].to_numpy(bool)
    low, high = known["age_low_h"].to_numpy(float), known["age_high_h"].to_numpy(float)
    wide = died & (high - low > 1)
    if not wide.any():
        return None
    fitted = turnbull(low, np.where(died, high, np.inf))
    at_found = turnbull(
        np.where(died, known["age_h"].to_numpy(float), low),
        np.where(died, known["age_h"].to_numpy(float), np.inf),
    )
    frame = pd.DataFrame(
        [(age, _alive(at_found, age)[0], *_alive(fitted, age)) for age in ages_h],
        columns=["age_h", "found", "earliest", "latest"],
    )
    moves = max((frame["found"] - frame["earliest"]).max(), (frame["latest"] - frame["found"]).max(), 0.0)
    return FoundDead(
        frame,
        int(wide.sum()),
        int(died.sum()),
        float(np.median((high - low)[wide])),
        float(moves),
        fitted.converged,
    )


def _alive(fitted: IntervalCensored, age_h: float) -> tuple[float, float]:
    """Lowest and highest share alive just before an age, by where mass may lie inside its interval."""
    surely_before = fitted.mass[fitted.intervals[:, 1] < age_h].sum()
    perhaps_before = fitted.mass[fitted.intervals[:, 0] < age_h].sum()
    return 1 - float(perhaps_before), 1 - float(surely_before)

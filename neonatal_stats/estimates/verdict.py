"""How strong the evidence is for a difference, by one stated rule, applied here and nowhere else."""

from __future__ import annotations

import math
from enum import Enum

MINIMUM_EVENTS = 5
LEANING_P = 0.20
ROUNDING = 1e-9


class Verdict(Enum):
    """The four things a comparison may say."""

    CLEAR = "clear"
    LEANING = "leaning"
    NO_CLEAR = "no clear difference"
    TOO_FEW = "too few to say"


def judge(
    low: float,
    high: float,
    p: float,
    *,
    null: float,
    events: int,
    smallest_group: int,
    minimum_group: int,
    q: float = math.nan,
    false_discovery_share: float = 1.0,
) -> Verdict:
    """Judge a comparison of two groups.

    Too few to say: the smaller group has fewer newborns than the setting `minimum_group`, the two together
    have fewer than 5 events, or there is no interval. Clear: the interval leaves out "no difference" (a side
    that could not be bounded counts as unbounded). Leaning: it does not, but p is under 0.20. Otherwise no
    clear difference. Where many comparisons were tried, one whose ``q`` is over the share of false discoveries
    allowed is not clear, and is judged by its p like the others.
    """
    unbounded = math.isnan(low) and math.isnan(high)
    if smallest_group < minimum_group or events < MINIMUM_EVENTS or unbounded:
        return Verdict.TOO_FEW
    beyond = low > null or high < null
    return Verdict.CLEAR if beyond and not q > false_discovery_share else _by_chance(p)


def judge_test(p: float, *, level: float, events: int, smallest_group: int, minimum_group: int) -> Verdict:
    """Judge a test of several groups at once, which has no interval: clear where p is under 1 - level.

    Too few to say as in `judge`, and where there was nothing to test (p missing).
    """
    if smallest_group < minimum_group or events < MINIMUM_EVENTS or math.isnan(p):
        return Verdict.TOO_FEW
    return Verdict.CLEAR if p < 1 - level else _by_chance(p)


class Outcome(Enum):
    """The five things that may be said of a measure that an action was to move."""

    REACHED = "reached"
    MOVED = "moved"
    NO_CHANGE = "no clear change"
    WORSE = "worse"
    NOT_RECORDED = "not recorded"


def follow_up(change: float, after: float, target: float, *, clear: bool, more_is_better: bool) -> Outcome:
    """What became of a measure that was to move, of which there was something to count before and after.

    Parameters
    ----------
    change, after : the later share less the earlier, and the later share itself.
    target : the share that was agreed, NaN where none was.
    clear : whether the change is clear of chance.

    Returns
    -------
    Without a clear change nothing is reached and nothing worse, wherever the shares stand. Reached: a clear change the
    right way, and the later share at the target or beyond it. Moved: a clear change the right way that ends short of
    the target, or where none was agreed. Worse: a clear change the other way.

    >>> follow_up(0.3, 0.86, 0.85, clear=True, more_is_better=True).value
    'reached'
    >>> follow_up(0.3, 0.86, 0.85, clear=False, more_is_better=True).value
    'no clear change'
    """
    if not clear or math.isnan(change):
        return Outcome.NO_CHANGE
    way = 1 if more_is_better else -1
    if way * change < 0:
        return Outcome.WORSE
    return Outcome.REACHED if way * (after - target) >= -ROUNDING else Outcome.MOVED


def _by_chance(p: float) -> Verdict:
    return Verdict.LEANING if not math.isnan(p) and p < LEANING_P else Verdict.NO_CLEAR

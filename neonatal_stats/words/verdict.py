"""The rule of a verdict in words; the verdict itself is made in `estimates.verdict`."""

from __future__ import annotations

from neonatal_stats.estimates.verdict import LEANING_P, MINIMUM_EVENTS, Verdict, judge, judge_test

__all__ = ["LEANING_P", "MINIMUM_EVENTS", "RULE", "Verdict", "judge", "judge_test"]

RULE = (
    "Too few to say: a group of fewer than {minimum_group} {newborns}, fewer than {minimum_events} losses in "
    "the groups compared, or nothing to estimate from. Clear: the interval leaves out no difference. Leaning: "
    "it does not, but a difference this large would come up by chance less than one time in five. Otherwise: "
    "no clear difference."
)
"""The rule as a template, for the fold of every chapter that compares."""

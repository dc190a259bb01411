"""Moved to `estimates.verdict` and `words.evidence`; these names stay until every chapter takes them there."""

from neonatal_stats.estimates.verdict import LEANING_P, MINIMUM_EVENTS, Verdict, judge, judge_test
from neonatal_stats.words.evidence import RULE

__all__ = ["LEANING_P", "MINIMUM_EVENTS", "RULE", "Verdict", "judge", "judge_test"]

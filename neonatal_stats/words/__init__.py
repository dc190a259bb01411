"""The sentences: evidence in, plain language out. The only place that says "higher" or "too few to say"."""

from neonatal_stats.estimates.verdict import Verdict, judge, judge_test
from neonatal_stats.words.evidence import Method, Sentence
from neonatal_stats.words.voice import Said, Voice, joined, voice_of

__all__ = ["Method", "Said", "Sentence", "Verdict", "Voice", "joined", "judge", "judge_test", "voice_of"]

"""The names of the records' columns as a person reads them."""

from __future__ import annotations

from neonatal_stats.vocabulary.columns import column
from neonatal_stats.vocabulary.headings import heading_of
from neonatal_stats.words.voice import Voice


def column_name(voice: Voice, name: str) -> str:
    """The readable heading of a tidy column of births: "birth weight (kg)"."""
    return voice.say(heading_of(column("births", name)))

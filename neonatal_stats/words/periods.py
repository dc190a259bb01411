"""The seasons that a sentence speaks of, said before it where it does not name them itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from neonatal_stats.words.evidence import Sentence
from neonatal_stats.words.names import season_names
from neonatal_stats.words.voice import Voice

NAMING = ("period", "season", "seasons", "first", "second", "others")
"""Placeholders that a template names its seasons by."""


def dated(
    voice: Voice, sentence: Sentence, period: Sequence[str], every: Sequence[str], against: Sequence[str] = ()
) -> Sentence:
    """The sentence, with its period before it where the records hold several seasons and it names none.

    Parameters
    ----------
    period : the seasons that it speaks of; none for a sentence that speaks of no season.
    every : all seasons of the records, in order.
    against : those of them that the last is held against.
    """
    if len(every) < 2 or not period or _names_one(sentence, every):
        return sentence
    plain = season_names(voice, period, every)
    when = seasons_compared(voice, period[-1], against, every) if against else plain
    said = voice.say("{period}: {said}", period=when, said=sentence.text)
    return replace(sentence, text=said)


def seasons_compared(voice: Voice, season: str, others: Sequence[str], every: Sequence[str]) -> str:
    """A season and those that it is held against: "2026 against 2023 to 2025"."""
    return voice.say("{season} against {other}", season=season, other=season_names(voice, others, every))


def _names_one(sentence: Sentence, every: Sequence[str]) -> bool:
    told = [value for name, value in sentence.filled() if name in NAMING]
    return any(season in value for value in told for season in every)

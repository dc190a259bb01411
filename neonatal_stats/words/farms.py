"""Farms in words: who lies outside what size and the usual spread allow, by letter."""

from __future__ import annotations

from neonatal_stats.tables import printing
from neonatal_stats.words.sentence import Sentence
from neonatal_stats.words.verdict import Verdict
from neonatal_stats.words.voice import Voice

ALL = "{farms} farms with {n} {newborns} are compared, by letter; together they lost {lost}."
HIDDEN = "{hidden} farms with fewer than {minimum} {newborns} are not shown."
NONE_OUTSIDE = (
    "No farm lies outside the limits: at their sizes, with the mix of births allowed for, the farms are not "
    "told apart."
)
OUTSIDE = {
    True: "Farm {letter} lost more than its size and the usual spread between farms allow: {share} once the "
    "mix of births is allowed for, limits {low} to {high}.",
    False: "Farm {letter} lost less than its size and the usual spread between farms allow: {share} once the "
    "mix of births is allowed for, limits {low} to {high}.",
}
OWN = {
    True: "Your farm is {letter}: {counts}, {share} once the mix of births is allowed for, outside the "
    "limits {low} to {high}.",
    False: "Your farm is {letter}: {counts}, {share} once the mix of births is allowed for, within the "
    "limits {low} to {high}.",
}
SPREAD = {
    True: "The farms spread {phi} times as widely as chance alone would have it, and the limits are widened "
    "by that.",
    False: "The farms spread no more widely than chance alone would have it.",
}


def outside_sentence(
    voice: Voice, letter: str, share: float, low: float, high: float, deaths: float
) -> Sentence:
    """A farm outside the limits."""
    values = {"share": printing.percent(share), "low": printing.percent(low), "high": printing.percent(high)}
    text = voice.say(OUTSIDE[share > high], letter=letter, **values)
    return Sentence(text, Verdict.CLEAR, max(deaths, 0.0))


def spread_sentence(voice: Voice, spread: float) -> Sentence:
    """How far the farms spread beyond chance."""
    shown = printing.ratio(spread)
    return Sentence(voice.say(SPREAD[spread > 1], phi=shown))

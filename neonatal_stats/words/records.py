"""The worth of the records in sentences."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

from neonatal_stats.tables import printing
from neonatal_stats.words.sentence import Sentence
from neonatal_stats.words.verdict import Verdict, judge
from neonatal_stats.words.voice import Voice

ROUNDED = {
    "time of birth on the quarter hour": "Times of birth are rounded: {share} fall on a quarter hour, where "
    "about {expected} would by chance. Ages in the first hours are known only so well.",
    "time of death on the quarter hour": "Times of death are rounded: {share} fall on a quarter hour, where about "
    "{expected} would by chance.",
    "birth weight on the half kilogram": "Birth weights are rounded: {share} are whole or half kilograms, where about "
    "{expected} would be by chance.",
}


def rounded(voice: Voice, what: str, events: int, n: int, expected: float) -> Sentence:
    """A kind of number that people rounded."""
    return Sentence(
        voice.say(ROUNDED[what], share=printing.counts(events, n), expected=printing.percent(expected, 0))
    )


def recorded_less(row: Mapping[Hashable, Any], *, minimum_group: int) -> Verdict:
    """Was a column filled less often for those lost? Clear where the interval of the difference lies below 0.

    Too few to say by the rule of `judge`, the empty cells taken as the events. A column filled more often for
    those lost is no clear difference here.
    """
    empty = row["n"] - row["events"] + row["n_versus"] - row["events_versus"]
    smallest = min(row["n"], row["n_versus"])
    if not empty and smallest >= minimum_group:
        return Verdict.NO_CLEAR
    verdict = judge(
        row["low"],
        row["high"],
        row["p"],
        null=0.0,
        events=empty,
        smallest_group=smallest,
        minimum_group=minimum_group,
    )
    return verdict if verdict is not Verdict.CLEAR or row["estimate"] < 0 else Verdict.NO_CLEAR

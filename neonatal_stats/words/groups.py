"""High-risk groups in words: who they are, what they lost beyond the rest, and what was checked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from neonatal_stats.estimates.verdict import LEANING_P, Verdict, judge
from neonatal_stats.words.evidence import Sentence, ratio_in_words
from neonatal_stats.words.names import factor_name, phrase
from neonatal_stats.words.voice import Voice, joined

__all__ = ["Group", "factor_name", "phrase"]

WATCH = (
    "Watch list for next season: {phrase}. In all records read they lost {counts} by {window}, the rest {rest}: "
    "{evidence}. That is {excess} losses ({low} to {high}) more than at the rest's risk."
)
SEASONS = "They lost more than the rest in {more} of the {seen} seasons that held enough of them."
ALWAYS = {
    Verdict.CLEAR: "{phrase} lost clearly more than the rest: {counts} against {rest}, {evidence}.",
    Verdict.LEANING: "{phrase} lost {counts}, the rest {rest}, {evidence}: it leans, but chance is not ruled "
    "out.",
    Verdict.NO_CLEAR: "No clear difference between {phrase}, {counts}, and the rest, {rest}: {evidence}.",
    Verdict.TOO_FEW: "{phrase}: too few to say ({counts}; the rest {rest}).",
}
TRIED_CLEAR = (
    "Of {tried} groups tried (every level of every factor known at birth, and every two of them together), "
    "{clear} lost clearly more than the rest by {window}. Were there no true differences, at most {share} of "
    "reviews would put any group on the watch list."
)
TRIED_NONE = (
    "Of {tried} groups tried (every level of every factor known at birth, and every two of them together), "
    "none lost more than the rest by {window} beyond what chance and litters would give among so many."
)
NOT_TRIED = "No groups could be tried: too little was written down at birth that tells {newborns} apart."
NOT_RECORDED = (
    "The records do not say: {factors}. Writing it down at birth next season would show whether these groups "
    "lose more."
)
BESIDE = {
    Verdict.CLEAR: "Beside the other groups in one model {phrase} stand on their own: hazard ratio {ratio} "
    "({level} interval {interval}).",
    Verdict.LEANING: "Beside the other groups in one model {phrase} lean the same way, but chance is not "
    "ruled out: hazard ratio {ratio} ({level} interval {interval}).",
    Verdict.NO_CLEAR: "Beside the other groups in one model {phrase} no longer stand out: hazard ratio "
    "{ratio} ({level} interval {interval}).",
    Verdict.TOO_FEW: "Beside the other groups in one model, there is too little to say of {phrase}.",
}
READINGS = {
    Verdict.CLEAR: ("lost more", "lost less"),
    Verdict.LEANING: ("leaning, more", "leaning, less"),
    Verdict.NO_CLEAR: ("no clear difference", "no clear difference"),
    Verdict.TOO_FEW: ("too few to say", "too few to say"),
}


@dataclass(frozen=True)
class Group:
    """One group against the rest: its printed name, counts, risk ratio, excess deaths and the test's numbers."""

    phrase: str
    deaths: int
    births: int
    rest_deaths: int
    rest_births: int
    risk_ratio: float
    low: float
    high: float
    excess: float
    excess_low: float
    excess_high: float
    p: float
    q: float

    @property
    def more(self) -> bool:
        """Lost more than the rest's risk would have given."""
        return self.excess > 0


def verdict_of(group: Group, *, minimum_group: int, false_discovery_share: float) -> Verdict:
    """As `judge`, and clear only where the q-value over everything tried is within the share allowed as well.

    A group that lost less is at most leaning: the q-values ask only who lost more.
    """
    verdict = judge(
        group.low,
        group.high,
        group.p,
        null=1.0,
        events=group.deaths + group.rest_deaths,
        smallest_group=min(group.births, group.rest_births),
        minimum_group=minimum_group,
    )
    if verdict is Verdict.CLEAR and not (group.more and group.q <= false_discovery_share):
        return Verdict.LEANING if group.p < LEANING_P else Verdict.NO_CLEAR
    return verdict


def tier(verdict: Verdict, q: float, false_discovery_share: float) -> int:
    """The part of the list a group stands in: 0 clear ten times over, 1 clear, 2 the others.

    Where one group is truly at risk, those that chance puts beside it seldom reach the first part.
    """
    if verdict is not Verdict.CLEAR:
        return 2
    return 0 if q <= false_discovery_share / 10 else 1


def reading(voice: Voice, verdict: Verdict, more: bool) -> str:
    """The verdict as it stands in a table."""
    return voice.say(READINGS[verdict][0 if more else 1])


def season_check(voice: Voice, more: str, seen: str) -> str:
    """In how many seasons it was so."""
    return voice.say(SEASONS, more=more, seen=seen)


def watch_sentence(
    voice: Voice, group: Group, window: str, level: float, checks: Sequence[str] = ()
) -> Sentence:
    """A group on the watch list, and the sentences that say what was checked."""
    text = voice.say(
        WATCH,
        phrase=group.phrase,
        window=window,
        counts=voice.counts(group.deaths, group.births),
        rest=voice.counts(group.rest_deaths, group.rest_births),
        evidence=ratio_in_words(voice, group.risk_ratio, group.low, group.high, level),
        excess=voice.number(group.excess, 0),
        low=voice.number(group.excess_low, 0),
        high=voice.number(group.excess_high, 0),
    )
    return Sentence(joined([text, *checks]), Verdict.CLEAR, group.excess)


def always_sentence(voice: Voice, group: Group, verdict: Verdict, level: float) -> Sentence:
    """A group that is always spoken of, whatever there is to say."""
    text = voice.say(
        ALWAYS[verdict],
        phrase=group.phrase,
        counts=voice.counts(group.deaths, group.births),
        rest=voice.counts(group.rest_deaths, group.rest_births),
        evidence=ratio_in_words(voice, group.risk_ratio, group.low, group.high, level),
    )
    return Sentence(text, verdict, max(group.excess, 0.0) if math.isfinite(group.excess) else 0.0)


def own_standing(
    voice: Voice, phrase_: str, ratio: float, low: float, high: float, level: float, verdict: Verdict
) -> str:
    """Whether a group stands on its own beside the others in one model."""
    interval = voice.ratio_range(low, high)
    return voice.say(
        BESIDE[verdict],
        phrase=phrase_,
        ratio=voice.ratio(ratio),
        interval=interval,
        level=voice.percent(level, 0),
    )


def tried_sentence(voice: Voice, *, tried: str, clear: str, window: str, share: str, any_clear: bool) -> str:
    """How many groups were tried and how many stand out."""
    if tried == voice.count(0):
        return voice.say(NOT_TRIED)
    template = TRIED_CLEAR if any_clear else TRIED_NONE
    return voice.say(template, tried=tried, clear=clear, window=window, share=share)


def not_recorded(voice: Voice, factors: str) -> str:
    """Which of the groups that matter most cannot be formed."""
    return voice.say(NOT_RECORDED, factors=factors)

"""Evidence in words: sentences that are as strong as it is, and no stronger.

A comparison says "higher" or "lower" only where the interval leaves out no difference, "looks higher" where
it leans, "no clear difference" where it does neither, and "too few to say" where the groups or the losses are
too small, whatever the numbers happen to be. It states an association and never a cause. The verdict is made by
`estimates.verdict`; here it is only said, with the seasons that it speaks of before it where it does not name them.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.words.names import season_names
from neonatal_stats.words.voice import Said, Voice

RULE = (
    "Too few to say: a group of fewer than {minimum_group} {newborns}, fewer than {minimum_events} losses in "
    "the groups compared, or nothing to estimate from. Clear: the interval leaves out no difference, and so does the "
    "decision over all comparisons together. Leaning: it is not clear, but a difference this large would come up by "
    "chance less than one time in five. Otherwise: no clear difference."
)
"""The rule of a verdict as a template, for the fold of every chapter that compares."""


@dataclass(frozen=True)
class Sentence:
    """One sentence of a chapter's answer.

    ``text`` is what a voice said, or several texts `joined`. ``verdict`` is the strength of its evidence (None for
    plain description). ``deaths`` is how many losses it speaks of (an excess, a cause's count): the report puts the
    clear ones with most deaths at the top. ``role`` sends a sentence to the top's "what these records cannot say" or
    "what to record next season", or sets it apart as a caution. ``lead`` marks what answers the chapter's question
    in short, above its main figure; where nothing is marked it is the first answer. ``claim`` is the key of the
    claim that it asserts, "" where it asserts none; ``beside`` what must be said beside that claim wherever it is
    answered. ``goes_on`` marks a sentence that speaks of the one before it, and so stands wherever that one stands.
    ``columns`` are the columns of births that it asks to be written down, where its role is "record next". ``see`` is
    the chapter that names the animals it speaks of, to which the page leads where that chapter is there.
    """

    text: str
    verdict: Verdict | None = None
    deaths: float = 0.0
    role: Literal["answer", "caution", "cannot say", "record next"] = "answer"
    lead: bool = False
    claim: str = ""
    beside: str = ""
    goes_on: bool = False
    columns: tuple[str, ...] = ()
    see: str = ""

    @property
    def template(self) -> str:
        """The English template it was said from, "" where it was put together by hand."""
        return self.text.template if isinstance(self.text, Said) else ""

    @property
    def values(self) -> Mapping[str, str]:
        """What was filled in, as printed; a value that was itself said has a template and values of its own."""
        return self.text.values if isinstance(self.text, Said) else {}

    def filled(self) -> tuple[tuple[str, str], ...]:
        """Name and printed value of everything filled in, through the sentences within it; see `Said.filled`."""
        return tuple(self.text.filled()) if isinstance(self.text, Said) else ()


@dataclass(frozen=True)
class Method:
    """How a chapter was worked out: each field plain text paragraphs, printed in a fold."""

    method: tuple[str, ...]
    settings: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class Compared:
    """A group held against another: who they are, as parts of a sentence, their counts, the risk ratio."""

    group: str
    versus: str
    events: int
    n: int
    events_versus: int
    n_versus: int
    estimate: float
    low: float
    high: float
    p: float

    @classmethod
    def of(cls, row: Mapping[Hashable, Any], *, group: str, versus: str) -> Compared:
        """A row of a contrast frame (events, n, events_versus, n_versus, estimate, low, high, p) put into words."""
        return cls(
            group,
            versus,
            int(row["events"]),
            int(row["n"]),
            int(row["events_versus"]),
            int(row["n_versus"]),
            float(row["estimate"]),
            float(row["low"]),
            float(row["high"]),
            float(row["p"]),
        )

    @property
    def excess(self) -> float:
        """Losses more (or less, below 0) than the other group's risk would have given."""
        if not self.n_versus:
            return 0.0
        return self.events - self.n * self.events_versus / self.n_versus


@dataclass(frozen=True)
class Templates:
    """The six things that can be said of a comparison, with {group} {a} {versus} {b} {evidence} to fill.

    ``too_few`` is "" where nothing is said then.
    """

    higher: str
    lower: str
    leaning_higher: str
    leaning_lower: str
    no_clear: str
    too_few: str = ""

    def of(self, verdict: Verdict, *, higher: bool) -> str:
        """The template that a verdict deserves, where the group's risk is the higher one or not."""
        if verdict is Verdict.TOO_FEW:
            return self.too_few
        if verdict is Verdict.NO_CLEAR:
            return self.no_clear
        if verdict is Verdict.LEANING:
            return self.leaning_higher if higher else self.leaning_lower
        return self.higher if higher else self.lower


LOSSES = Templates(
    higher="Losses were higher among {group}, {a}, than among {versus}, {b}: {evidence}.",
    lower="Losses were lower among {group}, {a}, than among {versus}, {b}: {evidence}.",
    leaning_higher="Losses among {group}, {a}, look higher than among {versus}, {b}, but chance is "
    "not ruled out: {evidence}.",
    leaning_lower="Losses among {group}, {a}, look lower than among {versus}, {b}, but chance is "
    "not ruled out: {evidence}.",
    no_clear="No clear difference in losses between {group}, {a}, and {versus}, {b}: {evidence}.",
    too_few="Too few to say whether losses differ between {group}, {a}, and {versus}, {b}.",
)

FAILURES = Templates(
    higher="Failures were more common among {group}, {a}, than among {versus}, {b}: {evidence}.",
    lower="Failures were less common among {group}, {a}, than among {versus}, {b}: {evidence}.",
    leaning_higher="Failures among {group}, {a}, look more common than among {versus}, {b}, but "
    "chance is not ruled out: {evidence}.",
    leaning_lower="Failures among {group}, {a}, look less common than among {versus}, {b}, but "
    "chance is not ruled out: {evidence}.",
    no_clear="No clear difference in failures between {group}, {a}, and {versus}, {b}: {evidence}.",
    too_few="Too few to say whether failures differ between {group}, {a}, and {versus}, {b}.",
)
"""The same of failures at mothering-up."""


def comparison(
    voice: Voice,
    compared: Compared,
    verdict: Verdict,
    *,
    level: float,
    templates: Templates = LOSSES,
    claim: str = "",
) -> Sentence:
    """The sentence of a comparison whose verdict is already made; ``claim`` is its key, where it is one."""
    text = voice.say(
        templates.of(verdict, higher=compared.excess > 0),
        group=compared.group,
        versus=compared.versus,
        a=voice.counts(compared.events, compared.n),
        b=voice.counts(compared.events_versus, compared.n_versus),
        evidence=_evidence(voice, compared, verdict, level),
    )
    return Sentence(text, verdict, abs(compared.excess), claim=claim)


def _evidence(voice: Voice, compared: Compared, verdict: Verdict, level: float) -> str:
    """The ratio with its interval; and that many were tried, where a comparison leans for that alone."""
    ratio = ratio_in_words(voice, compared.estimate, compared.low, compared.high, level)
    if verdict is not Verdict.LEANING or not (compared.low > 1 or compared.high < 1):
        return ratio
    return voice.say("{ratio}; among so many comparisons chance alone may bring one like it", ratio=ratio)


def ratio_in_words(voice: Voice, estimate: float, low: float, high: float, level: float) -> str:
    """A ratio of risks with its interval; where one side is open, the side that is known."""
    shown = voice.percent(level, 0)
    if math.isnan(low) and math.isnan(high):
        return voice.say("the ratio of the risks cannot be estimated")
    interval = voice.ratio_range(low, high)
    if math.isnan(estimate) or math.isnan(low) or math.isnan(high):
        return voice.say(
            "the ratio of the risks is {interval} ({level} limit)", interval=interval, level=shown
        )
    return voice.say(
        "{ratio} times the risk ({level} interval {interval})",
        ratio=voice.ratio(estimate),
        level=shown,
        interval=interval,
    )


def with_readings(voice: Voice, answer: str, lowest: float, highest: float) -> str:
    """An answer with how far it moves by what the records leave open; the answer alone where it does not."""
    low, high = voice.ratio(lowest), voice.ratio(highest)
    if low == high:
        return answer
    return voice.say(
        "{answer} By when the deaths found at checks fell and what blank feeds were, this runs from {low} to "
        "{high} times; the verdict is that of the weakest.",
        answer=answer,
        low=low,
        high=high,
    )


SEVERAL = {
    Verdict.CLEAR: "The groups differ by more than chance explains (p {p}).",
    Verdict.LEANING: "The groups look different, but chance is not ruled out (p {p}).",
    Verdict.NO_CLEAR: "No clear difference between the groups taken together (p {p}).",
    Verdict.TOO_FEW: "Too few to say whether the groups differ.",
}


def compare_several(voice: Voice, p: float, verdict: Verdict) -> Sentence:
    """The sentence that a test over several groups deserves; always said beside the groups' own numbers."""
    return Sentence(voice.say(SEVERAL[verdict], p=voice.p_value(p)), verdict)


def excess_over_lowest(counts: Iterable[tuple[float, float]]) -> float:
    """Losses more than if every group had had the risk of the lowest: events and n of each.

    >>> excess_over_lowest([(10, 100), (30, 150)])
    15.0
    """
    groups = [(events, n) for events, n in counts if n]
    lowest = min((events / n for events, n in groups), default=0.0)
    return float(sum(events - n * lowest for events, n in groups))


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

"""Causes in sentences: what the unknown could change, and whether birth types differ in a cause."""

from __future__ import annotations

from neonatal_stats.tables import printing
from neonatal_stats.words.sentence import Sentence
from neonatal_stats.words.verdict import Verdict, judge_test
from neonatal_stats.words.voice import Voice


def cause_sentence(voice: Voice, cause: str, events: int, losses: int, low: float, high: float) -> Sentence:
    """How many losses a cause took, of all; as a count alone where there are few."""
    counts = {"events": printing.count(events), "n": printing.count(losses)}
    if losses < printing.SMALL_GROUP:
        text = voice.say("{cause}: {events} of {n} losses.", cause=cause, **counts)
    else:
        share, interval = printing.percent(events / losses), printing.percent_range(low, high)
        template = "{cause}: {events} of {n} losses ({share}, {interval})."
        text = voice.say(template, cause=cause, share=share, interval=interval, **counts)
    return Sentence(text[:1].upper() + text[1:], deaths=float(events))


def largest_stands(largest: float, runner_up: float, unknown: float) -> bool:
    """Would the largest cause stay the largest if every loss of unknown cause were of the next one?

    >>> largest_stands(10, 6, 3), largest_stands(10, 6, 4), largest_stands(10, 0, 12)
    (True, False, False)
    """
    return largest > runner_up + unknown


def unknown_sentence(voice: Voice, unknown: int, losses: int, largest: str, *, stands: bool) -> Sentence:
    """How many have no known cause, and whether that could change which cause is the largest."""
    counts = printing.counts(unknown, losses)
    if stands:
        text = "No cause is known for {counts} losses; even if all were of one other cause, {largest} would lead."
        return Sentence(voice.say(text, counts=counts, largest=largest))
    text = (
        "No cause is known for {counts} losses: enough that another cause than {largest} could be the "
        "largest."
    )
    return Sentence(voice.say(text, counts=counts, largest=largest), role="cannot say")


TYPES = {
    Verdict.CLEAR: "Losses to {cause} differ between birth types by more than chance explains: {told} (q {q}).",
    Verdict.LEANING: "Losses to {cause} look different between birth types, but chance is not ruled out: {told} "
    "(q {q}).",
    Verdict.NO_CLEAR: "No clear difference between birth types in losses to {cause}: {told} (q {q}).",
    Verdict.TOO_FEW: "Too few to say whether birth types differ in losses to {cause}: {told}.",
}


def type_sentence(
    voice: Voice,
    *,
    cause: str,
    told: str,
    q: float,
    events: int,
    excess: float,
    smallest_group: int,
    minimum_group: int,
    level: float,
) -> Sentence:
    """Whether birth types differ in one cause, by a test that allows for how many causes were tried.

    ``excess`` is how many losses more there were than had every type had the risk of the lowest.
    """
    verdict = judge_test(
        q, level=level, events=events, smallest_group=smallest_group, minimum_group=minimum_group
    )
    text = voice.say(TYPES[verdict], cause=cause, told=told, q=printing.p_value(q))
    return Sentence(text, verdict, excess)

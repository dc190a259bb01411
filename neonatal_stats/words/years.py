"""Two seasons in words: worse, better, or only another mix of births; and whether they can be compared at all."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from neonatal_stats.estimates.results import Estimate
from neonatal_stats.tables import printing
from neonatal_stats.words.column_names import column_name
from neonatal_stats.words.sentence import Sentence
from neonatal_stats.words.verdict import Verdict, judge
from neonatal_stats.words.voice import Voice


class Split(Enum):
    """What a change between two seasons is made of."""

    MIX = "mix, not rate"
    RATE = "rate, not mix"
    BOTH = "mix and rate together"
    CANCEL = "mix and rate cancel"
    OPPOSED = "mix and rate pull apart"
    UNSPLIT = "not told apart"
    NEITHER = "no clear difference"
    TOO_FEW = "too few to say"


@dataclass(frozen=True)
class Pair:
    """Two seasons compared: names, counts, the crude change and its two parts."""

    first: str
    second: str
    events: tuple[int, int]
    n: tuple[int, int]
    change: Estimate
    mix: Estimate
    rate: Estimate


def split_of(pair: Pair, *, minimum_group: int) -> Split:
    """Mix or rate: a part counts where its interval leaves out no change.

    Where both count they go together, pull apart, or, where the change itself is not clear, cancel. Where
    neither counts but the change does, the records cannot tell them apart.
    """
    few = {"events": sum(pair.events), "smallest_group": min(pair.n), "minimum_group": minimum_group}
    change, mix, rate = (
        judge(part.low, part.high, part.p, null=0.0, **few) for part in (pair.change, pair.mix, pair.rate)
    )
    if change is Verdict.TOO_FEW:
        return Split.TOO_FEW
    if mix is Verdict.CLEAR and rate is Verdict.CLEAR:
        if pair.mix.estimate * pair.rate.estimate > 0:
            return Split.BOTH
        return Split.OPPOSED if change is Verdict.CLEAR else Split.CANCEL
    if mix is Verdict.CLEAR:
        return Split.MIX
    if rate is Verdict.CLEAR:
        return Split.RATE
    return Split.UNSPLIT if change is Verdict.CLEAR else Split.NEITHER


SPLITS = {
    Split.MIX: "Mix, not rate: {mix} points of the change come from another mix of births, while at one and "
    "the same mix the risks themselves show no clear difference ({rate} points).",
    Split.RATE: "Rate, not mix: {rate} points of the change come from other risks within the same groups of "
    "births, while the mix of births shows no clear difference ({mix} points).",
    Split.BOTH: "Both mix and rate: {mix} points come from another mix of births and {rate} points from "
    "other risks within the same groups.",
    Split.CANCEL: "Mix and rate cancel: {mix} points come from another mix of births and {rate} points from "
    "other risks within the same groups, so that the crude loss hides two changes.",
    Split.OPPOSED: "Mix and rate pull apart: {mix} points come from another mix of births and {rate} points "
    "from other risks within the same groups; the crude loss shows only what is left.",
    Split.UNSPLIT: "The loss changed, but these records cannot tell whether by mix ({mix} points) or by rate "
    "({rate} points).",
    Split.NEITHER: "Taken apart, no clear difference is left: neither in which births there were (mix, {mix} points) "
    "nor in what became of like births (rate, {rate} points).",
    Split.TOO_FEW: "Too few to say whether mix or rate changed.",
}
CHANGES = {
    (
        Verdict.CLEAR,
        True,
    ): "Loss by {window} was higher in {second}, {b}, than in {first}, {a}: {change} points ({level} "
    "interval {low} to {high}).",
    (
        Verdict.CLEAR,
        False,
    ): "Loss by {window} was lower in {second}, {b}, than in {first}, {a}: {change} points ({level} interval "
    "{low} to {high}).",
    (
        Verdict.LEANING,
        True,
    ): "Loss by {window} looks higher in {second}, {b}, than in {first}, {a}, but chance is not ruled out: "
    "{change} points ({level} interval {low} to {high}).",
    (
        Verdict.LEANING,
        False,
    ): "Loss by {window} looks lower in {second}, {b}, than in {first}, {a}, but chance is not ruled out: "
    "{change} points ({level} interval {low} to {high}).",
    (
        Verdict.NO_CLEAR,
        True,
    ): "No clear difference in loss by {window} between {first}, {a}, and {second}, {b}: {change} points "
    "({level} interval {low} to {high}).",
    (
        Verdict.TOO_FEW,
        True,
    ): "Too few to say whether loss by {window} differs between {first}, {a}, and {second}, {b}.",
}


def change_sentence(voice: Voice, pair: Pair, window: str, *, level: float, minimum_group: int) -> Sentence:
    """The crude change between two seasons."""
    verdict = judge(
        pair.change.low,
        pair.change.high,
        pair.change.p,
        null=0.0,
        events=sum(pair.events),
        smallest_group=min(pair.n),
        minimum_group=minimum_group,
    )
    higher = pair.change.estimate > 0 or verdict in (Verdict.NO_CLEAR, Verdict.TOO_FEW)
    text = voice.say(
        CHANGES[verdict, higher],
        first=pair.first,
        second=pair.second,
        window=window,
        a=printing.counts(pair.events[0], pair.n[0]),
        b=printing.counts(pair.events[1], pair.n[1]),
        change=printing.points(pair.change.estimate),
        low=printing.points(pair.change.low),
        high=printing.points(pair.change.high),
        level=printing.percent(level, 0),
    )
    return Sentence(text, verdict, abs(pair.change.estimate) * pair.n[1])


def split_sentence(voice: Voice, pair: Pair, *, minimum_group: int) -> Sentence:
    """What the change is made of."""
    split = split_of(pair, minimum_group=minimum_group)
    parts = {
        name: voice.say(
            "{estimate}, interval {low} to {high}",
            estimate=printing.points(part.estimate),
            low=printing.points(part.low),
            high=printing.points(part.high),
        )
        for name, part in (("mix", pair.mix), ("rate", pair.rate))
    }
    clear = split not in (Split.NEITHER, Split.UNSPLIT, Split.TOO_FEW)
    verdict = {Split.TOO_FEW: Verdict.TOO_FEW}.get(split, Verdict.CLEAR if clear else Verdict.NO_CLEAR)
    deaths = max(abs(pair.mix.estimate), abs(pair.rate.estimate)) * pair.n[1] if clear else 0.0
    return Sentence(voice.say(SPLITS[split], **parts), verdict, deaths)


SAME_MIX = {
    (Verdict.CLEAR, True): "higher: {change} points ({low} to {high})",
    (Verdict.CLEAR, False): "lower: {change} points ({low} to {high})",
    (Verdict.LEANING, True): "looks higher, chance not ruled out: {change} points ({low} to {high})",
    (Verdict.LEANING, False): "looks lower, chance not ruled out: {change} points ({low} to {high})",
    (Verdict.NO_CLEAR, True): "no clear difference: {change} points ({low} to {high})",
    (Verdict.TOO_FEW, True): "too few to say",
}


def same_mix(voice: Voice, pair: Pair, *, minimum_group: int) -> str:
    """The change that is left once the mix of births is allowed for, in a few words."""
    rate, smallest = pair.rate, min(pair.n)
    verdict = judge(
        rate.low,
        rate.high,
        rate.p,
        null=0.0,
        events=sum(pair.events),
        smallest_group=smallest,
        minimum_group=minimum_group,
    )
    higher = rate.estimate > 0 or verdict in (Verdict.NO_CLEAR, Verdict.TOO_FEW)
    return voice.say(
        SAME_MIX[verdict, higher],
        change=printing.points(rate.estimate),
        low=printing.points(rate.low),
        high=printing.points(rate.high),
    )


RECORDING = {
    "recorded": "{detail} was recorded for {a} in {first} and for {b} in {second}",
    "unknown cause": "the cause was unknown for {a} of the lost in {first} and for {b} in {second}",
    "post-mortem": "the cause rests on a post-mortem for {a} of the lost in {first} and for {b} in {second}",
    "time of birth": "the time of birth was written down for {a} in {first} and for {b} in {second}",
    "watched": "{a} in {first} and {b} in {second} were watched to the end of follow-up or to their death",
    "stillborn": "{a} were written down as stillborn in {first} and {b} in {second}, so one season may not "
    "have recorded them",
    "causes": "the causes in use changed in number, over {a} lost in {first} and {b} in {second} ({detail})",
}
BEFORE = "Before comparing: {changes}. Such a change of recording can look like a change of loss."
SHORTENED = (
    "The seasons are compared up to {window}, the longest window through which nine in ten of every season "
    "were watched."
)
SAME = "Recording did not change between {first} and {second} in any column by as much as {step}."


def recording_phrase(voice: Voice, what: str, detail: str, first: str, second: str, a: str, b: str) -> str:
    """One change of recording."""
    detail = column_name(voice, detail) if what == "recorded" else detail
    return voice.say(RECORDING[what], detail=detail, first=first, second=second, a=a, b=b)


def recording_sentence(voice: Voice, phrases: list[str], first: str, second: str, step: str) -> Sentence:
    """What changed in how things were written down, said before any comparison."""
    if not phrases:
        return Sentence(voice.say(SAME, first=first, second=second, step=step))
    return Sentence(voice.say(BEFORE, changes="; ".join(phrases)))


def chart_sentence(voice: Voice, outside: list[str], seasons: int) -> Sentence:
    """Which seasons lie outside the limits of the chart."""
    if outside:
        template = "Outside the limits of what seasons here usually do: {outside}."
        return Sentence(voice.say(template, outside=", ".join(outside)), Verdict.CLEAR)
    template = "None of the {n} seasons lies outside the limits of the chart."
    return Sentence(voice.say(template, n=printing.count(seasons)), Verdict.NO_CLEAR)


def trend_sentence(voice: Voice, slope: float, p: float, seasons: int, *, level: float) -> Sentence:
    """A straight-line trend over four seasons or more."""
    values = {"n": printing.count(seasons), "slope": printing.points(slope), "p": printing.p_value(p)}
    if p < 1 - level:
        rising = "Loss rose over the {n} seasons, by {slope} points a season (test for trend, p {p})."
        falling = "Loss fell over the {n} seasons, by {slope} points a season (test for trend, p {p})."
        return Sentence(voice.say(rising if slope > 0 else falling, **values), Verdict.CLEAR)
    template = "No clear trend over the {n} seasons: {slope} points a season (test for trend, p {p})."
    return Sentence(voice.say(template, **values), Verdict.NO_CLEAR)


MOVED = {
    True: "Among {phrase}, more were lost in {second}, {b}, than in {first}, {a}: {difference} points ({low} "
    "to {high}).",
    False: "Among {phrase}, fewer were lost in {second}, {b}, than in {first}, {a}: {difference} points "
    "({low} to {high}).",
}


Three = tuple[float, float, float]


def moved_sentence(
    voice: Voice, phrase: str, first: str, second: str, a: str, b: str, found: Three, moved: float
) -> Sentence:
    """A group that clearly moved."""
    return _moved(voice, MOVED, phrase, first, second, a, b, found, moved)


CAUSES = {
    True: "More were lost to {phrase} in {second}, {b}, than in {first}, {a}: {difference} points ({low} to "
    "{high}).",
    False: "Fewer were lost to {phrase} in {second}, {b}, than in {first}, {a}: {difference} points ({low} "
    "to {high}).",
}


def cause_sentence(
    voice: Voice, cause: str, first: str, second: str, a: str, b: str, found: Three, moved: float
) -> Sentence:
    """A cause that clearly took more, or fewer."""
    return _moved(voice, CAUSES, cause, first, second, a, b, found, moved)


def _moved(
    voice: Voice,
    templates: dict[bool, str],
    phrase: str,
    first: str,
    second: str,
    a: str,
    b: str,
    found: Three,
    moved: float,
) -> Sentence:
    difference, low, high = (printing.points(one) for one in found)
    values = {"a": a, "b": b, "difference": difference, "low": low, "high": high}
    text = voice.say(templates[found[0] > 0], phrase=phrase, first=first, second=second, **values)
    return Sentence(text, Verdict.CLEAR, abs(moved))

"""Page one as it is drawn: the strip of squares and its number, when and of what, who, the first hours, the seasons.

Every number comes from the chapters' own figures for it (`Section.glance`) or from the ledger; here they are only
arranged, rounded to natural frequencies and drawn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from neonatal_stats.chapters.protocol import HOURS, MAIN, SAME_MIX, SEASON, Headline
from neonatal_stats.drawing.glyphs import Between, difference, season, share, top_of
from neonatal_stats.measures.contrasts import NULL
from neonatal_stats.measures.milestones import taken_off
from neonatal_stats.report.first_page import Answer, FirstPage, Point, first_page
from neonatal_stats.report.how_bad import Lost, Stage, how_bad, stages, when_lost
from neonatal_stats.report.in_short import higher, span
from neonatal_stats.report.review import Review
from neonatal_stats.report.shown import is_short, too_few_to_ask
from neonatal_stats.report.yardstick import Beside, beside_page_one, own_target
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.words import Verdict, Voice, joined
from neonatal_stats.words.cautions import touching_in_short
from neonatal_stats.words.plain import asks, frequency, out_of, whole

MOST_SEASONS = 8
MOST_ASKED = 3


@dataclass(frozen=True, eq=False)
class Row:
    """A line with a small picture: a question always asked, or a mark of the first hours."""

    name: str
    glyph: str
    word: str
    counts: str
    period: str = ""
    anchor: str = ""
    clear: bool = False


@dataclass(frozen=True, eq=False)
class OneSeason:
    """The loss of one season: its picture, its name, how many in 100."""

    glyph: str
    name: str
    told: str
    reviewed: bool


@dataclass(frozen=True, eq=False)
class Glance:
    """Page one; ``yardstick`` is where the loss stands among published ones, None where there are none.

    ``no_groups`` is said instead of ``who`` where nothing was lost, or where a short season decides none of it.
    ``cannot_say`` and ``record_next`` are the few lines that are shown, ``more_unsaid`` and ``more_to_record`` the
    whole of them, for the folds.
    """

    lost: Lost | None
    yardstick: Beside | None
    stages: tuple[Stage, ...]
    who: tuple[Row, ...]
    no_groups: str
    hours: tuple[Row, ...]
    seasons: tuple[OneSeason, ...]
    same_mix: str
    cannot_say: tuple[str, ...]
    more_unsaid: tuple[Point, ...]
    record_next: str
    more_to_record: tuple[Point, ...]


def at_a_glance(review: Review) -> Glance:
    """Page one of a review."""
    top, found = first_page(review), review.glance
    none = MAIN in found and not any(one.events for one in when_lost(review))
    no_groups = review.voice.say("None was lost, so no group lost more than another.") if none else ""
    no_groups = no_groups or _no_births(review) or _too_few(review, top)
    return Glance(
        lost=how_bad(review),
        yardstick=beside_page_one(review),
        stages=stages(review),
        who=() if no_groups else tuple(_asked(review.voice, answer) for answer in top.asked),
        no_groups=no_groups,
        hours=tuple(_hour(review, found[name]) for name in HOURS if name in found),
        seasons=_seasons(review),
        same_mix=_same_mix(review),
        cannot_say=_cannot_say(review, top),
        more_unsaid=top.cannot_say,
        record_next=_record_next(review),
        more_to_record=top.record_next,
    )


def _no_births(review: Review) -> str:
    """That the questions always asked need single newborns, where none is on record."""
    if not review.season.alone:
        return ""
    return review.voice.say("These need single {newborns} on record.")


def _too_few(review: Review, top: FirstPage) -> str:
    """The questions always asked in a few words, where a short season decides none of them; "" elsewhere."""
    if not is_short(review) or any(answer.verdict not in (Verdict.TOO_FEW, None) for answer in top.asked):
        return ""
    names = {answer: review.voice.say(NAMES[answer.key]) for answer in top.asked}
    few = (name for answer, name in names.items() if answer.verdict is Verdict.TOO_FEW)
    return too_few_to_ask(
        review.voice, few, (name for answer, name in names.items() if answer.verdict is None)
    )


WORDS = {
    Verdict.TOO_FEW: "Too few to say",
    Verdict.NO_CLEAR: "No clear difference",
    Verdict.LEANING: "No clear difference",
}
CLEARLY = {True: "Higher", False: "Lower"}
NAMES = {
    "surgery": "Born by surgery",
    "twins": "Twins and more",
    "first litter": "{First_timers}",
    "fed late": "Fed late",
    "mothering after surgery": "Not mothered up after surgery",
    "season": "This season",
}
"""The questions always asked, by the group that each is about."""


def _asked(voice: Voice, answer: Answer) -> Row:
    """A question always asked: what the ledger says of it, as a dot with its interval, and the counts."""
    claim, name = answer.claim, voice.say(NAMES[answer.key])
    if claim is None or answer.verdict is None:
        return Row(name, "", answer.text, "")
    if not claim.n or not claim.n_versus:
        return Row(name, "", voice.say("None to compare."), "", span(voice, claim), answer.anchor)
    clear = answer.verdict is Verdict.CLEAR
    word = voice.say(CLEARLY[higher(claim)]) if clear else voice.say(WORDS[answer.verdict])
    drawn = ""
    if answer.verdict is not Verdict.TOO_FEW and claim.measure in NULL:
        found = Between(claim.estimate, claim.low, claim.high)
        drawn = difference(found, ratio=NULL[claim.measure] == 1, clear=clear, words=answer.text)
    counts = voice.say(
        "{a} against {b}",
        a=voice.part_of(claim.events, claim.n),
        b=voice.part_of(claim.events_versus, claim.n_versus),
    )
    return Row(name, drawn, word, counts, span(voice, claim), answer.anchor, clear)


def _hour(review: Review, one: Headline) -> Row:
    """A mark of the first hours: the share that met it, beside the keeper's target or a published goal; few as counts
    alone.
    """
    voice, own = review.voice, own_target(review, one.key)
    found = Between(one.share, one.low, one.high)
    target = one.target if math.isnan(own) else own
    goal = "" if math.isnan(target) else voice.say(GOALS[math.isnan(own)], share=voice.percent(target, 0))
    words = f"{one.label}: {voice.share_of(one.events, one.n, one.low, one.high)}"
    drawn = share(found, target=target, words=words) if one.n >= SMALL_GROUP else ""
    return Row(one.label, drawn, goal, one.printed)


GOALS = {True: "goal {share}", False: "your target {share}"}


def _seasons(review: Review) -> tuple[OneSeason, ...]:
    """The last seasons, each with its loss in the window in which they are compared."""
    voice = review.voice
    found = [one for name, one in review.glance.items() if name.startswith(SEASON)][-MOST_SEASONS:]
    losses = [Between(one.share, one.low, one.high) for one in found]
    top, of = top_of(losses), out_of([])
    return tuple(
        OneSeason(
            season(loss, top=top, reviewed=one.label == review.focus, words=f"{one.label}: {one.printed}"),
            one.label,
            frequency(voice, one.share, of),
            one.label == review.focus,
        )
        for one, loss in zip(found, losses, strict=True)
    )


CHANGED = {
    True: "On the same mix of births, {second} lost {n} more than {first}: {verdict}.",
    False: "On the same mix of births, {second} lost {n} fewer than {first}: {verdict}.",
}
RANGES = {
    (True, True): "between {low} and {high} fewer",
    (True, False): "between {low} fewer and {high} more",
    (False, False): "between {low} and {high} more",
}
"""The range of a change, by whether its lower and its upper end lie below none."""


def _same_mix(review: Review) -> str:
    """The change between the two seasons compared, once the mix of births is allowed for."""
    voice, found = review.voice, review.glance.get(SAME_MIX)
    if found is None or math.isnan(found.share):
        return ""
    second = review.season.compared[-1]
    verdict = review.ledger.verdicts.get(f"years/rate/{second}", Verdict.TOO_FEW)
    of = out_of([abs(found.share)])
    return voice.say(
        CHANGED[found.share > 0],
        second=second,
        first=found.label,
        n=frequency(voice, abs(found.share), of),
        verdict=_with_range(voice, found, verdict, of),
    )


def _with_range(voice: Voice, found: Headline, verdict: Verdict, of: int) -> str:
    """The verdict on a change, and its range in words where there is one."""
    word = voice.say("a clear difference") if verdict is Verdict.CLEAR else voice.say(NOT_CLEAR[verdict])
    if math.isnan(found.low) or math.isnan(found.high):
        return word
    ends = (
        sorted((abs(found.low), abs(found.high)))
        if found.low * found.high > 0
        else [abs(found.low), abs(found.high)]
    )
    low, high = (whole(voice, end, of) for end in ends)
    told = voice.say(RANGES[found.low < 0, found.high < 0], low=low, high=high)
    return voice.say("{verdict} ({range})", verdict=word, range=told)


NOT_CLEAR = {
    Verdict.TOO_FEW: "too few to say",
    Verdict.NO_CLEAR: "no clear difference",
    Verdict.LEANING: "no clear difference",
}


def _cannot_say(review: Review, top: FirstPage) -> tuple[str, ...]:
    """The chapters that are closed, and the first thing that an open one cannot say."""
    voice = review.voice
    closed = [one.title for one in review.sections if not one.open]
    said = [voice.say("Not answered: {chapters}.", chapters=", ".join(closed))] if closed else []
    said = [*filter(None, [need_births(review)]), *said]
    missing = {text for section in review.sections for text in section.missing}
    return (*said, *[point.text for point in top.cannot_say if point.text not in missing][:1])


def need_births(review: Review) -> str:
    """That all other chapters need single newborns, where none is on record; "" elsewhere."""
    if not review.season.alone:
        return ""
    return review.voice.say("All other chapters need single {newborns} on record, and stay closed.")


def _record_next(review: Review) -> str:
    """The first columns that next season should hold, in spoken words; "" where all are written down."""
    columns = to_record(review)[:MOST_ASKED]
    if not columns and review.season.alone:
        return next(
            (one.text for part in review.sections for one in part.sentences if one.role == "record next"), ""
        )
    if not columns:
        return ""
    told = joined((asks(review.voice, column) for column in columns), "; ")
    said = review.voice.say("Write down of each {newborn}: {columns}.", columns=told)
    return joined(filter(None, (said, touched(review, columns))))


def touched(review: Review, columns: Sequence[str]) -> str:
    """What writing these down costs in handling; "" where nothing is touched, or no dam is to take her newborn."""
    by_hand = taken_off(review.season.births, review.season.settings)
    return "" if by_hand else touching_in_short(review.voice, columns)


def to_record(review: Review) -> tuple[str, ...]:
    """The columns of births to write down next season: those that open a question first."""
    planned = [section for section in review.sections if section.name == "planning"]
    rest = [section for section in review.sections if section.name != "planning"]
    said = (sentence for section in (*planned, *rest) for sentence in section.sentences)
    return tuple(dict.fromkeys(column for sentence in said for column in sentence.columns))

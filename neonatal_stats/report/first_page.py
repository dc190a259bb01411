"""What vet and keeper read first: the headline figures, what stands out, and the questions that are always asked.

Only what the ledger calls clear stands out, at most three of it, and "nothing stands out" is a normal answer: it is
given with what a season of this size could have shown. The fold at the end of the page tells how often was looked, in
which families, how much of it is clear, and how much chance alone would give.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

from neonatal_stats.chapters.protocol import Headline
from neonatal_stats.estimates.planning import ratio_seen
from neonatal_stats.measures.claims import QUESTIONS, Claim
from neonatal_stats.measures.contrasts import NULL
from neonatal_stats.measures.ledger import Entry, Unit
from neonatal_stats.measures.rates import rates
from neonatal_stats.report.in_short import higher, in_short, span
from neonatal_stats.report.review import Review, Section, anchor
from neonatal_stats.report.shown import can_show, is_short, lost_in_focus
from neonatal_stats.words import Sentence, Verdict, Voice, joined
from neonatal_stats.words.evidence import seasons_compared

HOW_MANY = 3  # findings at the top of the page
SEEN = 0.8  # how often what could have been seen is seen
NEARLY_ALL = 0.9


@dataclass(frozen=True, eq=False)
class Point:
    """A sentence at the top, and the chapter that explains it."""

    text: str
    chapter: str
    title: str


@dataclass(frozen=True, eq=False)
class Standing(Point):
    """What stands out: the chapter's sentence and what must be said beside it, the claim behind it, its period in
    words, and where the page says it.

    ``short`` is the claim in at most 20 words, ``span`` its seasons as short as can be.
    """

    beside: str
    claim: Claim
    period: str
    anchor: str
    short: str
    span: str


@dataclass(frozen=True, eq=False)
class Answer:
    """A question always asked, and what the ledger says of it; no claim where no chapter could ask it."""

    key: str
    question: str
    text: str
    verdict: Verdict | None
    claim: Claim | None
    period: str
    anchor: str


@dataclass(frozen=True, eq=False)
class FirstPage:
    """What vet and keeper read first; ``nothing`` is said where nothing stands out."""

    headlines: tuple[Headline, ...]
    stand_out: tuple[Standing, ...]
    nothing: tuple[str, ...]
    asked: tuple[Answer, ...]
    cannot_say: tuple[Point, ...]
    record_next: tuple[Point, ...]


def first_page(review: Review) -> FirstPage:
    """Everything for the top of the page."""
    standing = _standing(review)
    return FirstPage(
        review.headlines,
        standing,
        () if standing else _nothing(review),
        tuple(_answer(review, question) for question in QUESTIONS),
        tuple(_point(section, text) for section in review.sections for text in section.missing)
        + _with_role(review, "cannot say"),
        _with_role(review, "record next"),
    )


def claims_on_top(top: FirstPage, chapter: str) -> frozenset[str]:
    """The keys of a chapter's claims that page one speaks of: what stands out and what is always asked."""
    claims = chain((point.claim for point in top.stand_out), (answer.claim for answer in top.asked))
    return frozenset(claim.key for claim in claims if claim is not None and claim.chapter == chapter)


def _standing(review: Review) -> tuple[Standing, ...]:
    """The first three lines of the ledger that stand out, each in its chapter's own sentence."""
    said = {sentence.claim for section in review.sections for sentence in section.sentences if sentence.claim}
    return tuple(
        _told(review, entry.claim) for entry in review.ledger.standing_out(review.focus, said)[:HOW_MANY]
    )


def _told(review: Review, claim: Claim) -> Standing:
    """A clear claim in the sentence that says it; in the chapter's short answer where none names it."""
    section, said = _said(review, claim)
    text, beside = (said.text, said.beside) if said else (section.lead, "")
    return Standing(
        text,
        section.name,
        section.title,
        beside,
        claim,
        period(review, claim),
        anchor(claim.key),
        in_short(review.voice, claim),
        span(review.voice, claim),
    )


def _said(review: Review, claim: Claim) -> tuple[Section, Sentence | None]:
    """The chapter of a claim, and its sentence that names it."""
    section = next(one for one in review.sections if one.name == claim.chapter)
    return section, next((one for one in section.sentences if one.claim == claim.key), None)


def period(review: Review, claim: Claim) -> str:
    """The seasons that a claim speaks of: "2026", "2023 to 2026, season by season", or what it holds against what."""
    if claim.against:
        return _compared(review, claim)
    if len(claim.period) < 2:
        return "".join(claim.period)
    return review.voice.say(
        "{first} to {last}, season by season", first=claim.period[0], last=claim.period[-1]
    )


def _compared(review: Review, claim: Claim) -> str:
    """The season that a claim holds against others, and which."""
    return seasons_compared(review.voice, claim.period[-1], claim.against, review.season.seasons)


def _nothing(review: Review) -> tuple[str, ...]:
    """That nothing stands out, of how many comparisons; what could have been seen; what a short season can show."""
    voice, looked = review.voice, review.ledger.looked
    if review.season.alone:
        return (voice.say("Nothing is compared here: that needs single {newborns}, and none is on record."),)
    lost = lost_in_focus(review)
    more = (can_show(voice, lost),) if is_short(review) else ()
    if not looked and not lost:
        return more
    if not looked:
        few = "Nothing stands out: these records hold no comparison with enough {newborns} and losses to decide."
        return (voice.say(few), *more)
    said = "Nothing stands out: of {n} comparisons none is clear of chance."
    return (voice.say(said, n=voice.count(looked)), *_could_be_seen(review), *more)


def _could_be_seen(review: Review) -> tuple[str, ...]:
    """The smallest ratio that such a season shows 8 times in 10, for a group of a tenth of its newborns."""
    voice, settings = review.voice, review.season.settings
    whole = rates(review.births, (), "lost", level=settings.level)
    p = review.ledger.typical
    if math.isnan(p) or whole["n"].sum() < 2 * settings.minimum_group:
        return ()
    if not 0 < whole["events"].sum() < whole["n"].sum():
        return ()
    events, n, effect = (float(whole[name].iloc[0]) for name in ("events", "n", "design_effect"))
    group = max(settings.minimum_group, int(round(n / 10, -1)))
    ratio = ratio_seen(group, n - group, events / n, design_effect=max(1.0, effect), power=SEEN, p=p)
    if math.isnan(ratio) or ratio * events / n > NEARLY_ALL:
        none = "With {lost} lost, even a group of {n} of which nearly all were lost would often have been missed."
        return (voice.say(none, lost=voice.count(events), n=voice.count(group)),)
    could = (
        "A group of {n} lost {ratio} times as often as the rest would have been seen 8 times in 10; less than that "
        "could have been missed."
    )
    return (voice.say(could, n=voice.count(group), ratio=voice.ratio(ratio)),)


ASKED = {
    "surgery": "Born by surgery against born vaginally",
    "twins": "Twins and more against singles",
    "first litter": "{First_timers} against the rest",
    "fed late": "Fed late against fed in time",
    "mothering after surgery": "Mothering-up failed after surgery against after vaginal birth",
    "season": "This season against the others",
}
"""The questions that are always asked, as page one lists them."""

ANSWERS = {
    "higher": "Higher: {evidence}.",
    "lower": "Lower: {evidence}.",
    "allowed for": "Not clear once all that was looked at is allowed for: {evidence}.",
    "no clear": "No clear difference: {evidence}.",
    "too few": "Too few to say: {a} against {b}.",
}

MEASURED = {
    "risk ratio": "{a} against {b}, {ratio} times the risk ({level} interval {interval})",
    "odds ratio": "{a} against {b}, {ratio} times the odds ({level} interval {interval})",
    "hazard ratio": "{a} against {b}, {ratio} times the rate of loss ({level} interval {interval})",
    "risk difference": "{a} against {b}, {ratio} percentage points ({level} interval {interval})",
    "standardised difference": "{a} against {b}; on one mix of births {ratio} percentage points ({level} interval "
    "{interval})",
}


def _answer(review: Review, question: str) -> Answer:
    """What the ledger says of one question: by its clear claim, else by the one that most newborns answer."""
    voice = review.voice
    asked = voice.say(ASKED[question])
    entries = review.ledger.answers(question)
    if not entries:
        return _unasked(review, question)
    entry, *others = sorted(entries, key=_speaks)
    told = [entry, *others] if question == "season" else [entry]
    claim, text = entry.claim, joined(part for one in told for part in _says(review, one))
    when = "" if claim.against else period(review, claim)
    return Answer(question, asked, text, entry.verdict, claim, when, anchor(claim.key))


def _says(review: Review, entry: Entry) -> Iterator[str]:
    """The answer of one claim, the seasons compared named, and what the chapter says must stand beside it."""
    voice, claim = review.voice, entry.claim
    a, b = voice.counts(claim.events, claim.n), voice.counts(claim.events_versus, claim.n_versus)
    told = evidence(voice, claim, review.season.settings.level)
    if claim.against:
        seasons = _compared(review, claim)
        a, told = (voice.say("{seasons}, {evidence}", seasons=seasons, evidence=one) for one in (a, told))
    yield voice.say(ANSWERS[_kind(entry)], a=a, b=b, evidence=told)
    _, said = _said(review, claim)
    if entry.verdict is Verdict.CLEAR and said and said.beside:
        yield said.beside


def _speaks(entry: Entry) -> tuple[bool, bool, float]:
    clear = entry.verdict is Verdict.CLEAR
    return math.isnan(entry.q), not clear, entry.q if clear else -entry.claim.n - entry.claim.n_versus


RECORDED = {
    "surgery": ("born_by",),
    "twins": ("birth_type",),
    "first litter": ("parity_class",),
    "fed late": ("fed_after_h",),
    "mothering after surgery": ("mothered_up", "born_by"),
    "season": ("season",),
}
"""The columns of births that a question rests on."""


def _unasked(review: Review, question: str) -> Answer:
    """Why no chapter asked it: nothing was recorded, there is nothing to compare with, or too few of a group."""
    voice, births = review.voice, review.season.births
    asked = voice.say(ASKED[question])
    if question == "season" and len(review.season.seasons) < 2:
        return Answer(
            question, asked, voice.say("Not answered: there is no other season."), None, None, "", ""
        )
    if all(name in births and births[name].notna().any() for name in RECORDED[question]):
        return Answer(question, asked, voice.say("Too few to say."), Verdict.TOO_FEW, None, "", "")
    return Answer(question, asked, voice.say("Not answered: not recorded."), None, None, "", "")


def _kind(entry: Entry) -> str:
    """Which of `ANSWERS` it is; leaning is no word for page one, but an interval without 1 is accounted for."""
    claim, null = entry.claim, NULL.get(entry.claim.measure, math.nan)
    if entry.verdict is Verdict.TOO_FEW:
        return "too few"
    if entry.verdict is Verdict.CLEAR:
        return "higher" if higher(claim) else "lower"
    return "allowed for" if claim.low > null or claim.high < null else "no clear"


def evidence(voice: Voice, claim: Claim, level: float) -> str:
    """Counts of both sides, the measure and its interval; counts alone where there is no estimate."""
    a = voice.counts(claim.events, claim.n)
    b = voice.counts(claim.events_versus, claim.n_versus)
    if claim.measure not in MEASURED or math.isnan(claim.estimate):
        return voice.say("{a} against {b}", a=a, b=b)
    points = NULL[claim.measure] == 0
    ratio = voice.points(claim.estimate) if points else voice.ratio(claim.estimate)
    interval = (voice.points_range if points else voice.ratio_range)(claim.low, claim.high)
    return voice.say(
        MEASURED[claim.measure], a=a, b=b, ratio=ratio, interval=interval, level=voice.percent(level, 0)
    )


def _with_role(review: Review, role: str) -> tuple[Point, ...]:
    said: list[tuple[Section, Sentence]] = [(one, s) for one in review.sections for s in one.sentences]
    return tuple(_point(section, sentence.text) for section, sentence in said if sentence.role == role)


def _point(section: Section, text: str) -> Point:
    return Point(text, section.name, section.title)


ONE_BY_ONE = 0.05
"""What a comparison held by itself calls clear by chance: one in twenty."""

FAMILIES = {
    "litter size": "Litter size",
    "delivery": "Delivery",
    "dam": "The {dam}",
    "weight": "Birth weight and term",
    "sex": "Sex of the {newborn}",
    "first hours": "The first hours",
    "feeding": "Feeding of colostrum",
    "season": "Seasons",
    "farm": "Farms compared",
    "weather": "Weather at birth",
    "place": "Places and pens",
    "cause": "Causes of loss",
    "time": "Time of birth",
    "mothering": "Mothering-up",
    "outbreak": "Outbreaks",
}
"""The families of claims, as the fold lists them."""


@dataclass(frozen=True)
class Looked:
    """The fold: its sentences, and one line a question or family (name, comparisons, clear)."""

    sentences: tuple[str, ...]
    lines: tuple[tuple[str, str, str], ...]


def looked(review: Review) -> Looked:
    """How the page decided, in numbers."""
    voice, ledger = review.voice, review.ledger
    few = sum(entry.verdict is Verdict.TOO_FEW for entry in ledger.entries)
    asked, found = (sum(unit.asked is kind for unit in ledger.units) for kind in (True, False))
    chance = voice.number(ledger.by_chance, 1)
    sentences = (
        voice.say(
            "Comparisons decided together: {n}. Questions asked beforehand among them: {asked}; families of "
            "comparisons found by looking: {families}. Left undecided for want of {newborns} or losses: {few}.",
            n=voice.count(ledger.looked),
            asked=voice.count(asked),
            families=voice.count(found),
            few=voice.count(few),
        ),
        voice.say(
            "Called clear: {clear}, in {units} of the questions and families, of which chance alone is expected to "
            "give at most {chance}. Held one by one at 1 in 20, about {alone} comparisons would look clear where "
            "nothing differs.",
            clear=voice.count(ledger.clear),
            units=voice.count(sum(unit.clear > 0 for unit in ledger.units)),
            chance=chance,
            alone=voice.number(ONE_BY_ONE * ledger.looked, 0),
        ),
        voice.say(
            "Questions asked beforehand, and families of comparisons, are chosen by Benjamini and Hochberg's procedure "
            "with prior weights on Simes's p at a share of false findings of {share}; within those chosen, groups "
            "nested in one another as one line, and then single comparisons, at the share times the part chosen "
            "(Benjamini and Bogomolov 2014). Where nothing differs, at most {share} of pages call anything clear.",
            share=voice.percent(ledger.share, 0),
        ),
    )
    return Looked((*sentences, *_of_plan(review)), tuple(_line(review, unit) for unit in ledger.units))


def _of_plan(review: Review) -> tuple[str, ...]:
    """That the measures of a plan stand in no decision of the page, and how they were decided."""
    n = len({one.measure for one in review.kept if one.change is not None})
    if not n:
        return ()
    said = "The measures of the plan ({n}) are not among them: they were decided by themselves, by Holm's procedure."
    return (review.voice.say(said, n=review.voice.count(n)),)


def _line(review: Review, unit: Unit) -> tuple[str, str, str]:
    voice = review.voice
    name = voice.say(ASKED[unit.name]) if unit.asked else voice.say(FAMILIES[unit.name])
    return name, voice.count(unit.looked), voice.count(unit.clear)

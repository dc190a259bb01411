"""The keeper's sheet: one side, in spoken words, everything out of 100.

It says the one loss with its picture, up to three things that went well, up to three that management can change, what
to write down, and leaves room for what is agreed. It takes from the ledger and the marks alone: a mark of the first
hours went well where at least `WELL` met it, allowing for chance, and is one to change where fewer did.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import floor, isnan

from neonatal_stats.chapters.protocol import HOURS, MOBS, WHEN, Headline
from neonatal_stats.drawing.squares import ALIVE, Kind, hundred, key
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.on_the_calendar import EVERYWHERE
from neonatal_stats.measures.windows import END, UNDATED
from neonatal_stats.report.at_a_glance import to_record, touched
from neonatal_stats.report.how_bad import Stage, alive, main_loss, marks, when_lost
from neonatal_stats.report.in_short import higher, shares
from neonatal_stats.report.outcomes import open_in_short
from neonatal_stats.report.review import Review
from neonatal_stats.report.yardstick import own_target, range_for_keeper
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.vocabulary.factors import BY_NAME
from neonatal_stats.words import Voice, joined
from neonatal_stats.words.cautions import in_short as cautions_in_short
from neonatal_stats.words.names import factor_name, phrase, season_names
from neonatal_stats.words.plain import HUNDRED, asks, old, whole

MOST = 3
"""Things that went well, things to change, columns to write down."""
WELL = 0.80
"""Of those seen; our own line, where no goal is published."""
NOT_NAMED = ("person", "season")
"""Factors that are no matter for a sheet on the wall."""

WENT_WELL = {
    "standing": "{n} of 100 watched stood within {age}.",
    "feeding": "{n} of 100 watched had fed within {age}.",
    "enough": "{n} of 100 had enough colostrum, of those measured.",
    "absorbed": "{n} of 100 blood samples were high enough.",
    "mothered": "{n} of 100 judged were taken by their {dams}.",
}
TO_CHANGE = {
    "feeding": "Feed sooner: only {n} of 100 watched had fed within {age}.",
    "enough": "Give more colostrum: only {n} of 100 had enough, of those measured.",
    "absorbed": "Look at colostrum: only {n} of 100 blood samples were high enough.",
    "mothered": "See to bonding: only {n} of 100 judged were taken by their {dams}.",
}
"""Marks of the first hours that management can change, each with what to do about it."""


@dataclass(frozen=True, eq=False)
class Sheet:
    """The keeper's sheet: the picture with its words and marks; what went well; what to change; what to write down."""

    picture: str
    lead: str
    legend: tuple[Stage, ...]
    range: str
    open: str
    well: tuple[str, ...]
    change: tuple[str, ...]
    record: str
    cautions: tuple[str, ...]


def keeper_sheet(review: Review) -> Sheet:
    """The keeper's sheet of a review; ValueError where no loss was counted."""
    voice, main = review.voice, main_loss(review)
    if main is None:
        raise ValueError("the records count no loss, which is what the keeper's sheet is about")
    of = HUNDRED if main.n >= SMALL_GROUP else int(main.n)
    counts = _of_so_many(review, main, of)
    mark, named = marks(review), {one.key: one for one in when_lost(review)}
    kinds = [Kind(n, mark[one], named[one].label) for one, n in counts.items() if n]
    others = Kind(max(0, of - sum(kind.n for kind in kinds)), ALIVE, alive(review))
    lead = _lead(voice, main, of)
    return Sheet(
        picture=hundred([*kinds, others], lead),
        lead=lead,
        legend=tuple(Stage(key(kind.mark), kind.words, voice.count(kind.n)) for kind in kinds),
        range=_range(review, main),
        open=open_in_short(review),
        well=tuple(_went_well(review))[:MOST],
        change=tuple(_to_change(review))[: MOST - bool(open_in_short(review))],
        record=_record(review),
        cautions=cautions_in_short(voice),
    )


def _record(review: Review) -> str:
    """What to write down next season; "" where everything is."""
    voice, columns = review.voice, to_record(review)[:MOST]
    told = joined((asks(voice, column) for column in columns), "; ")
    said = voice.say("Of each {newborn}: {columns}.", columns=told) if columns else ""
    return joined(filter(None, (said, touched(review, columns))))


LEADS = {
    (True, True): "Of every {of} {newborns} born, {n} were lost by {age}.",
    (True, False): "Of every {of} {newborns} born, {n} were lost.",
    (False, True): "Of {of} {newborns} born, {n} were lost by {age}.",
    (False, False): "Of {of} {newborns} born, {n} were lost.",
}
"""By whether the season is large enough for hundreds, and whether an age is known."""
OF_MOBS = {
    MOBS["foetuses"]: "Of every {of} {newborns} scanned, {n} were not there at {age}.",
    MOBS["born"]: "Of every {of} {newborns} born, {n} were not there at {age}.",
}
"""The same of counts by the mob."""


def _lead(voice: Voice, main: Headline, of: int) -> str:
    """The one loss, in one sentence."""
    if main.key in OF_MOBS and of == HUNDRED:
        n = whole(voice, main.share)
        return voice.say(OF_MOBS[main.key], of=voice.count(of), n=n, age=main.label)
    if not main.events:
        return voice.say("No {newborn} was lost, of {n} born.", n=voice.count(main.n))
    if of < HUNDRED and main.events == 1:
        return voice.say("One {newborn} was lost, of {n} born.", n=voice.count(of))
    n = whole(voice, main.share) if of == HUNDRED else voice.count(main.events)
    return voice.say(LEADS[of == HUNDRED, bool(main.label)], of=voice.count(of), n=n, age=main.label)


def _range(review: Review, main: Headline) -> str:
    """The range of the loss, of a season that is large enough for one, beside published losses."""
    if main.n < SMALL_GROUP or isnan(main.low):
        return ""
    return range_for_keeper(review, whole(review.voice, main.low), whole(review.voice, main.high))


def _of_so_many(review: Review, main: Headline, of: int) -> dict[str, int]:
    """How many of so many were lost at each time: those by the main age add up to what the sheet says of it.

    What was lost later is the rest of the loss by the end, where ages are known.
    """
    named = {one.key: one.events for one in when_lost(review) if one.key != WHEN + UNDATED}
    early = {name: n for name, n in named.items() if name != WHEN + END or len(named) == 1}
    early = early if main.label or len(early) == len(named) else named
    total = round(main.share * of) if main.events else 0
    told = shared_out(total, early)
    if len(early) < len(named):
        whole_loss = next((one.share for one in review.headlines if one.key == "lost"), main.share)
        told[WHEN + END] = max(0, round(whole_loss * of) - total)
    return told


def shared_out(total: int, parts: Mapping[str, float]) -> dict[str, int]:
    """A whole number shared out in proportion, the largest remainders first.

    >>> shared_out(11, {"a": 25, "b": 23, "c": 19})
    {'a': 4, 'b': 4, 'c': 3}
    """
    weight = sum(parts.values())
    exact = {name: total * n / weight if weight else 0.0 for name, n in parts.items()}
    told = {name: floor(n) for name, n in exact.items()}
    left = total - sum(told.values()) if weight else 0
    for name in sorted(exact, key=lambda name: told[name] - exact[name])[:left]:
        told[name] += 1
    return told


def _went_well(review: Review) -> Iterator[str]:
    """That none was lost, or clearly fewer than in another season; then the marks that were met, most often first."""
    voice = review.voice
    main = main_loss(review)
    if main is not None and not main.events:
        yield voice.say("No {newborn} was lost.")
    for entry in review.ledger.answers("season"):
        if entry.verdict is Verdict.CLEAR and not higher(entry.claim):
            others = season_names(voice, entry.claim.against, review.season.seasons)
            texts = (
                "Fewer lost: {a} of 100, and {b} in {others}.",
                "Fewer lost than in {others}, of births alike.",
            )
            yield _against(voice, entry.claim, texts, others=others)
            break
    for one in sorted(_marks_of(review), key=lambda one: -one.share):
        if one.low >= _line(review, one):
            yield _mark(review, WENT_WELL, one)


def _to_change(review: Review) -> Iterator[str]:
    """What is clear in the ledger and management can change; then the marks that fewer met than should."""
    claims = [entry.claim for entry in review.ledger.standing_out(review.focus) if higher(entry.claim)]
    yield from (_together(review.voice, claim) for claim in claims if claim.family == "outbreak")
    late = [claim for claim in claims if claim.asked == "fed late"]
    yield from (_of_seasons(review.voice, claim, _fed_late(review, claim)) for claim in late)
    changeable = [claim for claim in claims if _changeable(claim)]
    yield from (_of_seasons(review.voice, claim, _group(review.voice, claim)) for claim in changeable)
    for one in _marks_of(review):
        if one.key in TO_CHANGE and one.high < _line(review, one) and not (late and one.key == "feeding"):
            yield _mark(review, TO_CHANGE, one)


def _marks_of(review: Review) -> Sequence[Headline]:
    """The marks of the first hours of which enough is known."""
    found = [review.glance[name] for name in HOURS if name in review.glance]
    return [one for one in found if one.n >= SMALL_GROUP and not isnan(one.low)]


def _line(review: Review, one: Headline) -> float:
    """The keeper's own target for a mark, else the published goal, else our own line."""
    own = own_target(review, one.key)
    goal = WELL if isnan(one.target) else one.target
    return goal if isnan(own) else own


def _mark(review: Review, templates: Mapping[str, str], one: Headline) -> str:
    marks_h = {
        "standing": review.season.settings.marks.standing_h,
        "feeding": review.season.settings.marks.fed_h,
    }
    age = old(review.voice, marks_h[one.key]) if one.key in marks_h else ""
    return review.voice.say(templates[one.key], n=whole(review.voice, one.share), age=age)


def _against(voice: Voice, claim: Claim, texts: tuple[str, str], **more: str) -> str:
    """Both sides of a hundred; where the plain shares point the other way than the claim, of births alike, neither."""
    (with_shares, alike), (a, b) = texts, shares(claim)
    if a == b or (a > b) is not higher(claim):
        return voice.say(alike, **more)
    return voice.say(with_shares, a=whole(voice, a), b=whole(voice, b), **more)


def _of_seasons(voice: Voice, claim: Claim, said: str) -> str:
    """What was said, and that it is of several seasons where it is."""
    return voice.say("{said} (All seasons together.)", said=said) if len(claim.period) > 1 else said


def _fed_late(review: Review, claim: Claim) -> str:
    age = old(review.voice, float(dict(claim.about)["mark_h"]))
    texts = (
        "Feed early: of 100 not fed by {age}, {a} were lost; of those fed, {b}.",
        "Feed early: of {newborns} alike, more of those not fed by {age} were lost.",
    )
    return _against(review.voice, claim, texts, age=age)


def _together(voice: Voice, claim: Claim) -> str:
    """An outbreak: since when, where, and what to do when it happens again."""
    about = dict(claim.about)
    onset, place = voice.day(date.fromisoformat(about["onset"])), about["place"]
    if place == EVERYWHERE:
        return voice.say(
            "Deaths came together from {onset} on: next time ring your vet at once.", onset=onset
        )
    text = "Deaths came together in {place} from {onset} on: next time ring your vet at once."
    return voice.say(text, place=place, onset=onset)


def _changeable(claim: Claim) -> bool:
    """Is it a single group of newborns that lost more, by a factor that management can change?"""
    about = dict(claim.about)
    factor = about.get("factor", "")
    single = (
        not about.get("with_factor") and claim.chapter in ("groups", "birth_type") and "season" not in about
    )
    return single and factor in BY_NAME and BY_NAME[factor].changeable and factor not in NOT_NAMED


def _group(voice: Voice, claim: Claim) -> str:
    about = dict(claim.about)
    texts = (
        "Look again at {what}. Of 100 {who}, {a} were lost; of the others, {b}.",
        "Look again at {what}. Of births alike, more {who} were lost than others.",
    )
    what = factor_name(voice, about["factor"])
    return _against(voice, claim, texts, what=what, who=phrase(voice, about["factor"], about["group"]))

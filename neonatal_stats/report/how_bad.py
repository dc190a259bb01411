"""How bad, when and of what: the one large number, the strip with a square a newborn, what was lost at each time."""

from __future__ import annotations

import math
from dataclasses import dataclass

from neonatal_stats.chapters.protocol import CAUSE, MAIN, MOBS, NO_CAUSE, NOT_WATCHED, WHEN, Headline
from neonatal_stats.drawing.squares import (
    ALIVE,
    MOST_SQUARES,
    UNWATCHED,
    Kind,
    Mark,
    key,
    lost_mark,
    stands_for,
    strip,
)
from neonatal_stats.measures.windows import BORN_DEAD, UNDATED
from neonatal_stats.report.review import Review
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.words import Voice
from neonatal_stats.words.plain import between, out_of, whole

FEW_UNDATED = 0.10
"""Of the losses; up to so many of unknown age are a note below the strip, and no time of loss of their own."""
NONE = ("of {n} {newborns} born was lost by {age}", "of {n} {newborns} born was lost")
FEW = ("of {n} {newborns} born were lost by {age}", "of {n} {newborns} born were lost")
MANY = ("in {n} {newborns} born were lost by {age}", "in {n} {newborns} born were lost")
"""What stands after the one number, with an age and without: where none was lost, of a small season, of any other."""
OF_MOBS = {
    MOBS["foetuses"]: (
        "of {n} {newborns} scanned was missing at {age}",
        "of {n} {newborns} scanned were not there at {age}",
        "in {n} {newborns} scanned were not there at {age}",
    ),
    MOBS["born"]: (
        "of {n} {newborns} born was missing at {age}",
        "of {n} {newborns} born were not there at {age}",
        "in {n} {newborns} born were not there at {age}",
    ),
}
"""The same of counts by the mob, whose age is a time of counting."""


@dataclass(frozen=True, eq=False)
class Stage:
    """What was lost at one time: its mark in the strip, its name, how many, of what."""

    mark: str
    name: str
    n: str
    cause: str = ""


@dataclass(frozen=True, eq=False)
class Lost:
    """How bad: the one large number, the words after it, its range and counts in words, the strip.

    ``each`` says how many one square stands for, ``notes`` are the marks that are no time of loss.
    """

    number: str
    words: str
    range: str
    counts: str
    strip: str
    each: str
    notes: tuple[Stage, ...]


def how_bad(review: Review) -> Lost | None:
    """The loss by the main age; of a small season counts alone; None where no chapter counted losses."""
    main = main_loss(review)
    if main is None:
        return None
    voice, (number, words) = review.voice, leading(review.voice, main)
    known = main.n >= SMALL_GROUP and not math.isnan(main.low)
    said = between(voice, main.low, main.high, out_of([main.share])) if known else ""
    counted = (
        "Counted: {counts} watched so long." if review.glance[NOT_WATCHED].events else "Counted: {counts}."
    )
    return Lost(
        number,
        words,
        voice.say("With chance allowed for: {range}.", range=said) if said else "",
        voice.say(counted, counts=main.printed),
        _strip(review),
        _each(review),
        _notes(review),
    )


def main_loss(review: Review) -> Headline | None:
    """The loss that page one leads with: of single newborns, else by the mob; None where neither was counted."""
    return next((review.glance[key] for key in (MAIN, *MOBS.values()) if key in review.glance), None)


def leading(voice: Voice, main: Headline) -> tuple[str, str]:
    """The one number and the words after it: "11", "in 100 lambs born were lost by 7 days"."""
    n, of = voice.count(main.n), out_of([main.share])
    none, few, many = (
        ((text, text) for text in OF_MOBS[main.key]) if main.key in OF_MOBS else (NONE, FEW, MANY)
    )
    if not main.events:
        return voice.say("None"), _by(voice, none, main, n)
    if main.n < SMALL_GROUP:
        return voice.count(main.events), _by(voice, few, main, n)
    return whole(voice, main.share, of), _by(voice, many, main, voice.count(of))


def _by(voice: Voice, templates: tuple[str, str], main: Headline, n: str) -> str:
    with_age, without = templates
    return voice.say(with_age, n=n, age=main.label) if main.label else voice.say(without, n=n)


def when_lost(review: Review) -> tuple[Headline, ...]:
    """What was lost at each time, in order."""
    return tuple(one for name, one in review.glance.items() if name.startswith(WHEN))


def marks(review: Review) -> dict[str, Mark]:
    """The mark of each time of loss, by the key of its figure: the same on page one and on the keeper's sheet."""
    return {one.key: lost_mark(place) for place, one in enumerate(when_lost(review))}


def stages(review: Review) -> tuple[Stage, ...]:
    """When, and of what; nothing where nothing was lost."""
    mark, shown = marks(review), [one for one in when_lost(review) if not _noted(review, one)]
    if not any(one.events for one in shown):
        return ()
    return tuple(Stage(key(mark[one.key]), one.label, one.printed, _of_what(review, one)) for one in shown)


def _noted(review: Review, when: Headline) -> bool:
    """Are these the few of unknown age?"""
    lost = sum(one.events for one in when_lost(review))
    return when.key == WHEN + UNDATED and when.events <= FEW_UNDATED * lost


def _of_what(review: Review, when: Headline) -> str:
    """The largest known cause with its count; that it is unknown, where it is for as many. Born dead is no cause."""
    stage = when.key.removeprefix(WHEN)
    cause, unknown = (review.glance.get(f"{kind}{stage}") for kind in (CAUSE, NO_CAUSE))
    told = [] if cause is None else [cause]
    if unknown and stage != BORN_DEAD and (cause is None or unknown.events >= cause.events):
        told.append(unknown)
    return "; ".join(f"{one.label} {one.printed}" for one in told)


def _strip(review: Review) -> str:
    """Every newborn: those lost by when, those not watched so long, the others."""
    voice, mark, gone = review.voice, marks(review), review.glance[NOT_WATCHED]
    lost = [Kind(int(one.events), mark[one.key], _pointed(one)) for one in when_lost(review)]
    rest = int(gone.n - gone.events) - sum(kind.n for kind in lost)
    kinds = [*lost, Kind(int(gone.events), UNWATCHED, _pointed(gone))]
    told = "; ".join(kind.words for kind in kinds if kind.n) or voice.say("none lost")
    scanned = MOBS["foetuses"] in review.glance
    text = "{newborns} scanned: {n}. {told}." if scanned else "{newborns} born: {n}. {told}."
    alt = voice.say(text, n=voice.count(gone.n), told=told)
    return strip([*kinds, Kind(max(0, rest), ALIVE, alive(review))], alt)


def alive(review: Review) -> str:
    """What the others are called: not lost, by the age up to which losses were counted where later ones are known."""
    main = main_loss(review)
    if main is None or main.key != MAIN or not main.label or review.season.births.empty:
        return review.voice.say("not lost")
    lost = int(review.births["lost"].sum())
    later = lost > sum(one.events for one in when_lost(review))
    return review.voice.say("not lost by {age}", age=main.label) if later else review.voice.say("not lost")


def _pointed(one: Headline) -> str:
    return f"{one.label}: {one.printed}"


def _each(review: Review) -> str:
    """How many newborns one square stands for."""
    voice, born = review.voice, int(review.glance[NOT_WATCHED].n)
    if born <= MOST_SQUARES:
        return voice.say("One square: one {newborn}.")
    return voice.say("One square: about {n} {newborns}.", n=voice.count(stands_for(born)))


def _notes(review: Review) -> tuple[Stage, ...]:
    """The marks of the strip that are no time of loss: not watched so long, lost at an age that is not known."""
    mark = marks(review)
    noted = [(UNWATCHED, review.glance[NOT_WATCHED])]
    noted += [(mark[one.key], one) for one in when_lost(review) if _noted(review, one)]
    return tuple(Stage(key(drawn), one.label, one.printed) for drawn, one in noted if one.events)

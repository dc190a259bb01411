"""What to do: the last plan and how it went, in a line an action, and the new plan's table, to fill in and to sign."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

from neonatal_stats.chapters.protocol import Kept
from neonatal_stats.estimates.verdict import Outcome
from neonatal_stats.report.review import Review
from neonatal_stats.season.actions import Action
from neonatal_stats.words import Voice
from neonatal_stats.words.names import DONE, ON_PAGE_ONE, OUTCOMES, measure_of, measure_words
from neonatal_stats.words.plain import out_of, whole

MOST = 3
"""Lines of either plan on page one and on the keeper's sheet; the chapter and the workbook hold them all."""
BLANK = 3
"""Lines left to write on where nothing is agreed yet; one fewer beside the last plan."""
LETTERS, AT_HAND = 56, 42
"""Letters of an action on page one, and on the keeper's sheet."""
CHAPTER = "agreed"


@dataclass(frozen=True)
class Went:
    """One action of the last plan: what, whether it was done, what it should move, what became of that."""

    action: str
    done: str
    moved: str
    word: str
    clear: bool


@dataclass(frozen=True)
class ToDo:
    """One line of the new plan; all blank where it is left to write on."""

    action: str = ""
    who: str = ""
    by_when: str = ""
    moves: str = ""


@dataclass(frozen=True)
class WhatToDo:
    """Both plans; ``more`` says how many lines there was no room for; ``shown`` is False where there is no line of
    either, and only paper has a table to write on.
    """

    went: tuple[Went, ...]
    to_do: tuple[ToDo, ...]
    more: str
    shown: bool
    anchor: str


def what_to_do(review: Review) -> WhatToDo:
    """Both plans for page one."""
    voice, new = review.voice, to_come(review)
    left = max(0, len(review.kept) - MOST) + max(0, len(new) - MOST)
    lines = [_to_do(review, action, LETTERS) for action in new[:MOST]]
    return WhatToDo(
        tuple(_went(voice, one, LETTERS) for one in review.kept[:MOST]),
        (*lines, *_left_blank(review, len(lines))),
        voice.say("{n} more in the chapter What we agreed.", n=voice.count(left)) if left else "",
        bool(lines or review.kept),
        f"#{CHAPTER}" if review.kept else "",
    )


def _left_blank(review: Review, lines: int) -> list[ToDo]:
    return [] if lines else [ToDo()] * (BLANK - bool(review.kept))


def to_come(review: Review) -> tuple[Action, ...]:
    """The actions for the seasons to come."""
    return next((section.to_do for section in review.sections if section.name == CHAPTER), ())


def _went(voice: Voice, one: Kept, letters: int) -> Went:
    """An action in one line: "Fed by 2 h: 75, then 72 in 100"."""
    moved = one.label
    if one.before is not None and one.after is not None:
        of = out_of((min(one.before.share, one.after.share),))
        moved = voice.say(
            "{measure}: {before}, then {after} in {of}",
            measure=one.label,
            before=whole(voice, one.before.share, of),
            after=whole(voice, one.after.share, of),
            of=voice.count(of),
        )
    clear = one.outcome in (Outcome.REACHED, Outcome.MOVED, Outcome.WORSE)
    return Went(
        shortened(one.action, letters),
        voice.say(DONE[one.done]),
        moved,
        voice.say(ON_PAGE_ONE[one.outcome]),
        clear,
    )


def _to_do(review: Review, action: Action, letters: int) -> ToDo:
    """A line of the new plan: what it should move, from where and to where."""
    voice, settings = review.voice, review.season.settings
    measure = measure_of(settings, action.measure)
    moves = measure_words(voice, measure, settings) if measure else ""
    if measure and action.target and action.stood:
        start, goal = (voice.percent(share.value, 0) for share in (action.stood, action.target))
        moves = voice.say("{measure}: {start} → {goal}", measure=moves, start=start, goal=goal)
    elif measure and action.target:
        moves = voice.say("{measure}: → {goal}", measure=moves, goal=voice.percent(action.target.value, 0))
    return ToDo(shortened(action.action, letters), action.who, action.by_when, moves)


def shortened(text: str, letters: int) -> str:
    """A farm's text in one line; of a long one the first words, and that there are more."""
    return textwrap.shorten(text, letters, placeholder=" …")


@dataclass(frozen=True)
class AtHand:
    """The keeper's part: how the last plan went, in a line each, and the lines of the new one."""

    went: tuple[str, ...]
    to_do: tuple[ToDo, ...]


def at_hand(review: Review) -> AtHand:
    """Both plans for the keeper's sheet."""
    voice, new = review.voice, to_come(review)[:MOST]
    went = tuple(
        voice.say(
            "{action}: {outcome}",
            action=shortened(one.action, AT_HAND),
            outcome=voice.say(OUTCOMES[one.outcome]),
        )
        for one in review.kept[:MOST]
    )
    lines = [_to_do(review, action, AT_HAND) for action in new]
    return AtHand(went, (*lines, *_left_blank(review, len(lines))))

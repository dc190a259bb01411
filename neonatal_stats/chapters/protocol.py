"""What every chapter is: a question, an answer, and the same few functions.

A chapter is two pages. `chapters.counted.<name>` counts: season in, frozen result out, no word of it said.
`chapters.<name>` tells: result in, sentences, figures and tables out. Adding a chapter is these two files, its
test and one line in `chapters.READING_ORDER`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol, TypeAlias

from neonatal_stats.drawing import Figure
from neonatal_stats.estimates.verdict import Outcome, Verdict
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.rates import Counted
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table
from neonatal_stats.words import Method, Sentence, Voice
from neonatal_stats.words.voice import Spoken

Verdicts: TypeAlias = Mapping[str, Verdict]
"""The verdict of each claim by its key."""


@dataclass(frozen=True)
class Headline:
    """One figure for the top of the page and for other programs.

    ``label`` and ``printed`` are what a person reads; events, n, share, low, high are the same numbers raw (NaN
    where a number has no denominator). ``target`` is the share that it is meant to reach, where one is published.
    """

    key: str
    label: str
    printed: str
    events: float
    n: float
    share: float
    low: float
    high: float
    target: float = math.nan


@dataclass(frozen=True, eq=False)
class Kept:
    """One action of a plan and what became of its measure, for page one, the keeper's sheet and other programs.

    ``done`` and ``measure`` are the plan's own words, "" where nothing was written; ``label`` says the measure to a
    person; ``season`` is the action's, ``against`` the one before, "" where the plan gave its counts. ``before``,
    ``after`` and ``change`` (estimate, low, high, p and Holm's p) are None where there was nothing to follow up; shares
    are on one mix of births.
    """

    season: str
    against: str
    action: str
    done: str
    measure: str
    label: str
    target: float
    outcome: Outcome
    text: str
    before: Headline | None = None
    after: Headline | None = None
    change: tuple[float, float, float, float, float] | None = None


MAIN, NOT_WATCHED, SAME_MIX = "main", "not watched", "same mix"
MOBS = {"foetuses": "of scanned", "born": "of born"}
"""The same for counts by the mob, by what the loss is of; page one leads with it where there are no births."""
WHEN, CAUSE, NO_CAUSE, SEASON = "when/", "cause/", "unknown/", "season/"
HOURS = ("standing", "feeding", "enough", "absorbed", "mothered")
"""The keys of what `glance` gives: the loss that page one leads with, those not watched so long, the change on the same
mix of births; before the name of a time of loss what was lost then, its largest known cause, and how many have none;
before its name a season's loss; and the marks of the first hours, in the order in which they are spoken of."""


class Result(Spoken, Protocol):
    """What a chapter's `answer` returns: a frozen dataclass with at least these, and the chapter's own frames."""

    @property
    def counted(self) -> Counted: ...


class Chapter(Protocol):
    """A chapter module: its name and the functions the report calls, in this order."""

    NAME: str
    TITLE: str
    QUESTION: str
    """English templates for `Voice.say`. A chapter that reads all seasons, not only the one under review, also
    sets ALL_SEASONS = True; one that has figures for the top of the page also has
    `headlines(result) -> tuple[Headline, ...]`, for other programs as well; `glance(result) -> tuple[Headline, ...]`
    holds what page one and the keeper's sheet draw besides; `beside(result)` its shares beside published ones, two
    frames as `measures.beside_published`; `question(result) -> str` the question in words where the records narrow it.
    Every number of them stands in a table of the chapter. One that something
    else than the records opens has `opened(season) -> bool`, and is not asked without it; the plan's has
    `kept(result) -> tuple[Kept, ...]` too.

    One that can be asked of records without births names in `ALONE` the tables any of which opens it then.

    A chapter that compares is a `Claiming` one."""

    def missing(self, season: Season) -> tuple[str, ...]:
        """Sentences that say which columns (or how many records) would open the chapter; empty when open."""
        ...

    def answer(self, season: Season) -> Any:
        """The frozen result; raises `NotRecorded` where something is missing."""
        ...

    def sentences(self, result: Any) -> tuple[Sentence, ...]: ...

    def figures(self, result: Any) -> tuple[Figure, ...]: ...

    def tables(self, result: Any) -> tuple[Table, ...]: ...

    def method(self, result: Any) -> Method: ...


class Claiming(Protocol):
    """What a chapter that compares has besides: claims of its own, and verdicts that the page hands back.

    The report asks every chapter, gathers the claims, decides once (`measures.ledger.decide`) and gives the verdicts,
    by the claims' keys, to each of these functions that takes them: whatever shows a verdict does. Figures that take
    none are drawn while other chapters are still being asked. Without verdicts (a notebook) the chapter decides within
    itself: a function starts with `verdicts = settled(claims(result), result.settings, verdicts)`, and `method` adds
    `decided_within(voice, verdicts)`. A sentence that asserts a claim names it (`Sentence.claim`); every clear claim
    has one, of which page one makes its choice.
    """

    def claims(self, result: Any) -> tuple[Claim, ...]: ...

    def sentences(self, result: Any, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]: ...

    def figures(self, result: Any, verdicts: Verdicts | None = None) -> tuple[Figure, ...]: ...

    def tables(self, result: Any, verdicts: Verdicts | None = None) -> tuple[Table, ...]: ...

    def method(self, result: Any, verdicts: Verdicts | None = None) -> Method: ...


@dataclass(frozen=True, eq=False)
class Part:
    """One question of the page: its name, title and question, what is said, drawn and tabled."""

    name: str
    title: str
    question: str
    sentences: tuple[Sentence, ...]
    figures: tuple[Figure, ...]
    tables: tuple[Table, ...]


def decided_within(voice: Voice, verdicts: Verdicts | None) -> str:
    """For the method fold: over what the verdicts were decided, the whole page or this chapter asked alone."""
    if verdicts is None:
        return voice.say(
            "Verdicts were decided within this chapter alone, since it was asked alone; a review decides over the "
            "comparisons of all its chapters together, and fewer are then clear."
        )
    return voice.say(
        "Verdicts were decided over the comparisons of all chapters together; the end of the page says how."
    )


class NotRecorded(ValueError):
    """The records lack what a chapter needs; ``said`` is what its page says: what would open it."""

    def __init__(self, *said: str) -> None:
        super().__init__(" ".join(said))
        self.said = said


def heed(missing: tuple[str, ...]) -> None:
    """Raise `NotRecorded` where something is missing, so that a notebook is told no more than the page would say."""
    if missing:
        raise NotRecorded(*missing)


def interval_heading(voice: Voice, level: float) -> str:
    """The heading of an interval, from the level that was set: "95 % interval"."""
    return voice.say("{level} interval", level=voice.percent(level, 0))

"""The review: every chapter asked in reading order, all their claims decided on together, then put into words."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from importlib.metadata import PackageNotFoundError
from importlib.metadata import version as installed
from inspect import signature
from typing import Any
from zlib import crc32

import numpy as np
import pandas as pd

from neonatal_stats.chapters import in_reading_order
from neonatal_stats.chapters.protocol import Chapter, Headline, Kept, NotRecorded, Verdicts
from neonatal_stats.drawing import Figure
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.ledger import Ledger, decide
from neonatal_stats.measures.rates import Counted
from neonatal_stats.report.folder import FIGURES, PAGE, PARTS, TABLES, WORKBOOK
from neonatal_stats.season.actions import Action
from neonatal_stats.season.model import Season, in_focus
from neonatal_stats.tables import Table
from neonatal_stats.words import Method, Sentence, Voice, voice_of
from neonatal_stats.words.evidence import dated

NOTHING_ASKED = Ledger((), (), 0.0)
DATED = ("answer", "cannot say")
"""The roles of sentences that give a result."""


@dataclass(frozen=True, eq=False)
class Section:
    """One chapter as it will be printed; a closed one holds only the sentences that say what would open it."""

    name: str
    title: str
    question: str
    missing: tuple[str, ...]
    sentences: tuple[Sentence, ...] = ()
    figures: tuple[Figure, ...] = ()
    tables: tuple[Table, ...] = ()
    counted: Counted | None = None
    method: Method | None = None
    headlines: tuple[Headline, ...] = ()
    glance: tuple[Headline, ...] = ()
    beside: tuple[pd.DataFrame, pd.DataFrame] | None = None
    kept: tuple[Kept, ...] = ()
    curves: tuple[Table, ...] = ()
    to_do: tuple[Action, ...] = ()

    @property
    def open(self) -> bool:
        """True where the records could answer the question."""
        return not self.missing

    @property
    def lead(self) -> str:
        """The answer in short, or what would open the chapter."""
        answers = [sentence for sentence in self.sentences if sentence.role == "answer"]
        marked = [sentence for sentence in answers if sentence.lead] or answers[:1]
        return " ".join(sentence.text for sentence in marked) or " ".join(self.missing)


@dataclass(frozen=True, eq=False)
class Review:
    """All sections, the records they rest on, the season in focus, the date that is printed, and what was decided."""

    season: Season
    focus: str
    sections: tuple[Section, ...]
    voice: Voice
    made_on: date
    ledger: Ledger = NOTHING_ASKED

    @cached_property
    def births(self) -> pd.DataFrame:
        """The births of the season in focus."""
        births = self.season.births
        return births[births["season"].astype(str) == self.focus]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every figure, in reading order."""
        return tuple(figure for section in self.sections for figure in section.figures)

    @property
    def tables(self) -> tuple[Table, ...]:
        """Every table, in reading order."""
        return tuple(table for section in self.sections for table in section.tables)

    @property
    def curves(self) -> tuple[Table, ...]:
        """The lines of figures over age, step by step, in reading order; they stand in files of their own alone."""
        return tuple(table for section in self.sections for table in section.curves)

    @property
    def headlines(self) -> tuple[Headline, ...]:
        """The figures for the top of the page."""
        return tuple(headline for section in self.sections for headline in section.headlines)

    @property
    def kept(self) -> tuple[Kept, ...]:
        """The actions of the plan for the season in focus that were followed up; none where no plan was given."""
        return tuple(one for section in self.sections for one in section.kept if one.season == self.focus)

    @property
    def glance(self) -> Mapping[str, Headline]:
        """What the chapters give page one to draw, by its key, in reading order."""
        return {one.key: one for section in self.sections for one in section.glance}

    @property
    def beside(self) -> tuple[tuple[pd.DataFrame, pd.DataFrame], ...]:
        """The shares beside published ones, and the figures read, of each chapter that has any; in reading order."""
        found = (section.beside for section in self.sections if section.beside is not None)
        return tuple(both for both in found if len(both[0]))


@dataclass(frozen=True, eq=False)
class _Asked:
    """A chapter that was asked: its result, or what is missing; and the figures that wait for no verdict."""

    chapter: Chapter
    missing: tuple[str, ...]
    result: Any
    claims: tuple[Claim, ...]
    figures: tuple[Figure, ...]


def build(
    season: Season,
    *,
    focus: str | None = None,
    made_on: date | None = None,
    progress: Callable[[str], None] = lambda title: None,
    drawn_by: Callable[[tuple[Figure, ...]], None] = lambda figures: None,
    parts: Collection[str] = PARTS,
) -> Review:
    """Ask every chapter about the season, decide over all their claims at once, and let each say what was decided.

    Parameters
    ----------
    season : the records, of one season or several.
    focus : the season under review, by default the latest that holds enough births; the chapters that
        compare seasons or look for groups read all of them, the others only this one.
    made_on : the date to print, by default today.
    progress : told the title of each chapter before it is asked.
    drawn_by : given the figures of each chapter as soon as they can be drawn, to draw them early.
    parts : what will be written, of `folder.PARTS`; figures and tables that none of them shows are not made.

    Raises
    ------
    ValueError : where `focus` is not one of the seasons.
    """
    focus = focus or season.under_review
    this_season = in_focus(season, focus)
    voice = voice_of(season)
    draws = bool({PAGE, FIGURES} & set(parts))
    asked = []
    for chapter in in_reading_order(season.settings, season.alone):
        if not getattr(chapter, "opened", lambda _: True)(season):
            continue
        progress(voice.say(chapter.TITLE))
        span = season if getattr(chapter, "ALL_SEASONS", False) else this_season
        with np.errstate(all="ignore"):
            asked.append(_ask(chapter, span, draws))
        drawn_by(asked[-1].figures)
    ledger = decide((claim for one in asked for claim in one.claims), season.settings)
    sections = []
    for one in asked:
        with np.errstate(all="ignore"):
            told = _told(one, voice, ledger.verdicts, parts)
        sections.append(_dated(told, one, voice, focus, season.seasons))
        if not one.figures:
            drawn_by(told.figures)
    return Review(season, focus, tuple(sections), voice, made_on or date.today(), ledger)


def _ask(chapter: Chapter, season: Season, draws: bool) -> _Asked:
    try:
        result: Any = chapter.answer(season)
    except NotRecorded as lacking:
        return _Asked(chapter, lacking.said, None, (), ())
    claims = getattr(chapter, "claims", lambda _: ())(result)
    figures = chapter.figures(result) if draws and not _takes_verdicts(chapter.figures) else ()
    return _Asked(chapter, (), result, claims, figures)


def _told(asked: _Asked, voice: Voice, verdicts: Verdicts, parts: Collection[str]) -> Section:
    """The chapter in words, figures and tables, with the page's verdicts given to whatever shows one."""
    chapter, result = asked.chapter, asked.result
    title = voice.say(chapter.TITLE)
    if asked.missing:
        return Section(chapter.NAME, title, voice.say(chapter.QUESTION), asked.missing)
    question = getattr(chapter, "question", lambda _: voice.say(chapter.QUESTION))(result)

    def given(function: Callable[..., Any]) -> Any:
        return function(result, verdicts) if _takes_verdicts(function) else function(result)

    draws = {PAGE, FIGURES} & set(parts) and not asked.figures
    headlines, glance, kept = (
        getattr(chapter, name, lambda _: ()) for name in ("headlines", "glance", "kept")
    )
    beside = getattr(chapter, "beside", lambda _: None)
    curves = getattr(chapter, "curves", lambda _: ())
    return Section(
        chapter.NAME,
        title,
        question,
        (),
        given(chapter.sentences),
        given(chapter.figures) if draws else asked.figures,
        given(chapter.tables) if {PAGE, WORKBOOK, TABLES} & set(parts) else (),
        result.counted,
        given(chapter.method),
        headlines(result),
        glance(result),
        beside(result),
        kept(result),
        curves(result) if TABLES in parts else (),
        getattr(result, "to_do", ()),
    )


def _dated(section: Section, asked: _Asked, voice: Voice, focus: str, seasons: tuple[str, ...]) -> Section:
    """The section with its period before every sentence that gives a result and does not name its seasons itself.

    A claim speaks of its own period; what else a chapter says speaks of the season in focus, unless it reads all of
    them: such a chapter says for itself what each sentence is about.
    """
    usual = () if getattr(asked.chapter, "ALL_SEASONS", False) else (focus,)
    periods = {claim.key: (claim.period, claim.against) for claim in asked.claims}

    def said(one: Sentence) -> Sentence:
        period, against = periods.get(one.claim, (usual, ()))
        return dated(voice, one, period, seasons, against) if one.role in DATED else one

    return replace(section, sentences=tuple(map(said, section.sentences)))


def _takes_verdicts(function: Callable[..., Any]) -> bool:
    return "verdicts" in signature(function).parameters


def anchor(key: str) -> str:
    """Where the page says a claim: its key as an id; what an id cannot hold is told apart by a number.

    >>> anchor("birth_type/born_by/born by surgery")
    'birth-type-born-by-born-by-surgery'
    """
    plain = re.sub("[^a-z0-9]+", "-", key.lower()).strip("-")
    lost = re.search("[^a-z0-9 _/-]", key)
    return f"{plain}-{crc32(key.encode()):x}" if lost else plain


def version() -> str:
    """The installed version; "unknown" when run from a folder that was never installed."""
    try:
        return installed("neonatal_stats")
    except PackageNotFoundError:
        return "unknown"

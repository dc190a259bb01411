"""The review: every chapter asked in reading order, its answer kept as sentences, figures and tables."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from neonatal_stats.chapters.order import chapters
from neonatal_stats.chapters.protocol import Chapter, Headline, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.measures.counted import Counted
from neonatal_stats.season.model import Season, in_focus
from neonatal_stats.tables import Table
from neonatal_stats.words import Method, Sentence, Voice


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
    """All sections, the records they rest on, the season in focus and the date that is printed."""

    season: Season
    focus: str
    sections: tuple[Section, ...]
    voice: Voice
    made_on: date

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every figure, in reading order."""
        return tuple(figure for section in self.sections for figure in section.figures)

    @property
    def tables(self) -> tuple[Table, ...]:
        """Every table, in reading order."""
        return tuple(table for section in self.sections for table in section.tables)

    @property
    def headlines(self) -> tuple[Headline, ...]:
        """The figures for the top of the page."""
        return tuple(headline for section in self.sections for headline in section.headlines)


def build(
    season: Season,
    *,
    focus: str | None = None,
    made_on: date | None = None,
    progress: Callable[[str], None] = lambda title: None,
    drawn_by: Callable[[tuple[Figure, ...]], None] = lambda figures: None,
) -> Review:
    """Ask every chapter about the season.

    Parameters
    ----------
    season : the records, of one season or several.
    focus : the season under review, by default the latest that holds enough births; the chapters that
        compare seasons or look for groups read all of them, the others only this one.
    made_on : the date to print, by default today.
    progress : told the title of each chapter before it is asked.
    drawn_by : given the figures of each chapter once it has answered, to draw them early.

    Raises
    ------
    ValueError : where `focus` is not one of the seasons.
    """
    focus = focus or season.under_review
    this_season = in_focus(season, focus)
    voice = voice_of(season)
    sections = []
    for chapter in chapters():
        progress(voice.say(chapter.TITLE))
        span = season if getattr(chapter, "ALL_SEASONS", False) else this_season
        with np.errstate(all="ignore"), voice.numbers():
            sections.append(_ask(chapter, span, voice))
        drawn_by(sections[-1].figures)
    return Review(season, focus, tuple(sections), voice, made_on or date.today())


def _ask(chapter: Chapter, season: Season, voice: Voice) -> Section:
    title, question = voice.say(chapter.TITLE), voice.say(chapter.QUESTION)
    missing = chapter.missing(season)
    if missing:
        return Section(chapter.NAME, title, question, missing)
    result: Any = chapter.answer(season)
    headlines = getattr(chapter, "headlines", lambda _: ())
    return Section(
        chapter.NAME,
        title,
        question,
        (),
        chapter.sentences(result),
        chapter.figures(result),
        chapter.tables(result),
        result.counted,
        chapter.method(result),
        headlines(result),
    )

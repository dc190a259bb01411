"""One chapter asked alone, for notebooks: its parts by name, and where there is nothing to show, what is lacking."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from html import escape
from typing import Any

from neonatal_stats.chapters import READING_ORDER, in_reading_order
from neonatal_stats.chapters.protocol import Chapter, NotRecorded
from neonatal_stats.drawing import Figure
from neonatal_stats.report.in_python import ByName
from neonatal_stats.season.model import Season, in_focus
from neonatal_stats.season.toml_file import nearest, quoted
from neonatal_stats.tables import Table
from neonatal_stats.words import Sentence, voice_of


@dataclass(frozen=True)
class NotThere:
    """What stands where a table or figure would, were the records to hold what it needs: ``text`` says so."""

    text: str

    def __repr__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        return f"<p>{escape(self.text)}</p>"


@dataclass(frozen=True, eq=False, repr=False)
class Answer:
    """One chapter's answer: it shows its sentences, or what the records lack.

    ``missing`` is what would open a closed chapter, empty where it is open; ``result`` what the chapter's `answer`
    gave, None where it is closed. ``figures`` and ``tables`` are its parts by name; `figure` and `table` give one of
    them, or a note that says why it is not there, so that a notebook goes on. Verdicts are decided within the chapter.
    """

    name: str
    title: str
    season: Season
    missing: tuple[str, ...]
    result: Any
    chapter: Chapter

    @cached_property
    def sentences(self) -> tuple[Sentence, ...]:
        """What the chapter says, each with its verdict; none where it is closed."""
        return () if self.missing else self.chapter.sentences(self.result)

    @cached_property
    def figures(self) -> ByName[Figure]:
        """Its figures, by place or by name."""
        return ByName(() if self.missing else self.chapter.figures(self.result))

    @cached_property
    def tables(self) -> ByName[Table]:
        """Its tables, by place or by name."""
        return ByName(() if self.missing else self.chapter.tables(self.result))

    @cached_property
    def limits(self) -> tuple[str, ...]:
        """What its answers cannot say."""
        return () if self.missing else self.chapter.method(self.result).limits

    def figure(self, name: str) -> Figure | NotThere:
        """The figure of that name, or a note where these records give none."""
        return self.figures[name] if name in self.figures.names else self._not_there(name, self.figures.names)

    def table(self, name: str) -> Table | NotThere:
        """The table of that name, or a note where these records give none."""
        return self.tables[name] if name in self.tables.names else self._not_there(name, self.tables.names)

    def _not_there(self, name: str, names: tuple[str, ...]) -> NotThere:
        if self.missing:
            return NotThere(" ".join(self.missing))
        say = voice_of(self.season).say
        text = "These records give no {name}; the chapter has here: {names}."
        return NotThere(say(text, name=name, names=", ".join(names) or say("nothing")))

    @property
    def _lines(self) -> tuple[str, ...]:
        return self.missing or tuple(one.text for one in self.sentences)

    def __repr__(self) -> str:
        return "\n".join(f"- {line}" for line in self._lines)

    def _repr_html_(self) -> str:
        items = "".join(f"<li>{escape(line)}</li>" for line in self._lines)
        return f"<h4>{escape(self.title)}</h4><ul>{items}</ul>"


def ask(season: Season, chapter: str, focus: str | int | None = None) -> Answer:
    """Ask one chapter of the review alone, as the review asks it.

    Parameters
    ----------
    season : the records. A chapter that compares seasons reads all of them, the others the season under review.
    chapter : the chapter's name, such as "losses"; `neonatal_stats.chapters` lists them.
    focus : the season under review, by default the latest that holds enough births.

    Raises
    ------
    ValueError : for a name that is no chapter, and a season that the records do not hold.

    Examples
    --------
    >>> from neonatal_stats import read_season
    >>> losses = read_season("data/demo/suckler_cows.csv").ask("losses")
    >>> losses.tables.names[0]
    'losses-windows'
    """
    if chapter not in READING_ORDER:
        raise ValueError(f"ask: {quoted(chapter)} is no chapter{nearest(str(chapter), READING_ORDER)}")
    (asked,) = (one for one in in_reading_order() if chapter == one.NAME)
    focus = season.under_review if focus is None else str(focus)
    read = season if getattr(asked, "ALL_SEASONS", False) else in_focus(season, focus)
    title = voice_of(season).say(asked.TITLE)
    try:
        return Answer(chapter, title, read, (), asked.answer(read), asked)
    except NotRecorded as closed:
        return Answer(chapter, title, read, closed.said, None, asked)

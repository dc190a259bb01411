"""A review, or one chapter of it asked alone, for those who work in Python.

A review shows itself in a notebook and hands out its parts by name; so does a chapter's answer, which says what is
lacking where there is nothing to show.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, fields
from datetime import date
from functools import cached_property
from html import escape
from os import PathLike
from pathlib import Path
from typing import Any, Protocol, SupportsIndex, TypeVar, overload

from neonatal_stats.chapters import READING_ORDER, in_reading_order
from neonatal_stats.chapters.protocol import Chapter, NotRecorded
from neonatal_stats.drawing import Figure
from neonatal_stats.report.folder import PARTS
from neonatal_stats.report.page import page_one_html, title
from neonatal_stats.report.review import Review as Built
from neonatal_stats.report.review import build
from neonatal_stats.report.write import headline, write_review
from neonatal_stats.season.model import Season, in_focus
from neonatal_stats.season.toml_file import nearest, quoted
from neonatal_stats.tables import Table
from neonatal_stats.words import Sentence, voice_of

FRAME = '<iframe sandbox title="{title}" style="width:100%;height:56rem;border:0" srcdoc="{page}"></iframe>'
"""Page one in a frame of its own, so that its style and the notebook's leave each other alone; nothing runs in it."""


class Named(Protocol):
    """What has a name: a table, a figure."""

    @property
    def name(self) -> str: ...


One = TypeVar("One", bound=Named)


class ByName(tuple[One, ...]):
    """The parts of a review in reading order, taken by place or by name: ``review.tables["losses-windows"]``."""

    __slots__ = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The names, in reading order."""
        return tuple(one.name for one in self)

    @overload
    def __getitem__(self, key: SupportsIndex | str) -> One: ...
    @overload
    def __getitem__(self, key: slice) -> tuple[One, ...]: ...
    def __getitem__(self, key: SupportsIndex | str | slice) -> One | tuple[One, ...]:
        """The part of that name or at that place; `KeyError` with the nearest name where there is none."""
        if not isinstance(key, str):
            return super().__getitem__(key)
        found = next((one for one in self if one.name == key), None)
        if found is None:
            raise KeyError(f"{key!r} is not among them{nearest(key, self.names)}")
        return found

    def __contains__(self, key: object) -> bool:
        return key in self.names if isinstance(key, str) else super().__contains__(key)

    def __repr__(self) -> str:
        return "\n".join(map(repr, self)) or "none"

    def _ipython_key_completions_(self) -> tuple[str, ...]:
        return self.names


class Review(Built):
    """A review at hand: the page, its numbers, tables and figures.

    ``headline`` holds the numbers that other programs read (`headline.json`), ``tables`` and ``figures`` the parts of
    the page by name, ``curves`` the lines of its figures over age. A table shows itself in a notebook; ``table.raw()``
    is its DataFrame of plain numbers (shares 0 to 1), ``table.codebook()`` says what each column holds. A figure shows
    itself; ``figure.svg()`` and ``figure.png()`` give it away, ``figure.save(path)`` writes it, ``figure.draw(ax)``
    puts it on Axes of your own. The review itself shows page one.
    """

    @property
    def tables(self) -> ByName[Table]:
        """Every table, in reading order, by place or by name."""
        return ByName(super().tables)

    @property
    def curves(self) -> ByName[Table]:
        """The lines of figures over age, step by step, by place or by name: what one needs to draw them anew."""
        return ByName(super().curves)

    @property
    def figures(self) -> ByName[Figure]:
        """Every figure, in reading order, by place or by name."""
        return ByName(super().figures)

    @cached_property
    def headline(self) -> dict[str, Any]:
        """The headline numbers, as `headline.json` holds them: what was read, what was asked, what stands out."""
        return headline(self)

    def write(
        self, folder: str | PathLike[str], *, force: bool = False, parts: Collection[str] = PARTS
    ) -> Path:
        """Write page, keeper's sheet, workbook, tables, figures and headline numbers; the path of the page.

        Parameters
        ----------
        folder : made whole and then moved to its place.
        force : replace the folder of an earlier review.
        parts : any of "headline", "tables", "workbook", "page" and "figures"; all of them unless said. Without "page"
            the folder is given back instead of its path.

        Raises
        ------
        ValueError : for what is no part.
        FolderExists : where the folder is there and `force` is not said, or holds what no review has written.
        """
        wanted = (parts,) if isinstance(parts, str) else tuple(parts)
        for part in wanted:
            if part not in PARTS:
                raise ValueError(f"parts: {part!r} is no part of a review{nearest(str(part), PARTS)}")
        return write_review(self, Path(folder), force=force, parts=wanted)

    def __repr__(self) -> str:
        opened = sum(section.open for section in self.sections)
        parts = f"{len(self.tables)} tables, {len(self.figures)} figures"
        return f"<Review of {self.focus}: {opened} of {len(self.sections)} chapters answered, {parts}>"

    def _repr_html_(self) -> str:
        return FRAME.format(title=escape(title(self)), page=escape(page_one_html(self)))


def review(season: Season, focus: str | int | None = None, *, made_on: date | None = None) -> Review:
    """Ask every chapter about the season and decide over all comparisons together, as the page does.

    Parameters
    ----------
    season : the records, of one season or several; see `read_season`.
    focus : the season under review, by default the latest that holds enough births. The chapters that compare seasons
        read all of them; ``season["2026"].review()`` reviews one season as if there were no others.
    made_on : the date to print, by default today.

    Raises
    ------
    ValueError : where `focus` is not one of the seasons.
    TypeError : where `made_on` is no date.
    """
    if made_on is not None and not isinstance(made_on, date):
        raise TypeError(f"made_on: give a datetime.date, or leave it away for today; found {made_on!r}.")
    built = build(season, focus=None if focus is None else str(focus), made_on=made_on)
    return Review(**{one.name: getattr(built, one.name) for one in fields(built)})


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

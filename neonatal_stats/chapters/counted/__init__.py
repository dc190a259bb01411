"""What each chapter counts: a season in, a frozen result out. Nothing here words, rounds or draws.

A result shows itself in a notebook; what prints it is imported only when that is asked.
"""

from __future__ import annotations

from html import escape
from importlib import import_module


class Shown:
    """A chapter's result that shows itself in a notebook: its sentences, then its tables."""

    def _repr_html_(self) -> str:
        chapter = import_module(_told_by(type(self).__module__))
        said = "".join(f"<p>{escape(sentence.text)}</p>" for sentence in chapter.sentences(self))
        return said + "".join(table._repr_html_() for table in chapter.tables(self))


def _told_by(counted: str) -> str:
    """The page that tells what a counted page counts: chapters.counted.losses is told by chapters.losses."""
    return ".".join([part for part in counted.split(".") if part != "counted"][:3])

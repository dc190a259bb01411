"""What tables and results of every chapter share: the interval's heading, a result that shows itself."""

from __future__ import annotations

from html import escape
from importlib import import_module
from typing import cast

from neonatal_stats.chapters.protocol import Chapter, Result
from neonatal_stats.tables import printing
from neonatal_stats.words import Voice


def interval_heading(voice: Voice, level: float) -> str:
    """The heading of an interval, from the level that was set: "95 % interval"."""
    return voice.say("{level} interval", level=printing.percent(level, 0))


class Shown:
    """A chapter's result that shows itself in a notebook: its sentences, then its tables."""

    def _repr_html_(self) -> str:
        chapter = cast(Chapter, import_module(".".join(type(self).__module__.split(".")[:3])))
        with cast(Result, self).voice.numbers():
            said = "".join(f"<p>{escape(sentence.text)}</p>" for sentence in chapter.sentences(self))
            return said + "".join(table._repr_html_() for table in chapter.tables(self))

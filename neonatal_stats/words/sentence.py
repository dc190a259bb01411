"""What a chapter says: sentences, and the foldable "how this was worked out"."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from neonatal_stats.words.verdict import Verdict
from neonatal_stats.words.voice import Said


@dataclass(frozen=True)
class Sentence:
    """One sentence of a chapter's answer.

    ``text`` is what a voice said, or several texts `joined`. ``verdict`` is the strength of its evidence (None for
    plain description). ``deaths`` is how many losses it speaks of (an excess, a cause's count): the report puts the
    clear ones with most deaths at the top. ``role`` sends a sentence to the top's "what these records cannot say" or
    "what to record next season", or sets it apart as a caution. ``lead`` marks what answers the chapter's question
    in short, for the list of chapters; where nothing is marked it is the first answer.
    """

    text: str
    verdict: Verdict | None = None
    deaths: float = 0.0
    role: Literal["answer", "caution", "cannot say", "record next"] = "answer"
    lead: bool = False

    @property
    def template(self) -> str:
        """The English template it was said from, "" where it was put together by hand."""
        return self.text.template if isinstance(self.text, Said) else ""

    @property
    def values(self) -> Mapping[str, str]:
        """What was filled in, as printed; a value that was itself said has a template and values of its own."""
        return self.text.values if isinstance(self.text, Said) else {}


@dataclass(frozen=True)
class Method:
    """How a chapter was worked out: each field plain text paragraphs, printed in a fold."""

    method: tuple[str, ...]
    settings: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

"""What a chapter says: sentences, and the foldable "how this was worked out"."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from neonatal_stats.words.verdict import Verdict


@dataclass(frozen=True)
class Sentence:
    """One sentence of a chapter's answer.

    ``verdict`` is the strength of its evidence (None for plain description). ``deaths`` is how many losses it
    speaks of (an excess, a cause's count): the report puts the clear ones with most deaths at the top. ``role``
    sends a sentence to the top's "what these records cannot say" or "what to record next season", or sets it apart
    as a caution. ``lead`` marks what answers the chapter's question in short, for the list of chapters; where
    nothing is marked it is the first answer.
    """

    text: str
    verdict: Verdict | None = None
    deaths: float = 0.0
    role: Literal["answer", "caution", "cannot say", "record next"] = "answer"
    lead: bool = False


@dataclass(frozen=True)
class Method:
    """How a chapter was worked out: each field plain text paragraphs, printed in a fold."""

    method: tuple[str, ...]
    settings: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

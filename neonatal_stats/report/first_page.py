"""The top of the page: the counts, what stands out, what the records cannot say, what to record next."""

from __future__ import annotations

from dataclasses import dataclass

from neonatal_stats.chapters.protocol import Headline
from neonatal_stats.report.review import Review, Section
from neonatal_stats.words import Sentence, Verdict

HOW_MANY = 3


@dataclass(frozen=True, eq=False)
class Point:
    """A sentence at the top, and the chapter that explains it."""

    text: str
    chapter: str
    title: str


@dataclass(frozen=True, eq=False)
class FirstPage:
    """What vet and keeper read first."""

    headlines: tuple[Headline, ...]
    stand_out: tuple[Point, ...]
    cannot_say: tuple[Point, ...]
    record_next: tuple[Point, ...]


def first_page(review: Review) -> FirstPage:
    """Choose the sentences for the top of the page."""
    return FirstPage(
        review.headlines,
        _stand_out(review),
        tuple(_point(section, text) for section in review.sections for text in section.missing)
        + _with_role(review, "cannot say"),
        _with_role(review, "record next"),
    )


def _stand_out(review: Review) -> tuple[Point, ...]:
    """The clear finding of each chapter that speaks of most losses, the three largest of them; then the leaning."""
    best = [(section, s) for section in review.sections if (s := _strongest(section)) is not None]
    ranked = sorted(best, key=lambda pair: _rank(pair[1]))[:HOW_MANY]
    return tuple(_point(section, sentence.text) for section, sentence in ranked)


def _strongest(section: Section) -> Sentence | None:
    """The chapter's strongest finding; where its short answer is a verdict, only that one speaks for it."""
    judged = [s for s in section.sentences if s.verdict is not None and s.role == "answer"]
    speaking = [s for s in judged if s.lead] or judged
    return min(
        (s for s in speaking if s.verdict in (Verdict.CLEAR, Verdict.LEANING)), key=_rank, default=None
    )


def _rank(sentence: Sentence) -> tuple[bool, float, str]:
    return sentence.verdict is not Verdict.CLEAR, -sentence.deaths, sentence.text


def _with_role(review: Review, role: str) -> tuple[Point, ...]:
    return tuple(
        _point(section, s.text) for section in review.sections for s in section.sentences if s.role == role
    )


def _point(section: Section, text: str) -> Point:
    return Point(text, section.name, section.title)

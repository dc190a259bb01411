"""What a review claims, as rows: every clear thing, every question asked beforehand, how each kind of test behaved.

The review is built by the package itself; only its pictures and tables are left out. Where the page was decided by a
ledger the rows are the ledger's entries, and every sentence that says more than the ledger allows is a row as well,
under the chapter that said it and with "unledgered" for a family. Before there was a ledger the rows are the sentences.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any
from unittest import mock

from neonatal_stats.chapters.counted.colostrum_effect import effect
from neonatal_stats.chapters.order import chapters
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.claims import Claim
from neonatal_stats.report import review as reviews
from neonatal_stats.report.review import Review, Section
from neonatal_stats.report.texts import first_page
from neonatal_stats.report.write import headline
from neonatal_stats.season.model import Season
from neonatal_stats.words import Sentence

COLUMNS = (
    "review", "what", "chapter", "family", "key", "asked", "page_one", "verdict", "measure",
    "estimate", "low", "high", "p", "events", "n", "events_versus", "n_versus", "period", "text",
)  # fmt: skip
"""``what`` is "clear" (one that is called clear), "asked" (a question asked beforehand, whatever was answered),
"size" (of all tests of a family: ``n`` of them, ``events`` under 0.05; of those with an empty group ``n_versus`` and
``events_versus``), "unfed" (the hazard ratio, all seasons together), "words" (page one, and the chapter of seasons)
and "page" (last of each review: ``n`` born, ``events`` lost, ``estimate`` seconds)."""

SAYS_CLEAR = re.compile(r"more than chance|stands? on (their|its) own|^Outside the limits")
MADE_ON = date(2026, 7, 1)
Row = dict[str, Any]


class Undrawn:
    """A chapter that answers and speaks, and neither draws nor prints tables."""

    def __init__(self, chapter: Any) -> None:
        self._chapter = chapter

    def __getattr__(self, name: str) -> Any:
        return (lambda *_, **__: ()) if name in ("figures", "tables") else getattr(self._chapter, name)


def reviewed(season: Season) -> Review:
    """The review, without pictures and tables."""
    undrawn = tuple(Undrawn(one) for one in chapters())
    with mock.patch.object(reviews, "chapters", return_value=undrawn):
        return reviews.build(season, made_on=MADE_ON)


def read_page(season: Season, *, unfed: bool = False) -> list[Row]:
    """The rows of `COLUMNS` of one review, but for its number; those of the hazard ratio only where asked for."""
    began = time.process_time()
    review = reviewed(season)
    took = time.process_time() - began
    rows = [*_from_ledger(review)] if ledgered() else [*_from_sentences(review)]
    if unfed:
        rows += _unfed(season)
    rows += _words(review)
    births = season.births
    return [*rows, {"what": "page", "n": len(births), "events": int(births["lost"].sum()), "estimate": took}]


def ledgered() -> bool:
    """Is a page decided as a whole yet?"""
    return "ledger" in Review.__dataclass_fields__


def _from_sentences(review: Review) -> Iterator[Row]:
    """Every clear sentence; on page one are those that stand out."""
    on_top = {(point.chapter, point.text) for point in first_page(review).stand_out}
    for section in review.sections:
        for sentence in section.sentences:
            if sentence.verdict is Verdict.CLEAR or _says_clear(sentence):
                yield _said(section, sentence, (section.name, sentence.text) in on_top)


def _says_clear(sentence: Sentence) -> bool:
    return sentence.verdict is None and SAYS_CLEAR.search(sentence.text) is not None


def _said(section: Section, sentence: Sentence, page_one: bool, family: str = "") -> Row:
    return {
        "what": "clear",
        "chapter": section.name,
        "family": family,
        "key": sentence.claim or sentence.template[:60],
        "page_one": page_one,
        "verdict": Verdict.CLEAR.value,
        "text": sentence.text,
    }


def _from_ledger(review: Any) -> Iterator[Row]:
    """The ledger's clear entries and questions; page one holds the questions and what stands out."""
    clear = [entry for entry in review.ledger.entries if entry.verdict is Verdict.CLEAR]
    for entry in clear:
        yield {**_claimed(entry.claim, "clear", entry.verdict), "page_one": bool(entry.claim.asked)}
    for entry in review.ledger.entries:
        if entry.claim.asked:
            yield {**_claimed(entry.claim, "asked", entry.verdict), "page_one": True}
    for item in headline(review)["stands_out"]:
        row = {name: item.get(name, "") for name in ("chapter", "family", "verdict", "text")}
        yield {"what": "clear", "key": item.get("anchor", ""), "page_one": True, **row}
    yield from _beyond(review, {entry.claim.key for entry in clear})
    yield from _sizes(entry.claim for entry in review.ledger.entries)


def _claimed(claim: Claim, what: str, verdict: Verdict) -> Row:
    names = ("chapter", "family", "key", "asked", "measure", "estimate", "low", "high")
    counts = ("events", "n", "events_versus", "n_versus")
    row = {name: getattr(claim, name) for name in (*names, *counts)}
    return {
        "what": what,
        "verdict": verdict.value,
        "p": claim.decided_by,
        "period": "; ".join(claim.period),
        **row,
    }


def _beyond(review: Review, allowed: set[str]) -> Iterator[Row]:
    """Sentences that call clear what the ledger does not."""
    for section in review.sections:
        for sentence in section.sentences:
            if sentence.claim not in allowed and (sentence.verdict is Verdict.CLEAR or _says_clear(sentence)):
                yield _said(section, sentence, False, "unledgered")


def _sizes(claims: Iterable[Claim]) -> Iterator[Row]:
    by_family: dict[str, list[Claim]] = {}
    for claim in claims:
        if claim.sayable and claim.p == claim.p:
            by_family.setdefault(claim.family, []).append(claim)
    for family, members in by_family.items():
        empty = [claim for claim in members if min(claim.events, claim.events_versus) == 0]
        yield {
            "what": "size",
            "family": family,
            "n": len(members),
            "events": sum(claim.p < 0.05 for claim in members),
            "n_versus": len(empty),
            "events_versus": sum(claim.p < 0.05 for claim in empty),
        }


def _unfed(season: Season) -> Iterator[Row]:
    """The hazard ratio of those not yet fed against those fed, crude and adjusted, of all seasons together."""
    for row in effect(season.births, season.settings).hourly.to_dict("records"):
        names = ("estimate", "low", "high", "p", "events", "n", "events_versus", "n_versus")
        key = "adjusted" if row["adjusted"] else "crude"
        yield {"what": "unfed", "chapter": "colostrum", "key": key, **{name: row[name] for name in names}}


def _words(review: Review) -> Iterator[Row]:
    """The text of page one, and what the chapter of seasons answers."""
    yield {"what": "words", "key": "page one", "text": _page_one(review)}
    for section in review.sections:
        if section.name == "years" and section.open:
            yield {"what": "words", "key": "years", "text": " ".join(s.text for s in section.sentences[:8])}


def _page_one(review: Review) -> str:
    """Everything that page one says, with its numbers."""
    said: list[str] = []
    for part in vars(first_page(review)).values():
        for line in part if isinstance(part, tuple) else (part,):
            said += [str(getattr(line, name)) for name in ("label", "printed", "text") if hasattr(line, name)]
    return " ".join(said)

"""What a review claims, as rows: every clear thing, every question asked beforehand, how each kind of test behaved.

The review is the package's own, with only its headline made. A sentence that calls clear what the ledger does not is
a row as well, with "unledgered" for a family: it counts as a claim like any other, though it never reaches page one.
"""

from __future__ import annotations

import re
import time
from collections.abc import Collection, Iterable, Iterator
from datetime import date
from typing import Any

from neonatal_stats.chapters.counted.colostrum_effect import HOURLY, effect
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.contrasts import NULL
from neonatal_stats.measures.ledger import Entry
from neonatal_stats.report.first_page import first_page
from neonatal_stats.report.folder import HEADLINE
from neonatal_stats.report.review import Review, build
from neonatal_stats.season.model import Season
from neonatal_stats.words import Sentence

COLUMNS = (
    "review", "what", "page_one", "chapter", "family", "line", "key", "asked", "verdict", "higher", "measure",
    "estimate", "low", "high", "p", "q", "events", "n", "events_versus", "n_versus", "period", "text",
)  # fmt: skip
"""``what`` is "clear" (a claim called clear; ``page_one`` where it stands out or answers a question), "asked" (a
question asked beforehand, whatever was answered), "size" (of all tests of a family: ``n`` of them, ``events`` under
0.05; of those with an empty group ``n_versus`` and ``events_versus``), "unfed" (the hazard ratio, all seasons
together, and its bounds), "words" (page one, or the chapter of seasons), "failed" (no review could be made), and
"page", the last of each review: ``n`` born, ``events`` lost, ``estimate`` seconds of processor time."""

STANDS_OUT, ANSWERED = "stands out", "answered"
BOUNDS, LIMITS = "bounds", "limits of bounds"
UNLEDGERED = "unledgered"
SAYS_CLEAR = re.compile(r"more than chance|stands? on (their|its) own|(?:^|: )Outside the limits")
MADE_ON = date(2026, 7, 1)
Row = dict[str, Any]


def read_page(season: Season, *, unfed: bool = False) -> list[Row]:
    """The rows of `COLUMNS` of one review, but for its number; those of the hazard ratio only where asked for."""
    began = time.process_time()
    review = build(season, made_on=MADE_ON, parts=(HEADLINE,))
    top = first_page(review)
    took = time.process_time() - began
    standing = {point.claim.key: point.text for point in top.stand_out}
    rows = [*entries_as_rows(review.ledger.entries, standing), *_beyond(review)]
    rows += _sizes(entry.claim for entry in review.ledger.entries)
    rows += _words(review)
    if unfed:
        rows += _unfed(season)
    births = season.births
    return [*rows, {"what": "page", "n": len(births), "events": int(births["lost"].sum()), "estimate": took}]


def entries_as_rows(entries: Iterable[Entry], standing: dict[str, str]) -> Iterator[Row]:
    """A row for each claim called clear, and one for each that answers a question asked beforehand."""
    for entry in entries:
        key, row = entry.claim.key, _row(entry)
        if entry.verdict is Verdict.CLEAR:
            where = STANDS_OUT if key in standing else ANSWERED if entry.claim.asked else ""
            yield {**row, "what": "clear", "page_one": where, "text": standing.get(key, "")}
        if entry.claim.asked:
            yield {**row, "what": "asked", "page_one": ANSWERED}


def _row(entry: Entry) -> Row:
    claim = entry.claim
    names = ("chapter", "family", "line", "key", "asked", "measure", "estimate", "low", "high")
    row = {name: getattr(claim, name) for name in (*names, "events", "n", "events_versus", "n_versus")}
    null = NULL.get(claim.measure)
    up = claim.excess > 0 if null is None or claim.estimate != claim.estimate else claim.estimate > null
    told = {"verdict": entry.verdict.value, "higher": up, "p": claim.decided_by, "q": entry.q}
    return {**row, **told, "period": "; ".join(claim.period)}


def _beyond(review: Review) -> Iterator[Row]:
    """Sentences that call clear what the ledger does not."""
    allowed = {entry.claim.key for entry in review.ledger.entries if entry.verdict is Verdict.CLEAR}
    for section in review.sections:
        for sentence in section.sentences:
            if says_clear(sentence, allowed):
                yield {
                    "what": "clear",
                    "chapter": section.name,
                    "family": UNLEDGERED,
                    "key": sentence.claim or sentence.template[:60],
                    "verdict": Verdict.CLEAR.value,
                    "text": sentence.text,
                }


def says_clear(sentence: Sentence, allowed: Collection[str]) -> bool:
    """Does a sentence call something clear, by its verdict or in so many words, that is not allowed to be?"""
    if sentence.claim in allowed:
        return False
    in_words = sentence.verdict is None and SAYS_CLEAR.search(sentence.text) is not None
    return sentence.verdict is Verdict.CLEAR or in_words


def _sizes(claims: Iterable[Claim]) -> Iterator[Row]:
    """How many single tests of each family are under 0.05, before the ledger, and of those with an empty group."""
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
    """The hazard ratio of those not yet fed against those fed, crude and adjusted, of all seasons together; and between
    which ratios (`BOUNDS`), and within which limits (`LIMITS`), it stands over all that the records leave open.
    """
    found = effect(season.births, season.settings)
    names = ("estimate", "low", "high", "p", "events", "n", "events_versus", "n_versus")
    for row in found.hourly.to_dict("records"):
        key = "adjusted" if row["adjusted"] else "crude"
        yield {"what": "unfed", "chapter": "colostrum", "key": key, **{name: row[name] for name in names}}
    answer = found.hourly.loc[found.hourly["adjusted"].astype(bool), "estimate"].iloc[0]
    for one in found.bounds[found.bounds["how"] == HOURLY].to_dict("records"):
        for key, low, high in ((BOUNDS, "lowest", "highest"), (LIMITS, "low", "high")):
            bounds = {"estimate": answer, "low": one[low], "high": one[high]}
            yield {"what": "unfed", "chapter": "colostrum", "key": key, **bounds}


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
        for line in part:
            named = [
                str(getattr(line, name))
                for name in ("label", "printed", "question", "text", "beside")
                if hasattr(line, name)
            ]
            said += named or [str(line)]
    return " ".join(said)

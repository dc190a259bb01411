"""What of a chapter stands open on the page, and what waits behind its one fold for the vet.

Open stand: the finding above the main figure, every clear sentence, every sentence that page one speaks of, then a few
more of the answer, one line of caveat and the cautions where work can hurt someone. Nothing that is clear, and nothing
that page one links to, is ever folded away; but on a short page (`report.short`) a chapter in which nothing is clear
has its finding alone, and a link of page one opens its fold.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from itertools import chain

from neonatal_stats.drawing import Figure
from neonatal_stats.report.first_page import FirstPage
from neonatal_stats.report.review import Section
from neonatal_stats.words import Sentence, Verdict

BESIDE = 2
"""Sentences that stand open beside the main figure, where no more of them have to."""


@dataclass(frozen=True, eq=False)
class Shown:
    """A chapter as the page lays it out.

    ``finding`` stands above ``figure``, the main one; ``beside`` it the other open sentences, the clear ones first.
    ``answers``, ``figures`` and ``limits`` are the rest, behind the fold. ``unsaid`` are the claims of page one that
    no sentence of the chapter names: a link to them leads to the chapter. ``brief`` is a chapter of a short page that
    shows its finding alone; a ``silent`` one has nothing to show, since even its finding is that there are too few.
    """

    section: Section
    finding: Sentence | None = None
    figure: Figure | None = None
    beside: tuple[Sentence, ...] = ()
    caveat: str = ""
    cautions: tuple[str, ...] = ()
    answers: tuple[Sentence, ...] = ()
    figures: tuple[Figure, ...] = ()
    limits: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()
    brief: bool = False
    silent: bool = False


def shown(section: Section, on_top: Collection[str] = (), *, brief: bool = False) -> Shown:
    """What stands open of a chapter and what is folded.

    Parameters
    ----------
    on_top : the keys of its claims that page one speaks of.
    brief : leave the finding open alone, and what goes on from it.
    """
    if not section.open:
        return Shown(section)
    blocks = _blocks(sentence for sentence in section.sentences if sentence.role == "answer")
    led = next((block for block in blocks if block[0].lead), blocks[0] if blocks else ())
    others = [block for block in blocks if block is not led]
    must = sorted((block for block in others if _rank(block, on_top) < 2), key=lambda one: _rank(one, on_top))
    few = max(0, BESIDE - len(must))
    may = [block for block in others if block not in must]
    may.sort(key=lambda block: not block[0].lead)
    opened = [*must, *may[:few]]
    if brief:
        return _brief(section, led, others, on_top)
    limits = section.method.limits if section.method else ()
    return Shown(
        section,
        led[0] if led else None,
        next(iter(section.figures), None),
        tuple(chain(led[1:], *opened)),
        next(iter(limits), ""),
        _cautions(section),
        tuple(chain.from_iterable(block for block in others if block not in opened)),
        section.figures[1:],
        limits[1:],
        _unsaid(section, on_top),
    )


Block = tuple[Sentence, ...]


def _brief(section: Section, led: Block, others: Iterable[Block], on_top: Collection[str]) -> Shown:
    """The finding and the cautions; of a finding that is too few nothing."""
    silent = bool(led) and led[0].verdict is Verdict.TOO_FEW
    open_ones = 0 if silent else 1
    return Shown(
        section,
        next(iter(led[:open_ones]), None),
        cautions=_cautions(section),
        answers=(*led[open_ones:], *chain.from_iterable(others)),
        figures=section.figures,
        limits=section.method.limits if section.method else (),
        unsaid=_unsaid(section, on_top),
        brief=True,
        silent=silent,
    )


def _cautions(section: Section) -> tuple[str, ...]:
    return tuple(sentence.text for sentence in section.sentences if sentence.role == "caution")


def _unsaid(section: Section, on_top: Collection[str]) -> tuple[str, ...]:
    return tuple(sorted(set(on_top) - {sentence.claim for sentence in section.sentences}))


def claims_on_top(top: FirstPage, chapter: str) -> frozenset[str]:
    """The keys of a chapter's claims that page one speaks of: what stands out and what is always asked."""
    claims = chain((point.claim for point in top.stand_out), (answer.claim for answer in top.asked))
    return frozenset(claim.key for claim in claims if claim is not None and claim.chapter == chapter)


def _blocks(sentences: Iterable[Sentence]) -> list[tuple[Sentence, ...]]:
    """Each sentence together with those that go on from it."""
    blocks: list[tuple[Sentence, ...]] = []
    for sentence in sentences:
        if sentence.goes_on and blocks:
            blocks[-1] += (sentence,)
        else:
            blocks.append((sentence,))
    return blocks


def _rank(block: tuple[Sentence, ...], on_top: Collection[str]) -> int:
    """0 where any of it is clear, 1 where page one speaks of any of it, else 2."""
    if any(sentence.verdict is Verdict.CLEAR for sentence in block):
        return 0
    return 1 if any(sentence.claim in on_top for sentence in block if sentence.claim) else 2

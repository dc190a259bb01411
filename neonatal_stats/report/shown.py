"""What of a chapter stands open on the page, and what waits behind its one fold for the vet.

Open stand: the finding above the main figure, every clear sentence, every sentence that page one speaks of, then a few
more of the answer, one line of caveat and the cautions where work can hurt someone. Nothing that is clear, and nothing
that page one links to, is ever folded away.

A season that lost few, or that is small, has little to say: its page is short. A chapter in which nothing is clear then
has its finding alone, and a link of page one opens its fold; the chapters that are closed stand together under one
heading; and page one says in at most three sentences what such a season can show and what it cannot. Nothing is left
out: folds, tables, figures and the workbook hold what they always do.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from itertools import chain

from neonatal_stats.drawing import Figure
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS
from neonatal_stats.report.review import Review, Section
from neonatal_stats.words import Sentence, Verdict, Voice

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


FEW_LOST = 10
"""Lost in the season under review; with fewer hardly a comparison has enough on both sides."""
FEW_BORN = 50


def is_short(review: Review) -> bool:
    """Did the season under review lose fewer than `FEW_LOST`, or were fewer than `FEW_BORN` born in it?"""
    return lost_in_focus(review) < FEW_LOST or len(review.births) < FEW_BORN


def lost_in_focus(review: Review) -> int:
    """How many the season under review lost."""
    return int(review.births["lost"].sum())


def is_brief(section: Section) -> bool:
    """On a short page: is nothing in an open chapter clear? That on mobs, which claims nothing, stands whole."""
    return (
        section.open
        and section.name != "mobs"
        and not any(one.verdict is Verdict.CLEAR for one in section.sentences)
    )


def too_few_needs(review: Review) -> str:
    """What a comparison would need that nothing could be said of."""
    return review.voice.say(
        "Too few to say: a comparison needs {n} {newborns} in each group, and {events} losses in both together.",
        n=review.voice.count(review.season.settings.minimum_group),
        events=review.voice.count(MINIMUM_EVENTS),
    )


CAN_SHOW = {
    True: "A season without a loss does not show which {newborns} are more at risk.",
    False: "So few losses show how many were lost, and when; seasons written down in the same way add up and show "
    "more.",
}
"""What a short season can show, by whether none was lost."""


def can_show(voice: Voice, lost: int) -> str:
    """The last of at most three sentences on what such a season can show and what it cannot."""
    return voice.say(CAN_SHOW[not lost])


def too_few_to_ask(voice: Voice, too_few: Iterable[str], not_asked: Iterable[str]) -> str:
    """The questions always asked in one paragraph, where nothing could be decided of any of them."""
    said = []
    if names := "; ".join(too_few):
        said.append(voice.say("Too few to say: {names}.", names=names))
    if names := "; ".join(not_asked):
        said.append(voice.say("Not recorded, or nothing to compare with: {names}.", names=names))
    return " ".join(said)

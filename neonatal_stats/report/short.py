"""A season that lost few, or that is small, has little to say: its page is short.

Each chapter then stands with its finding alone, all else behind its fold, unless something in it is clear; the chapters
that are closed stand together under one heading; and page one says in at most three sentences what such a season can
show and what it cannot. Nothing is left out: folds, tables, figures and the workbook hold what they always do.
"""

from __future__ import annotations

from collections.abc import Iterable

from neonatal_stats.estimates.verdict import MINIMUM_EVENTS
from neonatal_stats.report.review import Review, Section
from neonatal_stats.words import Verdict, Voice

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

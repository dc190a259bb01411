"""The fold at the end of the page: how often was looked, in which families, how much of it is clear, how much chance
alone would give.
"""

from __future__ import annotations

from dataclasses import dataclass

from neonatal_stats.measures.ledger import Unit
from neonatal_stats.report.first_page import ASKED
from neonatal_stats.report.review import Review
from neonatal_stats.words import Verdict

ONE_BY_ONE = 0.05
"""What a comparison held by itself calls clear by chance: one in twenty."""

FAMILIES = {
    "litter size": "Litter size",
    "delivery": "Delivery",
    "dam": "The {dam}",
    "weight": "Birth weight and term",
    "sex": "Sex of the {newborn}",
    "first hours": "The first hours",
    "feeding": "Feeding of colostrum",
    "season": "Seasons",
    "farm": "Farms compared",
    "weather": "Weather at birth",
    "place": "Places and pens",
    "cause": "Causes of loss",
    "time": "Time of birth",
    "mothering": "Mothering-up",
    "outbreak": "Outbreaks",
}
"""The families of claims, as the fold lists them."""


@dataclass(frozen=True)
class Looked:
    """The fold: its sentences, and one line a question or family (name, comparisons, clear)."""

    sentences: tuple[str, ...]
    lines: tuple[tuple[str, str, str], ...]


def looked(review: Review) -> Looked:
    """How the page decided, in numbers."""
    voice, ledger = review.voice, review.ledger
    few = sum(entry.verdict is Verdict.TOO_FEW for entry in ledger.entries)
    asked, found = (sum(unit.asked is kind for unit in ledger.units) for kind in (True, False))
    chance = voice.number(ledger.by_chance, 1)
    sentences = (
        voice.say(
            "Comparisons decided together: {n}. Questions asked beforehand among them: {asked}; families of "
            "comparisons found by looking: {families}. Left undecided for want of {newborns} or losses: {few}.",
            n=voice.count(ledger.looked),
            asked=voice.count(asked),
            families=voice.count(found),
            few=voice.count(few),
        ),
        voice.say(
            "Called clear: {clear}, in {units} of the questions and families, of which chance alone is expected to "
            "give at most {chance}. Held one by one at 1 in 20, about {alone} comparisons would look clear where "
            "nothing differs.",
            clear=voice.count(ledger.clear),
            units=voice.count(sum(unit.clear > 0 for unit in ledger.units)),
            chance=chance,
            alone=voice.number(ONE_BY_ONE * ledger.looked, 0),
        ),
        voice.say(
            "Questions asked beforehand, and families of comparisons, are chosen by Benjamini and Hochberg's procedure "
            "with prior weights on Simes's p at a share of false findings of {share}; within those chosen, groups "
            "nested in one another as one line, and then single comparisons, at the share times the part chosen "
            "(Benjamini and Bogomolov 2014). Where nothing differs, at most {share} of pages call anything clear.",
            share=voice.percent(ledger.share, 0),
        ),
    )
    return Looked((*sentences, *_of_plan(review)), tuple(_line(review, unit) for unit in ledger.units))


def _of_plan(review: Review) -> tuple[str, ...]:
    """That the measures of a plan stand in no decision of the page, and how they were decided."""
    n = len({one.measure for one in review.kept if one.change is not None})
    if not n:
        return ()
    said = "The measures of the plan ({n}) are not among them: they were decided by themselves, by Holm's procedure."
    return (review.voice.say(said, n=review.voice.count(n)),)


def _line(review: Review, unit: Unit) -> tuple[str, str, str]:
    voice = review.voice
    name = voice.say(ASKED[unit.name]) if unit.asked else voice.say(FAMILIES[unit.name])
    return name, voice.count(unit.looked), voice.count(unit.clear)

"""The plan that vet and keeper agree on: its columns, and the measures by which it is followed up.

One registry of measures: the name that a plan gives, the words of a report, whom it counts, and how (``counted`` is a
key of `measures.plan_measures.COUNTED`). Measures of what was done come first: one farm can show those.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache

from neonatal_stats.vocabulary.columns import Column
from neonatal_stats.vocabulary.farm_words import spoken_section
from neonatal_stats.vocabulary.spelling import ways
from neonatal_stats.vocabulary.terms import STILLBIRTH

DONE = ("yes", "partly", "no")
"""What may be written of an action; a blank is not recorded."""

PLAN = (
    Column("season", "text", "The season that it is for; blank: the season under review"),
    Column("action", "text", "What was agreed, in your own words"),
    Column("who", "text", "Who does it"),
    Column("by_when", "text", "By when, a day or in words"),
    Column("cost", "text", "What it costs"),
    Column("done", "term", "Whether it was done; blank: not recorded", words=DONE),
    Column("measure", "text", "What it should move: a name from the list of measures"),
    Column("from", "text", "Where the measure stood: percent, share or counts (31 of 60)"),
    Column("to", "text", "Where it should come to: percent, share or counts"),
)
"""The columns of a plan, in the order of a blank one."""
BY_COLUMN = {column.name: column for column in PLAN}


@dataclass(frozen=True)
class PlanMeasure:
    """One measure: what a plan calls it, what a report calls it, whom it counts, how it is counted.

    ``words`` and ``of`` are templates; {mark} is the hour of a mark, {window} the name of a window, {cause} a cause.
    ``more_is_better`` says which way is the right one; ``loss`` tells losses, which swing from season to season, from
    what was done. ``detail`` is the window or the cause of a loss.
    """

    name: str
    words: str
    of: str
    counted: str
    more_is_better: bool = True
    loss: bool = False
    detail: str = ""


DONE_FOR_THEM = (
    PlanMeasure("fed by the mark", "Fed by {mark}", "{newborns} born alive and observed then", "fed"),
    PlanMeasure("standing by the mark", "Standing by {mark}", "{newborns} born alive and observed then", "standing"),
    PlanMeasure("enough colostrum", "Enough colostrum", "{newborns} whose amount is known", "enough"),
    PlanMeasure("absorbed", "Absorbed, by a blood sample", "{newborns} sampled in time", "absorbed"),
    PlanMeasure("mothered up", "Mothered up", "{newborns} born alive and judged", "mothered"),
    PlanMeasure("cause found", "Cause found", "{newborns} lost after birth", "cause found"),
)  # fmt: skip
BORN_DEAD = PlanMeasure("born dead", "Born dead", "{newborns} born", "born dead", False, True)
BY_WINDOW = PlanMeasure(
    "lost by {window}", "Lost by {window}", "{newborns} whose fate is known", "window", False, True
)
BY_THE_END = PlanMeasure(
    "lost by the end", "Lost by the end of follow-up", "{newborns} whose fate is known", "window", False, True, "end"
)  # fmt: skip
BY_CAUSE = PlanMeasure(
    "lost to {cause}", "Lost to {cause}", "{newborns} whose fate is known", "cause", False, True
)
MEASURES = (*DONE_FOR_THEM, BY_WINDOW, BY_THE_END, BORN_DEAD, BY_CAUSE)
"""The registry; those with a window or a cause stand for one measure each, see `plan_measures`."""
NO_CAUSE = (STILLBIRTH, "unknown")


def plan_measures(windows: Iterable[str], causes: Iterable[str]) -> tuple[PlanMeasure, ...]:
    """Every measure that a plan may name: what was done, then losses by window, born dead, and by cause.

    >>> [one.name for one in plan_measures(["24 h"], ["infection", "unknown"])][-4:]
    ['lost by 24 h', 'lost by the end', 'born dead', 'lost to infection']
    """
    by_window = (replace(BY_WINDOW, name=f"lost by {name}", detail=name) for name in windows)
    by_cause = (
        replace(BY_CAUSE, name=f"lost to {name}", detail=name) for name in causes if name not in NO_CAUSE
    )
    return (*DONE_FOR_THEM, *by_window, BY_THE_END, BORN_DEAD, *by_cause)


@cache
def _spoken(section: str) -> dict[str, str]:
    """What farms write in any language, by the word without accents, with the name that it means."""
    return {
        way: name
        for words in spoken_section(section).values()
        for name, said in words.items()
        for text in said
        for way in ways(text)
    }


def plan_column(heading: str) -> str | None:
    """The column of a plan that a heading names, or None.

    >>> plan_column("By when?"), plan_column("Maßnahme"), plan_column("weather") is None
    ('by_when', 'action', True)
    """
    own = {way: name for name in BY_COLUMN for way in ways(name.replace("_", " "))}
    found = own | _spoken("plan")
    return next((found[way] for way in sorted(ways(heading)) if way in found), None)


def done_meant(text: str) -> str | None:
    """The word of `DONE` that a cell means, or None.

    >>> done_meant("Teilweise"), done_meant("yes"), done_meant("perhaps") is None
    ('partly', 'yes', True)
    """
    found = {word: word for word in DONE} | _spoken("plan_done")
    return next((found[way] for way in sorted(ways(text)) if way in found), None)


def measure_meant(text: str, known: Iterable[PlanMeasure]) -> PlanMeasure | None:
    """The one of the known measures that a cell names in any language, or None."""
    named = {way: one for one in known for name in _names(one) for way in ways(name)}
    return next((named[way] for way in sorted(ways(text)) if way in named), None)


def _names(measure: PlanMeasure) -> Iterator[str]:
    """The measure's own name, and how it is said in each language."""
    yield measure.name
    for words in spoken_section("plan_measures").values():
        for text in words.get(measure.counted if measure.name != BY_THE_END.name else "the end", ()):
            details = _details(measure) if "{" in text else ("",)
            yield from (text.format(window=detail, cause=detail) for detail in details)


def _details(measure: PlanMeasure) -> Iterator[str]:
    """The window as it is named; the cause in every language's words."""
    yield measure.detail
    if measure.counted == BY_CAUSE.counted:
        for words in spoken_section("words").values():
            yield from words.get("cause", {}).get(measure.detail, ())


def is_plan(headings: Iterable[str]) -> bool:
    """Whether the headings of a sheet are those of a plan: an action, and what else only a plan has."""
    found = {plan_column(heading) for heading in headings}
    return "action" in found and len(found & {"who", "by_when", "done", "measure", "to"}) >= 2

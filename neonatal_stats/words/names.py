"""Names of things: terms, columns, factors and their groups, windows, as labels and as phrases; the words of a plan.

Terms of the vocabulary pass through the voice, so that a translation reaches them; a farm's own text does not.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from typing import Any

from neonatal_stats.estimates.verdict import Outcome
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import column, heading_said
from neonatal_stats.vocabulary.factors import BY_NAME, LEVELS
from neonatal_stats.vocabulary.plan import PlanMeasure, plan_measures
from neonatal_stats.words.voice import Voice

SAID_AS = {"first litter": "first {litter}", "later litter": "later {litter}"}
"""Levels that each species says in its own words, with the template of each."""

OWN_TERMS = LEVELS - set(SAID_AS) | {
    terms.ANYTHING_DONE,
    *terms.RESUSCITATIONS,
    *terms.SUCK_REFLEXES,
    *terms.MOTHERED_UP,
    *terms.REARINGS,
    *terms.LEFT_REASONS,
    *terms.FEED_SOURCES,
    *terms.CAUSE_BASES,
    *terms.CAUSES,
    *terms.SPECIES,
    *terms.MILKED,
    *terms.TREATMENTS,
    terms.TREATMENT_NOT_SAID,
}


def label(voice: Voice, value: object) -> str:
    """A term as it stands in a table or beside a mark; a farm's own text is left as it is."""
    text = str(value)
    if text in SAID_AS:
        return voice.say(SAID_AS[text])
    return voice.say(text) if text in OWN_TERMS else text


def few_words(voice: Voice, n: float, litters: float) -> str:
    """What stands in a picture in place of a group too small to draw."""
    text = "too few: {n} {newborns} of {of} {litters}"
    return voice.say(text, n=voice.count(n), of=voice.count(litters))


def phrase(voice: Voice, factor: str, level: object, with_factor: str = "", with_level: str = "") -> str:
    """The newborns of a level as part of a sentence, "twin lambs"; or of two levels of two factors together."""
    one = _phrase(voice, factor, str(level))
    if not with_factor:
        return one
    return voice.say("{one} that are also {other}", one=one, other=_phrase(voice, with_factor, with_level))


def _phrase(voice: Voice, factor: str, level: str) -> str:
    entry = BY_NAME.get(factor)
    if entry and level in entry.phrases:
        return voice.say(entry.phrases[level])
    if entry and entry.own:
        return voice.say(entry.own, level=label(voice, level))
    return voice.say("{newborns} of the group {level}", level=label(voice, level))


def factor_name(voice: Voice, factor: str) -> str:
    """What newborns are grouped by, as it stands in a table or a list."""
    return voice.say(BY_NAME[factor].words) if factor in BY_NAME else factor


def factor(voice: Voice, name: str) -> str:
    """The same in the shorter word that stands over groups."""
    return voice.say(BY_NAME[name].heading or BY_NAME[name].words) if name in BY_NAME else name


def factor_in_short(voice: Voice, name: str) -> str:
    """The same in the word that stands before a group's name: "delivery: difficult"."""
    return voice.say(BY_NAME[name].short or BY_NAME[name].words) if name in BY_NAME else name


def column_name(voice: Voice, name: str) -> str:
    """The readable heading of a tidy column of births: "birth weight (kg)"."""
    return voice.say(heading_said(column("births", name)))


def window_label(voice: Voice, window: object, end_h: float) -> str:
    """The name of a window; the last, "end", is named by the age to which newborns were watched, or birth alone."""
    if str(window) != "end":
        return str(window)
    return voice.age(end_h) if end_h > 0 else voice.say("birth")


def group_phrase(voice: Voice, row: Mapping[Hashable, Any]) -> str:
    """The newborns of a row of a contrast frame as part of a sentence: one level, or two together."""
    return phrase(
        voice, row["factor"], row["group"], str(row.get("with_factor", "")), str(row.get("with_group", ""))
    )


def season_names(voice: Voice, names: Sequence[str], every: Sequence[str]) -> str:
    """Seasons as part of a sentence: "2023 to 2025" where they follow one another among ``every``, else each."""
    if len(names) < 2:
        return "".join(names)
    first = list(every).index(names[0])
    if len(names) > 2 and list(every[first : first + len(names)]) == list(names):
        return voice.say("{first} to {last}", first=names[0], last=names[-1])
    return voice.say("{seasons} and {last}", seasons=", ".join(names[:-1]), last=names[-1])


DONE = {
    "yes": "done",
    "partly": "partly done",
    "no": "not done",
    "": "not recorded whether it was done",
}
OUTCOMES = {
    Outcome.REACHED: "reached",
    Outcome.MOVED: "moved the right way",
    Outcome.NO_CHANGE: "no clear change",
    Outcome.WORSE: "worse",
    Outcome.NOT_RECORDED: "not recorded",
}
ON_PAGE_ONE = {
    Outcome.REACHED: "Reached",
    Outcome.MOVED: "Moved",
    Outcome.NO_CHANGE: "No clear change",
    Outcome.WORSE: "Worse",
    Outcome.NOT_RECORDED: "Not recorded",
}


def measure_of(settings: Settings, name: str) -> PlanMeasure | None:
    """The measure of that name, None where there is none."""
    known = plan_measures(settings.windows_h, settings.causes)
    return next((one for one in known if one.name == name), None)


def measure_words(voice: Voice, measure: PlanMeasure, settings: Settings) -> str:
    """A measure as a report names it: "Fed by 2 h", "Lost to infection"."""
    marks = {"fed": settings.marks.fed_h, "standing": settings.marks.standing_h}
    hour = marks.get(measure.counted)
    return voice.say(
        measure.words,
        mark=voice.age(hour) if hour is not None else "",
        window=measure.detail,
        cause=label(voice, measure.detail),
    )


def measure_name(voice: Voice, measure: PlanMeasure) -> str:
    """A measure as a plan names it in the voice's language; it is read back as that measure."""
    template = {"window": "lost by {window}", "cause": "lost to {cause}"}.get(measure.counted, measure.name)
    template = measure.name if measure.detail == "end" else template
    return voice.say(template, window=measure.detail, cause=label(voice, measure.detail))

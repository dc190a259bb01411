"""The words of a plan: its measures, what was done, what became of each."""

from __future__ import annotations

from neonatal_stats.estimates.verdict import Outcome
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.plan import PlanMeasure, plan_measures
from neonatal_stats.words.names import label
from neonatal_stats.words.voice import Voice

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

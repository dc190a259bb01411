"""The tables of the examined carcasses."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.counted.examinations import (
    EXAMINED,
    NOT_KNOWN,
    OF_EXAMINED,
    OF_LOST,
    Examinations,
)
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.measures.examined import (
    AFTER,
    AGE_CLASSES,
    BEFORE,
    BEFORE_OR_DURING,
    DURING,
    FED,
    NOT_FED,
    NOT_WALKED,
)
from neonatal_stats.measures.rates import one_below_another
from neonatal_stats.measures.windows import BORN_DEAD, END
from neonatal_stats.tables import Table, columns, sentence_case
from neonatal_stats.words import Voice, voice_of
from neonatal_stats.words.names import label

WHEN = {
    BEFORE: "before birth",
    BEFORE_OR_DURING: "before or during birth",
    DURING: "during birth",
    AFTER: "after birth",
    NOT_WALKED: "had breathed, not walked",
    NOT_FED: "had walked, not fed",
    FED: "had fed",
}
AGES = {
    "at or before birth": "at or before birth",
    "first day": "first day",
    "2 to 7 days": "2 to 7 days",
    "later": "later",
    NOT_KNOWN: "age not known",
}
RESULTS = {
    "agent found": "agent found",
    "nothing found": "nothing found",
    "awaited": "awaited",
    "not sent": "not sent",
}
FOUND = {
    OF_EXAMINED: "Cause found, of the examined",
    EXAMINED: "Examined, of all lost",
    OF_LOST: "Cause found, of all lost",
}


def stage_name(voice: Voice, stage: str) -> str:
    names = {BORN_DEAD: voice.say("born dead"), END: voice.say("later")}
    if stage in AGES:
        return voice.say(AGES[stage])
    return names.get(stage) or voice.say("by {window}", window=stage)


def tables(result: Examinations) -> tuple[Table, ...]:
    """When, causes with their basis, found causes, agents by age, laboratory, differences, and where to look next."""
    voice = voice_of(result)
    interval = interval_heading(voice, result.settings.level)
    return (
        *_when_table(result, voice, interval),
        *_cause_tables(result, voice, interval),
        *_laboratory_tables(result, voice),
        *_differ_tables(result, voice, interval),
        *_next_table(result, voice),
    )


def _when_table(result: Examinations, voice: Voice, interval: str) -> Iterator[Table]:
    rows = one_below_another(result.when, result.far.rename(columns={"reached": "time"}))
    if rows.empty:
        return
    yield Table(
        "examinations-when",
        voice.say("When they died, by the signs"),
        rows.assign(name=[voice.say(WHEN[one]) for one in rows["time"]]),
        (
            columns.text("name", voice.say("Died"), raw="time"),
            columns.count("events", voice.say("Carcasses")),
            columns.count("n", voice.say("Of how many")),
            columns.share("share", voice.say("Share")),
            columns.interval("low", "high", interval),
        ),
        note=voice.say("How far they had come is told of those that died after birth."),
        printer=voice,
    )


def _cause_tables(result: Examinations, voice: Voice, interval: str) -> Iterator[Table]:
    say, causes, found = voice.say, result.causes, result.found
    share = (columns.share("share", say("Share")), columns.interval("low", "high", interval))
    yield Table(
        "examinations-causes",
        say("Causes by examination, and what they rest on"),
        causes.assign(name=[label(voice, cause) for cause in causes["cause"]]),
        (
            columns.text("name", say("Cause"), raw="cause"),
            columns.count("events", say("Carcasses")),
            columns.count("n", say("Of how many")),
            *share,
            columns.count("post_mortem", say("By post-mortem")),
            columns.count("opinion", say("By opinion")),
            columns.count("with_agent", say("With an agent")),
        ),
        printer=voice,
    )
    yield Table(
        "examinations-found",
        say("How many have a found cause"),
        found.assign(name=[say(FOUND[what]) for what in found["what"]]),
        (
            columns.text("name", say("What"), raw="what"),
            columns.count("events", say("Number")),
            columns.count("n", say("Of how many")),
            *share,
        ),
        note=say(
            "A cause counts as found where the examination names one that says why, or the laboratory an agent."
        ),
        printer=voice,
    )


def _laboratory_tables(result: Examinations, voice: Voice) -> Iterator[Table]:
    say = voice.say
    if len(result.agents):
        yield Table(
            "examinations-agents",
            say("Agents by age at death"),
            result.agents,
            (
                columns.text("agent", say("Agent")),
                columns.count("n", say("In all")),
                *(columns.count(name, sentence_case(say(AGES[name]))) for name in (*AGE_CLASSES, NOT_KNOWN)),
            ),
            note=say("An agent that was found need not be what killed; the veterinary surgeon weighs it."),
            printer=voice,
        )
    if len(result.laboratory):
        yield Table(
            "examinations-laboratory",
            say("What became of the samples"),
            result.laboratory.assign(name=[say(RESULTS[one]) for one in result.laboratory["result"]]),
            (columns.text("name", say("Result"), raw="result"), columns.count("n", say("Carcasses"))),
            printer=voice,
        )


def _differ_tables(result: Examinations, voice: Voice, interval: str) -> Iterator[Table]:
    say, differ = voice.say, result.differ
    if len(differ):
        yield Table(
            "examinations-differ",
            say("The keeper's word and the examination"),
            differ.assign(
                thought=[label(voice, one) for one in differ["keeper"]],
                name=[label(voice, one) for one in differ["cause"]],
            ),
            (
                columns.text("thought", say("The keeper thought"), raw="keeper"),
                columns.text("name", say("The examination says"), raw="cause"),
                columns.count("n", say("Carcasses")),
            ),
            printer=voice,
        )
    parts = [("agree", result.agree), ("breathed", result.breathed)]
    rows = pd.concat([frame.assign(what=what) for what, frame in parts if len(frame)] or [pd.DataFrame()])
    if rows.empty:
        return
    names = {"agree": say("both say the same"), "breathed": say("born dead, and had breathed")}
    yield Table(
        "examinations-agree",
        say("How often word and examination agree"),
        rows.assign(name=[names[what] for what in rows["what"]]).reset_index(drop=True),
        (
            columns.text("name", say("What"), raw="what"),
            columns.count("events", say("Number")),
            columns.count("n", say("Of how many")),
            columns.share("share", say("Share")),
            columns.interval("low", "high", interval),
        ),
        printer=voice,
    )


def _next_table(result: Examinations, voice: Voice) -> Iterator[Table]:
    say, rows = voice.say, result.where_next
    if rows.empty:
        return
    yield Table(
        "examinations-next",
        say("Losses without a found cause, by when they came"),
        rows.assign(name=[stage_name(voice, stage) for stage in rows["stage"]]),
        (
            columns.text("name", say("Lost"), raw="stage"),
            columns.count("lost", say("Number")),
            columns.count("examined", say("Examined")),
            columns.count("found", say("Cause found")),
            columns.count("unexplained", say("No cause found")),
        ),
        printer=voice,
    )

"""Examined carcasses told: when they died, of what, what the laboratory found, and where to look next."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.examinations import (
    AFTER,
    AGE_CLASSES,
    BEFORE,
    BEFORE_OR_DURING,
    DURING,
    EXAMINED,
    FED,
    NOT_FED,
    NOT_KNOWN,
    NOT_WALKED,
    OF_EXAMINED,
    OF_LOST,
    Examinations,
)
from neonatal_stats.chapters.counted.examinations import answer as count
from neonatal_stats.chapters.protocol import heed, interval_heading
from neonatal_stats.drawing import Figure, draw_rates
from neonatal_stats.measures.rates import one_below_another
from neonatal_stats.measures.windows import BORN_DEAD, END
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns, sentence_case
from neonatal_stats.words import Method, Sentence, Voice, cautions, joined, voice_of
from neonatal_stats.words.names import label

__all__ = ["answer", "figures", "method", "missing", "opened", "sentences", "tables"]

ALONE = ("examinations",)
NAME = "examinations"
TITLE = "Examinations"
QUESTION = "What did the examined carcasses show, and where would the next examination tell most?"
Row = dict[Hashable, Any]

NAMED = 3
"""Agents and differences that a sentence names; all of them stand in the tables."""

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


def opened(season: Season) -> bool:
    """Asked where any carcass was examined."""
    return len(season.examinations) > 0


def missing(season: Season) -> tuple[str, ...]:
    """Open with one examination in the season."""
    if len(season.examinations):
        return ()
    return (voice_of(season).say("Not answered: no carcass of this season was examined."),)


def answer(season: Season) -> Examinations:
    """What the examinations showed; `NotRecorded` where there are none."""
    heed(missing(season))
    return count(season)


def sentences(result: Examinations) -> tuple[Sentence, ...]:
    """When, how many with a cause, which agents, where word and examination differ, where to look next."""
    voice = voice_of(result)
    return (
        *_when(result, voice),
        *_found(result, voice),
        *_next(result, voice),
        *_how_far(result, voice),
        *_breathed(result, voice),
        *_differ(result, voice),
        *_agents(result, voice),
        *_samples(result, voice),
        Sentence(voice.say("Examining carcasses, and which samples to send, is for a veterinary surgeon or under their "
                           "direction; local rules on carcasses come first."), role="caution"),
        cautions.abortion(voice),
    )  # fmt: skip


def _when(result: Examinations, voice: Voice) -> Iterator[Sentence]:
    n = int(result.when["n"].max()) if len(result.when) else 0
    if not n:
        text = voice.say(
            "Carcasses examined: {n}; no signs tell when they died.", n=voice.count(result.counted.n)
        )
        yield Sentence(text, lead=True)
        return
    yield Sentence(
        voice.say(
            "By the signs, of {n} examined: {listed}.",
            n=voice.count(n),
            listed=_listed(result.when, "time", voice),
        ),
        lead=True,
    )


def _stage_name(voice: Voice, stage: str) -> str:
    names = {BORN_DEAD: voice.say("born dead"), END: voice.say("later")}
    if stage in AGES:
        return voice.say(AGES[stage])
    return names.get(stage) or voice.say("by {window}", window=stage)


def _how_far(result: Examinations, voice: Voice) -> Iterator[Sentence]:
    """Of those that died after birth, who had walked and who had fed."""
    if len(result.far):
        yield Sentence(
            voice.say(
                "Of those that died after birth and whose feet and stomach were looked at: {listed}.",
                listed=_listed(result.far, "reached", voice),
            )
        )


def _listed(rows: pd.DataFrame, by: str, voice: Voice) -> str:
    return joined(
        (
            voice.say(
                "{what} {part}", what=voice.say(WHEN[row[by]]), part=voice.counts(row["events"], row["n"])
            )
            for row in rows.to_dict("records")
        ),
        ", ",
    )


def _found(result: Examinations, voice: Voice) -> Iterator[Sentence]:
    """What share has a found cause, with the interval whatever the number."""
    by_what: dict[Hashable, Row] = {row["what"]: row for row in result.found.to_dict("records")}
    text = voice.say(
        "A cause was found in {part} of the examined ({interval}).",
        **_with_interval(result, voice, by_what[OF_EXAMINED]),
    )
    yield Sentence(text)
    if OF_LOST in by_what:
        lost, seen = by_what[OF_LOST], by_what[EXAMINED]
        text = voice.say(
            "Of all lost, {seen} were examined, and {part} have a cause found so ({interval}).",
            seen=voice.counts(seen["events"], seen["n"]),
            **_with_interval(result, voice, lost),
        )
        yield Sentence(text, goes_on=True)


def _with_interval(result: Examinations, voice: Voice, row: Row) -> dict[str, str]:
    level, ends = voice.percent(result.settings.level, 0), voice.percent_range(row["low"], row["high"])
    return {
        "part": voice.counts(row["events"], row["n"]),
        "interval": voice.say("{level} interval {ends}", level=level, ends=ends),
    }


def _breathed(result: Examinations, voice: Voice) -> Iterator[Sentence]:
    """The born dead that had lived."""
    if result.breathed.empty:
        return
    row = result.breathed.iloc[0]
    text = voice.say(
        "Of those written down as born dead, {part} had breathed: they died after birth.",
        part=voice.counts(row["events"], row["n"]),
    )
    yield Sentence(text)


def _differ(result: Examinations, voice: Voice) -> Iterator[Sentence]:
    """How often the keeper's word was borne out, and where it was not."""
    if result.agree.empty:
        return
    row = result.agree.iloc[0]
    apart = result.differ[~result.differ["same"]].head(NAMED)
    text = voice.say(
        "The keeper's word and the examination agree in {part}, of those in which both say why.",
        part=voice.counts(row["events"], row["n"]),
    )
    if len(apart):
        listed = (
            voice.say(
                "{keeper} was {found} in {n}",
                keeper=label(voice, one["keeper"]),
                found=label(voice, one["cause"]),
                n=voice.count(one["n"]),
            )
            for one in apart.to_dict("records")
        )
        text = joined((text, voice.say("Most often apart: {listed}.", listed=joined(listed, "; "))))
    yield Sentence(text)


def _agents(result: Examinations, voice: Voice) -> Iterator[Sentence]:
    if result.agents.empty:
        return
    listed = (
        voice.say("{agent} {n}", agent=str(row["agent"]), n=voice.count(row["n"]))
        for row in result.agents.head(NAMED).to_dict("records")
    )
    text = voice.say(
        "Agents that the laboratory found, most often first: {listed}.", listed=joined(listed, ", ")
    )
    yield Sentence(text)


def _samples(result: Examinations, voice: Voice) -> Iterator[Sentence]:
    """What became of the samples, by count; told where any is not simply a named agent."""
    if set(result.laboratory["result"]) <= {"agent found"} and len(result.agents):
        return
    listed = (
        voice.say("{what} {part}", what=voice.say(RESULTS[row["result"]]), part=voice.count(row["n"]))
        for row in result.laboratory.to_dict("records")
    )
    if told := joined(listed, ", "):
        yield Sentence(voice.say("What the laboratory said of the samples: {listed}.", listed=told))


def _next(result: Examinations, voice: Voice) -> Iterator[Sentence]:
    """The time of loss with most losses that nothing explains; the choice is the vet's."""
    if result.where_next.empty or not result.where_next["unexplained"].any():
        return
    row = result.where_next.sort_values("unexplained", ascending=False, kind="stable").iloc[0]
    yield Sentence(
        voice.say(
            "Most losses without a found cause: {stage}, {part}. Fresh carcasses of these would tell most next; which "
            "to open and what to send, ask your veterinary surgeon.",
            stage=_stage_name(voice, str(row["stage"])),
            part=voice.part_of(row["unexplained"], row["lost"]),
        )
    )


def figures(result: Examinations) -> tuple[Figure, ...]:
    """When they died by the signs; the causes."""
    voice = voice_of(result)
    drawn = []
    if len(result.when):
        after = result.far.rename(columns={"reached": "time"}).assign(
            heading=voice.say("of those, after birth")
        )
        rows = one_below_another(result.when.assign(heading=""), after)
        drawn.append(
            draw_rates(
                rows.assign(label=[voice.say(WHEN[one]) for one in rows["time"]]),
                printer=voice,
                name="examinations-when",
                title=voice.say("When they died, by the signs"),
                alt=voice.say(
                    "Share of the carcasses examined: {listed}.", listed=_listed(result.when, "time", voice)
                ),
                axis=voice.say("% of the carcasses whose signs tell"),
            )
        )
    causes = result.causes
    if len(causes):
        told = (
            f"{label(voice, row['cause'])} {voice.part_of(row['events'], row['n'])}"
            for row in causes.to_dict("records")
        )
        drawn.append(
            draw_rates(
                causes.assign(label=[label(voice, cause) for cause in causes["cause"]]),
                printer=voice,
                name="examinations-causes",
                title=voice.say("Causes by examination"),
                alt=voice.say("Share of the carcasses examined: {listed}.", listed=joined(told, "; ")),
                axis=voice.say("% of the carcasses examined"),
            )
        )
    return tuple(drawn)


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
        rows.assign(name=[_stage_name(voice, stage) for stage in rows["stage"]]),
        (
            columns.text("name", say("Lost"), raw="stage"),
            columns.count("lost", say("Number")),
            columns.count("examined", say("Examined")),
            columns.count("found", say("Cause found")),
            columns.count("unexplained", say("No cause found")),
        ),
        printer=voice,
    )


def method(result: Examinations) -> Method:
    """How the signs are read, what a found cause is, and what limits both."""
    say = voice_of(result).say
    return Method(
        (
            say(
                "Signs are read as is common practice: air in the lungs, worn soles or milk say that it died after "
                "birth; lungs without air and decay in the womb, before birth; lungs without air and no decay, during "
                "birth; where nobody looked for decay, before or during birth. Decay alone does not tell."
            ),
            say(
                "Shares of carcasses: Wilson score interval on the number divided by the design effect of litters "
                "(Rao & Scott 1992). Each newborn counts once, by its last examination."
            ),
            say(
                "The chapter on causes counts the word of the births' rows, and the examination's where they give "
                "none; here the examination alone counts."
            ),
        ),
        (),
        (
            say(
                "Which carcasses were opened was a choice: fresh ones, odd ones, those found. What they show need not "
                "hold of the others."
            ),
            say(
                "An agent that was found need not be what killed; nothing found is no proof that there was none."
            ),
            say(
                "Signs fade: a carcass chewed, frozen or old tells less, and weak lungs may hold little air."
            ),
        ),
        (say("Signs after the scheme of McFarlane for lambs (1960s; from memory, unchecked)."),),
    )

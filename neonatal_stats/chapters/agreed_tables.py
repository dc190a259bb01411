"""The tables of a plan followed up: as it was written, and its measures before and after."""

from __future__ import annotations

import math

import pandas as pd

from neonatal_stats.chapters.counted.agreed import Agreed
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.season.actions import Action
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import joined, voice_of
from neonatal_stats.words.names import factor_name
from neonatal_stats.words.plan_words import DONE, OUTCOMES, measure_of, measure_words


def tables(result: Agreed) -> tuple[Table, ...]:
    """The plan as it was written and what became of it; the measures before and after, where there are any."""
    plan = _plan_table(result)
    return (plan, _measures_table(result)) if len(result.changes) else (plan,)


def mix_words(result: Agreed) -> str:
    """The columns of the common mix, in words."""
    voice = voice_of(result)
    return joined((factor_name(voice, name) for name in result.settings.standard_mix), ", ")


def _plan_table(result: Agreed) -> Table:
    """Every action as it was written; those to come have no outcome."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    later = [_written(action) for action in result.to_do if action.season not in ("", result.reviewed)]
    frame = pd.DataFrame([*result.actions.to_dict("records"), *later], columns=result.actions.columns)
    known = {name: measure_of(settings, name) for name in frame["measure"].unique()}
    words = {name: measure_words(voice, one, settings) if one else "" for name, one in known.items()}
    frame = frame.assign(
        was=[
            say(DONE[row["done"]]) if row["done"] or row["outcome"] else ""
            for row in frame.to_dict("records")
        ],
        moved=[words[name] for name in frame["measure"]],
        ended=[say(OUTCOMES[one]) if one in OUTCOMES else "" for one in frame["outcome"]],
    )
    shown = (
        columns.text("season", say("Season")),
        columns.text("action", say("What was agreed")),
        columns.text("who", say("Who")),
        columns.text("by_when", say("By when")),
        columns.text("cost", say("Cost")),
        columns.text("was", say("Done?"), raw="done"),
        columns.text("moved", say("What it should move"), raw="measure"),
        columns.share("stood", say("Agreed from")),
        columns.share("target", say("Agreed to")),
        columns.text("ended", say("What became of it"), raw="outcome"),
    )
    return Table("agreed-plan", say("The plan"), frame, shown, printer=voice)


def _written(action: Action) -> dict[str, object]:
    """An action to come as a row of ``actions``."""
    plain = {
        name: getattr(action, name)
        for name in ("season", "action", "who", "by_when", "cost", "done", "measure")
    }
    shares = (("stood", action.stood), ("target", action.target))
    values = {name: share.value if share else math.nan for name, share in shares}
    texts = {f"{name}_text": share.text if share else "" for name, share in shares}
    return {**plain, **values, **texts, "outcome": "", "why": "", "key": ""}


def _measures_table(result: Agreed) -> Table:
    """Each measure in the season before and in its own: counts, the share on one mix, the change."""
    voice, settings = voice_of(result), result.settings
    say, interval = voice.say, interval_heading(voice, settings.level)
    known = {name: measure_of(settings, name) for name in result.changes["name"].unique()}
    frame = result.changes.assign(
        label=[
            measure_words(voice, one, settings) if (one := known[name]) else ""
            for name in result.changes["name"]
        ],
        of=[say(one.of) if (one := known[name]) else "" for name in result.changes["name"]],
        by=[
            joined((factor_name(voice, part) for part in mix.split(", ") if part), ", ")
            for mix in result.changes["mix"]
        ],
        first=[one or say("by the plan") for one in result.changes["versus"]],
        decided=[one.value for one in result.changes["verdict"]],
    )
    shown = (
        columns.text("label", say("Measure"), raw="name"),
        columns.text("of", say("Counted of")),
        columns.text("first", say("Season before"), raw="versus"),
        columns.counts("events_versus", "n_versus", say("Counted before"), "of"),
        columns.share("before", say("Share before")),
        columns.interval("before_low", "before_high", interval),
        columns.text("season", say("Season")),
        columns.counts("events", "n", say("Counted after"), "of"),
        columns.share("after", say("Share after")),
        columns.interval("after_low", "after_high", interval),
        columns.points("estimate", say("Change")),
        columns.interval("low", "high", interval, "points"),
        columns.p("p", say("p")),
        columns.p("q", say("p by Holm")),
        columns.text("by", say("On the same"), raw="mix"),
        columns.in_csv(columns.text("detail", say("Target or window"))),
        columns.count("asked_versus", say("Asked of before")),
        columns.count("asked", say("Asked of after")),
        columns.share("swing", say("Swing taken"), whole=True),
        columns.share("fall", say("Smallest fall seen"), whole=True),
        columns.share("goal", say("Fall to")),
        columns.count("seasons", say("Seasons before and after to see it")),
        columns.in_csv(columns.text("decided", say("Verdict"))),
    )
    note = say(
        "Shares on one mix of births; counts as they were. A dash: it is not asked of this measure, or not recorded."
    )
    return Table(
        "agreed-measures", say("The measures before and after"), frame, shown, note=note, printer=voice
    )

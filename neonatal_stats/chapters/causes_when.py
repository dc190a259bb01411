"""The largest cause at each time of loss, as page one shows it: born dead, first day, first week, later."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from typing import Any

from neonatal_stats.chapters.counted.causes import Causes
from neonatal_stats.chapters.protocol import CAUSE, NO_CAUSE, Headline
from neonatal_stats.measures.windows import BORN_DEAD, END, UNDATED
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Voice, joined, voice_of
from neonatal_stats.words.names import label

Row = dict[Hashable, Any]

MOST_TIED = 2


def at_each_time(result: Causes) -> tuple[Headline, ...]:
    """The largest known cause at each time of loss, and how many losses have none, of those lost then."""
    rows = result.by_stage.to_dict("records")
    return tuple(one for row in rows for one in _of_stage(voice_of(result), row) if one.events)


def _of_stage(voice: Voice, row: Row) -> Iterator[Headline]:
    """The largest cause, of causes that tie how many each, and those of no known cause."""
    n, nan, stage = float(row["n"]), math.nan, row["stage"]
    known, unknown = float(row["events"]), float(row["unknown"])
    printed = voice.count(known)
    if "; " in str(row["cause"]):
        printed = voice.say("({n} each)", n=printed)
    yield Headline(f"{CAUSE}{stage}", _tied(voice, row), printed, known, n, known / n, nan, nan)
    told = voice.say("cause unknown")
    yield Headline(f"{NO_CAUSE}{stage}", told, voice.count(unknown), unknown, n, unknown / n, nan, nan)


def _tied(voice: Voice, row: Row) -> str:
    """The cause, or the two that tie; more than that are only counted."""
    causes = str(row["cause"]).split("; ")
    if len(causes) > MOST_TIED:
        return voice.say("{n} causes", n=voice.count(len(causes)))
    return joined((label(voice, cause) for cause in causes), ", ")


def stages_table(result: Causes) -> Table:
    """The largest known cause at each time of loss, as page one shows it."""
    voice = voice_of(result)
    say = voice.say
    names = {BORN_DEAD: say("born dead"), UNDATED: say("age not known"), END: say("later")}
    causes = [
        joined((label(voice, cause) for cause in str(row["cause"]).split("; ")), "; ")
        for row in result.by_stage.to_dict("records")
    ]
    frame = result.by_stage.assign(
        when=[names.get(stage) or say("by {window}", window=stage) for stage in result.by_stage["stage"]],
        causes=causes,
    )
    declared = (
        columns.text("when", say("Lost"), raw="stage"),
        columns.count("n", say("Losses")),
        columns.text("causes", say("Largest known cause"), raw="cause"),
        columns.count("events", say("Losses to it")),
        columns.count("unknown", say("Cause unknown")),
    )
    note = say(
        "Stillbirth tells when and not why: it counts as unknown here. Of causes that tie each took so many."
    )
    return Table(
        "causes-when",
        say("The largest cause at each time of loss"),
        frame,
        declared,
        note=note,
        printer=voice,
    )

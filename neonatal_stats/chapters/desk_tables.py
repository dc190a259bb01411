"""The tables of the adviser's desk: the order of visits, what was done, the records, change and plan."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import replace
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.desk import FEW, SEASON, WATCHED, Desk, OnDesk
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.estimates.verdict import Outcome, Verdict
from neonatal_stats.measures.rates import each_row
from neonatal_stats.measures.yardstick import ABOVE, BELOW, CANNOT_SAY, WITHIN
from neonatal_stats.tables import Table, columns
from neonatal_stats.vocabulary.plan import DONE_FOR_THEM
from neonatal_stats.words import Voice, joined, voice_of
from neonatal_stats.words.plan_words import OUTCOMES, measure_words

WHY_WORDS = {SEASON: "other season", WATCHED: "watched too short", FEW: "too few"}


def tables(result: Desk) -> tuple[Table, ...]:
    """The farms in order; what was done on each; the records of each; what changed and what was agreed."""
    return (_visits(result), _process(result), _records(result), _changes(result))


PLACES = {
    BELOW: "below published ones",
    WITHIN: "within published ones",
    ABOVE: "above published ones",
    CANNOT_SAY: "chance leaves it open",
    "": "nothing published",
}
"""Where a farm's loss lies beside published flocks and herds."""


def _visits(result: Desk) -> Table:
    voice, say = voice_of(result), voice_of(result).say
    farms = result.farms
    found = [
        say("more than the others lead one to expect")
        if row.named
        else (say("not told apart") if row.compared else say(WHY_WORDS[row.why]))
        for row in each_row(farms)
    ]
    places = [result.read[name].beside for name in farms["name"]]
    frame = farms.assign(
        place=range(1, len(farms) + 1),
        found=found,
        verdict=["named" if row.named else row.why or "not named" for row in each_row(farms)],
        beside=[say(PLACES[one]) for one in places],
        placed=places,
    )
    shown = (
        columns.text("name", say("Farm")),
        columns.in_csv(columns.text("letter", say("Letter"))),
        columns.in_csv(columns.text("season", say("Season"))),
        columns.counts("events", "n", say("Lost")),
        columns.in_csv(columns.share("share", say("Share"))),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
        columns.in_csv(columns.ratio("design_effect", say("Design effect"))),
        columns.number("expected", say("Expected from its mix")),
        columns.in_csv(columns.share("standardised", say("Mix allowed for"))),
        columns.number("excess", say("Excess, drawn in")),
        columns.interval("excess_low", "excess_high", say("Interval of the excess"), "number"),
        columns.in_csv(columns.number("raw", say("Excess as counted"))),
        columns.in_csv(columns.interval("other_low", "other_high", say("Expected from the others"))),
        columns.in_csv(columns.p("p", say("p"))),
        columns.in_csv(columns.p("q", say("q"))),
        columns.text("found", say("Found"), raw="verdict"),
        columns.text("beside", say("Beside published losses"), raw="placed"),
        columns.key("place", say("Place in the order")),
    )
    return Table(
        "desk-visits",
        say("Where a visit may buy most"),
        frame,
        shown,
        note=say("Excess: {newborns} lost beyond those expected of the farm's kinds of birth."),
        on_page=len(frame),
        printer=voice,
    )


def _process(result: Desk) -> Table:
    """What was done on each farm, in the order of the visits."""
    voice, say = voice_of(result), voice_of(result).say
    rows: list[dict[Hashable, Any]] = []
    for name in result.farms["name"]:
        of = {row.name: row._asdict() for row in each_row(result.read[name].measures.process)}
        cells: dict[Hashable, Any] = {"name": name}
        for number, measure in enumerate(DONE_FOR_THEM):
            seen = of[measure.name]
            for part in ("events", "n", "low", "high"):
                cells[f"{part}_{number}"] = seen[part] if seen["n"] else float("nan")
        rows.append(cells)
    shown = [columns.text("name", say("Farm"))]
    for number, measure in enumerate(DONE_FOR_THEM):
        words = measure_words(voice, measure, result.settings)
        shown += [
            columns.counts(f"events_{number}", f"n_{number}", words),
            columns.in_csv(
                columns.interval(
                    f"low_{number}", f"high_{number}", interval_heading(voice, result.settings.level)
                )
            ),
        ]
    note = say(
        "Of those of whom it is known, at each farm's own marks. A dash: nothing is written down. Farms that watch "
        "more closely see more."
    )
    return _as_named(
        Table(
            "desk-process",
            say("What was done"),
            pd.DataFrame(rows),
            shown,
            note=note,
            on_page=len(rows),
            printer=voice,
        )
    )


def _as_named(table: Table) -> Table:
    """The columns of the measures under names that say which measure it is: "fed_events" for "events_0"."""
    names = {
        f"{part}_{number}": f"{measure.counted.replace(' ', '_')}_{part}"
        for number, measure in enumerate(DONE_FOR_THEM)
        for part in ("events", "n", "low", "high")
    }
    shown = tuple(
        replace(one, name=names.get(one.name, one.name), more=tuple(names[more] for more in one.more))
        for one in table.columns
    )
    return replace(table, frame=table.frame.rename(columns=names), columns=shown)


def _records(result: Desk) -> Table:
    """How each farm keeps its records."""
    voice, say = voice_of(result), voice_of(result).say
    rows = []
    for name in result.farms["name"]:
        kept = result.read[name].measures.records
        rows.append({"name": name, **kept, "open": kept["not_written"] + kept["not_readable"]})
    shown = (
        columns.text("name", say("Farm")),
        columns.counts("used", "rows", say("Rows used whole")),
        columns.count("used_with_missing", say("Used, a field missing")),
        columns.count("set_aside", say("Set aside")),
        columns.counts("open", "born", say("Outcome open"), "of"),
        columns.in_csv(columns.count("not_written", say("Outcome not written"))),
        columns.in_csv(columns.count("not_readable", say("Outcome not readable"))),
        columns.counts("lost_dated", "lost", say("Losses with a time"), "of"),
        columns.count("doubts", say("Doubts about outcomes")),
    )
    note = say("Each farm's folder holds a note on its records to send to the keeper.")
    return Table(
        "desk-records",
        say("The records"),
        pd.DataFrame(rows),
        shown,
        note=note,
        on_page=len(rows),
        printer=voice,
    )


CHANGES = {
    Verdict.CLEAR: "a clear difference",
    Verdict.LEANING: "no clear difference",
    Verdict.NO_CLEAR: "no clear difference",
    Verdict.TOO_FEW: "too few to say",
}


def _changes(result: Desk) -> Table:
    """Each farm's season against the one before, and its plan."""
    voice, say = voice_of(result), voice_of(result).say
    rows = [_change(voice, result.read[name]) for name in result.farms["name"]]
    shown = (
        columns.text("name", say("Farm")),
        columns.text("against", say("Against"), raw="versus"),
        columns.points("estimate", say("Change on the same mix")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "points"),
        columns.text("word", say("Verdict"), raw="verdict"),
        columns.counts("done", "agreed", say("Agreed and done"), "of"),
        columns.text("became", say("What became of it"), raw="outcomes"),
    )
    note = say(
        "As each farm's own review says it. A season before and a season after in one farm are no proof that what was "
        "done made the difference."
    )
    return Table(
        "desk-changes",
        say("Change and plan"),
        pd.DataFrame(rows),
        shown,
        note=note,
        on_page=len(rows),
        printer=voice,
    )


def _change(voice: Voice, farm: OnDesk) -> dict[str, Any]:
    moved, kept = farm.moved, farm.kept
    nothing = float("nan")
    outcomes = [outcome for _, _, outcome in kept]
    counted = {one: outcomes.count(one) for one in Outcome if one in outcomes}
    became = (
        voice.say("{outcome}: {n}", outcome=voice.say(OUTCOMES[one]), n=voice.count(n))
        for one, n in counted.items()
    )
    return {
        "name": farm.name,
        "versus": moved.versus if moved else "",
        "against": moved.versus if moved else voice.say("no other season"),
        "estimate": moved.estimate if moved else nothing,
        "low": moved.low if moved else nothing,
        "high": moved.high if moved else nothing,
        "word": voice.say(CHANGES[moved.verdict]) if moved else "",
        "verdict": moved.verdict.value if moved else "",
        "done": sum(done == "yes" for _, done, _ in kept) if kept else nothing,
        "agreed": len(kept) if kept else nothing,
        "became": joined(became, "; ") if kept else voice.say("no plan"),
        "outcomes": "; ".join(f"{one.value}: {n}" for one, n in counted.items()),
    }

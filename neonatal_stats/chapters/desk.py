"""At which farm may a visit buy most, how is each doing what it can do, and how well does each keep its records?

It stands on a page of its own, the adviser's desk. What it calls clear is decided over all farms of the desk together,
and it asks one thing only: whether a farm lost more than farms like the others do.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.desk import FEW, SEASON, WATCHED, Desk, Moved, OnDesk, answer, jointly
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Figure, draw_funnel, draw_ranked
from neonatal_stats.estimates.verdict import Outcome, Verdict
from neonatal_stats.measures.farms import OUTER_LEVEL
from neonatal_stats.measures.rates import each_row
from neonatal_stats.measures.yardstick import ABOVE, BELOW, CANNOT_SAY, WITHIN
from neonatal_stats.tables import Table, columns
from neonatal_stats.vocabulary.plan import DONE_FOR_THEM
from neonatal_stats.words import Method, Sentence, Voice, joined, voice_of
from neonatal_stats.words.farms_said import as_ranked, named_said, ranked_in_words
from neonatal_stats.words.names import OUTCOMES, factor_name, measure_words, window_label

__all__ = [
    "Desk",
    "Moved",
    "OnDesk",
    "among_figures",
    "among_sentences",
    "answer",
    "figures",
    "jointly",
    "method",
    "sentences",
    "tables",
]

NAME = "desk"
TITLE = "The adviser's desk"
QUESTION = "At which farm may a visit buy most?"
MOST_DRAWN = 20
"""Farms that are drawn; all of them stand in the table."""

DRAWN = "The first {shown} are drawn; all of them stand in the table."
NO_SPECIES = (
    "The records of these farms name no species, or several, so they are held against each other alone; a map can say "
    'it once for a whole farm, under [fixed] species = "sheep".'
)
WHY = {
    SEASON: "Not compared, since their season is another: {farms}.",
    WATCHED: "Not compared, since fewer than nine in ten {newborns} were watched to {window}: {farms}.",
    FEW: "Not compared, since fewer than {minimum} {newborns} are known: {farms}.",
}

ALL = "{farms} farms with {n} {newborns} are compared, season {season}, lost by {window}: together {lost}."
ONE = (
    "Only one farm with {n} {newborns} can be compared, season {season}, so there is nothing to hold it against; lost "
    "by {window}: {lost}."
)
AMONG = {
    "named": "Your farm is {letter}: {counts}, {share} once the kinds of birth are allowed for. That is more than the "
    "other farms lead one to expect of it ({low} to {high}).",
    "outside": "Your farm is {letter}: {counts}, {share} once the kinds of birth are allowed for. The other farms lead "
    "one to expect {low} to {high}; but of so many farms compared at once one may lie outside by chance.",
    "within": "Your farm is {letter}: {counts}, {share} once the kinds of birth are allowed for. The other farms lead "
    "one to expect {low} to {high}: it is not told apart from them.",
}
ALONE = "Your farm is {letter}: {counts}, {share} once the kinds of birth are allowed for."
NOT_AMONG = "Your farm is not among those compared: {why}."
NOT_AMONG_WHY = {
    SEASON: "the season compared is {season}, and its own is {own}",
    WATCHED: "too few {newborns} were watched to {window}",
    FEW: "too few {newborns} are known",
}


def sentences(result: Desk) -> tuple[Sentence, ...]:
    """Who is named, who is compared, who is not and why."""
    return (*_named(result), *_all_compared(result), *_left(result))


def _named(result: Desk) -> Iterator[Sentence]:
    voice = voice_of(result)
    yield from named_said(voice, result.compared, "name", spread=result.spread)
    if len(result.compared) > MOST_DRAWN:
        yield Sentence(voice.say(DRAWN, shown=voice.count(MOST_DRAWN)))


def _all_compared(result: Desk) -> Iterator[Sentence]:
    """How many farms are compared, and what they lost together."""
    voice, farms = voice_of(result), result.compared
    if len(farms):
        events, n = farms["events"].sum(), farms["n"].sum()
        yield Sentence(
            voice.say(
                ALL if len(farms) > 1 else ONE,
                farms=voice.count(len(farms)),
                n=voice.count(n),
                season=result.season,
                window=_window_of(result),
                lost=voice.counts(events, n),
            )
        )


def _left(result: Desk) -> Iterator[Sentence]:
    """The farms that were read and are not compared, by the reason."""
    voice = voice_of(result)
    if not result.species:
        yield Sentence(voice.say(NO_SPECIES), role="cannot say")
    for why, template in WHY.items():
        rows = result.farms[~result.farms["compared"] & (result.farms["why"] == why)]
        if len(rows):
            minimum = voice.count(result.settings.minimum_group)
            farms = ", ".join(_with_season(row, why) for row in each_row(rows))
            text = voice.say(template, farms=farms, minimum=minimum, window=_window_of(result))
            yield Sentence(text, role="cannot say")


def _with_season(row: Any, why: str) -> str:
    return f"{row.name} ({row.season})" if why == SEASON else str(row.name)


def _window_of(result: Desk) -> str:
    """The window in which the farms are compared, in words."""
    return window_label(voice_of(result), result.window.name, result.window.end_h)


def figures(result: Desk) -> tuple[Figure, ...]:
    """The farms in their order: how many newborns more, or fewer, than expected, drawn in for chance."""
    voice, farms = voice_of(result), result.compared
    if len(farms) < 2 or not farms["excess"].notna().any():
        return ()
    shown = farms.head(MOST_DRAWN)
    frame = as_ranked(voice, shown, "name")
    title = voice.say("{newborns} lost beyond those expected, drawn in for chance")
    return (
        draw_ranked(
            frame,
            printer=voice,
            name="desk-visits",
            title=title[:1].upper() + title[1:],
            alt=ranked_in_words(voice, shown, "name", len(farms)),
            axis=voice.say("{newborns} more (right) or fewer (left) than expected"),
            counts_heading=voice.say("lost"),
            words=(voice.say("more than the others lead one to expect"), voice.say("not told apart")),
        ),
    )


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


def among_sentences(result: Desk, name: str) -> tuple[str, ...]:
    """What the keeper of a farm is told of it among the letters: own figures, and what all the farms lost together."""
    voice, row = voice_of(result), _row_of(result, name)
    if not row["compared"]:
        why = voice.say(
            NOT_AMONG_WHY[row["why"]], season=result.season, own=row["season"], window=_window_of(result)
        )
        return (voice.say(NOT_AMONG, why=why),)
    known = row["other_low"] == row["other_low"]
    outside = not row["other_low"] <= row["standardised"] <= row["other_high"]
    where = "named" if row["named"] else "outside" if outside else "within"
    own = voice.say(
        AMONG[where] if known else ALONE,
        letter=row["letter"],
        counts=voice.counts(row["events"], row["n"]),
        share=voice.percent(row["standardised"]),
        low=voice.percent(row["other_low"]),
        high=voice.percent(row["other_high"]),
    )
    return (own, *(sentence.text for sentence in _all_compared(result)))


def _row_of(result: Desk, name: str) -> dict[Hashable, Any]:
    return result.farms[result.farms["name"] == name].to_dict("records")[0]


def among_figures(result: Desk, name: str) -> tuple[Figure, ...]:
    """The farms by letter, one's own filled; a farm too small to be compared is not in it."""
    voice, found, row = voice_of(result), result.funnel, _row_of(result, name)
    if found is None or not row["compared"] or row["letter"] not in set(found.farms["letter"]):
        return ()
    say, own = voice.say, found.farms["letter"] == row["letter"]
    farms = found.farms.assign(own=own, outside=own & bool(row["named"]))
    return (
        draw_funnel(
            farms,
            found.line,
            found.centre,
            printer=voice,
            name="desk-among",
            title=say("Loss by farm against its number of {newborns}"),
            alt=joined(among_sentences(result, name)),
            axes_words=(
                say("{newborns} on the farm"),
                say("lost by {window}, %, mix allowed for", window=_window_of(result)),
            ),
            words=(
                say("{level} limits", level=voice.percent(result.settings.level, 0)),
                say("{level} limits", level=voice.percent(OUTER_LEVEL)),
                say("your farm"),
                say("all farms"),
            ),
        ),
    )


def method(result: Desk) -> Method:
    """How the farms were set side by side."""
    voice, say, settings = voice_of(result), voice_of(result).say, result.settings
    return Method(
        method=(
            say(
                "Expected is what the common risk of each of a farm's kinds of birth, over all farms, would have "
                "given, by as many columns as the farm itself records."
            ),
            say(
                "Farms are random effects: each farm's risk is drawn in towards that of all, the more the fewer "
                "{newborns} it has (divided by the design effect of its litters). The order is by the excess left."
            ),
            say(
                "A farm is named where it lost more than a prediction from the other farms: variance between farms on "
                "log odds by Paule and Mandel, chance on arcsine roots, Student's t. All farms of the desk are decided "
                "together: of those that so lie apart, above or below, at most {share} are expected to be chance "
                "(Benjamini and Hochberg).",
                share=voice.percent(settings.false_discovery_share, 0),
            ),
            say(
                "Of invented desks on which no farm was worse than farms are, at most 1 in 10 named one (by "
                "simulation)."
            ),
        ),
        settings=(
            say("Mix: {mix}.", mix=_mix(voice, result.mix)),
            say("Window: {window}.", window=_window_of(result)),
            say("Smallest farm compared: {minimum} {newborns}.", minimum=voice.count(settings.minimum_group)),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say("The order is no ranking: where intervals overlap the farms are not told apart."),
            say("With fewer than about ten farms little is known of how far farms spread."),
            say("Farms that watch more closely find more of their dead."),
            say(
                "A farm that loses more than others is not thereby a badly kept one: land, breed and weather differ."
            ),
        ),
        sources=(
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
            say("Jones HE, Ohlssen DI, Spiegelhalter DJ (2008) J Clin Epidemiol 61:232-240."),
            say("Higgins JPT, Thompson SG, Spiegelhalter DJ (2009) J R Stat Soc A 172:137-159."),
            say("Goldstein H, Spiegelhalter DJ (1996) J R Stat Soc A 159:385-443."),
            say("Rao JNK, Scott AJ (1992) Biometrics 48:577-585."),
        ),
    )


def _mix(voice: Voice, mix: Mapping[str, Sequence[str]]) -> str:
    """The columns of the mix, and the farms that lack some of them."""
    every = list(dict.fromkeys(name for names in mix.values() for name in names))
    told = [
        voice.say("{column} (not {farms})", column=factor_name(voice, name), farms=", ".join(lacking))
        if (lacking := [farm for farm, names in mix.items() if name not in names])
        else factor_name(voice, name)
        for name in every
    ]
    return joined(told, ", ") or voice.say("none")

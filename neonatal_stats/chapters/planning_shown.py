"""Next season drawn and in tables: what could be won, what would show it, actions weighed, what to write down."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.planning import (
    ABSENT,
    ENOUGH,
    FEW,
    POWER,
    SEASONS,
    UNWATCHED,
    Planning,
    claims,
)
from neonatal_stats.chapters.protocol import Verdicts, interval_heading
from neonatal_stats.drawing import Figure, draw_needed
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.ledger import settled
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Verdict, Voice, voice_of
from neonatal_stats.words.group_tables import risk_columns, risk_rows, shown_first
from neonatal_stats.words.names import column_name, phrase, window_label

Row = Mapping[Hashable, Any]

OPENS = {
    "born_at": "when, by the hour, the losses fall, and every check of the first hours",
    "birth_weight_kg": "whether small or large {newborns} are lost more, and colostrum by weight",
    "delivery": "whether hard births and births by surgery lose more",
    "dam_parity": "whether {first_timers} lose more",
    "sex": "whether males are lost more",
    "suck_reflex": "whether a weak suck reflex at 10 minutes marks those at risk",
    "stood_after_min": "whether standing late marks those at risk",
    "fed_after_min": "whether late colostrum goes with loss",
    "mothered_up": "which {dams} reject, and what became of those left",
    "died_at": "at what age {newborns} are lost: the survival curve",
    "cause": "what the losses were put down to",
    "cause_basis": "how far the causes can be trusted",
    "last_seen_at": "that the living were truly seen alive at the end",
}
ASKED = {
    "all": "{newborns} born",
    "alive": "born alive",
    "lost": "lost after a live birth",
    "living": "not lost",
}


def figures(result: Planning) -> tuple[Figure, ...]:
    """How many newborns each fall in loss needs before it can be seen, where losses fell short of all or nothing.

    What each group could save is the picture of the chapter of the groups divided by the seasons, and not drawn again.
    """
    if result.needed.empty:
        return ()
    voice, last, rows = voice_of(result), result.last.iloc[0], result.needed.to_dict("records")
    say = voice.say
    falls = [
        say(
            "by {fall}, from {p0} to {p1}",
            fall=voice.percent(row["fall"], 0),
            p0=voice.percent(row["p0"]),
            p1=voice.percent(row["p1"]),
        )
        for row in rows
    ]
    told = "; ".join(f"{fall}: {voice.count(row['n'])}" for fall, row in zip(falls, rows, strict=True))
    born = {"season": str(last["season"]), "n": voice.count(last["n"] / 2)}
    return (
        draw_needed(
            result.needed.assign(label=falls),
            printer=voice,
            name="planning-needed",
            title=say("How many {newborns} are needed to see a fall"),
            alt=say(
                "{newborns} needed in each half of one season to see loss fall {told}. Half of {season} had {n}.",
                told=told,
                **born,
            ),
            axis=say("{newborns} needed in each half of one season"),
            there=(float(last["n"]) / 2, say("half of {season}: {n}", **born)),
        ),
    )


def tables(result: Planning, verdicts: Verdicts | None = None) -> tuple[Table, ...]:
    """Losses avoidable; newborns needed; actions; the last season; repeat losers; what to record."""
    groups = judged(result.avoidable, settled(claims(result), result.settings, verdicts))
    built = [_avoidable_table(result, groups)] if len(groups) else []
    if len(result.needed):
        built += [_needed_table(result), _shows_table(result)]
    built += _actions_table(result)
    built.append(_last_table(result))
    if result.repeat.dams:
        built.append(_repeat_table(result))
    return (*built, _record_table(result))


def _avoidable_table(result: Planning, groups: pd.DataFrame) -> Table:
    """The groups that lost more than the rest, and what each could save a season."""
    voice, settings = voice_of(result), result.settings
    say, interval = voice.say, interval_heading(voice, settings.level)
    frame = risk_rows(voice, groups).drop(columns=["verdict", "key"])
    frame = frame.assign(clear=groups["verdict"] == Verdict.CLEAR)
    saved = (
        columns.count("saved", say("Fewer losses a season")),
        columns.count("saved_low", say("{interval}, from", interval=interval)),
        columns.count("saved_high", say("to")),
    )
    cost = (
        columns.count("cost", say("Worth a season, {currency}", currency=settings.currency)),
        columns.count("cost_low", say("worth from")),
        columns.count("cost_high", say("worth to")),
    )
    shown = ["phrase", "deaths", "births", "risk", "rest_risk", *(column.name for column in saved)]
    if settings.price is not None:
        shown += [column.name for column in cost]
    declared = (*risk_columns(voice, interval), *saved, *cost, columns.key("clear", say("Clear")))
    note = say(
        "Groups overlap: the lines must not be added up. Only groups that management can change, and whose interval "
        "lies above none, are shown."
    )
    title = say("Losses above the risk of the rest, in groups that management can change")
    listed = shown_first(declared, shown, frame)
    return Table("planning-avoidable", title, frame, listed, note=note, printer=voice)


def _needed_table(result: Planning) -> Table:
    """Newborns, and seasons, needed to see a fall."""
    voice, born = voice_of(result), voice_of(result).count(result.last.iloc[0]["n"])
    say = voice.say
    a_season = "{newborns} in each of {n} seasons before and {n} after"
    shown = (
        columns.share("fall", say("Fall to be seen"), whole=True),
        columns.share("p0", say("From")),
        columns.share("p1", say("To")),
        columns.count("n", say("{newborns} in each half of one season")),
        *(columns.count(f"n_{seasons}", say(a_season, n=voice.count(seasons))) for seasons in SEASONS),
        columns.count("seasons", say("Seasons before and after, of {born} {newborns}", born=born)),
    )
    title = say("What is needed to see a fall")
    note = say(
        "With a chance of {power} of seeing it, and seasons that swing by {swing} of their loss; a dash: no number of "
        "{newborns} is enough.",
        power=voice.percent(POWER, 0),
        swing=voice.percent(result.swing.taken, 0),
    )
    return Table("planning-needed", title, result.needed, shown, note=note, printer=voice)


def _shows_table(result: Planning) -> Table:
    """The smallest fall that seasons as large as the last would show."""
    voice, found = voice_of(result), result.swing
    say = voice.say
    named = [
        say("{n} before and {n} after", n=voice.count(seasons))
        if seasons
        else say("two halves of one season")
        for seasons in result.shows["seasons"]
    ]
    frame = result.shows.assign(named=named, swing=found.taken, measured=found.measured, seen=found.seasons)
    shown = (
        columns.text("named", say("Seasons"), raw="seasons"),
        columns.count("n", say("{newborns} in each")),
        columns.share("fall", say("Smallest fall seen"), whole=True),
        columns.share("swing", say("Swing taken"), whole=True),
        columns.share("measured", say("Swing measured"), whole=True),
        columns.count("seen", say("on seasons")),
    )
    title = say("What seasons of this size would show")
    note = say("A dash: not even that no loss is left.")
    return Table("planning-shows", title, frame, shown, note=note, printer=voice)


REASONS = {ABSENT: "no such group", FEW: "too few", UNWATCHED: "not watched so long"}


def _actions_table(result: Planning) -> tuple[Table, ...]:
    """One row an action; none where the settings name none."""
    if result.actions.empty:
        return ()
    voice, currency = voice_of(result), result.settings.currency
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    rows = result.actions.to_dict("records")
    frame = result.actions.assign(
        whom=[whom(voice, row) for row in rows],
        by=[window_label(voice, row["window"], row["end_h"]) for row in rows],
        from_where=[source(voice, row) for row in rows],
        said=[say(REASONS[row["why"]]) if row["why"] else "" for row in rows],
    )
    net = (
        columns.count("net", say("Net a season, {currency}", currency=currency)),
        columns.interval("net_low", "net_high", say("net, from and to"), "count"),
        columns.share("even", say("Pays for itself from"), whole=True),
        columns.in_csv(columns.interval("even_low", "even_high", say("pays, from and to"), "whole percent")),
    )
    reasons = columns.text("said", say("Too few to say"), raw="why")
    declared = (
        columns.text("what", say("Action")),
        columns.text("whom", say("Aimed at")),
        columns.text("by", say("Their losses by"), raw="window"),
        columns.count("cost", say("Cost a season, {currency}", currency=currency)),
        columns.number("aimed", say("Losses a season")),
        columns.interval("aimed_low", "aimed_high", interval, "number"),
        columns.interval("least", "most", say("Spares of them"), "whole percent"),
        columns.text("from_where", say("Where that comes from"), raw="source"),
        columns.number("spared", say("Spared a season")),
        columns.interval("spared_low", "spared_high", say("spared, from and to"), "number"),
        *(net if result.settings.price is not None else ()),
        reasons if any(frame["why"]) else columns.in_csv(reasons),
        columns.key("factor", say("By")),
        columns.key("group", say("Group")),
        columns.in_csv(columns.count("weeks", say("Weeks"))),
        columns.in_csv(columns.count("lost", say("Lost, all seasons"))),
        columns.in_csv(columns.count("n", say("Born, all seasons"))),
    )
    note = say(
        "Losses a season: of all seasons recorded, by the curve. Spared: the lower end of both times one another, "
        "to the upper ends. Pays for itself from: the share of these losses that it must spare."
    )
    return (Table("planning-actions", say("Actions, what they cost and what they could spare"), frame, declared,
                  note=note, printer=voice),)  # fmt: skip


def whom(voice: Voice, row: Row) -> str:
    """The newborns that an action is aimed at, as part of a sentence."""
    who = phrase(voice, row["factor"], row["group"]) if row["factor"] else voice.say("all {newborns}")
    if not row["weeks"]:
        return who
    if row["weeks"] == 1:
        return voice.say("{who} in the week in which most are born", who=who)
    return voice.say("{who} in the {n} weeks in which most are born", who=who, n=voice.count(row["weeks"]))


def source(voice: Voice, row: Row) -> str:
    return row["source"] or voice.say("the reader's own range")


def _last_table(result: Planning) -> Table:
    """Losses of the last season among those whose fate is known; their cost where a price is set."""
    voice, settings, frame = voice_of(result), result.settings, result.last
    say = voice.say
    shown = [
        columns.text("season", say("Season")),
        columns.count("events", say("Lost")),
        columns.count("n", say("{newborns}")),
        columns.share("share", say("Share")),
        columns.ratio("design_effect", say("Design effect")),
    ]
    if settings.price is not None:
        frame = frame.assign(price=settings.price, cost=frame["events"] * settings.price)
        shown.append(columns.count("price", say("Price of one, {currency}", currency=settings.currency)))
        shown.append(columns.count("cost", say("Cost, {currency}", currency=settings.currency)))
    return Table("planning-last", say("The last season"), frame, shown, printer=voice)


def _repeat_table(result: Planning) -> Table:
    """Dams that lost in two seasons or more, of those seen in more than one, beside chance."""
    voice, found = voice_of(result), result.repeat
    say = voice.say
    names = ("dams", "observed", "expected", "low", "high", "p")
    frame = pd.DataFrame([{name: getattr(found, name) for name in names}])
    shown = (
        columns.count("dams", say("{dams} seen in more than one season")),
        columns.count("observed", say("Lost in two seasons or more")),
        columns.number("expected", say("By chance alone"), digits=0),
        columns.interval("low", "high", say("95 of 100 draws of chance lie within"), "whole number"),
        columns.p("p", say("p")),
    )
    title = say("Losing again: {dams} in more than one season")
    return Table("planning-dams", title, frame, shown, printer=voice)


def _record_table(result: Planning) -> Table:
    """How far each column that opens a question was filled, of those it is asked of."""
    voice, record = voice_of(result), result.record
    say = voice.say
    frame = record.assign(
        of=[say(ASKED[of]) for of in record["of"]],
        heading=[column_name(voice, column) for column in record["column"]],
        opens=[say(OPENS[column]) for column in record["column"]],
        flag=[say("enough") if enough else say("too few") for enough in record["enough"]],
    )
    shown = (
        columns.text("heading", say("Column"), raw="column"),
        columns.count("recorded", say("Recorded")),
        columns.count("n", say("Of")),
        columns.in_csv(columns.share("share", say("Share"))),
        columns.text("of", say("Asked of")),
        columns.text("flag", say("Enough?"), raw="enough"),
        columns.text("opens", say("What it would answer")),
    )
    note = say("Enough is {enough} or more.", enough=voice.percent(ENOUGH, 0))
    return Table("planning-record", say("What to record next season"), frame, shown, note=note, printer=voice)

"""What losses cost, and which action could pay: one row an action, its range the reader's own or a source's."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping
from typing import Any

from neonatal_stats.chapters.counted.planning import Planning
from neonatal_stats.chapters.counted.planning_money import ABSENT, FEW, UNWATCHED
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Sentence, Voice, joined, voice_of
from neonatal_stats.words.names import phrase, window_label
from neonatal_stats.words.plain import money

Row = Mapping[Hashable, Any]

AIMED = (
    "{what}: {cost} a season. Aimed at {whom}, it meets about {aimed} losses a season by {window} ({level} interval "
    "{low} to {high})."
)
SPARED = (
    "If it spared {least} to {most} of these ({source}), {spared_low} to {spared_high} {newborns} a season would be "
    "kept, chance and litters allowed for."
)
PAYS = "That is {net_low} to {net_high} once its cost is paid; it pays for itself from {even} spared on."
NEVER_PAYS = "That is {net_low} to {net_high} once its cost is paid; it would not pay for itself if it spared them all."
UNPRICED = "With a price of a {newborn} in the settings this would be set against its cost."
NOT_WEIGHED = {
    ABSENT: "{what}: nothing can be said, since no {newborn} of its group is recorded.",
    FEW: "{what}: too few to say, with {lost} known to be lost of {n} {newborns} in its group.",
    UNWATCHED: "{what}: nothing can be said, since too few {newborns} were watched for so long.",
}
GIVEN = (
    "What an action spares is the range given for it and nothing that these records show; actions that are aimed at "
    "the same losses must not be added up."
)


def sentences(result: Planning) -> Iterator[Sentence]:
    """Each action of the settings, and what its range is."""
    for row in result.actions.to_dict("records"):
        yield Sentence(_not_weighed(result, row) if row["why"] else _weighed(result, row))
    if len(result.actions):
        yield Sentence(voice_of(result).say(GIVEN), goes_on=True)


def _not_weighed(result: Planning, row: Row) -> str:
    voice = voice_of(result)
    return voice.say(
        NOT_WEIGHED[row["why"]], what=row["what"], lost=voice.count(row["lost"]), n=voice.count(row["n"])
    )


def _weighed(result: Planning, row: Row) -> str:
    voice, settings = voice_of(result), result.settings
    aimed = voice.say(
        AIMED,
        what=row["what"],
        cost=money(voice, row["cost"], settings.currency),
        whom=_whom(voice, row),
        aimed=voice.number(row["aimed"]),
        window=window_label(voice, row["window"], row["end_h"]),
        level=voice.percent(settings.level, 0),
        low=voice.number(row["aimed_low"]),
        high=voice.number(row["aimed_high"]),
    )
    spared = voice.say(
        SPARED,
        least=voice.percent(row["least"], 0),
        most=voice.percent(row["most"], 0),
        source=_source(voice, row),
        spared_low=voice.number(row["spared_low"]),
        spared_high=voice.number(row["spared_high"]),
    )
    return joined((aimed, spared, _net(result, row)))


def _net(result: Planning, row: Row) -> str:
    voice, currency = voice_of(result), result.settings.currency
    if result.settings.price is None:
        return voice.say(UNPRICED)
    ends = {name: money(voice, row[name], currency) for name in ("net_low", "net_high")}
    if math.isnan(row["even"]) or row["even"] > 1:
        return voice.say(NEVER_PAYS, **ends)
    return voice.say(PAYS, even=voice.percent(row["even"], 0), **ends)


def _whom(voice: Voice, row: Row) -> str:
    """The newborns that an action is aimed at, as part of a sentence."""
    who = phrase(voice, row["factor"], row["group"]) if row["factor"] else voice.say("all {newborns}")
    if not row["weeks"]:
        return who
    if row["weeks"] == 1:
        return voice.say("{who} in the week in which most are born", who=who)
    return voice.say("{who} in the {n} weeks in which most are born", who=who, n=voice.count(row["weeks"]))


def _source(voice: Voice, row: Row) -> str:
    return row["source"] or voice.say("the reader's own range")


def tables(result: Planning) -> tuple[Table, ...]:
    """One row an action; none where the settings name none."""
    if result.actions.empty:
        return ()
    voice, currency = voice_of(result), result.settings.currency
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    rows = result.actions.to_dict("records")
    frame = result.actions.assign(
        whom=[_whom(voice, row) for row in rows],
        by=[window_label(voice, row["window"], row["end_h"]) for row in rows],
        from_where=[_source(voice, row) for row in rows],
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


REASONS = {ABSENT: "no such group", FEW: "too few", UNWATCHED: "not watched so long"}


def method(voice: Voice) -> str:
    """How it was worked out."""
    return voice.say(
        "Actions: {newborns} of the group a season times the share lost by the window's end (Kaplan-Meier, with "
        "litters), times the range that the settings give for what is spared; net is that times the price less the "
        "cost, and an action pays for itself where it spares its cost divided by the worth of all these losses. How "
        "far seasons swing is not in these intervals."
    )

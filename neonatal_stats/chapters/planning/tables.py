"""The tables of planning."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.chapters.planning.result import POWER, Planning
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.measures.to_record import ENOUGH
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import planning as words
from neonatal_stats.words.column_names import column_name


def tables(result: Planning) -> tuple[Table, ...]:
    """Losses avoidable; newborns needed; the last season; repeat losers; what to record."""
    built = [_avoidable(result)] if len(result.avoidable) else []
    if len(result.needed):
        built.append(_needed(result))
    built.append(_last(result))
    if result.repeat.dams:
        built.append(_repeat(result))
    return (*built, _record(result))


def _last(result: Planning) -> Table:
    say, price = result.voice.say, result.settings.price
    frame = result.last
    headings = {
        "season": say("Season"),
        "events": say("Lost"),
        "n": say("{newborns}"),
        "share": say("Share"),
        "design_effect": say("Design effect"),
    }
    if price is not None:
        frame = frame.assign(price=price, cost=frame["events"] * price)
        headings["price"] = say("Price of one, {currency}", currency=result.settings.currency)
        headings["cost"] = say("Cost, {currency}", currency=result.settings.currency)
    formats = {
        "events": "count",
        "n": "count",
        "share": "share",
        "design_effect": "ratio",
        "cost": "count",
        "price": "count",
    }
    return Table("planning-last", say("The last season"), frame, headings, formats)


def _needed(result: Planning) -> Table:
    say = result.voice.say
    headings = {
        "fall": say("Fall to be seen"),
        "p0": say("From"),
        "p1": say("To"),
        "n": say("{newborns} needed in each of two seasons"),
    }
    frame = result.needed.assign(fall=[printing.percent(fall, 0) for fall in result.needed["fall"]])
    title = say("How many {newborns} are needed to see a fall")
    note = say("With a chance of {power} of seeing it.", power=printing.percent(POWER, 0))
    return Table(
        "planning-needed", title, frame, headings, {"p0": "share", "p1": "share", "n": "count"}, note
    )


def _avoidable(result: Planning) -> Table:
    say = result.voice.say
    interval = interval_heading(result.voice, result.settings.level)
    frame = result.avoidable
    headings = {
        "phrase": say("Group"),
        "deaths": say("Lost"),
        "births": say("{newborns}"),
        "risk": say("Share"),
        "rest_risk": say("Share, the rest"),
        "saved": say("Fewer losses a season"),
        "saved_low": say("{interval}, from", interval=interval),
        "saved_high": say("to"),
    }
    if result.settings.price is not None:
        headings |= {
            "cost": say("Worth a season, {currency}", currency=result.settings.currency),
            "cost_low": say("worth from"),
            "cost_high": say("worth to"),
        }
    formats = dict.fromkeys(("deaths", "births", "saved", "saved_low", "saved_high"), "count")
    formats |= dict.fromkeys(("cost", "cost_low", "cost_high"), "count")
    formats |= {"risk": "share", "rest_risk": "share"}
    note = say(
        "Groups overlap: the lines must not be added up. Only groups whose interval lies above none are "
        "shown."
    )
    title = say("Losses that would not have been, had the group done as well as the rest")
    return Table("planning-avoidable", title, frame, headings, formats, note)


def _range(low: float, high: float) -> str:
    return printing.span(printing.number(low, 0), printing.number(high, 0))


def _repeat(result: Planning) -> Table:
    say, found = result.voice.say, result.repeat
    row = {"dams": found.dams, "observed": found.observed, "expected": printing.number(found.expected, 0)}
    frame = pd.DataFrame([{**row, "by_chance": _range(found.low, found.high), "p": found.p}])
    headings = {
        "dams": say("{dams} seen in more than one season"),
        "observed": say("Lost in two seasons or more"),
        "expected": say("By chance alone"),
        "by_chance": say("95 of 100 draws of chance lie within"),
        "p": say("p"),
    }
    title = say("Losing again: {dams} in more than one season")
    return Table("planning-dams", title, frame, headings, {"dams": "count", "observed": "count", "p": "p"})


def _record(result: Planning) -> Table:
    say = result.voice.say
    frame = result.record.assign(
        of=[say(words.ASKED[of]) for of in result.record["of"]],
        heading=[column_name(result.voice, column) for column in result.record["column"]],
        opens=[say(words.OPENS[column]) for column in result.record["column"]],
        flag=[say("enough") if enough else say("too few") for enough in result.record["enough"]],
    )
    headings = {
        "heading": say("Column"),
        "recorded": say("Recorded"),
        "n": say("Of"),
        "of": say("Asked of"),
        "flag": say("Enough?"),
        "opens": say("What it would answer"),
    }
    formats = {"recorded": "count", "n": "count"}
    note = say("Enough is {enough} or more.", enough=printing.percent(ENOUGH, 0))
    return Table("planning-record", say("What to record next season"), frame, headings, formats, note)

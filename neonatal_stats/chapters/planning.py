"""What should next season aim at, what could be won, and what should be written down?"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.planning import ENOUGH, POWER, Planning, answer
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_ranked
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence, Verdict
from neonatal_stats.words.column_names import column_name
from neonatal_stats.words.names import with_phrases
from neonatal_stats.words.windows import window_label

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Planning",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]

NAME = "planning"
TITLE = "Next season"
QUESTION = "What could next season win, what would show it, and what should be written down?"
ALL_SEASONS = True

MOST_SAID = 3
SAID_FALL = 0.25
LABEL_WIDTH = 34

OPENS = {
    "born_at": "when, by the hour, the losses fall, and every check of the first hours",
    "birth_weight_kg": "whether small or large {newborns} are lost more, and colostrum by weight",
    "delivery": "whether hard births and births by surgery lose more",
    "dam_parity": "whether first-time {dams} lose more",
    "sex": "whether males are lost more",
    "suck_reflex": "whether a weak suck reflex at 10 minutes marks those to feed by hand",
    "stood_after_min": "whether standing late marks those at risk",
    "fed_after_min": "whether late colostrum goes with loss",
    "mothered_up": "which {dams} reject, and what it costs",
    "died_at": "at what age {newborns} are lost: the survival curve",
    "cause": "what the losses were due to",
    "cause_basis": "how far the causes can be trusted",
    "last_seen_at": "that the living were truly seen alive at the end",
}
ASKED = {
    "all": "{newborns} born",
    "alive": "born alive",
    "lost": "lost after a live birth",
    "living": "not lost",
}

NEEDED = (
    "To see loss fall by {fall} next season, from {p0} to {p1}, about {n} {newborns} would be needed in each "
    "of the two seasons (chance of seeing it {power}); last season had {born}."
)
NEEDED_NONE = "With {lost} of {n} lost, how many births would show a fall cannot be worked out."
AVOIDABLE = (
    "Had {phrase} done as well as the rest, about {saved} fewer would have been lost a season ({low} to "
    "{high}){cost}."
)
AT_MOST = (
    "These are the most there is to win, and only if the group itself is the reason, which records cannot "
    "prove; groups overlap, so their losses must not be added up."
)
COST = ", worth {cost} ({low} to {high})"
LOST_COST = "The {lost} {newborns} lost by {window} in {season} cost {cost} at {price} each."
NO_PRICE = "No price of a {newborn} is set; with one in the settings, losses would be shown as cost."
REPEAT = {
    Verdict.CLEAR: "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two or "
    "more; chance alone would give about {expected} ({low} to {high}). That is more than chance: look at "
    "these {dams_word} first.",
    Verdict.NO_CLEAR: "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two "
    "or more; chance alone would give about {expected} ({low} to {high}), so most of them may just have been "
    "unlucky.",
}
RECORD = "Record next season: {columns} (so far written down for too few to answer what that opens)."
RECORD_ALL = "Every column that opens a question was recorded for at least {enough} of those it is asked of."


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as there is one birth."""
    if len(season.births):
        return ()
    return (voice_of(season).say("Not answered: there are no births to plan from."),)


def sentences(result: Planning) -> tuple[Sentence, ...]:
    """What could be seen, won and recorded."""
    return (*_needed(result), *_avoidable(result), _cost(result), *_repeat(result), _record(result))


def _needed(result: Planning) -> Iterator[Sentence]:
    """Newborns needed to see a stated fall."""
    say, last = voice_of(result).say, result.last.iloc[0]
    born = printing.count(last["n"])
    if result.needed.empty:
        yield Sentence(say(NEEDED_NONE, lost=printing.count(last["events"]), n=born))
        return
    row = result.needed[result.needed["fall"] == SAID_FALL].iloc[0]
    yield Sentence(
        say(
            NEEDED,
            fall=printing.percent(row["fall"], 0),
            p0=printing.percent(row["p0"]),
            p1=printing.percent(row["p1"]),
            n=printing.count(int(row["n"])),
            power=printing.percent(POWER, 0),
            born=born,
        )
    )


def _avoidable(result: Planning) -> Iterator[Sentence]:
    """What each clear group could save a season, at most, and what that is not."""
    say, groups = voice_of(result).say, _named(result)
    clear = groups[groups["clear"].astype(bool)]
    for row in each_row(clear.head(MOST_SAID)):
        saved, low, high = (printing.number(one, 0) for one in (row.saved, row.saved_low, row.saved_high))
        text = say(AVOIDABLE, phrase=row.phrase, saved=saved, low=low, high=high, cost=_worth(result, row))
        yield Sentence(text, None, row.saved)
    if len(clear):
        yield Sentence(say(AT_MOST))


def _worth(result: Planning, row: Any) -> str:
    """The same in money, where a price is set."""
    if result.settings.price is None:
        return ""
    cost = _money(row.cost, result.settings.currency)
    low, high = printing.count(row.cost_low), printing.count(row.cost_high)
    return voice_of(result).say(COST, cost=cost, low=low, high=high)


def _money(amount: float, currency: str) -> str:
    """An amount in the keeper's currency."""
    return f"{printing.count(amount)} {currency}".strip()


def _named(result: Planning) -> pd.DataFrame:
    """The groups that lost more, with the phrase by which each is spoken of."""
    return with_phrases(voice_of(result), result.avoidable, before="clear")


def _cost(result: Planning) -> Sentence:
    """What last season's losses cost, or that no price is set."""
    say, last, settings = voice_of(result).say, result.last.iloc[0], result.settings
    if settings.price is None:
        return Sentence(say(NO_PRICE))
    return Sentence(
        say(
            LOST_COST,
            lost=printing.count(last["events"]),
            window=window_label(result.window.name, result.window.end_h),
            season=str(last["season"]),
            cost=_money(last["events"] * settings.price, settings.currency),
            price=_money(settings.price, settings.currency),
        )
    )


def _repeat(result: Planning) -> Iterator[Sentence]:
    """Dams that lost in more than one season beside chance."""
    say, found = voice_of(result).say, result.repeat
    if not found.dams or pd.isna(found.expected):
        return
    verdict = Verdict.CLEAR if found.p < 1 - result.settings.level else Verdict.NO_CLEAR
    text = say(
        REPEAT[verdict],
        observed=printing.count(found.observed),
        dams=printing.count(found.dams),
        dams_word=say("{dams}"),
        expected=printing.number(found.expected, 0),
        low=printing.number(found.low, 0),
        high=printing.number(found.high, 0),
    )
    yield Sentence(text, verdict)


def _record(result: Planning) -> Sentence:
    """Which columns to record next season."""
    voice = voice_of(result)
    columns = result.record.loc[~result.record["enough"].astype(bool), "column"]
    if columns.empty:
        return Sentence(voice.say(RECORD_ALL, enough=printing.percent(ENOUGH, 0)))
    named = ", ".join(column_name(voice, name) for name in columns)
    return Sentence(voice.say(RECORD, columns=named), role="record next")


def figures(result: Planning) -> tuple[Figure, ...]:
    """What each group could save a season, at most, where any group lost more."""
    say, frame = voice_of(result).say, _named(result)
    if frame.empty:
        return ()
    frame = frame.assign(
        label=["\n".join(textwrap.wrap(text, LABEL_WIDTH)) for text in frame["phrase"]],
        excess=frame["saved"],
        excess_low=frame["saved_low"],
        excess_high=frame["saved_high"],
        counts=[printing.number(saved, 0) for saved in frame["saved"]],
    )
    told = "; ".join(say("{phrase}, {saved}", phrase=row.phrase, saved=row.counts) for row in each_row(frame))
    return (
        draw_ranked(
            frame,
            printer=voice_of(result),
            name="planning-avoidable",
            title=say("What each group could save a season, at most"),
            alt=say("Fewer losses a season had the group done as well as the rest: {told}.", told=told),
            axis=say("fewer {newborns} lost a season (filled: clear among all groups tried)"),
            counts_heading=say("fewer"),
        ),
    )


def tables(result: Planning) -> tuple[Table, ...]:
    """Losses avoidable; newborns needed; the last season; repeat losers; what to record."""
    built = [_avoidable_table(result)] if len(result.avoidable) else []
    if len(result.needed):
        built.append(_needed_table(result))
    built.append(_last_table(result))
    if result.repeat.dams:
        built.append(_repeat_table(result))
    return (*built, _record_table(result))


def _last_table(result: Planning) -> Table:
    """Losses of the last season among those whose fate is known; their cost where a price is set."""
    say, price = voice_of(result).say, result.settings.price
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


def _needed_table(result: Planning) -> Table:
    """Newborns needed in each of two seasons, fall by fall."""
    say = voice_of(result).say
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


def _avoidable_table(result: Planning) -> Table:
    """The groups that lost more than the rest, and what each could save a season."""
    voice, frame = voice_of(result), _named(result)
    say, interval = voice.say, interval_heading(voice, result.settings.level)
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


def _repeat_table(result: Planning) -> Table:
    """Dams that lost in two seasons or more, of those seen in more than one, beside chance."""
    say, found = voice_of(result).say, result.repeat
    row = {"dams": found.dams, "observed": found.observed, "expected": printing.number(found.expected, 0)}
    by_chance = printing.span(printing.number(found.low, 0), printing.number(found.high, 0))
    frame = pd.DataFrame([{**row, "by_chance": by_chance, "p": found.p}])
    headings = {
        "dams": say("{dams} seen in more than one season"),
        "observed": say("Lost in two seasons or more"),
        "expected": say("By chance alone"),
        "by_chance": say("95 of 100 draws of chance lie within"),
        "p": say("p"),
    }
    title = say("Losing again: {dams} in more than one season")
    return Table("planning-dams", title, frame, headings, {"dams": "count", "observed": "count", "p": "p"})


def _record_table(result: Planning) -> Table:
    """How far each column that opens a question was filled, of those it is asked of."""
    voice = voice_of(result)
    say = voice.say
    frame = result.record.assign(
        of=[say(ASKED[of]) for of in result.record["of"]],
        heading=[column_name(voice, column) for column in result.record["column"]],
        opens=[say(OPENS[column]) for column in result.record["column"]],
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


def method(result: Planning) -> Method:
    """How next season was planned."""
    say, settings = voice_of(result).say, result.settings
    price = _money(settings.price, settings.currency) if settings.price is not None else say("not set")
    return Method(
        method=(
            say(
                "{newborns} needed: two shares, normal approximation, a chance of {power} to see the fall, "
                "times the design effect of the last season's litters.",
                power=printing.percent(POWER, 0),
            ),
            say(
                "Avoidable losses: {newborns} of the group times the difference of its risk from the rest's, "
                "over all seasons recorded, divided by their number; the interval is Newcombe's, by litters."
            ),
            say(
                "{dams} that lost again: within each season and litter size, the litters that lost are dealt "
                "at random to the {dams} that gave birth; two or more for one {dam} is what chance gives."
            ),
            say(
                "A column counts as recorded where it says something; under {enough} of those it is asked "
                "of, it is on the list.",
                enough=printing.percent(ENOUGH, 0),
            ),
        ),
        settings=(
            say("Window: {window}.", window=window_label(result.window.name, result.window.end_h)),
            say("Price of a {newborn}: {price}.", price=price),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "What could be saved is an upper bound that holds only if the difference is the group's own "
                "doing; an association does not prove that, and no measure saves all."
            ),
            say("{dams} that lost are often culled and cannot lose again, so repeats are understated."),
        ),
        sources=(
            say(
                "Fleiss JL, Levin B, Paik MC (2003) Statistical Methods for Rates and Proportions, chapter 4."
            ),
            say("Newcombe RG (1998) Stat Med 17:873-890."),
            say("Eldridge SM et al. (2006) Int J Epidemiol 35:1292-1300 (uneven litters)."),
        ),
    )

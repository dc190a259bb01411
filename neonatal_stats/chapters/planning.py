"""What should next season aim at, what could be won, and what should be written down?

What would show that a change was worth it first, then what each group could save, what losses cost and which action
could pay, the dams that lost again and what to record; `planning_shown` draws it and lays it out in tables.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Iterator, Mapping
from typing import Any

from neonatal_stats.chapters.counted.planning import (
    ABSENT,
    ENOUGH,
    FEW,
    LOSING_AGAIN,
    POWER,
    UNWATCHED,
    Planning,
    claims,
)
from neonatal_stats.chapters.counted.planning import answer as count
from neonatal_stats.chapters.planning_shown import figures, source, tables, whom
from neonatal_stats.chapters.protocol import Verdicts, decided_within, heed
from neonatal_stats.measures.before_after import LEAST_SWING, USUAL_SWING
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.ledger import settled
from neonatal_stats.season.model import Season
from neonatal_stats.words import Method, Sentence, Verdict, Voice, cautions, joined, voice_of
from neonatal_stats.words.evidence import dated
from neonatal_stats.words.names import column_name, group_phrase, window_label
from neonatal_stats.words.plain import money

NAME = "planning"
TITLE = "Next season"
QUESTION = "What could next season win, what would show it, and what should be written down?"
ALL_SEASONS = True

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Planning",
    "answer",
    "claims",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]

Row = Mapping[Hashable, Any]

MOST_SAID = 3

SAID_FALL = 0.25
NAMED = {"half": 0, "two": 2, "four": 4}
"""Seasons before a change, and as many after it; 0 where halves of one season are compared."""

NEEDED = (
    "To see loss fall by {fall}, from {p0} to {p1} (chance of seeing it {power}), by a change made for half of the "
    "{dams} in one season, about {n} {newborns} are needed in each half. Season against season it "
    "takes {seasons} seasons before and {seasons} after, each with {born} {newborns} as {season} had: "
    "seasons differ by themselves (weather, feed, people), and more {newborns} cannot buy that off."
)
SHOWS = (
    "With {born} {newborns} a season a fall is seen from {half} on where half of the {dams} get the change; season "
    "against season from {two} on with two seasons before and two after, {four} with four and four, and never "
    "with one and one."
)
NEVER = "over 100 % (never)"
SWINGS = {
    "measured": "The {n} seasons swing by {swing} of their loss beyond chance; so few measure it poorly.",
    "least": "The {n} seasons swing by {measured} of their loss beyond chance; since so few cannot show that seasons "
    "hardly swing, {swing} is taken.",
    "usual": "How far seasons swing by themselves cannot be measured on {n} of them: {swing} of their loss is taken in "
    "its place, and it may be more here.",
}
NEEDED_NONE = "With {lost} of {n} lost, how many births would show a fall cannot be worked out."

AVOIDABLE = (
    "{phrase} had about {saved} losses a season more than the risk of the rest would give ({low} to "
    "{high}){cost}."
)
AT_MOST = (
    "These are the most there is to win, and only if the group itself is the reason, which records cannot "
    "prove; groups overlap, so their losses must not be added up."
)
COST = ", worth {cost} ({low} to {high})"
LOST_COST = "{newborns} lost by {window} in {season}: {lost}, worth {cost} at {price} each."
NO_PRICE = "No price of a {newborn} is set; with one in the settings, losses would be shown as cost."

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

FEWER = (
    "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two or more; chance alone would "
    "give about {expected} ({low} to {high}): no more than chance gives; one that lost far more than chance is "
    "marked among the animals."
)
REPEAT = {
    Verdict.CLEAR: "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two or "
    "more; chance alone would give about {expected} ({low} to {high}). That is more than chance: look at "
    "these {dams_word} first.",
    Verdict.LEANING: "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two or more; "
    "chance alone would give about {expected} ({low} to {high}). It leans to more, but chance is not ruled out.",
    Verdict.NO_CLEAR: "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two "
    "or more; chance alone would give about {expected} ({low} to {high}), so most of them may be chance.",
}
RECORD = "Record next season: {columns} (so far written down for too few to answer what that opens)."
RECORD_ALL = "Every column that opens a question was recorded for at least {enough} of those it is asked of."


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as there is one birth."""
    if len(season.births):
        return ()
    return (voice_of(season).say("Not answered: there are no births to plan from."),)


def answer(season: Season) -> Planning:
    """What next season could see and win, and what to record; `NotRecorded` where there are no births."""
    heed(missing(season))
    return count(season)


def sentences(result: Planning, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """What could be seen and won, what it costs, and what to record."""
    found = settled(claims(result), result.settings, verdicts)
    return (
        *_seen(result),
        *_of_all_seasons(result, _avoidable(result, found)),
        _cost(result),
        *_of_all_seasons(result, _actions(result)),
        *_of_all_seasons(result, _repeat(result, found)),
        *_record(result),
    )


def _of_all_seasons(result: Planning, said: Iterable[Sentence]) -> Iterator[Sentence]:
    """The sentences with the seasons that they speak of."""
    for one in said:
        yield dated(voice_of(result), one, result.period, result.period)


def _seen(result: Planning) -> Iterator[Sentence]:
    """What would show a stated fall, what seasons of this size would show, and how far seasons swing by themselves."""
    voice, last = voice_of(result), result.last.iloc[0]
    born = voice.count(last["n"])
    if result.needed.empty:
        yield Sentence(voice.say(NEEDED_NONE, lost=voice.count(last["events"]), n=born))
        return
    row = result.needed[result.needed["fall"] == SAID_FALL].iloc[0]
    text = voice.say(
        NEEDED,
        fall=voice.percent(row["fall"], 0),
        p0=voice.percent(row["p0"]),
        p1=voice.percent(row["p1"]),
        n=voice.count(row["n"]),
        seasons=voice.count(row["seasons"]),
        power=voice.percent(POWER, 0),
        season=str(last["season"]),
        born=born,
    )
    yield Sentence(text)
    yield Sentence(joined([_shown(result, born), _swing(result)]), goes_on=True)


def _shown(result: Planning, born: str) -> str:
    """The smallest fall that halves of one season, and two and four seasons before and after, would show."""
    voice, falls = voice_of(result), result.shows.set_index("seasons")["fall"]
    named = {
        name: voice.say(NEVER) if math.isnan(falls[seasons]) else voice.percent(falls[seasons], 0)
        for name, seasons in NAMED.items()
    }
    return voice.say(SHOWS, born=born, **named)


def _swing(result: Planning) -> str:
    """How far the seasons swing by themselves, or what is taken for it."""
    voice, found = voice_of(result), result.swing
    kind = "usual" if math.isnan(found.measured) else "least" if found.taken > found.measured else "measured"
    return voice.say(
        SWINGS[kind],
        n=voice.count(found.seasons),
        measured=voice.percent(found.measured, 0),
        swing=voice.percent(found.taken, 0),
    )


def _avoidable(result: Planning, verdicts: Verdicts) -> Iterator[Sentence]:
    """What each clear group that can be changed could save a season, at most, and what that is not."""
    voice, groups = voice_of(result), judged(result.avoidable, verdicts)
    clear = groups[groups["verdict"] == Verdict.CLEAR]
    for row in clear.head(MOST_SAID).to_dict("records"):
        saved = {name: voice.number(row[name], 0) for name in ("saved", "saved_low", "saved_high")}
        text = voice.say(
            AVOIDABLE,
            phrase=group_phrase(voice, row),
            saved=saved["saved"],
            low=saved["saved_low"],
            high=saved["saved_high"],
            cost=_worth(result, row),
        )
        yield Sentence(text, None, row["saved"])
    if len(clear):
        yield Sentence(voice.say(AT_MOST), goes_on=True)


def _worth(result: Planning, row: Row) -> str:
    """The same in money, where a price is set."""
    voice = voice_of(result)
    if result.settings.price is None:
        return ""
    cost = money(voice, row["cost"], result.settings.currency)
    return voice.say(COST, cost=cost, low=voice.count(row["cost_low"]), high=voice.count(row["cost_high"]))


def _cost(result: Planning) -> Sentence:
    """What last season's losses cost, or that no price is set."""
    voice, last, settings = voice_of(result), result.last.iloc[0], result.settings
    if settings.price is None:
        return Sentence(voice.say(NO_PRICE))
    text = voice.say(
        LOST_COST,
        lost=voice.count(last["events"]),
        window=window_label(voice, result.window.name, result.window.end_h),
        season=str(last["season"]),
        cost=money(voice, last["events"] * settings.price, settings.currency),
        price=money(voice, settings.price, settings.currency),
    )
    return Sentence(text)


def _actions(result: Planning) -> Iterator[Sentence]:
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
        whom=whom(voice, row),
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
        source=source(voice, row),
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


def _repeat(result: Planning, verdicts: Verdicts) -> Iterator[Sentence]:
    """Dams that lost in more than one season beside chance."""
    voice, found, verdict = voice_of(result), result.repeat, verdicts.get(LOSING_AGAIN)
    if not found.dams or math.isnan(found.expected):
        return
    fewer = found.observed <= found.expected
    decided = Verdict.NO_CLEAR if fewer or verdict in (None, Verdict.TOO_FEW) else verdict
    text = voice.say(
        FEWER if fewer else REPEAT[decided],
        observed=voice.count(found.observed),
        dams=voice.count(found.dams),
        dams_word=voice.say("{dams}"),
        expected=voice.number(found.expected, 0),
        low=voice.number(found.low, 0),
        high=voice.number(found.high, 0),
    )
    yield Sentence(text, decided, claim=LOSING_AGAIN, see="animals")


def _record(result: Planning) -> Iterator[Sentence]:
    """Which columns to record next season, and what recording costs in handling."""
    voice = voice_of(result)
    wanted = result.record.loc[~result.record["enough"], "column"]
    if wanted.empty:
        yield Sentence(voice.say(RECORD_ALL, enough=voice.percent(ENOUGH, 0)))
        return
    named = joined((column_name(voice, name) for name in wanted), ", ")
    yield Sentence(voice.say(RECORD, columns=named), role="record next", columns=tuple(wanted))
    if "mothered_up" in set(result.record["column"]):
        yield from cautions.touching(voice, wanted)


def method(result: Planning, verdicts: Verdicts | None = None) -> Method:
    """How next season was planned."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    price = money(voice, settings.price, settings.currency) if settings.price is not None else say("not set")
    return Method(
        method=(
            _how_seen(voice),
            say(
                "Avoidable losses: {newborns} of the group times the difference of its risk from the rest's, "
                "over all seasons recorded, each season by itself, divided by their number; only of groups that "
                "management can change, and called clear where the chapter of the groups does."
            ),
            decided_within(voice, verdicts),
            *([_how_weighed(voice)] if len(result.actions) else []),
            say(
                "{dams} that lost again: within each season and litter size, the litters that lost are dealt "
                "at random to the {dams} that gave birth; two or more for one {dam} is what chance gives."
            ),
            say(
                "A column counts as recorded where it says something; under {enough} of those it is asked "
                "of, it is on the list.",
                enough=voice.percent(ENOUGH, 0),
            ),
        ),
        settings=(
            say("Window: {window}.", window=window_label(voice, result.window.name, result.window.end_h)),
            say("Price of a {newborn}: {price}.", price=price),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "What could be saved is an upper bound: it holds only if the difference is the group's own doing, "
                "which an association does not prove."
            ),
            say(
                "A season before and a season after a change differ by all else that changed too. Which half of the "
                "{dams} the change is made for must be settled by lot, pen by pen or {dam} by {dam}, not by who looks "
                "as if in need of it."
            ),
            say("{dams} that lost are often culled and cannot lose again, so repeats are understated."),
        ),
        sources=(
            say(
                "Fleiss JL, Levin B, Paik MC (2003) Statistical Methods for Rates and Proportions, chapter 4."
            ),
            say("Hayes RJ, Bennett S (1999) Int J Epidemiol 28:319-326."),
            say("Newcombe RG (1998) Stat Med 17:873-890."),
            say("Eldridge SM et al. (2006) Int J Epidemiol 35:1292-1300 (uneven litters)."),
        ),
    )


def _how_seen(voice: Voice) -> str:
    """How it was worked out."""
    return voice.say(
        "{newborns} needed in halves of one season: two shares, normal approximation, a chance of {power} to see "
        "the fall, times the design effect of the last season's litters. Season against season: Hayes and "
        "Bennett's formula for clusters, a season being one, with the variance between seasons (moments, beyond "
        "chance and litters) as a share of their loss. Measured on three seasons or more and taken as {least} at "
        "least; on fewer, {usual} is taken.",
        power=voice.percent(POWER, 0),
        least=voice.percent(LEAST_SWING, 0),
        usual=voice.percent(USUAL_SWING, 0),
    )


def _how_weighed(voice: Voice) -> str:
    """How it was worked out."""
    return voice.say(
        "Actions: {newborns} of the group a season times the share lost by the window's end (Kaplan-Meier, with "
        "litters), times the range that the settings give for what is spared; net is that times the price less the "
        "cost, and an action pays for itself where it spares its cost divided by the worth of all these losses. How "
        "far seasons swing is not in these intervals."
    )

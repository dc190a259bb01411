"""What would show that a change was worth it: how many newborns, and how many seasons."""

from __future__ import annotations

import math
from collections.abc import Iterator

from neonatal_stats.chapters.counted.planning import POWER, SEASONS, Planning
from neonatal_stats.measures.swing import LEAST_SWING, USUAL_SWING
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Sentence, Voice, joined, voice_of

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


def sentences(result: Planning) -> Iterator[Sentence]:
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


def tables(result: Planning) -> tuple[Table, Table]:
    """What is needed to see a fall, and what seasons of this size would show."""
    return _needed_table(result), _shows_table(result)


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


def method(voice: Voice) -> str:
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

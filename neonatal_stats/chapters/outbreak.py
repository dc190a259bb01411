"""Did deaths come together, in a place and from a day on, as in an outbreak?"""

from __future__ import annotations

from neonatal_stats.chapters.counted.outbreak import KEY, Outbreak, claims
from neonatal_stats.chapters.counted.outbreak import answer as count
from neonatal_stats.chapters.protocol import Verdicts, heed
from neonatal_stats.drawing import Figure
from neonatal_stats.measures.ledger import settled
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table
from neonatal_stats.words import Method, Sentence, Verdict, voice_of

NAME = "outbreak"
TITLE = "Outbreaks"
QUESTION = "Did {newborns} die together, in one place or from one day on?"


def missing(season: Season) -> tuple[str, ...]:
    """Open where one farm's births and deaths are dated."""
    say, births = voice_of(season).say, season.births
    if births["farm"].nunique() > 1:
        return (say("Not answered: an outbreak is looked for farm by farm, and these records hold several."),)
    dated = births["born"].notna() & births["age_known"] & births["age_h"].notna() & ~births["stillborn"]
    if not dated.any():
        return (say("Not answered: no days of birth and death were recorded."),)
    return ()


def answer(season: Season) -> Outbreak:
    """Deaths on the calendar; `NotRecorded` where births or deaths are not dated."""
    heed(missing(season))
    return count(season)


def sentences(result: Outbreak, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """Whether deaths came together."""
    voice, verdict = voice_of(result), settled(claims(result), result.settings, verdicts).get(KEY)
    found = result.cluster
    if found is None or verdict is not Verdict.CLEAR:
        text = voice.say(
            "No outbreak: deaths after birth came no closer together than chance and litters explain."
        )
        return (Sentence(text, verdict, claim=KEY if found else ""),)
    text = voice.say(
        "{place}: {events} deaths from {first} to {last}, where {expected} were to be expected; deaths rose from "
        "{onset} on ({low} to {high}).",
        place=found.place,
        events=voice.count(found.deaths),
        first=voice.date(found.first),
        last=voice.date(found.last),
        expected=voice.number(found.expected),
        onset=voice.date(found.onset),
        low=voice.date(found.onset_low),
        high=voice.date(found.onset_high),
    )
    return (Sentence(text, verdict, found.deaths - found.expected, claim=KEY),)


def figures(result: Outbreak) -> tuple[Figure, ...]:
    return ()


def tables(result: Outbreak) -> tuple[Table, ...]:
    return ()


def method(result: Outbreak) -> Method:
    return Method(())

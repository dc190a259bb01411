"""Had the weather of the first days to do with our losses?"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.weather import (
    COVERED,
    EDGES,
    MAIN_H,
    UNTIL_H,
    Weather,
    any_lived,
    claims,
    has_chill,
)
from neonatal_stats.chapters.counted.weather import answer as count
from neonatal_stats.chapters.protocol import Verdicts, heed, interval_heading
from neonatal_stats.drawing import Figure, draw_rates
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.ledger import settled
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Method, Sentence, Voice, cautions, voice_of
from neonatal_stats.words.evidence import Templates, dated
from neonatal_stats.words.names import season_names

NAME = "weather"
TITLE = "Weather"
QUESTION = "Had the chill of the first days to do with the {newborns} lost?"
ALL_SEASONS = True

Row = Mapping[Hashable, Any]
CHILL = Templates(
    higher="{period}: {newborns} died faster in the coldest fifth of the hours that they lived (a mean chill of {edge} "
    "kJ/m²/h and over in the last {hours} hours), {events} deaths in {days} days lived, than in the others, "
    "{events_versus} in {days_versus}: {ratio}.",
    lower="{period}: {newborns} died more slowly in the coldest fifth of the hours that they lived (a mean chill of "
    "{edge} kJ/m²/h and over in the last {hours} hours), {events} deaths in {days} days lived, than in the others, "
    "{events_versus} in {days_versus}: {ratio}.",
    leaning_higher="{period}: {newborns} look to have died faster in the coldest fifth of the hours that they lived (a "
    "mean chill of {edge} kJ/m²/h and over in the last {hours} hours), {events} deaths in {days} days lived, than in "
    "the others, {events_versus} in {days_versus}, but chance is not ruled out: {ratio}.",
    leaning_lower="{period}: {newborns} look to have died more slowly in the coldest fifth of the hours that they "
    "lived (a mean chill of {edge} kJ/m²/h and over in the last {hours} hours), {events} deaths in {days} days "
    "lived, than in the others, {events_versus} in {days_versus}, but chance is not ruled out: {ratio}.",
    no_clear="{period}: no clear difference in dying between the coldest fifth of the hours that {newborns} lived (a "
    "mean chill of {edge} kJ/m²/h and over in the last {hours} hours), {events} deaths in {days} days lived, and the "
    "others, {events_versus} in {days_versus}: {ratio}.",
    too_few="{period}: too few to say whether {newborns} died faster in the coldest fifth of the hours that they "
    "lived.",
)
OUTDOORS = (
    "{n} {newborns} born alive outdoors had weather recorded over their first week, or the part of it that they lived; "
    "{lost} of them died in it."
)
ALL = (
    "{n} {newborns} born alive had weather recorded over their first week, or the part of it that they lived; {lost} "
    "of them died in it."
)


def missing(season: Season) -> tuple[str, ...]:
    """Open for sheep with temperature, wind and rain recorded around their birth."""
    say, births = voice_of(season).say, season.births
    if not births["species"].astype(object).eq("sheep").any():
        return (say("Not answered: the chill index was made for sheep, and these records name none."),)
    if not has_chill(season.weather):
        return (
            say(
                "Not answered: no weather was recorded. One row a day or hour with temperature_c, "
                "wind_m_per_s and rain_mm would open the chapter."
            ),
        )
    if not any_lived(season):
        return (
            say("Not answered: no {newborn} was born alive within the days for which weather was recorded."),
        )
    return ()


def answer(season: Season) -> Weather:
    """Deaths by the chill of the hours before; `NotRecorded` where no lamb's weather was recorded."""
    heed(missing(season))
    return count(season)


def sentences(result: Weather, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """The coldest fifth of the hours against the others, this season first, and how many were counted."""
    return (
        *_against(result, settled(claims(result), result.settings, verdicts)),
        _counted(result),
        cautions.wet_and_wind(voice_of(result)),
    )


def _against(result: Weather, verdicts: Verdicts) -> Iterator[Sentence]:
    """The coldest fifth of the hours against the others, by the chill of the last day."""
    voice, found = voice_of(result), judged(result.against, verdicts)
    for row in found[found["hours"] == MAIN_H].to_dict("records"):
        text = voice.say(
            CHILL.of(row["verdict"], higher=row["estimate"] > 1),
            period=_period(result, row),
            edge=voice.count(row["edge"]),
            hours=voice.count(row["hours"]),
            events=voice.count(row["events"]),
            days=voice.count(round(row["lived_h"] / 24)),
            events_versus=voice.count(row["events_versus"]),
            days_versus=voice.count(round(row["lived_versus_h"] / 24)),
            ratio=_ratio(voice, row, result.settings.level),
        )
        yield Sentence(text, row["verdict"], abs(row["excess"]), claim=row["key"])


def _period(result: Weather, row: Row) -> str:
    """The season under review, or all of them by name."""
    return (
        result.this
        if row["seasons"] == "this"
        else season_names(voice_of(result), result.period, result.period)
    )


def _ratio(voice: Voice, row: Row, level: float) -> str:
    """The hazard ratio in words; within what it was compared."""
    low, high = row["low"], row["high"]
    if math.isnan(row["estimate"]):
        return voice.say("the ratio of the hazards cannot be estimated")
    return voice.say(
        "{ratio} times the hazard at the same age ({level} interval {interval})"
        if row["seasons"] == "this"
        else "{ratio} times the hazard within a season at the same age ({level} interval {interval})",
        ratio=voice.ratio(row["estimate"]),
        level=voice.percent(level, 0),
        interval=voice.ratio_range(low, high),
    )


def _counted(result: Weather) -> Sentence:
    """How many had weather recorded, and how many of them died in the hours counted."""
    voice = voice_of(result)
    text = voice.say(
        OUTDOORS if result.outdoors_only else ALL,
        n=voice.count(result.counted.n),
        lost=voice.count(result.deaths),
    )
    return dated(voice, Sentence(text), result.period, result.period)


def labelled(result: Weather) -> pd.DataFrame:
    """The chill classes, each with its printed `label`."""
    voice = voice_of(result)
    places = result.classes["chill_class"].cat.codes
    return result.classes.assign(label=[class_label(voice, place, EDGES) for place in places])


def class_label(voice: Voice, place: int, edges: tuple[float, ...]) -> str:
    """The chill class of that place among those cut at the edges: "under 1 000", "1 000 to 1 100"."""
    shown = [voice.count(edge) for edge in edges]
    if place == 0:
        return voice.say("under {cut}", cut=shown[0])
    if place == len(edges):
        return voice.say("{cut} and over", cut=shown[-1])
    return voice.span(shown[place - 1], shown[place])


def figures(result: Weather) -> tuple[Figure, ...]:
    """Deaths a day lived, by class of chill; all of them as a line."""
    voice, classes = voice_of(result), labelled(result)
    say = voice.say
    told = "; ".join(
        f"{row['label']}, {voice.share_of(row['events'], row['n'], row['low'], row['high'])}"
        for row in classes.to_dict("records")
    )
    died, days = classes["events"].sum(), classes["n"].sum()
    drawn = draw_rates(
        classes.assign(quiet=classes["n"] < result.settings.minimum_group),
        printer=voice,
        name="weather-classes",
        title=say("Deaths by the chill of the last {hours} hours, kJ/m²/h", hours=voice.count(MAIN_H)),
        alt=say("Deaths of days lived in each chill class with their interval: {told}.", told=told),
        axis=say(
            "deaths of 100 {newborns} in a day lived outdoors"
            if result.outdoors_only
            else "deaths of 100 {newborns} in a day lived"
        ),
        few=say("too few"),
        average=(float(died / days), say("all: {share}", share=voice.number(100 * died / days)))
        if days
        else None,
    )
    return (drawn,)


def tables(result: Weather) -> tuple[Table, ...]:
    """Deaths by chill class; cold hours against the others for each span of hours before."""
    return _classes_table(result), _against_table(result)


def _interval(result: Weather) -> str:
    return interval_heading(voice_of(result), result.settings.level)


def _classes_table(result: Weather) -> Table:
    """Deaths of days lived in each class of chill."""
    voice = voice_of(result)
    say = voice.say
    return Table(
        "weather-classes",
        say("Deaths by the chill of the last {hours} hours", hours=voice.count(MAIN_H)),
        labelled(result),
        (
            columns.text("label", say("Mean chill, kJ/m²/h"), raw="chill_class"),
            columns.count("events", say("Died")),
            columns.count("n", say("Days lived")),
            columns.share("share", say("Deaths a day lived")),
            columns.interval("low", "high", _interval(result)),
        ),
        note=say(
            "{n} {newborns} born alive, {lost} deaths in their first week ({period}). All seasons lumped together: "
            "read the comparison within seasons below.",
            n=voice.count(result.counted.n),
            lost=voice.count(result.deaths),
            period=season_names(voice, result.period, result.period),
        ),
        printer=voice,
    )


def _against_table(result: Weather) -> Table:
    """Deaths and days lived in the coldest fifth of the hours and in the others, for each span of hours before."""
    voice, frame = voice_of(result), result.against
    say = voice.say
    return Table(
        "weather-cold",
        say("The coldest fifth of the hours against the others, by how many hours before are averaged over"),
        frame.rename(columns={"estimate": "ratio"}).assign(
            period=[_period(result, row) for row in frame.to_dict("records")],
            days=(frame["lived_h"] / 24).round(),
            days_versus=(frame["lived_versus_h"] / 24).round(),
        ),
        (
            columns.text("period", say("Season"), raw="seasons"),
            columns.count("hours", say("Last hours"), unit="hours"),
            columns.count("edge", say("Coldest fifth: chill from"), unit="kJ/m²/h"),
            columns.count("events", say("Died, coldest fifth")),
            columns.count("days", say("Days lived, coldest fifth")),
            columns.count("events_versus", say("Died, the others")),
            columns.count("days_versus", say("Days lived, the others")),
            columns.ratio("ratio", say("Hazard ratio")),
            columns.interval("low", "high", _interval(result), "ratio"),
            columns.p("p", say("p")),
            columns.p("weakest", say("p, the weakest")),
        ),
        note=say(
            "Within season and age. The weakest p is over where deaths known only to lie between two checks are "
            "placed: in the middle, when last seen alive, when found."
        ),
        printer=voice,
    )


def method(result: Weather) -> Method:
    """Method, settings, limits and sources."""
    voice = voice_of(result)
    return Method(_how(voice), _settings(result), _limits(voice), _sources(voice))


def _how(voice: Voice) -> tuple[str, ...]:
    say = voice.say
    return (
        say(
            "Sheep chill index of each hour: (11.7 + 3.1 x root of wind) x (40 − temperature) + 481 + 418 x (1 − "
            "exp(−0.04 x rain)), in kJ per square metre and hour, with wind in m/s, temperature in °C and rain "
            "the day's total in mm."
        ),
        say(
            "Every hour of the first week that a {newborn} lived is counted with the mean chill of the hours before it "
            "(since birth where it is younger), up to its death and no further. The coldest fifth of these hours is "
            "held against the others within season and age: the Mantel-Haenszel odds ratio of dying in an hour, a "
            "discrete-time hazard ratio. A death known only to lie between two checks stands in the middle; the "
            "verdict is the weakest of that, of when last seen alive and of when found."
        ),
        say(
            "Counted are {newborns} born alive (weather after birth cannot touch one born dead), outdoors where the "
            "place was written down. Those born on one day share its weather, so intervals and tests cluster on the "
            "day of birth. What is called clear is decided over all comparisons of the page."
        ),
    )


def _settings(result: Weather) -> tuple[str, ...]:
    voice = voice_of(result)
    say = voice.say
    return (
        say("Chill classes cut at {edges}.", edges=", ".join(voice.count(edge) for edge in EDGES)),
        say(
            "Weather must stand for {covered} of the hours averaged over.", covered=voice.percent(COVERED, 0)
        ),
        say("Hours of life counted: to {until}.", until=voice.age(UNTIL_H)),
        say("Confidence level: {level}.", level=voice.percent(result.settings.level, 0)),
    )


def _limits(voice: Voice) -> tuple[str, ...]:
    say = voice.say
    return (
        *(
            (say("The index was made for sheep and says nothing of calves or kids."),)
            if voice.species != "sheep"
            else ()
        ),
        say(
            "Where high chill begins differs by source; shelter, coat, birth weight and the height of the wind gauge "
            "are not in the index."
        ),
        say(
            "Cold days come together with other things (an early start, tired people); a link is not yet a cause. "
            "Published work finds chill tied less to deaths on the day of birth than to those of the next days."
        ),
    )


def _sources(voice: Voice) -> tuple[str, ...]:
    say = voice.say
    return (
        say("Nixon-Smith WF (1972), working paper, Bureau of Meteorology, Australia (index; not seen)."),
        say("Donnelly JR (1984) Aust J Agric Res 35:709-721 (index; not seen)."),
        say(
            "Horton B et al. (2019) Anim Prod Sci 59, doi 10.1071/AN18494; Broster J et al. (2012), doi "
            "10.1071/AN12066."
        ),
        "Mantel N, Haenszel W (1959) J Natl Cancer Inst 22:719-748.",
    )

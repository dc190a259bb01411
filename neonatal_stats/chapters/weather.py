"""Had the weather of the first hours to do with our losses?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted.weather import (
    COVERED,
    EDGES,
    HOURS,
    MAIN_H,
    Weather,
    chill_met,
    has_chill,
)
from neonatal_stats.chapters.counted.weather import answer as count
from neonatal_stats.chapters.protocol import heed, interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.drawing.points import draw_smooth
from neonatal_stats.estimates.results import ratio
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Method, Sentence, Verdict, Voice, voice_of
from neonatal_stats.words.evidence import Compared, comparison
from neonatal_stats.words.names import window_label

NAME = "weather"
TITLE = "Weather"
QUESTION = "Had the chill of the first hours to do with the {newborns} lost?"
ALL_SEASONS = True

OUTDOORS = (
    "{n} {newborns} born alive outdoors had weather recorded over their first {hours} hours; {lost} of them "
    "were lost by {window}."
)
ALL = (
    "{n} {newborns} born alive had weather recorded over their first {hours} hours; {lost} of them were lost "
    "by {window}."
)
SMOOTH = {
    Verdict.CLEAR: "Chill and loss go together along the whole range: {first} lost at a chill of {low}, "
    "{last} at {high} (p {p}).",
    Verdict.LEANING: "Chill and loss lean together along the range, but chance is not ruled out: {first} "
    "lost at a chill of {low}, {last} at {high} (p {p}).",
    Verdict.NO_CLEAR: "Along the whole range loss does not clearly go with chill: {first} lost at a chill of "
    "{low}, {last} at {high} (p {p}).",
    Verdict.TOO_FEW: "Too few to say how loss goes with chill along the range.",
}


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
    alive = births[~births["stillborn"] & births["species"].astype(object).eq("sheep")]
    if not chill_met(alive, season.weather, HOURS[-1]).notna().any():
        return (
            say("Not answered: no {newborn} was born alive within the days for which weather was recorded."),
        )
    return ()


def answer(season: Season) -> Weather:
    """Losses by the chill met; `NotRecorded` where no lamb's weather was recorded."""
    heed(missing(season))
    return count(season)


def sentences(result: Weather) -> tuple[Sentence, ...]:
    """The coldest fifth against the others, the smooth, and how many were counted."""
    return (*_against(result), *_smooth(result), _counted(result))


def _against(result: Weather) -> Iterator[Sentence]:
    """The coldest fifth against the others."""
    voice, level = voice_of(result), result.settings.level
    for row in result.against[result.against["hours"] == MAIN_H].to_dict("records"):
        group = voice.say(
            "{newborns} in the coldest fifth (a mean chill of {edge} kJ/m2/h and over in their first {hours} hours)",
            edge=voice.count(row["edge"]),
            hours=voice.count(row["hours"]),
        )
        pair = Compared.of(row, group=group, versus=voice.say("the others"))
        yield comparison(voice, pair, row["verdict"], level=level)


def _smooth(result: Weather) -> Iterator[Sentence]:
    """The two ends of the smooth, and whether chill and loss go together along it."""
    if result.smooth_at.empty:
        return
    voice, ends = voice_of(result), result.smooth_at.iloc[[0, -1]]
    first, last = (voice.percent(share) for share in ends["share"])
    low, high = (voice.count(value) for value in ends["value"])
    text = voice.say(
        SMOOTH[result.along_smooth],
        low=low,
        high=high,
        first=first,
        last=last,
        p=voice.p_value(result.smooth.p),
    )
    yield Sentence(text, result.along_smooth)


def _counted(result: Weather) -> Sentence:
    """How many had weather recorded, and how many of them were lost."""
    voice = voice_of(result)
    text = voice.say(
        OUTDOORS if result.outdoors_only else ALL,
        n=voice.count(len(result.newborns)),
        hours=voice.count(MAIN_H),
        lost=voice.count(result.newborns["event"].sum()),
        window=_window(result),
    )
    return Sentence(text)


def _window(result: Weather) -> str:
    return window_label(voice_of(result), result.window.name, result.window.end_h)


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
    """Classes, and the smooth where the losses can carry one."""
    drawn = [_classes_figure(result)]
    if np.isfinite(result.smooth.share).any():
        drawn.append(_smooth_figure(result))
    return tuple(drawn)


def _classes_figure(result: Weather) -> Figure:
    """Lambs lost in the window, of those born alive that met each class of chill; all of them as a line."""
    voice, classes = voice_of(result), labelled(result)
    say = voice.say
    told = "; ".join(
        f"{row['label']}, {voice.share_of(row['events'], row['n'], row['low'], row['high'])}"
        for row in classes.to_dict("records")
    )
    return draw_rates(
        classes,
        "label",
        printer=voice_of(result),
        name="weather-classes",
        title=say("Loss by the chill of the first {hours} hours, kJ/m2/h", hours=voice.count(MAIN_H)),
        alt=say("Share lost in each chill class with its interval: {told}.", told=told),
        axis=say("lost by {window}, % of {newborns} born alive", window=_window(result)),
        reference=float(result.newborns["event"].mean()) if len(result.newborns) else None,
    )


def _smooth_figure(result: Weather) -> Figure:
    """Share lost along the chill met, and the lambs lost and alive at it, where the curve has an interval."""
    voice, smooth = voice_of(result), result.smooth
    say = voice.say
    curve = pd.DataFrame({"value": smooth.at, "share": smooth.share, "low": smooth.low, "high": smooth.high})
    seen = curve.dropna()
    told = "; ".join(
        say("at {chill}, {share}", chill=voice.count(row["value"]), share=voice.percent(row["share"]))
        for row in seen.iloc[[0, -1]].to_dict("records")
    )
    inside = result.newborns[result.newborns["chill_72_h"].between(seen["value"].min(), seen["value"].max())]
    return draw_smooth(
        seen,
        inside["chill_72_h"].round(-1).to_numpy(float),
        inside["event"].to_numpy(bool),
        printer=voice_of(result),
        name="weather-smooth",
        title=say("Loss against the mean chill of the first {hours} hours", hours=voice.count(MAIN_H)),
        alt=say("Share lost as a smooth of the chill met, with its band: {told}.", told=told),
        axis=say("mean chill of the first {hours} hours, kJ/m2/h", hours=voice.count(MAIN_H)),
        share_axis=say("lost by {window}, %", window=_window(result)),
        marks=(say("lost"), say("alive")),
    )


def tables(result: Weather) -> tuple[Table, ...]:
    """Loss by chill class; cold against mild for each window of hours; points along the smooth."""
    built = (_classes_table(result), _against_table(result))
    return (*built, _smooth_table(result)) if len(result.smooth_at) else built


def _interval(result: Weather) -> str:
    return interval_heading(voice_of(result), result.settings.level)


def _classes_table(result: Weather) -> Table:
    """Lambs lost in the window, of those born alive that met each class of chill."""
    voice = voice_of(result)
    say = voice.say
    return Table(
        "weather-classes",
        say("Loss by the chill of the first {hours} hours", hours=voice.count(MAIN_H)),
        labelled(result),
        (
            columns.text("label", say("Mean chill, kJ/m2/h"), raw="chill_class"),
            columns.count("events", say("Lost")),
            columns.count("n", say("{newborns} born alive")),
            columns.share("share", say("Share")),
            columns.interval("low", "high", _interval(result)),
        ),
        note=say(
            "{lost} of {n} in all.",
            lost=voice.count(result.newborns["event"].sum()),
            n=voice.count(len(result.newborns)),
        ),
        printer=voice,
    )


def _against_table(result: Weather) -> Table:
    """Lost of those in the coldest fifth and of the others, by how many hours after birth are looked at."""
    voice, frame = voice_of(result), result.against
    say = voice.say
    return Table(
        "weather-cold",
        say("The coldest fifth against the others, by how many hours after birth are looked at"),
        frame.rename(columns={"estimate": "risk_ratio"}).assign(
            share=ratio(frame["events"], frame["n"]),
            share_versus=ratio(frame["events_versus"], frame["n_versus"]),
        ),
        (
            columns.count("hours", say("First hours"), unit="hours since birth"),
            columns.count("edge", say("Coldest fifth: chill from"), unit="kJ/m2/h"),
            columns.count("events", say("Lost, coldest fifth")),
            columns.count("n", say("{newborns}, coldest fifth")),
            columns.share("share", say("Share, coldest fifth")),
            columns.count("events_versus", say("Lost, the others")),
            columns.count("n_versus", say("{newborns}, the others")),
            columns.share("share_versus", say("Share, the others")),
            columns.ratio("risk_ratio", say("Risk ratio")),
            columns.interval("low", "high", _interval(result), "ratio"),
            columns.p("p", say("p")),
        ),
        printer=voice,
    )


def _smooth_table(result: Weather) -> Table:
    """Five points along the smooth."""
    voice = voice_of(result)
    say = voice.say
    return Table(
        "weather-smooth",
        say("Points along the smooth"),
        result.smooth_at,
        (
            columns.count("value", say("Mean chill, kJ/m2/h"), unit="kJ/m2/h"),
            columns.share("share", say("Share lost")),
            columns.interval("low", "high", _interval(result)),
        ),
        note=say("Test that loss does not depend on chill: p {p}.", p=voice.p_value(result.smooth.p)),
        printer=voice,
    )


def method(result: Weather) -> Method:
    """Method, settings, limits and sources."""
    voice = voice_of(result)
    say = voice.say
    edges = ", ".join(voice.count(edge) for edge in EDGES)
    return Method(
        method=(
            say(
                "Sheep chill index of each hour: (11.7 + 3.1 x root of wind) x (40 - temperature) + 481 + "
                "418 x (1 - exp(-0.04 x rain)), in kJ per square metre and hour, with wind in m/s, "
                "temperature in degrees C and rain the day's total in mm. What a {newborn} met is its mean "
                "over the first hours after birth, the same window for those that died in it."
            ),
            say(
                "Counted are {newborns} born alive (weather after birth cannot touch one born dead), "
                "outdoors where the place was written down. Those born on one day share its weather, so "
                "intervals and tests cluster on the day of birth."
            ),
            say("The smooth is a logistic curve on a natural cubic spline, with a band by day of birth."),
        ),
        settings=(
            say("Chill classes cut at {edges}.", edges=edges),
            say(
                "Weather must stand for {covered} of the hours of a window.",
                covered=voice.percent(COVERED, 0),
            ),
            say("Window of loss: {window}.", window=_window(result)),
            say("Confidence level: {level}.", level=voice.percent(result.settings.level, 0)),
        ),
        limits=(
            say(
                "The index was made for sheep and says nothing of calves or kids. Where high chill begins "
                "differs by source; shelter, coat, birth weight and the height of the wind gauge are not in "
                "it."
            ),
            say(
                "Cold days come together with other things (an early start, tired people); a link is not yet "
                "a cause. Published work finds chill tied less to deaths on the day of birth than to those "
                "of the next days."
            ),
        ),
        sources=(
            say("Nixon-Smith WF (1972), working paper, Bureau of Meteorology, Australia (index; not seen)."),
            say("Donnelly JR (1984) Aust J Agric Res 35:709-721 (index; not seen)."),
            say(
                "Horton B et al. (2019) Anim Prod Sci 59, doi 10.1071/AN18494; Broster J et al. (2012), doi "
                "10.1071/AN12066."
            ),
        ),
    )

"""Had the weather of the first hours to do with our losses?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted.weather import (
    COVERED,
    EDGES,
    HOURS,
    MAIN_H,
    Weather,
    answer,
    chill_met,
    has_chill,
)
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.drawing.points import draw_smooth
from neonatal_stats.estimates.results import ratio
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence, Verdict, Voice, judge_test
from neonatal_stats.words.comparisons import Compared, compare_groups
from neonatal_stats.words.windows import window_label

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Weather",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]

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
    alive = births[~births["stillborn"].astype(bool) & births["species"].astype(object).eq("sheep")]
    if not chill_met(alive, season.weather, HOURS[-1]).notna().any():
        return (
            say("Not answered: no {newborn} was born alive within the days for which weather was recorded."),
        )
    return ()


def sentences(result: Weather) -> tuple[Sentence, ...]:
    """The coldest fifth against the others, the smooth, and how many were counted."""
    main = result.against[result.against["hours"] == MAIN_H]
    return (*(_against(result, row) for row in each_row(main)), *_smooth(result), _counted(result))


def _against(result: Weather, row: Any) -> Sentence:
    """The coldest fifth against the others."""
    voice, settings = voice_of(result), result.settings
    pair = Compared(
        group=voice.say(
            "{newborns} in the coldest fifth (a mean chill of {edge} kJ/m2/h and over in their first {hours} hours)",
            edge=printing.count(row.edge),
            hours=printing.count(row.hours),
        ),
        versus=voice.say("the others"),
        events=row.events,
        n=row.n,
        events_versus=row.events_versus,
        n_versus=row.n_versus,
        estimate=row.risk_ratio,
        low=row.low,
        high=row.high,
        p=row.p,
    )
    return compare_groups(voice, pair, minimum_group=settings.minimum_group, level=settings.level)


def _smooth(result: Weather) -> Iterator[Sentence]:
    """The two ends of the smooth, and whether chill and loss go together along it."""
    seen = result.smooth_at
    if seen.empty:
        return
    verdict = judge_test(
        result.smooth.p,
        level=result.settings.level,
        events=result.smooth.events,
        smallest_group=result.smooth.n,
        minimum_group=result.settings.minimum_group,
    )
    ends = seen.iloc[[0, -1]]
    first, last = (printing.percent(share) for share in ends["share"])
    low, high = (printing.count(value) for value in ends["value"])
    text = voice_of(result).say(
        SMOOTH[verdict], low=low, high=high, first=first, last=last, p=printing.p_value(result.smooth.p)
    )
    yield Sentence(text, verdict)


def _counted(result: Weather) -> Sentence:
    """How many had weather recorded, and how many of them were lost."""
    say, lost = voice_of(result).say, int(result.newborns["event"].sum())
    template = OUTDOORS if result.outdoors_only else ALL
    text = say(
        template,
        n=printing.count(len(result.newborns)),
        hours=printing.count(MAIN_H),
        lost=printing.count(lost),
        window=window_label(result.window.name, result.window.end_h),
    )
    return Sentence(text)


def labelled(result: Weather) -> pd.DataFrame:
    """The chill classes, each with its printed `label`."""
    voice = voice_of(result)
    places = result.classes["chill_class"].cat.codes
    return result.classes.assign(label=[class_label(voice, place, EDGES) for place in places])


def class_label(voice: Voice, place: int, edges: tuple[float, ...]) -> str:
    """The chill class of that place among those cut at the edges: "under 1 000", "1 000 to 1 100"."""
    shown = [printing.count(edge) for edge in edges]
    if place == 0:
        return voice.say("under {cut}", cut=shown[0])
    if place == len(edges):
        return voice.say("{cut} and over", cut=shown[-1])
    return printing.span(shown[place - 1], shown[place])


def figures(result: Weather) -> tuple[Figure, ...]:
    """Classes, and the smooth where the losses can carry one."""
    drawn = [_classes_figure(result)]
    if np.isfinite(result.smooth.share).any():
        drawn.append(_smooth_figure(result))
    return tuple(drawn)


def _classes_figure(result: Weather) -> Figure:
    say = voice_of(result).say
    classes = labelled(result)
    told = "; ".join(
        f"{row.label}, {printing.share_of(row.events, row.n, row.low, row.high)}" for row in each_row(classes)
    )
    whole = float(result.newborns["event"].mean()) if len(result.newborns) else None
    window = window_label(result.window.name, result.window.end_h)
    return draw_rates(
        classes,
        "label",
        printer=voice_of(result),
        name="weather-classes",
        title=say("Loss by the chill of the first {hours} hours, kJ/m2/h", hours=printing.count(MAIN_H)),
        alt=say("Share lost in each chill class with its interval: {told}.", told=told),
        axis=say("lost by {window}, % of {newborns} born alive", window=window),
        reference=whole,
    )


def _smooth_figure(result: Weather) -> Figure:
    say, smooth = voice_of(result).say, result.smooth
    curve = pd.DataFrame({"value": smooth.at, "share": smooth.share, "low": smooth.low, "high": smooth.high})
    seen = curve.dropna()
    ends = seen.iloc[[0, -1]]
    told = "; ".join(
        say("at {chill}, {share}", chill=printing.count(row.value), share=printing.percent(row.share))
        for row in each_row(ends)
    )
    inside = result.newborns[result.newborns["chill_72_h"].between(seen["value"].min(), seen["value"].max())]
    window = window_label(result.window.name, result.window.end_h)
    return draw_smooth(
        seen,
        inside["chill_72_h"].round(-1).to_numpy(float),
        inside["event"].to_numpy(bool),
        printer=voice_of(result),
        name="weather-smooth",
        title=say("Loss against the mean chill of the first {hours} hours", hours=printing.count(MAIN_H)),
        alt=say("Share lost as a smooth of the chill met, with its band: {told}.", told=told),
        axis=say("mean chill of the first {hours} hours, kJ/m2/h", hours=printing.count(MAIN_H)),
        share_axis=say("lost by {window}, %", window=window),
        marks=(say("lost"), say("alive")),
    )


def tables(result: Weather) -> tuple[Table, ...]:
    """Loss by chill class; cold against mild for each window of hours."""
    built = (_classes_table(result), _against_table(result))
    return (*built, _smooth_table(result)) if len(result.smooth_at) else built


def _interval(result: Weather) -> str:
    return interval_heading(voice_of(result), result.settings.level)


def _classes_table(result: Weather) -> Table:
    say = voice_of(result).say
    headings = {
        "label": say("Mean chill, kJ/m2/h"),
        "events": say("Lost"),
        "n": say("{newborns} born alive"),
        "share": say("Share"),
        "interval": _interval(result),
    }
    formats = {"events": "count", "n": "count", "share": "share"}
    title = say("Loss by the chill of the first {hours} hours", hours=printing.count(MAIN_H))
    note = say(
        "{lost} of {n} in all.",
        lost=printing.count(result.newborns["event"].sum()),
        n=printing.count(len(result.newborns)),
    )
    return Table("weather-classes", title, labelled(result), headings, formats, note)


def _against_table(result: Weather) -> Table:
    say = voice_of(result).say
    headings = {
        "hours": say("First hours"),
        "edge": say("Coldest fifth: chill from"),
        "events": say("Lost, coldest fifth"),
        "n": say("{newborns}, coldest fifth"),
        "share": say("Share, coldest fifth"),
        "events_versus": say("Lost, the others"),
        "n_versus": say("{newborns}, the others"),
        "share_versus": say("Share, the others"),
        "risk_ratio": say("Risk ratio"),
        "interval": _interval(result),
        "p": say("p"),
    }
    formats = dict.fromkeys(("hours", "edge", "events", "n", "events_versus", "n_versus"), "count")
    formats |= {
        "share": "share",
        "share_versus": "share",
        "risk_ratio": "ratio",
        "interval": "ratio",
        "p": "p",
    }
    title = say("The coldest fifth against the others, by how many hours after birth are looked at")
    frame = result.against
    frame = frame.assign(
        share=ratio(frame["events"], frame["n"]),
        share_versus=ratio(frame["events_versus"], frame["n_versus"]),
    )
    return Table("weather-cold", title, frame, headings, formats)


def _smooth_table(result: Weather) -> Table:
    say = voice_of(result).say
    headings = {
        "value": say("Mean chill, kJ/m2/h"),
        "share": say("Share lost"),
        "interval": _interval(result),
    }
    note = say("Test that loss does not depend on chill: p {p}.", p=printing.p_value(result.smooth.p))
    title = say("Points along the smooth")
    formats = {"value": "count", "share": "share"}
    return Table("weather-smooth", title, result.smooth_at, headings, formats, note)


def method(result: Weather) -> Method:
    """Method, settings, limits and sources."""
    say = voice_of(result).say
    edges = ", ".join(printing.count(edge) for edge in EDGES)
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
                covered=printing.percent(COVERED, 0),
            ),
            say("Window of loss: {window}.", window=window_label(result.window.name, result.window.end_h)),
            say("Confidence level: {level}.", level=printing.percent(result.settings.level, 0)),
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

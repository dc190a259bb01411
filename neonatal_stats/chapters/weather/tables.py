"""The tables of the weather."""

from __future__ import annotations

from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.chapters.weather.result import MAIN_H, Weather
from neonatal_stats.estimates.results import ratio
from neonatal_stats.tables import Table, printing


def tables(result: Weather) -> tuple[Table, ...]:
    """Loss by chill class; cold against mild for each window of hours."""
    built = (_classes(result), _against(result))
    return (*built, _smooth(result)) if len(result.smooth_at) else built


def _classes(result: Weather) -> Table:
    say = result.voice.say
    headings = {
        "label": say("Mean chill, kJ/m2/h"),
        "events": say("Lost"),
        "n": say("{newborns} born alive"),
        "share": say("Share"),
        "interval": interval_heading(result.voice, result.settings.level),
    }
    formats = {"events": "count", "n": "count", "share": "share"}
    title = say("Loss by the chill of the first {hours} hours", hours=printing.count(MAIN_H))
    note = say(
        "{lost} of {n} in all.",
        lost=printing.count(result.newborns["event"].sum()),
        n=printing.count(len(result.newborns)),
    )
    return Table("weather-classes", title, result.labelled, headings, formats, note)


def _against(result: Weather) -> Table:
    say = result.voice.say
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
        "interval": interval_heading(result.voice, result.settings.level),
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


def _smooth(result: Weather) -> Table:
    say = result.voice.say
    headings = {
        "value": say("Mean chill, kJ/m2/h"),
        "share": say("Share lost"),
        "interval": interval_heading(result.voice, result.settings.level),
    }
    note = say("Test that loss does not depend on chill: p {p}.", p=printing.p_value(result.smooth.p))
    title = say("Points along the smooth")
    formats = {"value": "count", "share": "share"}
    return Table("weather-smooth", title, result.smooth_at, headings, formats, note)

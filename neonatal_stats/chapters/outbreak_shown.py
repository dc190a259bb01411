"""The outbreak drawn and in tables: deaths by day, place and cause, and the days that stand out most."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted.outbreak import Cluster, Outbreak
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Figure, Rose, draw_days
from neonatal_stats.drawing.colours import INK, cause_looks
from neonatal_stats.measures.on_the_calendar import EVERY_CAUSE, EVERYWHERE, NO_PLACE
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Verdict, Voice, joined, voice_of
from neonatal_stats.words.names import label

MOST_PANELS = 5
MOST_BARS = 60


def place_named(voice: Voice, place: str) -> str:
    """A place as it is printed: a farm's own name as it stands."""
    if place == EVERYWHERE:
        return voice.say("everywhere")
    return voice.say("place not known") if place == NO_PLACE else label(voice, place)


def cause_named(voice: Voice, cause: str) -> str:
    """A cause as it is printed."""
    return voice.say("all causes") if cause == EVERY_CAUSE else label(voice, cause)


def outbreak_figures(result: Outbreak) -> tuple[Figure, ...]:
    """Deaths by day: the place where they came together, and the others under it."""
    found = result.cluster
    assert found is not None
    voice = voice_of(result)
    panels, days = _panels(result, found)
    look = (INK, "") if found.cause == EVERY_CAUSE else cause_looks(result.settings.causes)[found.cause]
    others = voice.say("other causes") if found.cause != EVERY_CAUSE else ""
    each = voice.say("a bar a day") if days == 1 else voice.say("a bar for {n} days", n=voice.count(days))
    return (
        draw_days(
            panels,
            printer=voice,
            name="outbreak-days",
            title=voice.say("Deaths after birth by day and place"),
            alt=_alt(result, found),
            axis=voice.say("day of death, {each}", each=each),
            look=look,
            words=(cause_named(voice, found.cause), others, voice.say("expected")),
            rose=_rose(result, found, days),
        ),
    )


def _panels(result: Outbreak, found: Cluster) -> tuple[list[tuple[str, pd.DataFrame]], int]:
    """The place of the cluster first and the others under it, or all together; and how many days a bar holds."""
    voice, frame = voice_of(result), result.days
    by_place = {str(place): rows.reset_index(drop=True) for place, rows in frame.groupby("place", sort=False)}
    whole = by_place.pop(EVERYWHERE)
    days = int(np.ceil(len(whole) / MOST_BARS))
    if found.place == EVERYWHERE:
        shown = {EVERYWHERE: whole} | (by_place if len(by_place) < MOST_PANELS else {})
    else:
        own = by_place.pop(found.place)
        shown = {found.place: own}
        if len(by_place) < MOST_PANELS:
            shown |= by_place
        else:
            numbers = ["events", "others", "expected"]
            shown[voice.say("all other places")] = whole.assign(
                **{name: whole[name] - own[name] for name in numbers}
            )
    return [
        (_capital(place_named(voice, place)), _in_bars(voice, rows, days)) for place, rows in shown.items()
    ], days


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]


def _in_bars(voice: Voice, rows: pd.DataFrame, days: int) -> pd.DataFrame:
    """Rows of days put together, each labelled by its first day."""
    bar = np.arange(len(rows)) // days
    summed = rows[["events", "others", "expected"]].groupby(bar).sum()
    return summed.assign(label=[voice.day(day) for day in rows["day"].iloc[::days]])


def _rose(result: Outbreak, found: Cluster, days: int) -> Rose:
    voice, start = voice_of(result), result.days["day"].iloc[0]
    at, low, high = ((day - start).days / days for day in (found.onset, found.onset_low, found.onset_high))
    days_of = {"low": voice.day(found.onset_low), "high": voice.day(found.onset_high)}
    words = voice.say("rose from {day} ({low} to {high})", day=voice.day(found.onset), **days_of)
    return Rose(at, low, high, None if found.place == EVERYWHERE else 0, words)


def _alt(result: Outbreak, found: Cluster) -> str:
    voice = voice_of(result)
    totals = result.days.groupby("place", sort=False)["events"].sum()
    told = "; ".join(f"{place_named(voice, str(place))} {voice.count(n)}" for place, n in totals.items())
    return voice.say(
        "Deaths over the season ({cause}): {told}. {place}, {first} to {last}: {events}, {expected} expected.",
        cause=cause_named(voice, found.cause),
        told=told,
        place=place_named(voice, found.place),
        first=voice.day(found.first),
        last=voice.day(found.last),
        events=voice.count(found.deaths),
        expected=voice.number(found.expected),
    )


def outbreak_tables(result: Outbreak, verdict: Verdict) -> Iterator[Table]:
    """The days that stand out most; where they may be more than chance the places and causes in them, else the places
    over the season; all deaths by day, place and cause.
    """
    found = result.cluster
    if found is not None:
        yield _window_table(result, found, verdict)
    if found is not None and verdict in (Verdict.CLEAR, Verdict.LEANING):
        yield _in_days_table(result, found)
        yield _causes_table(result)
    elif len(result.by_place) > 1:
        yield _places_table(result, result.by_place, "Deaths after birth by place, over the season")
    if len(result.deaths):
        yield _deaths_table(result)


VERDICTS = {
    Verdict.CLEAR: "More than chance, age and litters explain.",
    Verdict.LEANING: "Chance is not ruled out.",
    Verdict.NO_CLEAR: "No more than chance, age and litters explain.",
    Verdict.TOO_FEW: "Too few to say.",
}


def _window_table(result: Outbreak, found: Cluster, verdict: Verdict) -> Table:
    """One row: where and when deaths stood closest together, and from which day on."""
    voice = voice_of(result)
    say = voice.say
    fields = {name: value for name, value in vars(found).items() if not isinstance(value, pd.Timestamp)}
    days = {name: value for name, value in vars(found).items() if isinstance(value, pd.Timestamp)}
    frame = pd.DataFrame([fields | days | {f"{name}_label": voice.date(day) for name, day in days.items()}])
    frame = frame.assign(
        place_label=place_named(voice, found.place),
        cause_label=cause_named(voice, found.cause),
        onset_range=voice.span(voice.day(found.onset_low), voice.date(found.onset_high)),
    )
    declared = (
        columns.text("place_label", say("Place"), raw="place"),
        columns.text("cause_label", say("Cause"), raw="cause"),
        columns.text("first_label", say("First day"), raw="first"),
        columns.text("last_label", say("Last day"), raw="last"),
        columns.counts("deaths", "n", say("Died of those there")),
        columns.count("litters", say("Litters that lost")),
        columns.number("expected", say("Expected")),
        columns.text("onset_label", say("Rose from"), raw="onset"),
        columns.text(
            "onset_range", say("{level} interval of the rise", level=voice.percent(result.settings.level, 0))
        ),
        columns.in_csv(columns.text("onset_low", say("Rose from, earliest"))),
        columns.in_csv(columns.text("onset_high", say("Rose from, latest"))),
        columns.p("p", say("p")),
        columns.p("weakest", say("p, the weakest")),
        columns.p("p_time", say("p, against its own other days")),
    )
    title = say("The days that stand out most")
    return Table("outbreak-window", title, frame, declared, note=say(VERDICTS[verdict]), printer=voice)


def _places_table(result: Outbreak, rates: pd.DataFrame, title: str, note: str = "") -> Table:
    """Deaths among the newborns of each place."""
    voice = voice_of(result)
    say = voice.say
    frame = rates.assign(label=[place_named(voice, str(place)) for place in rates["place"]])
    declared = (
        columns.text("label", say("Place"), raw="place"),
        columns.count("events", say("Died")),
        columns.count("n", say("{Newborns} there")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
        columns.count("litters", say("Litters")),
        columns.number("expected", say("Expected")),
    )
    return Table("outbreak-places", say(title), frame, declared, note=note, printer=voice)


def _in_days_table(result: Outbreak, found: Cluster) -> Table:
    """The same in the days of the cluster, of its cause; the place against all others in the note."""
    voice = voice_of(result)
    days = {"first": voice.day(found.first), "last": voice.date(found.last)}
    note = voice.say("{first} to {last}; {cause}.", cause=cause_named(voice, found.cause), **days)
    sides = result.against.set_index("side").to_dict("index")
    if len(sides) == 2:
        told = {
            str(side): voice.share_of(row["events"], row["n"], row["low"], row["high"])
            for side, row in sides.items()
        }
        place = place_named(voice, found.place)
        against = voice.say("{place}: {here}; all other places together: {elsewhere}.", place=place, **told)
        note = joined([note, against])
    return _places_table(result, result.in_days, "Deaths by place in these days", note)


def _causes_table(result: Outbreak) -> Table:
    """Causes of the deaths in the days and the place of the cluster."""
    voice = voice_of(result)
    say = voice.say
    frame = result.by_cause.assign(
        label=[cause_named(voice, str(cause)) for cause in result.by_cause["cause"]]
    )
    declared = (
        columns.text("label", say("Cause"), raw="cause"),
        columns.count("events", say("Died")),
    )
    title = say("Causes of the deaths there and then")
    return Table("outbreak-causes", title, frame, declared, printer=voice)


def _deaths_table(result: Outbreak) -> Table:
    """All deaths after birth by day, place and cause."""
    voice = voice_of(result)
    say = voice.say
    frame = result.deaths.assign(
        label=[voice.date(day) for day in result.deaths["day"]],
        place_label=[place_named(voice, str(place)) for place in result.deaths["place"]],
        cause_label=[cause_named(voice, str(cause)) for cause in result.deaths["cause"]],
    )
    declared = (
        columns.text("label", say("Day"), raw="day"),
        columns.text("place_label", say("Place"), raw="place"),
        columns.text("cause_label", say("Cause"), raw="cause"),
        columns.count("events", say("Died")),
    )
    together = result.deaths["cause"].eq(EVERY_CAUSE).all()
    note = say("So many deaths that causes, or the days of a week, are put together.") if together else ""
    return Table(
        "outbreak-deaths",
        say("Deaths after birth by day, place and cause"),
        frame,
        declared,
        note=note,
        printer=voice,
    )

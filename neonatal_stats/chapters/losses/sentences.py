"""Losses in words."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from typing import Any

from neonatal_stats.chapters.losses.result import Losses
from neonatal_stats.measures.windows import END
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence
from neonatal_stats.words.comparisons import Compared, compare_groups, compare_several
from neonatal_stats.words.windows import window_label

BIRTHS_IN_A_WEEK = 10
MOST_NOT_WATCHED = 0.10  # of those counted; above it the curve speaks instead of the simple share


def sentences(result: Losses) -> tuple[Sentence, ...]:
    """How many, by when, how many litters, and whether the calendar matters."""
    return (*_whole(result), *_windows(result), *_left(result), *_litters(result), *_calendar(result))


def _whole(result: Losses) -> Iterator[Sentence]:
    end, say = _whole_row(result), result.voice.say
    if not end["events"]:
        text = "No loss by {end} among the {born} {newborns} born."
        yield Sentence(say(text, born=printing.count(end["n"]), end=_end(result)))
        return
    lost = printing.share_of(end["events"], end["n"], end["low"], end["high"])
    if not result.born_dead_known:
        yield Sentence(say("Of all {newborns} born, {lost} were lost by {end}.", lost=lost, end=_end(result)))
        return
    newborns = result.flow.newborns
    still = float(newborns.loc[newborns["stage"] == "born alive", "lost"].sum())
    text = "Of all {newborns} born, {lost} were lost by {end}: {still} born dead and {after} after birth."
    yield Sentence(
        say(
            text,
            lost=lost,
            end=_end(result),
            still=printing.count(still),
            after=printing.count(end["events"] - still),
        )
    )


def _whole_row(result: Losses) -> dict[Hashable, Any]:
    """Losses of all born by the end."""
    born = result.by_window[result.by_window["out_of"] == "born"]
    return born.to_dict("records")[-1]


def _windows(result: Losses) -> Iterator[Sentence]:
    born = result.by_window[result.by_window["out_of"] == "born"].to_dict("records")
    for row in born[:-1]:
        if born[-1]["events"]:
            yield Sentence(_window(result, row))
    if len(born) == 1 and result.settings.windows_h and result.undated:
        text = "When they were lost cannot be said: {undated} of {lost} losses have no known age."
        values = {"undated": printing.count(result.undated), "lost": printing.count(born[-1]["events"])}
        yield Sentence(result.voice.say(text, **values), role="cannot say")
        yield Sentence(
            result.voice.say("Write down when each dead {newborn} was found, and its birth."),
            role="record next",
        )


def _window(result: Losses, row: dict[Hashable, Any]) -> str:
    """The simple share; the curve instead where many were not watched to the window's end."""
    say, window = result.voice.say, str(row["window"])
    if row["not_watched"] <= MOST_NOT_WATCHED * row["n"]:
        lost = printing.share_of(row["events"], row["n"], row["low"], row["high"])
        return say("By {window} of age {lost} had been lost.", window=window, lost=lost)
    return say(
        "By {window} of age {share} had been lost by the curve ({interval}); {left} were not watched so "
        "long.",
        window=window,
        share=printing.percent(row["curve"]),
        interval=printing.percent_range(row["curve_low"], row["curve_high"]),
        left=printing.count(row["not_watched"]),
    )


def _left(result: Losses) -> Iterator[Sentence]:
    end = _whole_row(result)
    if not end["not_watched"]:
        return
    left, born = printing.count(end["not_watched"]), printing.count(end["n"])
    if end["n"] < printing.SMALL_GROUP:
        text = (
            "{left} of {born} {newborns} left alive, or went out of sight, before {end}; counted as not lost."
        )
        yield Sentence(result.voice.say(text, left=left, born=born, end=_end(result)))
        return
    text = (
        "{left} of {born} {newborns} left alive or went out of sight before {end}; counted as not lost. The "
        "curve, which counts them until they left, puts the loss by {end} at {share} ({interval})."
    )
    interval = printing.percent_range(end["curve_low"], end["curve_high"])
    share = printing.percent(end["curve"])
    yield Sentence(
        result.voice.say(text, left=left, born=born, end=_end(result), share=share, interval=interval)
    )


def _litters(result: Losses) -> Iterator[Sentence]:
    litters = result.by_litter
    lost_all = int(litters["all"].sum())
    if not lost_all:
        return
    text = "{all} of {litters} litters lost every {newborn}, and {some} lost some but not all."
    yield Sentence(
        result.voice.say(
            text,
            all=printing.count(lost_all),
            litters=printing.count(litters["litters"].sum()),
            some=printing.count(litters["some"].sum()),
        )
    )


def _calendar(result: Losses) -> Iterator[Sentence]:
    weeks, settings = result.by_week, result.settings
    large = weeks[weeks["n"] >= BIRTHS_IN_A_WEEK] if len(weeks) else weeks
    if len(large) > 1 and result.weeks_differ.df:
        said = compare_several(
            result.voice,
            result.weeks_differ.p,
            level=settings.level,
            events=int(weeks["events"].sum()),
            smallest_group=int(large["n"].min()),
            minimum_group=settings.minimum_group,
        )
        yield Sentence(result.voice.say("Weeks of birth: {said}", said=said.text), None)
    for row in result.night.to_dict("records"):
        night = result.voice.say("{newborns} born by night (20 to 08 h)")
        day = result.voice.say("{newborns} born by day")
        found = Compared(night, day, *(row[name] for name in NUMBERS))
        yield compare_groups(result.voice, found, minimum_group=settings.minimum_group, level=settings.level)


NUMBERS = ("events", "n", "events_versus", "n_versus", "estimate", "low", "high", "p")


def _end(result: Losses) -> str:
    return window_label(END, result.end_h)

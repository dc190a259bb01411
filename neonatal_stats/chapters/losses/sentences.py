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


def sentences(result: Losses) -> tuple[Sentence, ...]:
    """How many, by when, how many litters, and whether the calendar matters."""
    return (*_whole(result), *_windows(result), *_left(result), *_litters(result), *_calendar(result))


def _whole(result: Losses) -> Iterator[Sentence]:
    end, say = _whole_row(result), result.voice.say
    if not end["events"]:
        text = "Of {born} {newborns} born, none was lost by {end}."
        yield Sentence(say(text, born=printing.count(end["n"]), end=_end(result)))
        return
    newborns = result.flow.newborns
    still = float(newborns.loc[newborns["stage"] == "born alive", "lost"].sum())
    text = "Of all {newborns} born, {lost} were lost by {end}: {still} born dead and {after} after birth."
    yield Sentence(
        say(
            text,
            lost=printing.share_of(end["events"], end["n"], end["low"], end["high"]),
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
    born = result.by_window[result.by_window["out_of"] == "born"]
    for row in born[born["window"] != END].to_dict("records"):
        if not row["n"] or not born["events"].iloc[-1]:
            continue
        text = result.voice.say(
            "By {window} of age {lost} had been lost.",
            window=str(row["window"]),
            lost=printing.share_of(row["events"], row["n"], row["low"], row["high"]),
        )
        yield Sentence(text)


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
    return window_label(END, result.settings.follow_up_d)

"""The tables of the losses."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.losses.figures import week_labels
from neonatal_stats.chapters.losses.flow_words import flow_words
from neonatal_stats.chapters.losses.result import Losses
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.tables import Table, printing
from neonatal_stats.words.labels import label
from neonatal_stats.words.windows import window_label

RATES = {"events": "count", "n": "count", "share": "share"}


def tables(result: Losses) -> tuple[Table, ...]:
    """Windows and flow first, then litters, ages and the calendar."""
    dams, newborns = flow_words(result)
    say = result.voice.say
    return (
        _windows(result),
        _flow(result, "newborns", say("Where the {newborns} went"), newborns),
        *([_flow(result, "dams", say("Where the {dams} went"), dams)] if len(dams) else []),
        *([_litters(result)] if len(result.by_litter) else []),
        *_ages(result),
        *_calendar(result),
    )


def _windows(result: Losses) -> Table:
    say, frame = result.voice.say, result.by_window
    names = {"born": say("born"), "born alive": say("born alive")}
    frame = frame.assign(
        of=[names[str(name)] for name in frame["out_of"]],
        by=[window_label(window, result.end_h) for window in frame["window"]],
        curve_range=[
            printing.percent_range(low, high)
            for low, high in zip(frame["curve_low"], frame["curve_high"], strict=True)
        ],
    )
    interval = interval_heading(result.voice, result.settings.level)
    headings = {
        "of": say("Of {newborns}"),
        "by": say("Lost by"),
        "events": say("Lost"),
        "n": say("Counted"),
        "share": say("Share"),
        "interval": interval,
        "not_watched": say("Left alive before"),
        "curve": say("Share by the curve"),
        "curve_range": say("{interval} of the curve", interval=interval),
    }
    formats = {**RATES, "not_watched": "count", "curve": "share"}
    note = say(
        "Those that left alive before a window closed are not counted in it; in the last window they are "
        "counted as not lost. The curve counts them until they left."
    )
    return Table("losses-windows", say("Losses by window"), frame, headings, formats, note)


def _flow(result: Losses, name: str, title: str, frame: pd.DataFrame) -> Table:
    say = result.voice.say
    headings = {
        "label": say("Step"),
        "n": say("Count"),
        "lost": say("Lost since the step before"),
        "left": say("Left alive"),
        "age_unknown": say("Lost at an unknown age"),
    }
    formats = dict.fromkeys(("n", "lost", "left", "age_unknown"), "count")
    if name == "dams":
        headings = {"label": say("Step"), "n": say("Count"), "lost": say("Fewer than the step before")}
        formats = {"n": "count", "lost": "count"}
    return Table(f"losses-flow-{name}", title, frame, headings, formats)


def _litters(result: Losses) -> Table:
    say = result.voice.say
    total = {
        "born": "",
        **{name: result.by_litter[name].sum() for name in ("litters", "none", "some", "all")},
    }
    frame = result.by_litter.assign(born=result.by_litter["born"].map(printing.count))
    frame = pd.concat([frame, pd.DataFrame([total | {"born": say("all litters")}])], ignore_index=True)
    headings = {
        "born": say("{Newborns} written down in the litter"),
        "litters": say("Litters"),
        "none": say("Lost none"),
        "some": say("Lost some"),
        "all": say("Lost all"),
    }
    formats = dict.fromkeys(("litters", "none", "some", "all"), "count")
    return Table("losses-litters", say("Litters by what they lost"), frame, headings, formats)


def _ages(result: Losses) -> Iterator[Table]:
    if result.by_age.empty:
        return
    say = result.voice.say
    spans = zip(result.by_age["start_h"], result.by_age["end_h"], strict=True)
    rates = zip(result.by_age["rate_low"], result.by_age["rate_high"], strict=True)
    frame = result.by_age.assign(
        age=[printing.age_span(start, end) for start, end in spans],
        rate_range=[_from_to(low, high) for low, high in rates],
    )
    interval = interval_heading(result.voice, result.settings.level)
    headings = {
        "age": say("Age"),
        "at_risk": say("Alive and watched at the start"),
        "events": say("Lost"),
        "share": say("Share of them lost"),
        "interval": interval,
        "newborn_days": say("{Newborn}-days watched"),
        "per_1000_days": say("Lost per 1000 {newborn}-days"),
        "rate_range": say("{interval} of the rate", interval=interval),
    }
    formats = {"at_risk": "count", "events": "count", "share": "share"}
    formats |= {"newborn_days": "number", "per_1000_days": "number"}
    note = say("Of {newborns} born alive. A span takes in its start and not its end; the last takes in both.")
    yield Table("losses-ages", say("Life table"), frame, headings, formats, note)


def _from_to(low: float, high: float) -> str:
    return printing.NOT_KNOWN if low != low else printing.span(printing.number(low), printing.number(high))


def _calendar(result: Losses) -> Iterator[Table]:
    say = result.voice.say
    rates = {
        "events": say("Lost"),
        "n": say("Born"),
        "share": say("Share"),
        "interval": interval_heading(result.voice, result.settings.level),
    }
    if len(result.by_week):
        weeks = result.by_week.assign(label=week_labels(result.by_week))
        test = printing.p_value(result.weeks_differ.p)
        note = say("Do the weeks differ? p {p} (score chi-square, exchangeable littermates).", p=test)
        headings = {"label": say("Week from Monday"), **rates}
        yield Table("losses-weeks", say("Losses by week of birth"), weeks, headings, RATES, note)
    if len(result.by_hour):
        headings = {"band": say("Hour of birth"), **rates}
        yield Table("losses-hours", say("Losses by hour of birth"), result.by_hour, headings, RATES)
    if len(result.night):
        yield _night(result)


def _night(result: Losses) -> Table:
    say = result.voice.say
    frame = result.night.assign(name=[label(result.voice, one) for one in result.night["night"]])
    headings = {
        "name": say("Born"),
        "events": say("Lost"),
        "n": say("Born then"),
        "events_versus": say("Lost of those born by day"),
        "n_versus": say("Born by day"),
        "share": say("Share"),
        "share_versus": say("Share by day"),
        "estimate": say("Risk ratio"),
        "interval": interval_heading(result.voice, result.settings.level),
    }
    frame = frame.assign(
        share=frame["events"] / frame["n"], share_versus=frame["events_versus"] / frame["n_versus"]
    )
    formats = dict.fromkeys(("events", "n", "events_versus", "n_versus"), "count")
    formats |= {"share": "share", "share_versus": "share", "estimate": "ratio", "interval": "ratio"}
    return Table("losses-night", say("Born by night against by day"), frame, headings, formats)

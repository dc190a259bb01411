"""A season in progress: what is known so far, whether the last seven days were unusual, and from when more can be read.

It stands on a page of its own and makes no claim: a running season is looked at again and again, and only the alarm,
whose false alarms are counted, is allowed to say that something is unusual.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.progress import (
    ALARM_P,
    DAYS,
    FALSE_ALARMS,
    FALSE_ALARMS_OF_A_YEAR,
    FEWEST_BORN,
    SIX_WEEKS_D,
    Progress,
    answer,
)
from neonatal_stats.chapters.protocol import MAIN, Headline, interval_heading
from neonatal_stats.drawing import Figure, draw_loss
from neonatal_stats.estimates.recent_losses import AgainstCurve
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS
from neonatal_stats.measures.windows import END, fewest_drawn
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Method, Sentence, Voice, joined, voice_of
from neonatal_stats.words.names import window_label
from neonatal_stats.words.plain import old

__all__ = [
    "Progress",
    "alarm_said",
    "answer",
    "figures",
    "headlines",
    "main",
    "method",
    "sentences",
    "tables",
]

NAME = "progress"
TITLE = "Season in progress"
QUESTION = "What is known so far, and were the last seven days unusual?"
NAN = float("nan")

Row = dict[Hashable, Any]

HEADS = {"off": "Alarm: not on yet", "silent": "Alarm: silent", "sounding": "Alarm: sounding"}
ALARMS = {
    "off": "It needs {group} {newborns} born before the last {days} days, and {events} losses so far.",
    "silent": "The last {days} days lost no more than chance may give after the days before. A small rise can be "
    "missed: silence is no proof that nothing is wrong.",
    "sounding": "The last {days} days lost more {newborns} than the days before lead one to expect at the same "
    "ages: {lost}. Ring your vet today, keep the dead for examination, keep the sick apart and look for what "
    "changed (common practice); local rules on reporting come first.",
}
RATE = (
    "Looked at every evening it sounds falsely in at most {n} of {all} seasons in which nothing happens, where "
    "births last six weeks (by simulation)."
)
RATE_OF_A_YEAR = (
    "Births have gone on for more than nine weeks: looked at every evening of a year in which nothing happens, the "
    "alarm sounds falsely in about {n} of {all} (by simulation)."
)
AGAINST = {
    "before": "Lost in the last {days} days: {lost}. This season's days before would give about {expected} at the same "
    "ages: {ratio} times as many ({level} interval {interval}).",
    "last": "{season} up to the same date would give about {expected} at the same ages: {ratio} times as many "
    "({level} interval {interval}).",
}


def main(result: Progress) -> Headline | None:
    """The share that the page leads with, as a review does: by the last early window that can be read; None without."""
    early = result.shown[result.shown["window"] != END]
    return None if early.empty else _headline(result, MAIN, early.to_dict("records")[-1])


def headlines(result: Progress) -> tuple[Headline, ...]:
    """Born so far, and the loss by each window that can be read, for other programs."""
    voice = voice_of(result)
    born = Headline("born", voice.say("Born"), voice.count(result.born), result.born, NAN, NAN, NAN, NAN)
    rows = result.shown.to_dict("records")
    return (born, *(_headline(result, _key(str(row["window"])), row) for row in rows))


def _key(window: str) -> str:
    return "lost" if window == END else f"lost_by_{window.replace(' ', '_')}"


def _headline(result: Progress, key: str, row: Row) -> Headline:
    voice = voice_of(result)
    values = {"share": voice.percent(row["share"]), "interval": voice.percent_range(row["low"], row["high"])}
    printed = voice.say("{share} ({interval}) by the curve", **values)
    label = old(voice, row["end_h"])
    return Headline(key, label, printed, row["lost"], row["born"], row["share"], row["low"], row["high"])


def sentences(result: Progress) -> tuple[Sentence, ...]:
    """So far; what cannot be read yet; the last days; the alarm; what the curve leaves out."""
    return (
        Sentence(_so_far(result), lead=True),
        *_not_yet(result),
        *(Sentence(text) for text in last_days_said(result)),
        Sentence(joined(alarm_said(result))),
        *_undated(result),
    )


def _so_far(result: Progress) -> str:
    voice = voice_of(result)
    values = {
        "born": voice.count(result.born),
        "lost": voice.count(result.lost),
        "day": voice.date(result.day),
    }
    text = (
        "By the evening of {day} {born} {newborns} had been born, and {lost} of these were known to be lost."
    )
    parts = [voice.say(text, **values)]
    for row in result.shown.to_dict("records"):
        text = "By {window} of age {share} had been lost by the curve ({interval})."
        interval = voice.percent_range(row["low"], row["high"])
        parts.append(
            voice.say(text, window=_window(result, row), share=voice.percent(row["share"]), interval=interval)
        )
    return joined(parts)


def _window(result: Progress, row: Row) -> str:
    return window_label(voice_of(result), row["window"], row["end_h"])


def _not_yet(result: Progress) -> Iterator[Sentence]:
    """The windows that too few were watched through, and from when each can be read."""
    voice = voice_of(result)
    if result.born < FEWEST_BORN:
        text = "Too few to give a share: fewer than {n} {newborns} born so far."
        yield Sentence(voice.say(text, n=voice.count(FEWEST_BORN)), role="cannot say")
        return
    waiting = result.windows[~result.windows["enough"]].to_dict("records")
    if not waiting:
        return
    told = "; ".join(_from_when(result, row) for row in waiting)
    text = (
        "Not shown yet, since fewer than {needed} (ten, and a tenth of those born) have been watched so long: "
        "{windows}."
    )
    yield Sentence(voice.say(text, needed=voice.count(waiting[0]["needed"]), windows=told), role="cannot say")


def _from_when(result: Progress, row: Row) -> str:
    voice, window = voice_of(result), _window(result, row)
    if row["since"] is pd.NaT:
        return voice.say("{window}, when more are born", window=window)
    if row["watched"] >= row["needed"]:
        return voice.say("{window}, when more ages at loss are known", window=window)
    return voice.say("{window}, from about {day} on", window=window, day=voice.day(row["since"]))


def last_days_said(result: Progress) -> Iterator[str]:
    """The last days against this season's days before, and against last season up to the same date."""
    voice, days = voice_of(result), result.last_days
    for kind, found in (("before", days.before), ("last", days.last)):
        if found is not None and can_compare(found):
            yield voice.say(
                AGAINST[kind],
                days=voice.count(DAYS),
                season=result.last_season,
                lost=voice.count(found.lost),
                expected=voice.number(found.expected),
                ratio=voice.ratio(found.ratio),
                interval=voice.ratio_range(found.low, found.high),
                level=voice.percent(result.settings.level, 0),
            )


def can_compare(found: AgainstCurve) -> bool:
    """Does the reference hold losses enough to lead one to expect anything?"""
    return found.reference_lost >= MINIMUM_EVENTS and found.expected > 0


def alarm_said(result: Progress) -> tuple[str, str, str]:
    """The alarm in a few words; what it means; how often it sounds falsely."""
    voice, days = voice_of(result), result.last_days
    told = voice.say(
        ALARMS[days.alarm],
        days=voice.count(DAYS),
        group=voice.count(result.settings.minimum_group),
        events=voice.count(MINIMUM_EVENTS),
        lost=voice.count(days.lost),
    )
    long = (result.day - result.first_born).days > SIX_WEEKS_D
    n, of = FALSE_ALARMS_OF_A_YEAR if long else FALSE_ALARMS
    rate = voice.say(RATE_OF_A_YEAR if long else RATE, n=voice.count(n), all=voice.count(of))
    return f"{voice.say(HEADS[days.alarm])}.", told, rate


def _undated(result: Progress) -> Iterator[Sentence]:
    if result.undated:
        text = "The curve leaves out losses at an unknown age ({undated}), and is too low by that."
        yield Sentence(voice_of(result).say(text, undated=voice_of(result).count(result.undated)))


def figures(result: Progress) -> tuple[Figure, ...]:
    """Losses counted up with age, to the last age that enough were watched to; last season on the same date "
    "beside."""
    voice, level = voice_of(result), result.settings.level
    curves = [(result.name, _readable(result.curve, result.born))]
    if result.last_season:
        of = float(result.last_windows["born"].iloc[0])
        curves.append((_last_named(voice, result), _readable(result.last_curve, of)))
    curves = [(name, curve) for name, curve in curves if len(curve)]
    if result.born < FEWEST_BORN or not curves or curves[0][0] != result.name:
        return ()
    end_h = max(float(curve["age_h"].max()) for _, curve in curves)
    if end_h < 1:
        return ()
    told = "; ".join(f"{name}: {_told(voice, curve)}" for name, curve in curves)
    alt = voice.say("Share of {newborns} born that were lost, by age, with {level} intervals. {told}.",
                    level=voice.percent(level, 0), told=told)  # fmt: skip
    return (
        draw_loss(
            curves,
            follow_up_h=end_h,
            marks_h=[hour for hour in result.settings.windows_h.values() if hour < end_h],
            printer=voice,
            name="progress-loss",
            title=voice.say("Lost by each age, so far"),
            alt=alt,
            axis=voice.say("lost, % of {newborns} born"),
            age_axes=(voice.say("age, hours"), voice.say("age, days")),
            at_risk=voice.say("still watched"),
            reviewed=result.name if len(curves) > 1 else "",
        ),
    )


def _readable(curve: pd.DataFrame, born: float) -> pd.DataFrame:
    """The curve to the last age at which as many are watched as a window needs."""
    return curve[curve["at_risk"] >= fewest_drawn(born)]


def _told(voice: Voice, curve: pd.DataFrame) -> str:
    last = curve.iloc[-1]
    values = {"age": voice.age(last["age_h"]), "share": voice.percent(last["share"])}
    interval = voice.percent_range(last["low"], last["high"])
    return voice.say("{share} ({interval}) by {age}", interval=interval, **values)


def _last_named(voice: Voice, result: Progress) -> str:
    return voice.say("{season}, same date", season=result.last_season)


def tables(result: Progress) -> tuple[Table, ...]:
    """The windows; the last days; the alarm."""
    days = result.last_days
    compared = (_last_days_table(result),) if days.before or days.last else ()
    return (_windows_table(result), *compared, _alarm_table(result))


def _windows_table(result: Progress) -> Table:
    """What the curve says of each window so far, from when it can be read, and of last season on the same date."""
    voice, frame = voice_of(result), result.windows
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    frame = frame.assign(
        by=[_window(result, row) for row in frame.to_dict("records")],
        day=[say("when more are born") if pd.isna(day) else voice.day(day) for day in frame["since"]],
        iso=frame["since"].dt.strftime("%Y-%m-%d"),
    )
    declared = [
        columns.text("by", say("Lost by"), raw="window"),
        columns.share("share", say("Share by the curve")),
        columns.interval("low", "high", interval),
        columns.count("watched", say("Watched so long")),
        columns.text("day", say("Can be read from"), raw="iso"),
        columns.in_csv(columns.count("lost", say("Lost"))),
        columns.in_csv(columns.count("born", say("Born"))),
        columns.in_csv(columns.count("needed", say("Watched so long, needed"))),
    ]
    if result.last_season:
        before = result.last_windows.set_index("window").reindex(frame["window"])
        frame = frame.assign(**{f"last_{name}": before[name].to_numpy() for name in ("share", "low", "high")})
        declared += [
            columns.share("last_share", _last_named(voice, result)),
            columns.interval("last_low", "last_high", say("{interval} of {season}", interval=interval,
                                                          season=result.last_season)),
        ]  # fmt: skip
    return Table("progress-windows", say("Losses so far"), frame, declared, printer=voice)


def _last_days_table(result: Progress) -> Table:
    """Losses of the last days beside those expected from each reference."""
    voice, days = voice_of(result), result.last_days
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    named = {"before": say("this season's days before"), "last": say("{season} up to the same date",
                                                                     season=result.last_season)}  # fmt: skip
    rows = []
    for key, found in (("before", days.before), ("last", days.last)):
        if found is None:
            continue
        told = {name: getattr(found, name) for name in ("lost", "expected", "ratio", "low", "high", "beyond")}
        if not can_compare(found):
            told |= dict.fromkeys(("expected", "ratio", "low", "high"), NAN)
        rows.append({"key": key, "against": named[key], **told, "reference_lost": found.reference_lost})
    names = ["key", "against", "lost", "expected", "ratio", "low", "high", "reference_lost", "beyond"]
    later = columns.count("beyond", say("Lost at later ages, not compared"))
    declared = (
        columns.text("against", say("Held against"), raw="key"),
        columns.count("lost", say("Lost")),
        columns.number("expected", say("Expected")),
        columns.ratio("ratio", say("Ratio")),
        columns.interval("low", "high", interval, "ratio"),
        columns.in_csv(columns.count("reference_lost", say("Losses it rests on"))),
        later if any(row["beyond"] for row in rows) else columns.in_csv(later),
    )
    first = result.day - pd.Timedelta(days=DAYS - 1)
    title = say("The last {days} days, {first} to {last}", days=voice.count(DAYS), first=voice.day(first),
                last=voice.day(result.day))  # fmt: skip
    note = say(
        "{born} {newborns} were born and {watched} watched in these days. Expected: what the same ages lost there. "
        "A dash: too few lost to compare.",
        born=voice.count(days.born),
        watched=voice.count(days.watched),
    )
    frame = pd.DataFrame(rows, columns=names)
    return Table("progress-last-days", title, frame, declared, note=note, printer=voice)


def _alarm_table(result: Progress) -> Table:
    """What the alarm rests on."""
    voice, days = voice_of(result), result.last_days
    say = voice.say
    frame = pd.DataFrame(
        [
            {
                "alarm": days.alarm,
                "told": say(HEADS[days.alarm]),
                "lost": days.lost,
                "born": result.born,
                "known": result.lost,
                "undated": result.undated,
                "p": NAN if days.before is None else days.before.excess_p,
                "limit": ALARM_P,
                "one_in": FALSE_ALARMS[1],
                "one_in_years": FALSE_ALARMS_OF_A_YEAR[1],
            }
        ]
    )
    declared = (
        columns.text("told", say("Alarm"), raw="alarm"),
        columns.count("lost", say("Lost in the last {days} days", days=voice.count(DAYS))),
        columns.p("p", say("p of so many or more")),
        columns.p("limit", say("It sounds below")),
        columns.count("one_in", say("One false alarm in so many seasons")),
        columns.count("one_in_years", say("One false alarm in so many years of births")),
        columns.count("born", say("Born so far")),
        columns.count("known", say("Known to be lost")),
        columns.count("undated", say("Lost at an unknown age")),
    )
    return Table("progress-alarm", say("The alarm"), frame, declared, printer=voice)


def method(result: Progress) -> Method:
    """How it was worked out, and what it cannot say."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    return Method(
        method=(
            say(
                "Everything recorded after the day is left out, as if it were not yet written down. A {newborn} "
                "that died, left or was seen later was alive on that day, and so is one that is not said to have "
                "died."
            ),
            say(
                "Every share is the Kaplan-Meier curve's, which counts each {newborn} for as long as it has been "
                "watched. Intervals allow for litters."
            ),
            say(
                "Expected losses: at each age the rate of loss of the other time, summed over the {newborns} "
                "watched at that age in the last {days} days (indirect standardisation). The interval is the exact "
                "one for two Poisson means, both divided by the design effect of litters.",
                days=voice.count(DAYS),
            ),
            say(
                "The alarm asks how often so many of all losses so far would fall into the last {days} days, age by "
                "age. It sounds where that is under {limit}; this limit was chosen by simulating seasons in which "
                "nothing happens and looking at each every evening.",
                days=voice.count(DAYS),
                limit=voice.percent(ALARM_P),
            ),
        ),
        settings=(
            say(
                "Windows: {windows}.",
                windows=", ".join([*settings.windows_h, voice.age(settings.follow_up_h)]),
            ),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "The alarm knows neither weather nor mix: a storm or a run of triplets sounds it as an infection "
                "does. A loss that rises slowly from the first day does not sound it."
            ),
            say(
                "No comparison of groups is made before the season is over, since one that is looked at daily finds "
                "something."
            ),
        ),
        sources=(
            say("Kaplan EL, Meier P (1958) J Am Stat Assoc 53:457-481."),
            say(
                "Breslow NE, Day NE (1987) Statistical methods in cancer research II. Przyborowski J, Wilenski H "
                "(1940) Biometrika 31:313-323. Rao JNK, Scott AJ (1992) Biometrics 48:577-585."
            ),
        ),
    )

"""The tables of survival."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.chapters.survival.result import Survival
from neonatal_stats.tables import Table, printing
from neonatal_stats.words.labels import label

WHO = {
    "born alive": "born alive",
    "watched to the end": "watched, alive, to the end of follow-up",
    "left alive or out of sight": "left alive, or last seen alive, before it",
    "died at a known hour": "died, hour known",
    "died on a known day": "died, only the day known",
    "died between checks over an hour apart": "of these, known only to lie between two checks",
    "died at an unknown age": "died at an unknown age",
}


def tables(result: Survival) -> tuple[Table, ...]:
    """Shares alive first, then who is in the curves, days alive, and the two readings of the time of
    death.
    """
    return (_at_ages(result), _who(result), _days(result), *_between(result))


def _names(result: Survival, types: pd.Series) -> list[str]:
    return [result.voice.say("all") if one == "all" else label(result.voice, one) for one in types]


def _at_ages(result: Survival) -> Table:
    say = result.voice.say
    frame = result.at_ages.assign(
        name=_names(result, result.at_ages["birth_type"]),
        age=[printing.age(age) for age in result.at_ages["age_h"]],
    )
    headings = {
        "name": say("Birth type"),
        "age": say("Age"),
        "lost": say("Died so far"),
        "watched": say("Alive and watched"),
        "share": say("Share alive"),
        "interval": interval_heading(result.voice, result.settings.level),
    }
    formats = {"lost": "count", "watched": "count", "share": "share"}
    note = say(
        "Log-rank test between birth types, clustered: chi-square {chi}, {df} degrees of freedom, p {p}. "
        "Where nobody of a group was watched to an age its share is not known.",
        chi=printing.number(result.differ.statistic, 2),
        df=printing.count(result.differ.df),
        p=printing.p_value(result.differ.p),
    )
    title = say("Alive at the end of each window, of {newborns} born alive")
    return Table("survival-ages", title, frame, headings, formats, note if result.differ.df else "")


def _who(result: Survival) -> Table:
    say = result.voice.say
    rows = [(say(WHO[key]), n) for key, n in result.who.items()]
    frame = pd.DataFrame(rows, columns=["what", "n"])
    headings = {"what": say("{Newborns}"), "n": say("Count")}
    return Table("survival-who", say("Who is in the curves"), frame, headings, {"n": "count"})


def _days(result: Survival) -> Table:
    say = result.voice.say
    frame = result.days.assign(name=_names(result, result.days["birth_type"]))
    headings = {
        "name": say("Birth type"),
        "n": say("Born alive"),
        "days": say("Days alive, on average"),
        "interval": interval_heading(result.voice, result.settings.level),
    }
    formats = {"n": "count", "days": "number", "interval": "number"}
    title = say("Days alive out of the first {end}", end=printing.age(result.common_h))
    note = say("The area under the curve. A group of one litter has no interval.")
    return Table("survival-days", title, frame, headings, formats, note)


def _between(result: Survival) -> Iterator[Table]:
    if result.between is None:
        return
    say, between = result.voice.say, result.between
    frame = between.frame.assign(age=[printing.age(age) for age in between.frame["age_h"]])
    headings = {
        "age": say("Age"),
        "found": say("Alive, taking the time found"),
        "earliest": say("Alive, dead as early as the checks allow"),
        "latest": say("Alive, dead as late as the checks allow"),
    }
    note = say(
        "{some} of {deaths} deaths lie between two checks, {hours} apart at the median; the largest gap in "
        "this table is {points} percentage points.",
        some=printing.count(between.between_checks),
        deaths=printing.count(between.deaths),
        hours=printing.age(between.typical_h),
        points=printing.number(100 * between.moves),
    )
    title = say("Deaths known only to lie between two checks")
    formats = dict.fromkeys(("found", "earliest", "latest"), "share")
    yield Table("survival-between-checks", title, frame, headings, formats, note)

"""How long did those born alive live, and does it differ by birth type?"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.survival import Survival, ages_known, answer
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.curves import draw_survival
from neonatal_stats.measures.curves import before_ages
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence
from neonatal_stats.words.comparisons import compare_several, excess_over_lowest
from neonatal_stats.words.labels import label
from neonatal_stats.words.verdict import LEANING_P

NAME = "survival"
TITLE = "Survival"
QUESTION = "How long did the {newborns} born alive live, and does it differ by birth type?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Survival",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open where newborns were born alive and nearly all deaths have an age."""
    say = voice_of(season).say
    alive = season.births[~season.births["stillborn"].astype(bool)]
    if alive.empty:
        return (say("Not answered: no {newborn} was born alive, so there is no survival to follow."),)
    if not ages_known(alive):
        return (
            say(
                "Not answered: the age at death is not known for enough of those that died. When each was "
                "born (born_at or born_on) and when it died (died_at, or last_alive_at and found_dead_at) "
                "would open the chapter."
            ),
        )
    return ()


def sentences(result: Survival) -> tuple[Sentence, ...]:
    """Alive at the windows' ends, by birth type, on average, and how sure the ages are."""
    return (*_alive_said(result), *_by_type_said(result), *_days_said(result), *_between_said(result))


def figures(result: Survival) -> tuple[Figure, ...]:
    """By birth type where there are several, else all together; then the total loss of all born."""
    return (_by_type_drawn(result), _loss_drawn(result))


def tables(result: Survival) -> tuple[Table, ...]:
    """Shares alive first, then who is in the curves, days alive, and the two readings of the time of death."""
    return (_ages_table(result), _who_table(result), _days_table(result), *_between_table(result))


def _alive_said(result: Survival) -> Iterator[Sentence]:
    """Of those born alive, how many were alive at the end of each window and of the watching."""
    say, born = voice_of(result).say, result.who["born alive"]
    if born < printing.SMALL_GROUP:
        text = "Born alive: {born}, too few to give shares; the table has the counts."
        yield Sentence(say(text, born=printing.count(born)))
        return
    together = result.at_ages[result.at_ages["birth_type"] == "all"]
    for row in together.to_dict("records"):
        if pd.isna(row["share"]) or row["age_h"] not in (*result.settings.windows_h.values(), result.end_h):
            continue
        if not row["lost"]:
            text = "Of {born} {newborns} born alive none had died by {age}."
            yield Sentence(say(text, born=printing.count(born), age=printing.age(row["age_h"])))
            continue
        text = "Of {born} {newborns} born alive, {share} ({interval}) were alive at {age}; {lost} had died."
        values = {
            "share": printing.percent(row["share"]),
            "interval": printing.percent_range(row["low"], row["high"]),
            "age": printing.age(row["age_h"]),
        }
        yield Sentence(say(text, born=printing.count(born), lost=printing.count(row["lost"]), **values))


def _by_type_said(result: Survival) -> Iterator[Sentence]:
    """Alive by birth type at the last day to which every large type was watched, and whether the types differ."""
    settings, groups = result.settings, _sizes(result)
    if len(groups) < 2:
        return
    large = groups[groups["n"] >= settings.minimum_group]
    voice = voice_of(result)
    said = compare_several(
        voice,
        result.differ.p,
        level=settings.level,
        events=int(groups["lost"].sum()),
        smallest_group=int(large["n"].min()) if len(large) > 1 else 0,
        minimum_group=settings.minimum_group,
    )
    told = "; ".join(_told(result, row) for row in large.to_dict("records"))
    if not told:
        return
    text = "Alive at {end} by birth type: {told}. {said}"
    whole = voice.say(text, end=printing.age(result.common_h), told=told, said=said.text)
    excess = excess_over_lowest(zip(large["lost"], large["n"], strict=True))
    yield Sentence(whole, said.verdict, excess)


def _sizes(result: Survival) -> pd.DataFrame:
    """Each birth type at the last age to which all were watched, with the number born alive."""
    last = result.at_ages[result.at_ages["age_h"] == result.common_h]
    sizes = result.days[["birth_type", "n"]]
    return last[last["birth_type"] != "all"].merge(sizes, on="birth_type", how="left")


def _told(result: Survival, row: dict[Hashable, Any]) -> str:
    """One birth type: its share alive, or a count where there are few."""
    voice = voice_of(result)
    name = label(voice, row["birth_type"])
    if row["n"] < printing.SMALL_GROUP or pd.isna(row["share"]):
        lost = printing.count(row["lost"])
        return voice.say("{name} {lost} of {n} died", name=name, lost=lost, n=printing.count(row["n"]))
    share, interval = printing.percent(row["share"]), printing.percent_range(row["low"], row["high"])
    return voice.say("{name} {share} ({interval})", name=name, share=share, interval=interval)


def _by_type_drawn(result: Survival) -> Figure:
    """The curves of those born alive, a line a birth type."""
    voice = voice_of(result)
    say = voice.say
    named = [(label(voice, name), curve) for name, curve in result.types]
    if len(named) < 2:
        named = [(say("all"), result.whole)]
    told = "; ".join(_at_end(result, name, curve) for name, curve in named)
    return _draw(
        result,
        named,
        name="survival-birth-types",
        title=say("Survival of {newborns} born alive"),
        alt=say(
            "Share alive against age, falling from 100 %. At {end}: {told}.", end=_end(result), told=told
        ),
        axis=say("alive, % of {newborns} born alive"),
        axis_cut=say("alive, % of {newborns} born alive (axis cut)"),
    )


def _loss_drawn(result: Survival) -> Figure:
    """The curve of all born, as shares lost; those born dead at age 0."""
    say = voice_of(result).say
    named = [(say("all"), result.loss)]
    told = _at_end(result, *named[0], start=0.0)
    return _draw(
        result,
        named,
        name="survival-total-loss",
        title=say("Total loss of all {newborns} born, those born dead at age 0"),
        alt=say("Share lost against age, rising from birth. At {end}: {told}.", end=_end(result), told=told),
        axis=say("lost, % of {newborns} born"),
        axis_cut="",
        start=0.0,
    )


def _draw(
    result: Survival,
    named: Sequence[tuple[str, pd.DataFrame]],
    *,
    name: str,
    title: str,
    alt: str,
    axis: str,
    axis_cut: str,
    start: float = 1.0,
) -> Figure:
    say = voice_of(result).say
    return draw_survival(
        named,
        follow_up_h=result.end_h,
        marks_h=[hour for hour in result.settings.windows_h.values() if hour < result.end_h],
        printer=voice_of(result),
        name=name,
        title=title,
        alt=alt,
        axis=axis,
        axis_cut=axis_cut,
        age_axes=(say("age, hours"), say("age, days")),
        at_risk=say("still watched"),
        start=start,
    )


def _at_end(result: Survival, name: str, curve: pd.DataFrame, start: float = 1.0) -> str:
    """A curve read at the last age watched, for the text that stands for the picture."""
    row = before_ages(curve, (), [result.end_h], end_h=result.end_h, start=start).iloc[0]
    return f"{name} {printing.percent(row['share'])} ({printing.percent_range(row['low'], row['high'])})"


def _end(result: Survival) -> str:
    return printing.age(result.end_h)


def _ages_table(result: Survival) -> Table:
    voice = voice_of(result)
    say = voice.say
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
        "interval": interval_heading(voice, result.settings.level),
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


def _names(result: Survival, types: pd.Series) -> list[str]:
    """Birth types as printed, "all" for all together."""
    voice = voice_of(result)
    return [voice.say("all") if one == "all" else label(voice, one) for one in types]


WHO = {
    "born alive": "born alive",
    "watched to the end": "watched, alive, to the end of follow-up",
    "left alive or out of sight": "left alive, or last seen alive, before it",
    "died at a known hour": "died, hour known",
    "died on a known day": "died, only the day known",
    "died between checks over an hour apart": "of these, known only to lie between two checks",
    "died at an unknown age": "died at an unknown age",
}


def _who_table(result: Survival) -> Table:
    say = voice_of(result).say
    rows = [(say(WHO[key]), n) for key, n in result.who.items()]
    frame = pd.DataFrame(rows, columns=["what", "n"])
    headings = {"what": say("{Newborns}"), "n": say("Count")}
    return Table("survival-who", say("Who is in the curves"), frame, headings, {"n": "count"})


SHORT_H = 72.0  # days alive on average mean little over less than this


def _days_said(result: Survival) -> Iterator[Sentence]:
    """Mean days alive, of all born alive; only where the days watched give it a meaning."""
    row = result.days.iloc[0]
    if pd.isna(row["low"]) or row["n"] < printing.SMALL_GROUP or result.common_h < SHORT_H:
        return
    text = "Out of the first {end} a {newborn} born alive lived {days} days on average ({low} to {high})."
    days = {name: printing.number(row[name]) for name in ("days", "low", "high")}
    yield Sentence(voice_of(result).say(text, end=printing.age(result.common_h), **days))


def _days_table(result: Survival) -> Table:
    voice = voice_of(result)
    say = voice.say
    frame = result.days.assign(name=_names(result, result.days["birth_type"]))
    headings = {
        "name": say("Birth type"),
        "n": say("Born alive"),
        "days": say("Days alive, on average"),
        "interval": interval_heading(voice, result.settings.level),
    }
    formats = {"n": "count", "days": "number", "interval": "number"}
    title = say("Days alive out of the first {end}", end=printing.age(result.common_h))
    note = say("The area under the curve. A group of one litter has no interval.")
    return Table("survival-days", title, frame, headings, formats, note)


def _between_said(result: Survival) -> Iterator[Sentence]:
    """Deaths known only to lie between two checks, and deaths left out since no age is known."""
    say, between, undated = voice_of(result).say, result.between, result.who["died at an unknown age"]
    if between is not None:
        text = (
            "{some} of {deaths} deaths are known only to lie between two checks, {hours} apart at the "
            "median. Taking the time found, as the curves do, moves the share alive at these ages by at "
            "most {points} percentage points."
        )
        values = {"some": printing.count(between.between_checks), "deaths": printing.count(between.deaths)}
        moves = printing.number(100 * between.moves)
        yield Sentence(say(text, hours=printing.age(between.typical_h), points=moves, **values))
    if undated:
        text = "Died at an unknown age: {undated}; left out, so that the curves run a little high."
        yield Sentence(say(text, undated=printing.count(undated)))


def _between_table(result: Survival) -> Iterator[Table]:
    """Shares alive taking the time found, and at both ends of what the checks allow."""
    if result.between is None:
        return
    say, between = voice_of(result).say, result.between
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


def method(result: Survival) -> Method:
    """Method, settings, limits and sources."""
    say, settings = voice_of(result).say, result.settings
    return Method(
        method=(
            say(
                "Kaplan-Meier from birth, of {newborns} born alive; deaths come before leaving at the same "
                "hour. Those that left alive, or were last seen alive, count until then. Intervals are on "
                "the log(-log) scale from influence values summed within litters. The curve of all born "
                "starts with those born dead, lost at age 0."
            ),
            say(
                "Birth types are compared over all ages by the log-rank test with its variance clustered on "
                "the litter. Clear: p under {alpha}; leaning: p under {leaning}.",
                alpha=printing.number(1 - settings.level, 2),
                leaning=printing.number(LEANING_P, 2),
            ),
            say("Days alive on average are the area under the curve up to the last age watched."),
            say(
                "Deaths known only to lie between two checks: non-parametric maximum likelihood of "
                "Turnbull, held against the curve that takes the time found."
            ),
        ),
        settings=(
            say("End of follow-up: {days} days.", days=printing.number(settings.follow_up_d, 0)),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "A curve assumes that those that left were no more and no less likely to die than those "
                "that stayed."
            ),
            say(
                "Birth type goes with birth weight, parity and care; a difference between types is an "
                "association."
            ),
            say("Deaths at an unknown age are left out, which makes the curves a little too high."),
        ),
        sources=(
            say(
                "Kaplan EL, Meier P (1958) J Am Stat Assoc 53:457-481. Lee EW, Wei LJ, Amato DA (1992) in "
                "Survival Analysis: State of the Art, 237-247."
            ),
            say(
                "Royston P, Parmar MKB (2013) BMC Med Res Methodol 13:152. Turnbull BW (1976) J R Stat Soc "
                "B 38:290-295."
            ),
        ),
    )

"""Survival in words."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.survival.result import Survival
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence
from neonatal_stats.words.comparisons import compare_several, excess_over_lowest
from neonatal_stats.words.labels import label

SHORT_H = 72.0  # days alive on average mean little over less than this


def sentences(result: Survival) -> tuple[Sentence, ...]:
    """Alive at the windows' ends, by birth type, on average, and how sure the ages are."""
    return (*_alive(result), *_by_type(result), *_on_average(result), *_ages(result))


def _alive(result: Survival) -> Iterator[Sentence]:
    say, born = result.voice.say, result.who["born alive"]
    if born < printing.SMALL_GROUP:
        text = "Born alive: {born}, too few to give shares; the table has the counts."
        yield Sentence(say(text, born=printing.count(born)))
        return
    for row in _of(result, "all"):
        if pd.isna(row["share"]) or row["age_h"] not in (*result.settings.windows_h.values(), result.end_h):
            continue
        if not row["lost"]:
            text = "Of {born} {newborns} born alive none had died by {age}."
            yield Sentence(say(text, born=printing.count(born), age=printing.age(row["age_h"])))
            continue
        text = "Of {born} {newborns} born alive, {share} ({interval}) were alive at {age}; {lost} had died."
        interval = _interval(result, row)
        values = {
            "share": printing.percent(row["share"]),
            "interval": interval,
            "age": printing.age(row["age_h"]),
        }
        yield Sentence(say(text, born=printing.count(born), lost=printing.count(row["lost"]), **values))


def _interval(result: Survival, row: dict[Hashable, Any]) -> str:
    return printing.percent_range(row["low"], row["high"])


def _of(result: Survival, birth_type: str) -> list[dict[Hashable, Any]]:
    return result.at_ages[result.at_ages["birth_type"] == birth_type].to_dict("records")


def _by_type(result: Survival) -> Iterator[Sentence]:
    settings, groups = result.settings, _sizes(result)
    if len(groups) < 2:
        return
    large = groups[groups["n"] >= settings.minimum_group]
    said = compare_several(
        result.voice,
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
    whole = result.voice.say(text, end=printing.age(result.common_h), told=told, said=said.text)
    excess = excess_over_lowest(zip(large["lost"], large["n"], strict=True))
    yield Sentence(whole, said.verdict, excess)


def _sizes(result: Survival) -> pd.DataFrame:
    """Each birth type at the last age to which all were watched, with the number born alive."""
    last = result.at_ages[result.at_ages["age_h"] == result.common_h]
    sizes = result.days[["birth_type", "n"]]
    return last[last["birth_type"] != "all"].merge(sizes, on="birth_type", how="left")


def _told(result: Survival, row: dict[Hashable, Any]) -> str:
    name = label(result.voice, row["birth_type"])
    if row["n"] < printing.SMALL_GROUP or pd.isna(row["share"]):
        lost = printing.count(row["lost"])
        return result.voice.say("{name} {lost} of {n} died", name=name, lost=lost, n=printing.count(row["n"]))
    share, interval = printing.percent(row["share"]), _interval(result, row)
    return result.voice.say("{name} {share} ({interval})", name=name, share=share, interval=interval)


def _on_average(result: Survival) -> Iterator[Sentence]:
    row = result.days.iloc[0]
    if pd.isna(row["low"]) or row["n"] < printing.SMALL_GROUP or result.common_h < SHORT_H:
        return
    text = "Out of the first {end} a {newborn} born alive lived {days} days on average ({low} to {high})."
    days = {name: printing.number(row[name]) for name in ("days", "low", "high")}
    yield Sentence(result.voice.say(text, end=printing.age(result.common_h), **days))


def _ages(result: Survival) -> Iterator[Sentence]:
    say, between, undated = result.voice.say, result.between, result.who["died at an unknown age"]
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

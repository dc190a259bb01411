"""Did the age at first feed go with survival? Landmarks, the feed as it happens, and why not simply
compare.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.measures.feeding import Cohort, cohort
from neonatal_stats.measures.landmarks import as_it_happens, deaths_needed, landmarks, naive
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence, Verdict, Voice, judge
from neonatal_stats.words import colostrum as words

FEWEST_DEATHS = 5
BETWEEN: dict[str, float | None] = {"earliest": 0.0, "likely": None, "latest": 1.0}


@dataclass(frozen=True, eq=False)
class Effect:
    """Hazard of death of the unfed against the fed; every frame has the columns of
    `measures.landmarks.COLUMNS`.

    ``landmarks`` from each mark to ``until_h``, crude and adjusted; ``hourly`` the feed as it happens, to
    ``horizon_h``; ``simply`` the two ways of simply comparing from birth, at ``naive_mark_h``; ``moved`` the
    adjusted hourly ratio with deaths between two rounds placed earliest, in the middle (as elsewhere) and
    latest. ``deaths`` and ``needed`` deaths counted and needed; ``births`` would bring as many.
    """

    group: Cohort
    landmarks: pd.DataFrame
    hourly: pd.DataFrame
    simply: pd.DataFrame
    moved: pd.DataFrame
    naive_mark_h: float
    until_h: float
    horizon_h: float
    deaths: int
    needed: int
    births: int


def effect(births: pd.DataFrame, settings: Settings) -> Effect:
    """Work out the association of the first feed with death."""
    marks = settings.marks.colostrum_h
    horizon, until_h = marks[-1], max([*settings.windows_h.values(), marks[-1] + 1])
    group = cohort(births, horizon)
    early = tuple(mark for mark in marks if mark < horizon)
    mark = early[1] if len(early) > 1 else early[0]
    level = settings.level
    deaths = int((group.rows["lost"] & (group.rows["followed_h"] <= until_h)).sum()) if len(group.rows) else 0
    unfed = float((group.rows["fed_h"] > mark).mean()) if len(group.rows) else 0.5
    needed = deaths_needed(unfed)
    return Effect(
        group=group,
        landmarks=landmarks(group, early, until_h, level=level),
        hourly=as_it_happens(group, horizon, level=level),
        simply=naive(group, mark, until_h, level=level),
        moved=_moved(births, horizon, level),
        naive_mark_h=mark,
        until_h=until_h,
        horizon_h=horizon,
        deaths=deaths,
        needed=needed,
        births=int(np.ceil(needed * len(births) / deaths)) if deaths else 0,
    )


def _moved(births: pd.DataFrame, horizon: float, level: float) -> pd.DataFrame:
    """The adjusted hourly ratio for each placing of deaths known only between two rounds; empty where all
    are known.
    """
    dead = births[
        births["died"].astype(bool) & births["age_known"].astype(bool) & (births["age_h"] < horizon)
    ]
    if not (dead["age_low_h"] < dead["age_high_h"]).any():
        return pd.DataFrame()
    groups = {name: cohort(births, horizon, within) for name, within in BETWEEN.items()}
    parts = [
        as_it_happens(group, horizon, level=level).iloc[[1]].assign(placed=name)
        for name, group in groups.items()
    ]
    return pd.concat(parts, ignore_index=True)


def verdict(row: Any, settings: Settings) -> Verdict:
    """Strength of the evidence in a row: deaths and group sizes first, then the interval."""
    hourly = row["how"] == "as it happens"
    smallest = min(row["unfed"], row["fed"])
    events = row["unfed_deaths"] + row["fed_deaths"]
    if hourly and min(row["unfed_deaths"], row["fed_deaths"]) == 0:
        return Verdict.TOO_FEW
    return judge(
        row["low"],
        row["high"],
        row["p"],
        null=1.0,
        events=events,
        smallest_group=smallest,
        minimum_group=settings.minimum_group,
    )


def sentences(result: Effect, voice: Voice, settings: Settings) -> Iterator[Sentence]:
    """Adjusted answers with counts, the E-value of the hourly one, the bias of simply comparing, what would
    do.
    """
    adjusted = pd.concat([result.hourly, result.landmarks], ignore_index=True)
    rows = adjusted[adjusted["adjusted"]].to_dict("records")
    for row in rows:
        found = verdict(row, settings)
        if found is Verdict.TOO_FEW:
            continue
        yield Sentence(_counts(result, row, voice))
        text = _effect(row, found, voice, settings)
        if row["how"] == "as it happens":
            text = _with_rounds(text, result.moved, voice)
        yield Sentence(text, found, float(row["unfed_deaths"]))
        if row["how"] == "as it happens" and pd.notna(row["e_value"]) and found is Verdict.CLEAR:
            yield Sentence(
                words.weakness_sentence(voice, printing.ratio(row["e_value"]), printing.ratio(row["e_limit"]))
            )
    yield from _bias(result, voice, settings)
    if all(verdict(row, settings) is Verdict.TOO_FEW for row in rows):
        deaths, needed = printing.count(result.deaths), printing.count(result.needed)
        births = printing.count(result.births) if result.births else printing.NOT_KNOWN
        yield Sentence(words.needed_sentence(voice, deaths, needed, births), Verdict.TOO_FEW)


def _counts(result: Effect, row: Any, voice: Voice) -> str:
    hourly = row["how"] == "as it happens"
    return words.counts_sentence(
        voice,
        row["how"],
        mark=printing.age(row["mark_h"]),
        until=printing.age(result.horizon_h if hourly else result.until_h),
        unfed=printing.count(row["unfed_deaths"])
        if hourly
        else printing.counts(row["unfed_deaths"], row["unfed"]),
        fed=printing.count(row["fed_deaths"]) if hourly else printing.counts(row["fed_deaths"], row["fed"]),
    )


def _effect(row: Any, found: Verdict, voice: Voice, settings: Settings) -> str:
    return words.effect_sentence(
        voice,
        row["how"],
        found,
        bool(row["ratio"] > 1),
        mark=printing.age(row["mark_h"]),
        ratio=printing.ratio(row["ratio"]),
        level=printing.percent(settings.level, 0),
        interval=printing.ratio_range(row["low"], row["high"]),
    )


def _with_rounds(text: str, moved: pd.DataFrame, voice: Voice) -> str:
    """The answer with how far it moves by when deaths found at rounds are placed, where any were."""
    known = moved["ratio"].dropna() if len(moved) else pd.Series(dtype=float)
    if known.empty:
        return text
    low, high = printing.ratio(known.min()), printing.ratio(known.max())
    return text if low == high else words.with_rounds(voice, text, low, high)


def _bias(result: Effect, voice: Voice, settings: Settings) -> Iterator[Sentence]:
    whole, alone = result.simply.to_dict("records")
    smallest = min(whole["unfed"], whole["fed"])
    few = whole["unfed_deaths"] < FEWEST_DEATHS or smallest < settings.minimum_group
    if pd.isna(whole["ratio"]) or not whole["dead_before"] or few:
        return
    yield Sentence(
        words.bias_sentence(
            voice,
            mark=printing.age(result.naive_mark_h),
            unfed=printing.count(whole["unfed"]),
            before=printing.count(whole["dead_before"]),
            deaths=printing.count(whole["unfed_deaths"]),
            ratio=printing.ratio(whole["ratio"]),
        )
    )
    if pd.notna(alone["ratio"]):
        yield Sentence(words.alone_sentence(voice, printing.ratio(alone["ratio"])))

"""Next season in words."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.planning.result import POWER, Planning
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.measures.to_record import ENOUGH
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence
from neonatal_stats.words import planning as words
from neonatal_stats.words.windows import window_label

MOST_SAID = 3
SAID_FALL = 0.25


def sentences(result: Planning) -> tuple[Sentence, ...]:
    """What could be seen, won and recorded."""
    return (*_needed(result), *_avoidable(result), *_cost(result), *_repeat(result), _record(result))


def _needed(result: Planning) -> Iterator[Sentence]:
    last = result.last.iloc[0]
    if result.needed.empty:
        counts = {"lost": printing.count(last["events"]), "n": printing.count(last["n"])}
        yield Sentence(result.voice.say(words.NEEDED_NONE, **counts))
        return
    row = result.needed[result.needed["fall"] == SAID_FALL].iloc[0]
    yield words.needed_sentence(
        result.voice,
        fall=row["fall"],
        p0=row["p0"],
        p1=row["p1"],
        n=int(row["n"]),
        power=POWER,
        born=int(last["n"]),
    )


def _avoidable(result: Planning) -> Iterator[Sentence]:
    priced = result.settings.price is not None
    clear = result.avoidable[result.avoidable["clear"].astype(bool)]
    for row in each_row(clear.head(MOST_SAID)):
        money = (row.cost, row.cost_low, row.cost_high)
        cost = words.cost_phrase(result.voice, money, result.settings.currency) if priced else ""
        yield words.avoidable_sentence(
            result.voice, row.phrase, (row.saved, row.saved_low, row.saved_high), cost
        )
    if len(clear):
        yield words.at_most(result.voice)


def _cost(result: Planning) -> Iterator[Sentence]:
    last, settings = result.last.iloc[0], result.settings
    if settings.price is None:
        yield Sentence(result.voice.say(words.NO_PRICE))
        return
    yield Sentence(
        result.voice.say(
            words.LOST_COST,
            lost=printing.count(last["events"]),
            window=window_label(result.window.name, result.window.end_h),
            season=str(last["season"]),
            cost=words.money(last["events"] * settings.price, settings.currency),
            price=words.money(settings.price, settings.currency),
        )
    )


def _repeat(result: Planning) -> Iterator[Sentence]:
    found = result.repeat
    if found.dams and not pd.isna(found.expected):
        yield words.repeat_sentence(
            result.voice,
            observed=found.observed,
            dams=found.dams,
            expected=found.expected,
            low=found.low,
            high=found.high,
            p=found.p,
            level=result.settings.level,
        )


def _record(result: Planning) -> Sentence:
    columns = list(result.record.loc[~result.record["enough"].astype(bool), "column"])
    return words.record_sentence(result.voice, columns, printing.percent(ENOUGH, 0))

"""The seasons in words: recording first, then the change, what it is made of, the chart, the trend."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pandas as pd

from neonatal_stats.chapters.protocol import Headline
from neonatal_stats.chapters.years.result import Years
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.measures.recording_changes import STEP
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence, Verdict, judge
from neonatal_stats.words import years as words
from neonatal_stats.words.groups import factor_name, phrase
from neonatal_stats.words.labels import label
from neonatal_stats.words.windows import window_label

MOST_MOVED = 3


def sentences(result: Years) -> tuple[Sentence, ...]:
    """The answer in words."""
    minimum = result.settings.minimum_group
    window = window_label(result.window.name, result.window.end_h)
    level = result.settings.level
    return (
        _recording(result),
        *_shortened(result, window),
        replace(
            words.change_sentence(result.voice, result.pair, window, level=level, minimum_group=minimum),
            lead=True,
        ),
        *_standardised(result),
        replace(words.split_sentence(result.voice, result.pair, minimum_group=minimum), lead=True),
        *_not_standardised(result),
        _chart(result),
        *_trend(result),
        *_causes(result),
        *_moved(result),
    )


def headlines(result: Years) -> tuple[Headline, ...]:
    """The change between the two seasons on the same mix of births, for the top of the page."""
    pair, voice = result.pair, result.voice
    if np.isnan(pair.rate.estimate):
        return ()
    name = voice.say(
        "{second} against {first}, on the same mix of births", first=pair.first, second=pair.second
    )
    text = words.same_mix(voice, pair, minimum_group=result.settings.minimum_group)
    return (Headline("same_mix_change", name, text, *[float("nan")] * 5),)


def _recording(result: Years) -> Sentence:
    pair, voice = result.pair, result.voice
    flagged = result.recording[result.recording["flagged"].astype(bool)]
    phrases = [
        words.recording_phrase(
            voice,
            row.what,
            row.detail,
            pair.first,
            pair.second,
            printing.counts(row.first, row.n_first),
            printing.counts(row.second, row.n_second),
        )
        for row in each_row(flagged)
    ]
    step = printing.percent(STEP, 0)
    return words.recording_sentence(voice, phrases, pair.first, pair.second, step)


def _shortened(result: Years, window: str) -> Iterator[Sentence]:
    if result.window.shortened:
        yield Sentence(result.voice.say(words.SHORTENED, window=window), role="cannot say")


def _standardised(result: Years) -> Iterator[Sentence]:
    table = {row.season: row for row in each_row(result.seasons)}
    two = [table[name] for name in (result.pair.first, result.pair.second)]
    if any(pd.isna(row.standardised) for row in two) or not result.mix.columns:
        return
    shown = [
        result.voice.say(
            "{share} ({range})",
            share=printing.percent(row.standardised),
            range=printing.percent_range(row.standardised_low, row.standardised_high),
        )
        for row in two
    ]
    template = "On one common mix of births ({mix}), {a} would have been lost in {first} and {b} in {second}."
    yield Sentence(
        result.voice.say(
            template,
            mix=", ".join(factor_name(result.voice, name) for name in result.mix.columns),
            a=shown[0],
            b=shown[1],
            first=result.pair.first,
            second=result.pair.second,
        )
    )


def _not_standardised(result: Years) -> Iterator[Sentence]:
    missing = int(result.seasons["n_not_standardised"].sum())
    if missing and result.mix.columns:
        template = (
            "{n} {newborns} could not be placed in the common mix, for want of a record or because a season "
            "had none of their kind."
        )
        yield Sentence(result.voice.say(template, n=printing.count(missing)), role="cannot say")
    if result.mix.unusable:
        template = "The mix could not take in {columns}: not recorded in every season, or all the same."
        names = ", ".join(factor_name(result.voice, name) for name in result.mix.unusable)
        yield Sentence(result.voice.say(template, columns=names), role="cannot say")


def _chart(result: Years) -> Sentence:
    outside = list(result.seasons.loc[result.seasons["outside"], "season"])
    return words.chart_sentence(result.voice, outside, len(result.seasons))


def _trend(result: Years) -> Iterator[Sentence]:
    if result.trend is not None and not pd.isna(result.trend.p):
        level = result.settings.level
        yield words.trend_sentence(
            result.voice, result.slope, result.trend.p, len(result.seasons), level=level
        )


def _causes(result: Years) -> Iterator[Sentence]:
    for row in each_row(result.causes):
        verdict = judge(
            row.low,
            row.high,
            row.p,
            null=0.0,
            events=row.events_a + row.events_b,
            smallest_group=min(row.n_a, row.n_b),
            minimum_group=result.settings.minimum_group,
        )
        if verdict is Verdict.CLEAR:
            yield words.cause_sentence(
                result.voice,
                label(result.voice, row.cause),
                result.pair.first,
                result.pair.second,
                printing.counts(row.events_a, row.n_a),
                printing.counts(row.events_b, row.n_b),
                (row.difference, row.low, row.high),
                row.difference * row.n_b,
            )


def _moved(result: Years) -> Iterator[Sentence]:
    moved = result.moved
    clear = moved[
        (moved["q"] <= result.settings.false_discovery_share) & ((moved["low"] > 0) | (moved["high"] < 0))
    ]
    for row in each_row(clear.head(MOST_MOVED)):
        yield words.moved_sentence(
            result.voice,
            phrase(result.voice, row.factor, row.level),
            result.pair.first,
            result.pair.second,
            printing.counts(row.events_a, row.n_a),
            printing.counts(row.events_b, row.n_b),
            (row.difference, row.low, row.high),
            row.moved,
        )

"""The high-risk groups in words: the watch list, the rows always spoken of, what stands on its own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from neonatal_stats.chapters.groups.result import Groups, group_of
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence, Verdict, judge
from neonatal_stats.words import groups as words
from neonatal_stats.words.windows import window_label

MOST_LISTED = 6


def sentences(result: Groups) -> tuple[Sentence, ...]:
    """The answer in words."""
    return (_tried(result), *_watch(result), *_always(result), *_adjusted(result), *_not_recorded(result))


def _tried(result: Groups) -> Sentence:
    settings = result.settings
    clear, tried = len(result.watch), int(result.groups["tried"].sum())
    text = words.tried_sentence(
        result.voice,
        tried=printing.count(tried),
        clear=printing.count(clear),
        window=window_label(result.window.name, result.window.end_h),
        share=printing.percent(settings.false_discovery_share, 0),
        any_clear=clear > 0,
    )
    return Sentence(text, None if clear else Verdict.NO_CLEAR)


def _watch(result: Groups) -> Iterator[Sentence]:
    """Each group on the list, with what was checked: season by season, and beside the others in one model."""
    they = result.voice.say("they")
    window = window_label(result.window.name, result.window.end_h)
    model = {name: _standing(result, row, they) for name, row in _modelled(result)}
    for row in each_row(result.watch.head(MOST_LISTED)):
        checks = []
        if row.seasons_seen > 1:
            more, seen = printing.count(row.seasons_more), printing.count(row.seasons_seen)
            checks.append(words.season_check(result.voice, more, seen))
        if row.phrase in model and model[row.phrase].verdict is not Verdict.TOO_FEW:
            checks.append(model[row.phrase].text)
        said = words.watch_sentence(result.voice, group_of(row), window, result.settings.level, checks)
        yield replace(said, lead=row.phrase == result.watch["phrase"].iloc[0])


def _always(result: Groups) -> Iterator[Sentence]:
    """The rows that always stand, unless the watch list has just spoken of them."""
    listed = set(result.watch.head(MOST_LISTED)["phrase"])
    for row in each_row(result.always[result.always["recorded"].astype(bool)]):
        if row.phrase not in listed:
            yield words.always_sentence(result.voice, group_of(row), row.verdict, result.settings.level)


def _adjusted(result: Groups) -> Iterator[Sentence]:
    """Those in the model of which the watch list has not spoken."""
    listed = set(result.watch.head(MOST_LISTED)["phrase"])
    yield from (_standing(result, row, name) for name, row in _modelled(result) if name not in listed)


def _modelled(result: Groups) -> Iterator[tuple[str, Any]]:
    """The groups of the model, by their printed names."""
    if result.adjusted is not None:
        for row in each_row(result.adjusted.groups):
            yield words.phrase(result.voice, row.factor, row.level), row


def _standing(result: Groups, row: Any, name: str) -> Sentence:
    assert result.adjusted is not None
    settings, model = result.settings, result.adjusted
    verdict = judge(
        row.low,
        row.high,
        row.p,
        null=1.0,
        events=model.events,
        smallest_group=min(row.n, model.n - row.n),
        minimum_group=settings.minimum_group,
    )
    if np.isnan(row.hazard_ratio):
        verdict = Verdict.TOO_FEW
    hazard = (row.hazard_ratio, row.low, row.high)
    return Sentence(words.own_standing(result.voice, name, *hazard, settings.level, verdict), verdict)


def _not_recorded(result: Groups) -> Iterator[Sentence]:
    lacking = result.always[~result.always["recorded"].astype(bool)]
    names = dict.fromkeys(words.factor_name(result.voice, factor) for factor in lacking["factor"])
    if names:
        yield Sentence(words.not_recorded(result.voice, ", ".join(names)), role="record next")

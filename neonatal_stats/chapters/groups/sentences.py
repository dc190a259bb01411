"""The high-risk groups in words: the watch list, the rows always spoken of, what stands on its own."""

from __future__ import annotations

from collections.abc import Iterator

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
    for row in each_row(result.watch.head(MOST_LISTED)):
        yield words.watch_sentence(result.voice, group_of(row), result.settings.level)


def _always(result: Groups) -> Iterator[Sentence]:
    """The rows that always stand, unless the watch list has just spoken of them."""
    listed = set(result.watch.head(MOST_LISTED)["phrase"])
    for row in each_row(result.always[result.always["recorded"].astype(bool)]):
        if row.phrase not in listed:
            yield words.always_sentence(result.voice, group_of(row), row.verdict, result.settings.level)


def _adjusted(result: Groups) -> Iterator[Sentence]:
    if result.adjusted is None:
        return
    settings, voice = result.settings, result.voice
    for row in each_row(result.adjusted.groups):
        verdict = judge(
            row.low,
            row.high,
            row.p,
            null=1.0,
            events=result.adjusted.events,
            smallest_group=min(row.n, result.adjusted.n - row.n),
            minimum_group=settings.minimum_group,
        )
        if np.isnan(row.hazard_ratio):
            verdict = Verdict.TOO_FEW
        name = words.phrase(voice, row.factor, row.level)
        hazard = (row.hazard_ratio, row.low, row.high)
        yield Sentence(words.own_standing(voice, name, *hazard, settings.level, verdict), verdict)


def _not_recorded(result: Groups) -> Iterator[Sentence]:
    lacking = result.always[~result.always["recorded"].astype(bool)]
    names = dict.fromkeys(words.factor_name(result.voice, factor) for factor in lacking["factor"])
    if names:
        yield Sentence(words.not_recorded(result.voice, ", ".join(names)), role="record next")

"""What page one and the keeper's sheet take from the losses: the one they lead with, and when the lost were lost."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from typing import Any

from neonatal_stats.chapters.counted.losses import Losses
from neonatal_stats.chapters.protocol import MAIN, NOT_WATCHED, WHEN, Headline
from neonatal_stats.measures.windows import BORN_DEAD, END, UNDATED
from neonatal_stats.words import voice_of
from neonatal_stats.words.plain import old

NAN = math.nan

Row = dict[Hashable, Any]


def main_row(result: Losses) -> Row:
    """Lost of all born by the last window before the end; by the end where none can be spoken of."""
    rows: list[Row] = result.of_all_born.to_dict("records")
    return rows[-2] if len(rows) > 1 else rows[-1]


def main_headline(result: Losses, printed: Headline) -> Headline:
    """The loss that page one leads with: its label is the age alone, "7 days"; "" where no age of a loss is known."""
    row, voice = main_row(result), voice_of(result)
    end_h = result.end_h if row["window"] == END else result.settings.windows_h[str(row["window"])]
    label = "" if not result.ever_dated else old(voice, end_h) if end_h else voice.say("birth")
    counts = voice.part_of(row["events"], row["n"])
    return Headline(MAIN, label, counts, printed.events, printed.n, printed.share, printed.low, printed.high)


def when_lost(result: Losses) -> Iterator[Headline]:
    """Lost at each stage, in order, born dead first where that was written; then those not watched to the main age."""
    voice, born = voice_of(result), float(result.whole["n"])
    flow = {str(row["stage"]): row for row in result.flow.newborns.to_dict("records")}
    if result.born_dead_known:
        yield _count(
            result, WHEN + BORN_DEAD, voice.say("born dead"), float(flow["born alive"]["lost"]), born
        )
    windows, ends = [name for name in flow if name in result.settings.windows_h], result.settings.windows_h
    for before, window in zip(["", *windows], windows, strict=False):
        label = _stage(result, ends.get(before, 0.0), window)
        yield _count(result, WHEN + window, label, float(flow[window]["lost"]), born)
    late, undated = float(flow[END]["lost"]), float(sum(row["age_unknown"] for row in flow.values()))
    if windows:
        yield _count(result, WHEN + END, voice.say("later"), late, born)
        yield _count(result, WHEN + UNDATED, voice.say("age not known"), undated, born)
    elif result.end_h:
        yield _count(result, WHEN + END, voice.say("after birth"), late + undated, born)
    gone = float(main_row(result)["not_watched"])
    yield _count(result, NOT_WATCHED, voice.say("not watched so long"), gone, born)


def _count(result: Losses, key: str, label: str, events: float, born: float) -> Headline:
    return Headline(key, label, voice_of(result).count(events), events, born, NAN, NAN, NAN)


def _stage(result: Losses, start_h: float, window: str) -> str:
    """A span of age as a stage: the first day and the rest of the first week in words, any other by its ends."""
    voice, end_h = voice_of(result), result.settings.windows_h[window]
    if (start_h, end_h) == (0, 24):
        return voice.say("first day")
    if (start_h, end_h) == (24, 168):
        return voice.say("rest of the first week")
    return voice.age_span(start_h, end_h)

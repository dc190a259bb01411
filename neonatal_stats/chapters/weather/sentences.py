"""Weather in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from neonatal_stats.chapters.weather.result import MAIN_H, Weather
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence
from neonatal_stats.words import weather as words
from neonatal_stats.words.comparisons import Compared, compare_groups
from neonatal_stats.words.verdict import judge_test
from neonatal_stats.words.windows import window_label


def sentences(result: Weather) -> tuple[Sentence, ...]:
    """The coldest fifth against the others, the smooth, and how many were counted."""
    main = result.against[result.against["hours"] == MAIN_H]
    return (*(_against(result, row) for row in each_row(main)), *_smooth(result), _counted(result))


def _smooth(result: Weather) -> Iterator[Sentence]:
    """The two ends of the smooth, and whether chill and loss go together along it."""
    seen = result.smooth_at
    if seen.empty:
        return
    verdict = judge_test(
        result.smooth.p,
        level=result.settings.level,
        events=result.smooth.events,
        smallest_group=result.smooth.n,
        minimum_group=result.settings.minimum_group,
    )
    ends = seen.iloc[[0, -1]]
    first, last = (printing.percent(share) for share in ends["share"])
    low, high = (printing.count(value) for value in ends["value"])
    text = result.voice.say(
        words.SMOOTH[verdict], low=low, high=high, first=first, last=last, p=printing.p_value(result.smooth.p)
    )
    yield Sentence(text, verdict)


def _counted(result: Weather) -> Sentence:
    say, lost = result.voice.say, int(result.newborns["event"].sum())
    template = words.OUTDOORS if result.outdoors_only else words.ALL
    text = say(
        template,
        n=printing.count(len(result.newborns)),
        hours=printing.count(MAIN_H),
        lost=printing.count(lost),
        window=window_label(result.window.name, result.window.end_h),
    )
    return Sentence(text)


def _against(result: Weather, row: Any) -> Sentence:
    say, settings = result.voice.say, result.settings
    edge, hours = printing.count(row.edge), printing.count(row.hours)
    pair = Compared(
        group=say(words.COLD, edge=edge, hours=hours),
        versus=say(words.MILD),
        events=row.events,
        n=row.n,
        events_versus=row.events_versus,
        n_versus=row.n_versus,
        estimate=row.risk_ratio,
        low=row.low,
        high=row.high,
        p=row.p,
    )
    return compare_groups(result.voice, pair, minimum_group=settings.minimum_group, level=settings.level)

"""Time to standing or the first feed: rising from none to the horizon, with those waiting below."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.text import Text

from neonatal_stats.drawing.times import draw_time_to
from neonatal_stats.tables import Printer
from tests.drawing.drawn import (
    above,
    across,
    bands,
    colour,
    height_at,
    lines,
    marks,
    reach,
    step_lines,
    texts,
    words_at,
)

FED = pd.DataFrame(
    {
        "age_h": [0.0, 1.0, 3.0, 9.0],
        "at_risk": [8.0, 8.0, 5.0, 2.0],
        "share": [0.0, 0.25, 0.5, 0.75],
        "low": [np.nan, 0.1, 0.3, 0.5],
        "high": [np.nan, 0.4, 0.7, 0.9],
    }
)


CURVES = {
    "single": FED,
    "twin": FED.assign(share=FED["share"] / 2, low=FED["low"] / 2, high=FED["high"] / 2),
}
WORDS: dict[str, Any] = {
    "printer": Printer(),
    "name": "f",
    "title": "t",
    "alt": "a",
    "axis": "fed, %",
    "age_axis": "age, hours",
    "waiting": "waiting",
}


def _fed(curves: dict[str, pd.DataFrame] = CURVES, **others: Any) -> Any:
    (axes, *_) = draw_time_to(
        curves, **{"horizon_h": 6.0, "marks_h": [2.0, 24.0], **WORDS, **others}
    ).canvas.axes
    return axes


def test_time_to_a_feed_rises_from_nothing_to_the_horizon() -> None:
    axes = _fed()
    single, twin = step_lines(axes)
    ages = (0.5, 2, 4, 6)
    assert [height_at(single, age) for age in ages] == [0, 25, 50, 50]
    assert [height_at(twin, age) for age in ages] == [0, 12.5, 25, 25]
    assert (min(single.get_xdata()), max(single.get_xdata())) == (0, 6)
    assert [colour(line.get_color()) for line in (single, twin)] == ["blue", "ochre"]
    assert single.get_linestyle() != twin.get_linestyle()
    first, second = bands(axes)
    assert reach(first, 2) == pytest.approx((10, 40))
    assert reach(first, 5) == pytest.approx((30, 70))
    assert reach(second, 5) == pytest.approx((15, 35))
    assert [colour(band.get_facecolor()[0]) for band in (first, second)] == ["blue", "ochre"]
    assert (axes.get_xlim(), axes.get_ylim()) == ((0, 6), (0, 100))
    assert above(axes) == "fed, %"
    assert axes.get_xlabel() == "age, hours"


def test_marks_of_the_trade_and_those_waiting_stand_at_their_ages() -> None:
    axes = _fed()
    assert across(axes)[0] == [2]
    assert axes.get_xticks().tolist() == [0, 1, 2, 3, 4, 5, 6]
    written = words_at(axes)
    numbers = [(words, age) for words, age, _ in written if words.isdigit()]
    row = [("8", 0), ("8", 1), ("5", 2), ("5", 3), ("2", 4), ("2", 5), ("2", 6)]
    assert numbers == [*row, *row]
    assert ("single", 6, 50) in written
    assert ("twin", 6, 25) in written
    assert "waiting" in texts(axes)


def test_a_mark_between_the_hours_has_its_tick_and_its_hours_make_room() -> None:
    axes = _fed(horizon_h=24.0, marks_h=[3.5, 8.0])
    said = {x.get_text(): tick for tick, x in zip(axes.get_xticks(), axes.get_xticklabels(), strict=True)}
    assert said == {"0": 0, "3.5": 3.5, "8": 8, "12": 12, "16": 16, "20": 20, "24": 24}
    assert across(axes)[0] == [3.5, 8]


def test_more_than_two_groups_have_whiskers_at_the_marks_and_at_the_end() -> None:
    third = FED.assign(low=FED["share"] - 0.1, high=FED["share"] + 0.2)
    axes = _fed({**CURVES, "triplet": third})
    assert bands(axes) == []
    upright = [line for line in lines(axes) if len(line.x) == 2 and line.x[0] == line.x[1]]
    assert [(line.y, line.colour) for line in upright] == [
        (pytest.approx([10, 40]), "blue"),
        (pytest.approx([30, 70]), "blue"),
        (pytest.approx([5, 20]), "ochre"),
        (pytest.approx([15, 35]), "ochre"),
        (pytest.approx([15, 45]), "green"),
        (pytest.approx([40, 70]), "green"),
    ]
    assert all(abs(line.x[0] - at) < 0.4 for line, at in zip(upright, (2, 6, 2, 6, 2, 6), strict=True))
    assert len({line.x[0] for line in upright}) == 6
    assert all(line.x[0] < 6 for line in upright)


def test_names_of_lines_that_end_together_are_moved_apart_below_the_top() -> None:
    same = FED.assign(share=1.0)
    axes = _fed({"a": same, "b": same}, marks_h=[])
    axes.figure.draw_without_rendering()
    names = [text for text in axes.texts if text.get_text() in ("a", "b") and text.xy[1] == 100]
    lower, upper = (Text.get_window_extent(name) for name in names)
    assert lower.y1 <= upper.y0 + 1
    assert upper.y0 < axes.get_window_extent().y1


def test_a_group_too_small_to_draw_is_written_in_its_row() -> None:
    axes = _fed(too_few=[("four or more", "too few: 10 lambs of 3 litters")])
    assert {"four or more", "too few: 10 lambs of 3 litters"} <= set(texts(axes))
    assert len(step_lines(axes)) == 2


def test_published_shares_are_quiet_open_diamonds_on_a_strip_of_their_own() -> None:
    figure = draw_time_to(
        CURVES,
        horizon_h=6.0,
        marks_h=[2.0],
        reference=("published", {2.0: 0.5, 6.0: 0.9, 12.0: 0.95}),
        **WORDS,
    )
    axes, strip = figure.canvas.axes
    assert marks(axes) == []
    assert [(mark.x, mark.y, mark.colour, mark.filled, mark.shape) for mark in marks(strip)] == [
        (2, 50, "grey", False, "D"),
        (6, 90, "grey", False, "D"),
    ]
    assert above(strip) == "published"
    assert (strip.get_xlim(), strip.get_ylim()) == (axes.get_xlim(), (0, 100))
    assert strip.get_position().y1 < axes.get_position().y0
    assert "waiting" in texts(strip)


def test_a_line_tells_its_share_at_the_marks_and_at_the_end() -> None:
    svg = draw_time_to(CURVES, horizon_h=6.0, marks_h=[2.0], **WORDS).svg()
    told = "single: 2\u00a0h 25.0\u00a0% (10.0 to 40.0\u00a0%); 6\u00a0h 50.0\u00a0% (30.0 to 70.0\u00a0%)"
    assert f"<title>{told}</title>" in svg

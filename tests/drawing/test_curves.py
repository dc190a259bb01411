"""Curves over age: whole, at their heights, stacked where they are parts, with the numbers watched below."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.curves import draw_stacked, draw_survival, draw_time_to
from neonatal_stats.tables import Printer
from tests.drawing.drawn import (
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

WORDS: dict[str, Any] = {
    "printer": Printer(),
    "name": "f",
    "title": "t",
    "alt": "a",
    "age_axes": ("age, hours", "age, days"),
    "at_risk": "watched",
}


def curve(*shares: float) -> pd.DataFrame:
    """A curve over 1 000 hours that was watched to its end."""
    share = np.array(shares)
    return pd.DataFrame(
        {
            "age_h": [10.0, 50.0, 200.0, 1000.0],
            "at_risk": [20.0, 18.0, 15.0, 10.0],
            "share": share,
            "low": share - 0.06,
            "high": share + 0.03,
        }
    )


SINGLE, TWIN = curve(0.95, 0.90, 0.80, 0.75), curve(0.90, 0.80, 0.60, 0.50)


def _survival(*curves: tuple[str, pd.DataFrame], follow_up_h: float = 1000.0, start: float = 1.0) -> Figure:
    marks_h = [24.0, 168.0]
    return draw_survival(
        curves,
        follow_up_h=follow_up_h,
        marks_h=marks_h,
        axis="alive",
        axis_cut="alive, cut",
        start=start,
        **WORDS,
    )


def test_a_curve_stands_at_its_share_from_birth_to_the_end_in_both_panels() -> None:
    for panel, until_h in zip(_survival(("all", SINGLE)).canvas.axes, (72, 1000), strict=True):
        (line,) = step_lines(panel)
        shown = [(age, share) for age, share in ((0, 1), (9, 1), (11, 0.95), (60, 0.9)) if age <= until_h]
        later = [(199, 0.9), (201, 0.8), (999, 0.8), (1000, 0.75)] if until_h == 1000 else []
        assert [height_at(line, age) for age, _ in (*shown, *later)] == [
            share for _, share in (*shown, *later)
        ]
        assert (min(line.get_xdata()), max(line.get_xdata())) == (0, until_h)
        assert panel.get_xlim() == (0, until_h)


def test_one_curve_has_its_interval_as_a_band() -> None:
    for panel in _survival(("all", SINGLE)).canvas.axes:
        (band,) = bands(panel)
        assert reach(band, 5) == (1, 1)
        assert reach(band, 30) == pytest.approx((0.89, 0.98))
        assert reach(band, 60) == pytest.approx((0.84, 0.93))
        assert colour(band.get_facecolor()[0]) == "blue"
        assert lines(panel)[0].colour == "blue"


def test_several_curves_have_whiskers_at_the_ages_named_each_at_its_own_heights() -> None:
    _, late = _survival(("single", SINGLE), ("twin", TWIN)).canvas.axes
    single, twin = step_lines(late)
    assert (height_at(single, 500), height_at(twin, 500)) == (0.8, 0.6)
    assert [colour(line.get_color()) for line in (single, twin)] == ["blue", "ochre"]
    assert single.get_linestyle() != twin.get_linestyle()
    whiskers = [line for line in lines(late) if len(line.x) == 2 and line.x[0] == line.x[1]]
    assert [(line.y, line.colour) for line in whiskers] == [
        (pytest.approx([0.84, 0.93]), "blue"),
        (pytest.approx([0.69, 0.78]), "blue"),
        (pytest.approx([0.74, 0.83]), "ochre"),
        (pytest.approx([0.44, 0.53]), "ochre"),
    ]
    assert [round(line.x[0]) for line in whiskers] == [
        144,
        976,
        160,
        992,
    ]  # before 168 and 1 000 hours, side by side
    assert bands(late) == []


def test_each_curves_name_stands_at_its_end_and_the_numbers_watched_under_their_ages() -> None:
    early, late = _survival(("single", SINGLE), ("twin", TWIN.assign(at_risk=[9.0, 8, 7, 6]))).canvas.axes
    ends = [(words, x, y) for words, x, y in words_at(late) if words in ("single", "twin")]
    assert sorted(ends) == [("single", 1, 0.75), ("single", 1000, 0), ("twin", 1, 0.5), ("twin", 1000, 0)]
    below = [(words, age) for words, age, _ in words_at(early) if words != "watched"]
    first = list(zip(("20", "18", "18", "18", "15"), (0, 12, 24, 48, 72), strict=True))
    second = list(zip(("9", "8", "8", "8", "7"), (0, 12, 24, 48, 72), strict=True))
    assert below == [*first, *second]
    assert [age for words, age, _ in words_at(late) if words == "10"] == [336, 504, 672, 840, 984]
    assert "watched" in texts(early)


def test_ages_are_hours_first_and_days_after() -> None:
    early, late = _survival(("all", SINGLE)).canvas.axes
    assert (early.get_xlabel(), late.get_xlabel()) == ("age, hours", "age, days")
    assert [(tick, x.get_text()) for tick, x in zip(early.get_xticks(), early.get_xticklabels(), strict=True)] == [
        (0, "0"), (12, "12"), (24, "24"), (48, "48"), (72, "72")
    ]  # fmt: skip
    said = {x.get_text(): tick for tick, x in zip(late.get_xticks(), late.get_xticklabels(), strict=True)}
    assert said == {str(day): 24.0 * day for day in (0, 7, 14, 21, 28, 35, 41)}
    assert across(early)[0] == [24]
    assert across(late)[0] == [168]


def test_a_short_watch_has_one_panel() -> None:
    (panel,) = _survival(("all", SINGLE), follow_up_h=48).canvas.axes
    assert panel.get_xlim() == (0, 48)
    assert panel.get_xticks().tolist() == [0, 12, 24, 48]
    assert panel.get_xlabel() == "age, hours"
    assert height_at(step_lines(panel)[0], 48) == 0.95


@pytest.mark.parametrize(("follow_up_h", "panels"), [(48, 1), (72, 1), (96, 2)])
def test_a_watch_of_three_days_or_less_has_one_panel(follow_up_h: float, panels: int) -> None:
    axes = _survival(("all", SINGLE), follow_up_h=follow_up_h).canvas.axes
    assert len(axes) == panels
    assert axes[-1].get_xlim() == (0, follow_up_h)


def test_shares_are_read_in_percent_and_survival_starts_at_all() -> None:
    figure = draw_survival(
        [("all", SINGLE)], follow_up_h=48, marks_h=[], axis="alive, %", axis_cut="alive, %", **WORDS
    )
    (panel,) = figure.canvas.axes
    assert [panel.yaxis.get_major_formatter()(share) for share in (0, 0.05, 1)] == ["0", "5", "100"]
    assert height_at(step_lines(panel)[0], 0) == 1


def test_the_axis_says_where_it_is_cut() -> None:
    cut, _ = _survival(("all", SINGLE)).canvas.axes
    assert (cut.get_ylim(), cut.get_ylabel()) == ((0.6, 1), "alive, cut")
    whole, _ = _survival(("all", curve(0.9, 0.5, 0.2, 0.08))).canvas.axes
    assert (whole.get_ylim(), whole.get_ylabel()) == ((0, 1), "alive")


def test_loss_is_drawn_upwards_from_nothing() -> None:
    early, late = _survival(("all", curve(0.05, 0.1, 0.18, 0.22)), start=0.0).canvas.axes
    assert height_at(step_lines(early)[0], 5) == 0
    assert height_at(step_lines(late)[0], 500) == 0.18
    assert (early.get_ylim(), early.get_ylabel()) == ((0, pytest.approx(0.3)), "alive")


def test_watching_that_ends_ends_the_line() -> None:
    _, late = _survival(("all", SINGLE.assign(at_risk=[20, 18, 15, 0]))).canvas.axes
    assert max(step_lines(late)[0].get_xdata()) == 200


CHILL, CRUSHED, UNKNOWN = (
    curve(*x) for x in ((0.02, 0.03, 0.06, 0.10), (0.04, 0.05, 0.05, 0.06), (0, 0, 0.02, 0.04))
)


def test_causes_lie_on_top_of_each_other_in_order_up_to_the_line_of_all() -> None:
    layers = [("chill", CHILL), ("crushed", CRUSHED), ("unknown", UNKNOWN)]
    figure = draw_stacked(layers, follow_up_h=1000, marks_h=[24.0], axis="lost", **WORDS)
    early, late = figure.canvas.axes
    for panel, age, edges in (
        (early, 5, [0, 0, 0, 0]),
        (early, 30, [0, 0.02, 0.06, 0.06]),
        (late, 100, [0, 0.03, 0.08, 0.08]),
        (late, 500, [0, 0.06, 0.11, 0.13]),
    ):
        for band, ends in zip(bands(panel), pairwise(edges), strict=True):
            assert reach(band, age) == pytest.approx(ends)
        (total,) = step_lines(panel)
        assert height_at(total, age) == pytest.approx(edges[-1])
    assert height_at(step_lines(late)[0], 1000) == pytest.approx(0.2)
    assert [colour(band.get_facecolor()[0]) for band in bands(late)] == ["blue", "ochre", "purple"]
    assert len({band.get_hatch() for band in bands(late)}) == 3


def test_each_causes_name_stands_at_the_middle_of_its_layer_at_the_end() -> None:
    layers = [("chill", CHILL), ("crushed", CRUSHED), ("unknown", UNKNOWN)]
    figure = draw_stacked(layers, follow_up_h=1000, marks_h=[24.0], axis="lost", **WORDS)
    early, late = figure.canvas.axes
    where = texts(late)
    assert [where[name] for name, _ in layers] == [
        (1, pytest.approx(0.05)),
        (1, pytest.approx(0.13)),
        (1, pytest.approx(0.18)),
    ]
    assert early.get_ylim() == (0, pytest.approx(0.25))
    assert texts(early)["20"] == (0, 0)


FED = pd.DataFrame(
    {
        "age_h": [0.0, 1.0, 3.0, 9.0],
        "at_risk": [8.0, 8.0, 5.0, 2.0],
        "share": [0.0, 0.25, 0.5, 0.75],
        "low": [np.nan, 0.1, 0.3, 0.5],
        "high": [np.nan, 0.4, 0.7, 0.9],
    }
)


def _fed(**others: Any) -> Any:
    curves = {
        "single": FED,
        "twin": FED.assign(share=FED["share"] / 2, low=FED["low"] / 2, high=FED["high"] / 2),
    }
    words = {
        "printer": Printer(),
        "name": "f",
        "title": "t",
        "alt": "a",
        "axis": "fed, %",
        "age_axis": "age, hours",
        "waiting": "waiting",
    }
    asked = {"horizon_h": 6.0, "marks_h": [2.0, 24.0], **words, **others}
    (axes,) = draw_time_to(curves, **asked).canvas.axes
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


def test_marks_of_the_trade_and_those_waiting_stand_at_their_ages() -> None:
    axes = _fed()
    assert across(axes)[0] == [2]
    assert axes.get_xticks().tolist() == [0, 1, 2, 3, 4, 5, 6]
    written = words_at(axes)
    assert ("2\u00a0h", 2, 1.01) in written
    rows = {-57: [], -68: []}
    for words, age, line in written:
        if line in rows:
            rows[line].append((words, age))
    assert rows[-57] == [("8", 0), ("8", 1), ("5", 2), ("5", 3), ("2", 4), ("2", 5), ("2", 6)]
    assert rows[-68] == rows[-57]
    assert ("single", 1.01, 50) in written
    assert ("twin", 1.01, 25) in written
    assert {"waiting", "age, hours"} <= set(texts(axes))


def test_names_of_lines_that_end_together_are_moved_apart_below_the_top() -> None:
    same = FED.assign(share=1.0)
    words: dict[str, Any] = {
        "printer": Printer(),
        "name": "f",
        "title": "t",
        "alt": "a",
        "axis": "",
        "age_axis": "",
        "waiting": "",
    }
    (axes,) = draw_time_to({"a": same, "b": same}, horizon_h=6.0, marks_h=[], **words).canvas.axes
    assert texts(axes)["b"][1] == 100
    assert texts(axes)["a"][1] == 93.5


def test_published_shares_are_quiet_open_diamonds() -> None:
    axes = _fed(reference=("published", {2.0: 0.5, 6.0: 0.9, 12.0: 0.95}))
    assert [(mark.x, mark.y, mark.colour, mark.filled, mark.shape) for mark in marks(axes)] == [
        (2, 50, "grey", False, "D"),
        (6, 90, "grey", False, "D"),
    ]
    assert texts(axes)["published"] == (2, 50)

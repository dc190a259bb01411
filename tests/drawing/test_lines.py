"""Pictures are tested by reading what was drawn, not by pixels."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from neonatal_stats.drawing.ages import moved_apart, steps, watched_at
from neonatal_stats.drawing.curves import draw_stacked, draw_survival
from neonatal_stats.tables import Printer

CURVE = pd.DataFrame(
    {
        "age_h": [2.0, 6.0, 30.0, 100.0, 200.0],
        "at_risk": [11.0, 10.0, 8.0, 7.0, 6.0],
        "share": [10 / 11, 8 / 11, 7 / 11, 7 / 11, 35 / 66],
        "low": [0.6, 0.4, 0.3, 0.3, 0.2],
        "high": [0.99, 0.9, 0.85, 0.85, 0.8],
    }
)
WORDS: dict[str, Any] = {
    "printer": Printer(),
    "name": "a-b",
    "title": "t",
    "alt": "a",
    "age_axes": ("hours", "days"),
    "at_risk": "watched",
}


def test_a_survival_curve_is_drawn_from_birth_and_stops_with_the_watching() -> None:
    ages, share = steps(CURVE, "share", 1.0, 1008.0)
    assert ages.tolist() == [0, 2, 6, 30, 100, 200, 200]
    assert share.tolist() == pytest.approx([1, 10 / 11, 8 / 11, 7 / 11, 7 / 11, 35 / 66, 35 / 66])
    assert steps(CURVE, "share", 1.0, 72.0)[0][-1] == 72


@pytest.mark.parametrize(("age_h", "watched"), [(0, 11), (2, 11), (3, 10), (72, 7), (200, 6), (201, 0)])
def test_numbers_below_are_those_watched_just_before(age_h: float, watched: int) -> None:
    assert watched_at(CURVE, age_h) == watched


def test_survival_figure() -> None:
    twins = CURVE.assign(share=CURVE["share"] * 0.9, low=CURVE["low"] * 0.9)
    figure = draw_survival(
        [("single", CURVE), ("twin", twins)],
        follow_up_h=1008,
        marks_h=[24, 168],
        axis="alive, %",
        axis_cut="alive, % (cut)",
        **WORDS,
    )
    early, late = figure.canvas.axes
    assert early.get_xlim() == (0, 72)
    assert late.get_xlim() == (0, 1008)
    bottom, top = early.get_ylim()
    assert top == 1
    assert early.get_ylabel() == ("alive, %" if bottom == 0 else "alive, % (cut)")
    texts = {text.get_text() for text in (*early.texts, *late.texts)}
    assert {"single", "twin", "watched", "11"} <= texts


def test_stacked_causes_reach_the_total() -> None:
    one = CURVE.assign(share=1 - CURVE["share"])
    figure = draw_stacked(
        [("a", one), ("b", one.assign(share=0.1))], follow_up_h=1008, marks_h=[], axis="%", **WORDS
    )
    (line,) = figure.canvas.axes[0].lines
    assert np.asarray(line.get_ydata())[1] == pytest.approx(1 / 11 + 0.1)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=9))
def test_labels_are_moved_apart_in_order(heights: list[float]) -> None:
    placed = moved_apart(heights, 0.1, 0.0, 1.0)
    order = sorted(range(len(heights)), key=lambda place: (heights[place], place))
    assert all(placed[b] - placed[a] >= 0.1 - 1e-9 for a, b in pairwise(order))
    assert min(placed) >= -1e-9
    assert max(placed) <= 1 + 1e-9


def test_two_drawings_are_the_same_bytes_and_ids_belong_to_the_figure() -> None:
    first, second = (
        draw_survival([("all", CURVE)], follow_up_h=1008, marks_h=[], axis="%", axis_cut="%", **WORDS)
        for _ in range(2)
    )
    assert first.svg() == second.svg()
    assert first.png() == second.png()
    ids = re.findall(r'\bid="([^"]+)"', first.svg())
    assert ids
    assert all(one.startswith("a-b-") for one in ids)
    assert "<dc:date>" not in first.svg()

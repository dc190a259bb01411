"""Page one stands where it stood: of what moved the name is said, and by how much."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.report.places import KEPT, WIDTHS, Places, measured, moved

STOOD: Places = {
    "top": (10, 100, 300, 600),
    "share": (10, 100, 300, 80),
    "strip": (10, 190, 300, 200),
    "asked": (10, 400, 300, 300),
}


@pytest.mark.browser
def test_page_one_stands_where_it_stood(hill_folder: Path) -> None:
    """Another page one is kept by `python -m tests.report.places`, once it was looked at."""
    kept, found = json.loads(KEPT.read_text(encoding="utf-8")), measured(hill_folder / "review.html")
    if kept["letters"] != found["letters"]:
        pytest.skip("this machine has other letters than those that page one was measured in")
    assert {width: moved(kept[str(width)], found[str(width)]) for width in WIDTHS} == {
        width: [] for width in WIDTHS
    }


def test_nothing_moved() -> None:
    assert moved(STOOD, STOOD) == []
    assert moved(STOOD, {**STOOD, "strip": (12, 188, 301, 199)}) == []


def test_a_part_that_grew_is_named_and_not_those_that_it_pushed_along() -> None:
    grown: Places = {
        **STOOD,
        "top": (10, 100, 300, 640),
        "strip": (10, 190, 300, 240),
        "asked": (10, 440, 300, 300),
    }
    assert moved(STOOD, grown) == ["top: 40 px taller", "strip: 40 px taller"]


def test_a_part_that_moved_by_itself_is_named() -> None:
    assert moved(STOOD, {**STOOD, "share": (30, 90, 280, 80)}) == [
        "share: 20 px right, 10 px up, 20 px narrower"
    ]


def test_parts_that_came_and_went() -> None:
    changed = {name: box for name, box in STOOD.items() if name != "asked"} | {"plan": (10, 400, 300, 90)}
    assert moved(STOOD, changed) == ["asked is gone", "plan is new"]

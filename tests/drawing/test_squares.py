"""One square a newborn: as many marks as newborns, told apart without colour, and few nodes however many there are."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from neonatal_stats.drawing import colours
from neonatal_stats.drawing.squares import (
    ALIVE,
    LOST,
    MOST_SQUARES,
    UNWATCHED,
    Kind,
    hundred,
    key,
    lost_mark,
    stands_for,
    strip,
)

KINDS = [Kind(25, LOST[0], "born dead: 25"), Kind(23, LOST[1], "<first> day"), Kind(0, LOST[2], "never"),
         Kind(8, UNWATCHED, "left"), Kind(550, ALIVE, "alive")]  # fmt: skip


def marks(svg: str) -> dict[str, int]:
    """Marks of each kind, by the words of the path; the ring has two outlines a mark."""
    paths = ET.fromstring(svg).findall("path")
    return {path.findtext("title", ""): path.get("d", "").count("M") for path in paths}


def test_every_newborn_has_a_square() -> None:
    assert marks(strip(KINDS, "alt")) == {"born dead: 25": 25, "<first> day": 23, "left": 8, "alive": 550}


def test_no_two_squares_lie_on_one_another_and_all_lie_inside() -> None:
    svg = strip([Kind(37, LOST[0], "a"), Kind(70, LOST[0], "b")], "alt")
    corners = re.findall(r"M([\d.]+) ([\d.]+)h", svg)
    assert len(set(corners)) == 107
    wide, high = map(float, ET.fromstring(svg).get("viewBox", "").split()[2:])
    assert all(float(x) < wide and float(y) < high for x, y in corners)
    assert wide > high


@pytest.mark.parametrize(
    ("born", "each"), [(1500, 1), (1501, 2), (14_000, 10), (100_000, 100), (1_000_000, 1000)]
)
def test_many_newborns_share_a_square(born: int, each: int) -> None:
    assert stands_for(born) == each
    shown = marks(strip([Kind(1, LOST[0], "one"), Kind(born - 1, ALIVE, "alive")], "alt"))
    assert shown["one"] == 1
    assert sum(shown.values()) <= MOST_SQUARES + 1
    assert shown["alive"] == pytest.approx(born / each, abs=1)


def test_words_are_made_harmless() -> None:
    svg = strip([Kind(1, LOST[0], "</title><script>")], 'a "quoted" <alt>')
    assert "<script>" not in svg
    assert ET.fromstring(svg).get("aria-label") == 'a "quoted" <alt>'


def test_marks_differ_by_shape_and_not_by_colour_alone() -> None:
    assert len({mark.shape for mark in (*LOST, ALIVE, UNWATCHED)}) == len(LOST) + 2
    assert lost_mark(0) == LOST[0]
    assert lost_mark(99) == LOST[-1]


@pytest.mark.parametrize("ground", ["light", "dark"])
def test_marks_stand_out_from_their_ground(ground: str) -> None:
    """3:1, Web Content Accessibility Guidelines 2.2, success criterion 1.4.11."""
    shown = dict(
        item.removesuffix(";").split(": ")
        for item in re.findall(r"--\w+: #\w+;", colours.variables(ground == "dark"))
    )
    for mark in (*LOST, ALIVE, UNWATCHED):
        assert colours.contrast(shown[f"--{mark.colour}"], shown["--paper"]) >= 3


def test_a_hundred_is_ten_rows_of_ten() -> None:
    assert 'viewBox="0 0 100 100"' in hundred([Kind(11, LOST[0], "lost"), Kind(89, ALIVE, "alive")], "alt")
    assert 'viewBox="0 0 100 20"' in hundred([Kind(12, ALIVE, "alive")], "alt")


def test_a_key_is_one_mark_without_words() -> None:
    assert marks(key(LOST[3])) == {"": 1}

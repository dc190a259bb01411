"""The smallest pictures say on which side of the line a number lies, how far, and whether it goes on."""

from __future__ import annotations

import math
import re

import pytest

from neonatal_stats.drawing.glyphs import HIGH, WIDE, Between, difference, placed, season, share, top_of

MIDDLE = WIDE / 2
NAN = math.nan


def dot(svg: str) -> float:
    (found,) = re.findall(r'cx="([\d.]+)"', svg)
    return float(found)


def line(svg: str) -> tuple[float, float]:
    """Where the interval begins and ends."""
    start, end = re.search(rf"M([\d.]+) {HIGH / 2:g}H([\d.]+)", svg).groups()  # type: ignore[union-attr]
    return float(start), float(end)


@pytest.mark.parametrize(
    ("ratio", "value", "low", "high", "right"),
    [(True, 2.0, 1.5, 3.0, True), (True, 0.5, 0.3, 0.8, False), (False, 0.05, 0.01, 0.09, True),
     (False, -0.05, -0.09, -0.01, False)],
)  # fmt: skip
def test_more_lies_to_the_right_of_the_line(
    ratio: bool, value: float, low: float, high: float, right: bool
) -> None:
    svg = difference(Between(value, low, high), ratio=ratio, clear=True, words="")
    assert (dot(svg) > MIDDLE) is right
    assert all((end > MIDDLE) is right for end in line(svg))


def test_twice_and_half_lie_equally_far_out() -> None:
    twice, half = (
        dot(difference(Between(one, 0.4, 3), ratio=True, clear=False, words="")) for one in (2.0, 0.5)
    )
    assert twice - MIDDLE == pytest.approx(MIDDLE - half, abs=0.1)


@pytest.mark.parametrize(("low", "high", "arrows"), [(0.5, 2, 0), (0.0, 2, 1), (0.5, NAN, 0), (0.01, 99, 2)])
def test_an_interval_that_goes_on_ends_in_an_arrow(low: float, high: float, arrows: int) -> None:
    svg = difference(Between(1.1, low, high), ratio=True, clear=False, words="")
    assert svg.count("L") == 2 * arrows
    assert all(0 <= end <= WIDE for end in line(svg))


def test_what_is_clear_is_solid_and_what_is_not_is_a_ring() -> None:
    clear, not_clear = (
        difference(Between(2, 1, 3), ratio=True, clear=one, words="") for one in (True, False)
    )
    assert 'fill="var(--clear)"' in clear
    assert 'fill="var(--paper)"' in not_clear


def test_without_an_estimate_there_is_no_dot() -> None:
    assert "<circle" not in difference(Between(NAN, 0.5, 2), ratio=True, clear=False, words="")


def test_a_share_is_as_long_as_it_is_and_its_goal_a_tick() -> None:
    svg = share(Between(0.75, 0.7, 0.8), target=0.9, words="<b>")
    assert f"H{0.75 * WIDE:.1f}V" in svg
    assert f"M{0.9 * WIDE:.1f} 1V" in svg
    assert "<b>" not in svg
    assert svg.count("<path") == share(Between(0.75, NAN, NAN), target=NAN, words="").count("<path") + 2


def test_seasons_share_one_scale_from_none_up() -> None:
    losses = [Between(0.1, 0.08, 0.12), Between(0.2, 0.15, 0.26)]
    top = top_of(losses)
    assert top == pytest.approx(0.3)
    low, high = (season(one, top=top, reviewed=False, words="") for one in losses)
    heights = [float(re.search(r'cy="([\d.]+)"', svg).group(1)) for svg in (low, high)]  # type: ignore[union-attr]
    bottom = float(re.search(r"M0 ([\d.]+)H", low).group(1))  # type: ignore[union-attr]
    assert (bottom - heights[1]) == pytest.approx(2 * (bottom - heights[0]), abs=0.2)
    assert "var(--ink)" in season(losses[0], top=top, reviewed=True, words="")
    assert "var(--ink)" not in low


def band(svg: str) -> tuple[float, float]:
    """Where the shaded band begins and ends."""
    start, end = re.search(r"M([\d.]+) 2H([\d.]+)V", svg).groups()  # type: ignore[union-attr]
    return float(start), float(end)


@pytest.mark.parametrize(("value", "side"), [(0.02, -1), (0.10, 0), (0.30, 1)])
def test_a_share_stands_left_of_in_or_right_of_the_band(value: float, side: int) -> None:
    svg = placed(Between(value, value - 0.01, value + 0.01), (0.05, 0.17), target=NAN, words="a & b")
    start, end = band(svg)
    assert (dot(svg) < start, start <= dot(svg) <= end, dot(svg) > end) == (side < 0, side == 0, side > 0)
    assert line(svg)[0] < dot(svg) < line(svg)[1] <= WIDE
    assert "a &amp; b" in svg


def test_twice_the_share_is_twice_as_far_from_none() -> None:
    one, two = (placed(Between(share, NAN, NAN), (0.1, 0.2), target=NAN, words="") for share in (0.1, 0.2))
    assert dot(two) - 1 == pytest.approx(2 * (dot(one) - 1), abs=0.2)
    assert f" {HIGH / 2:g}H" not in one


def test_a_target_is_a_tick_and_no_band_is_no_shade() -> None:
    svg = placed(Between(0.1, 0.08, 0.12), (NAN, NAN), target=0.06, words="")
    assert " 2H" not in svg
    (tick,) = re.findall(rf"M([\d.]+) 0V{HIGH:g}\"", svg)
    assert float(tick) < dot(svg)

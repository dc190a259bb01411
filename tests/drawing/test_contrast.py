"""Letters and marks of every picture of the demo records stand apart from what lies under them, by day and by night."""

from __future__ import annotations

import pytest

from neonatal_stats.drawing.colours import BLUE, CLEAR, PAPER, PAST, QUIET, RULE
from neonatal_stats.report.review import Review
from tests.demo import COWS, GOATS, review_of
from tests.drawing.shades import too_pale


def _pale(review: Review) -> set[str]:
    both = [(figure, dark) for figure in review.figures for dark in (False, True)]
    return {figure.name for figure, dark in both if too_pale(figure.svg(), dark=dark)}


def test_every_picture_of_the_sheep_stands_apart_from_its_ground(hill_review: Review) -> None:
    assert len(hill_review.figures) > 20
    assert _pale(hill_review) == set()


@pytest.mark.slow
@pytest.mark.parametrize("name", [GOATS, COWS])
def test_so_does_every_picture_of_the_other_herds(name: str) -> None:
    assert _pale(review_of(name)) == set()


def _svg(*shapes: str) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg">{"".join(shapes)}</svg>'


def _text(colour: str) -> str:
    return f'<text x="5" y="8" style="fill: {colour}">words</text>'


BAR = f'<path d="M0 0L40 0L40 20L0 20z" style="fill: {BLUE}" />'
HALO = f'<path d="M5 9H30" style="fill: none; stroke: {PAPER}; stroke-width: 3" />'


@pytest.mark.parametrize(
    ("shapes", "what"),
    [
        ([_text(QUIET)], []),
        ([_text(PAST)], ["letters"]),  # 3.8:1, enough for a mark and not for letters
        ([BAR, _text(PAPER)], []),
        ([BAR, _text(QUIET)], ["letters"]),
        ([_text(PAPER)], ["letters"]),
        ([f'<path d="M0 0H9" style="fill: none; stroke: {PAST}" />'], []),
        (['<path d="M0 0H9" style="fill: none; stroke: #c5d3de" />'], ["mark"]),
        ([f'<path d="M0 0H9" style="fill: none; stroke: {RULE}" />'], []),  # a grid line
        (['<path d="M0 0H9V9z" style="fill: #c5d3de; opacity: 0.2" />'], []),  # a band
        ([BAR, f'<path d="M5 9H30" style="fill: none; stroke: {CLEAR}" />'], ["mark"]),
        ([BAR, f'<path d="M5 5H30V9H5z" style="fill: {CLEAR}; stroke: {PAPER}" />'], []),
        ([BAR, f'<path d="M5 5H30V9H5z" style="fill: {PAPER}; stroke: {CLEAR}" />'], []),  # a ring
        ([BAR, HALO, f'<path d="M5 9H30" style="fill: none; stroke: {CLEAR}" />'], []),
        ([BAR, HALO, f'<path d="M5 3H30" style="fill: none; stroke: {CLEAR}" />'], ["mark"]),  # beside it
        ([BAR, f'<path d="M0 20H40" style="fill: none; stroke: {QUIET}" />'], []),  # an axis at its foot
    ],
)
def test_what_is_too_near_its_ground_is_found(shapes: list[str], what: list[str]) -> None:
    assert [one.what for one in too_pale(_svg(*shapes), dark=False)] == what


def test_by_night_the_colours_of_the_house_are_the_light_ones_and_others_stay() -> None:
    assert too_pale(_svg(_text(BLUE)), dark=True) == []
    (stays,) = too_pale(_svg(_text("#1b4f70")), dark=True)
    assert stays.ratio < 3

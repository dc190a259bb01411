"""Every figure of the demo reviews, read off its SVG: letters large enough, nothing cut, nothing over anything."""

from __future__ import annotations

import pickle
import re
import subprocess
import sys

import pytest

from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.colours import NAMES
from neonatal_stats.report.review import Review
from tests.demo import COWS, HERDS, LAST, review_of
from tests.drawing.svg_text import boxes, cut, hovered, overlapping
from tests.thinned import thinned

LEAST_PT = 8.5


def _faults(figures: tuple[Figure, ...]) -> list[tuple[str, str, object]]:
    """What is wrong with each figure: its name, the fault, and where it is."""
    found: list[tuple[str, str, object]] = []
    for figure in figures:
        svg = figure.svg()
        found += [(figure.name, "small", box.words) for box in boxes(svg) if box.size < LEAST_PT]
        found += [(figure.name, "cut", box.words) for box in cut(svg)]
        found += [(figure.name, "over each other", pair) for pair in overlapping(svg)]
        found += [(figure.name, "no colour of the house", one) for one in _colours(svg) - set(NAMES)]
        found += [(figure.name, "nothing to hover over", "")] * (not hovered(svg))
        found += [(figure.name, "empty words", said) for said in (figure.alt, *hovered(svg)) if _empty(said)]
    return found


def _colours(svg: str) -> set[str]:
    return set(re.findall("#[0-9a-f]{6}", svg))


def _empty(said: str) -> bool:
    """Words in which a number or name is lacking: "triplet - (-)"."""
    return bool(re.search(r"– \(–\)|\bnan\b|\(\)|: [.;]|\{", said))


def test_every_figure_of_four_seasons_is_whole(hill_review: Review) -> None:
    assert len(hill_review.figures) > 25
    assert _faults(hill_review.figures) == []


def test_a_review_draws_nothing_before_it_is_looked_at() -> None:
    """The drawing library takes a third of a second to load: the process that draws loads it, another need not."""
    code = (
        "import pickle, sys\n"
        "from tests.chapters.flock import flock\n"
        "from neonatal_stats.report.review import build\n"
        "figures = build(flock()).figures\n"
        "pickle.dumps([figure.drawn for figure in figures])\n"
        "print(len(figures), 'matplotlib' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    figures, loaded = done.stdout.split()
    assert int(figures) > 10
    assert loaded == "False"


@pytest.mark.slow
def test_what_is_handed_over_is_small_and_drawn_the_same_at_the_other_end() -> None:
    parcels = [pickle.dumps(one.drawn) for one in review_of(COWS).figures]
    assert len(parcels) > 15
    assert max(map(len, parcels)) < 200_000
    assert [pickle.loads(one)().get_size_inches()[0] for one in parcels] == [3.5] * len(parcels)


IN_LANGUAGES = [*((herd, "en") for herd in HERDS), *((herd, "de") for herd in thinned(list(HERDS), 3))]
"""Every herd in English, one in three in the language of the longer words, and all with the rest of the forms."""


@pytest.mark.slow
@pytest.mark.parametrize(("herd", "language"), IN_LANGUAGES)
def test_every_figure_of_every_demo_is_whole(herd: str, language: str) -> None:
    assert _faults(review_of(herd, language).figures) == []


@pytest.mark.slow
def test_every_figure_of_one_season_is_whole() -> None:
    assert _faults(review_of(LAST).figures) == []


def test_a_fault_would_be_seen() -> None:
    words = '<text style="font-size: {size}px; font-family: x" x="{x}" y="{y}">sixteen letters.</text>'
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 252 100">{}</svg>'
    beyond = svg.format(words.format(size=8.5, x=200, y=50))
    assert [box.words for box in cut(beyond)] == ["sixteen letters."]
    assert [box.words for box in cut(svg.format(words.format(size=8.5, x=20, y=3)))] == ["sixteen letters."]
    twice = svg.format(words.format(size=8.5, x=20, y=50) + words.format(size=8.5, x=60, y=54))
    assert len(overlapping(twice)) == 1
    apart = svg.format(words.format(size=8.5, x=20, y=50) + words.format(size=8.5, x=20, y=62))
    assert (cut(apart), overlapping(apart)) == ([], [])
    assert boxes(svg.format(words.format(size=8, x=20, y=50)))[0].size < LEAST_PT
    assert _empty("triplet – (–); four or more")
    assert not _empty("single 5.0 % (1.0 to 16.0 %)")

"""Paths as short as what they show: the same points by fewer letters, hatching that repeats itself in small tiles."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from matplotlib.figure import Figure as Canvas
from matplotlib.patches import Rectangle

from neonatal_stats.drawing.colours import CAUSE_LOOKS, PAPER
from neonatal_stats.drawing.house import house
from neonatal_stats.drawing.svg import INCH, TILE, finished, shortened

HATCHES = sorted(
    {hatch for _, hatch in CAUSE_LOOKS.values() if hatch} | {"xxxx", "////", "....", "oo", "//", ".."}
)


def points(path: str) -> list[tuple[float, float]]:
    """Where a path of moves and lines goes, read command by command."""
    at, found = (0.0, 0.0), []
    for command, numbers in re.findall(r"([MLHVhz])([^MLHVhz]*)", path):
        values = [float(number) for number in numbers.split()]
        at = {
            "M": lambda v=values: (v[0], v[1]),
            "L": lambda v=values: (v[0], v[1]),
            "H": lambda v=values, at=at: (v[0], at[1]),
            "V": lambda v=values, at=at: (at[0], v[0]),
            "h": lambda v=values, at=at: (at[0] + v[0], at[1]),
            "z": lambda at=at: at,
        }[command]()
        found.append(at)
    return found


def test_a_shorter_path_goes_the_same_way() -> None:
    steps = np.repeat(np.random.default_rng(4).uniform(0, 99, (30, 2)).round(2), 2, axis=0)
    steps[1::2, 0] = np.roll(steps[::2, 0], -1)  # level, then up: a step line
    long = "M " + "  L ".join(f"{x} {y}" for x, y in steps) + "  z "
    (short,) = re.findall('d="([^"]*)"', shortened(f'<path d="{long}" />'))
    assert len(short) < 0.7 * len(long)
    way = [(x, y) for x, y in steps]
    gone = [at for place, at in enumerate(way) if place == 0 or at != way[place - 1]]
    assert [
        at for place, at in enumerate(points(short)) if place == 0 or at != points(short)[place - 1]
    ] == gone


def test_a_dot_of_no_length_stays() -> None:
    assert shortened('<path d="M 1 2  L 1 2  M 3 4  L 3 4  " />') == '<path d="M1 2h0M3 4h0" />'


def test_curves_keep_their_points() -> None:
    assert shortened('<path d="M 1 2  C 1 2 3 4 5 6  L 5 7  " />') == '<path d="M1 2C1 2 3 4 5 6V7" />'


def _hatched(hatch: str) -> str:
    with house():
        canvas = Canvas(figsize=(2, 2))
        canvas.add_artist(Rectangle((0, 0), 1, 1, fc="#1b4f72", ec=PAPER, hatch=hatch, lw=0))
        buffer = io.StringIO()
        canvas.savefig(buffer, format="svg")
    return buffer.getvalue()


def _covered(svg: str, places: np.ndarray) -> np.ndarray:
    """Whether the strokes of the only hatching cover each place: a line half a point wide, or a circle or ring."""
    (pattern,) = re.findall(r"<pattern.*?</pattern>", svg, re.S)
    (path,) = re.findall(r'<path d="([^"]*)"', pattern)
    inked, turns = np.zeros(len(places), dtype=bool), np.zeros(len(places))
    for stroke in filter(str.strip, re.split("(?=M)", path.replace("\n", " "))):
        numbers = [float(number) for number in re.findall(r"-?[\d.]+(?:e-?\d+)?", stroke)]
        if "A" in stroke or "C" in stroke:
            middle, radius, turn = _circle(numbers, "A" in stroke)
            turns += turn * (np.hypot(*(places - middle).T) < radius)
        else:
            (x0, y0), (x1, y1) = points(re.sub("([ML])", r"\1 ", stroke))[:2]
            along = np.array([x1 - x0, y1 - y0])
            part = np.clip((places - (x0, y0)) @ along / (along @ along), 0, 1)[:, None]
            inked |= np.hypot(*(places - (x0, y0) - part * along).T) <= 0.25
    return inked | (turns != 0)


def _circle(numbers: list[float], arcs: bool) -> tuple[np.ndarray, float, int]:
    """Middle, radius and turn of a circle written as two arcs, or as the points of curves."""
    if arcs:
        left, middle, radius, turn = numbers[0], numbers[1], numbers[2], numbers[6]
        return np.array([left + radius, middle]), radius, 1 if turn else -1
    way = np.reshape(numbers, (-1, 2))
    middle = (way.min(axis=0) + way.max(axis=0)) / 2
    (x0, y0), (x1, y1) = (way[:-1] - middle).T, (way[1:] - middle).T
    area = np.sum(x0 * y1 - x1 * y0)
    return middle, float(np.ptp(way[:, 0])) / 2, 1 if area > 0 else -1


@pytest.mark.parametrize("hatch", HATCHES)
def test_small_tiles_cover_the_paper_as_the_inch_did(hatch: str) -> None:
    long = _hatched(hatch)
    short = finished(long, "f")
    places = np.random.default_rng(7).uniform(1.0, INCH - 1.0, (4000, 2))
    inch, tiles = _covered(long, places), _covered(short, places % TILE)
    assert 0.02 < inch.mean() < 0.6
    assert (inch != tiles).mean() < 0.002  # the rounding of places
    assert len(short) < 6000

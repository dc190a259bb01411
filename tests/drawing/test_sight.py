"""Pictures as others see them: greys stay, what a sight lacks goes, what it has remains."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from docs.sight import ACROSS, SIGHTS, WIDE, as_seen, sheet
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.colours import CLEAR, GREEN, NAMES
from neonatal_stats.drawing.house import canvas, house
from neonatal_stats.tables import Printer


def _pixels(*colours: str) -> np.ndarray:
    return np.array([[[int(one[at : at + 2], 16) for at in (1, 3, 5)] for one in colours]], dtype=np.uint8)


@pytest.mark.parametrize("sight", SIGHTS)
def test_greys_are_seen_by_everybody(sight: str) -> None:
    greys = _pixels("#000000", "#404040", "#808080", "#c0c0c0", "#ffffff")
    assert np.abs(as_seen(greys, sight).astype(int) - greys).max() <= 1


def _apart(one: str, other: str, sight: str) -> float:
    a, b = as_seen(_pixels(one, other), sight)[0].astype(float)
    return float(np.linalg.norm(a - b))


@pytest.mark.parametrize(
    ("sight", "confused", "told"),
    [
        # common practice: red and green are confused without long or middle wavelengths, and blue told from yellow;
        # without short wavelengths yellow is confused with pink, and red told from green
        ("protanopia", ("#808000", "#b06000"), ("#4040c0", "#c0c040")),
        ("deuteranopia", ("#808000", "#b06000"), ("#4040c0", "#c0c040")),
        ("tritanopia", ("#f0e060", "#f0d8f0"), ("#c04040", "#40a040")),
    ],
)
def test_each_sight_confuses_its_own_colours(
    sight: str, confused: tuple[str, str], told: tuple[str, str]
) -> None:
    as_drawn = float(np.linalg.norm(np.subtract(*_pixels(*confused)[0].astype(float))))
    assert _apart(*confused, sight) < 0.75 * as_drawn
    assert _apart(*told, sight) > 100


def test_grey_has_no_colour_and_keeps_the_luminance() -> None:
    (pixels,) = as_seen(_pixels("#ff0000", "#00ff00", "#0000ff"), "grey")
    assert (pixels == pixels[:, :1]).all()
    # luminance of the primaries by ITU-R BT.709: 0.2126, 0.7152, 0.0722, as sRGB values
    assert pixels[:, 0].tolist() == [127, 220, 76]


def _figure(colour: str) -> Figure:
    with house():
        drawn, (axes,) = canvas(Printer(), 2.0)
        axes.axhspan(0, 1, color=colour)
    return Figure("one", "One", "A field.", drawn)


def test_a_sheet_holds_every_figure_in_the_colours_of_the_house() -> None:
    figures = [_figure(colour) for colour in (CLEAR, GREEN)] * (ACROSS // 2 + 1)
    drawn = Image.open(io.BytesIO(sheet(figures)))
    assert drawn.width > ACROSS * WIDE
    assert drawn.height > 2 * WIDE * 2.0 / 3.5
    pixels = np.asarray(drawn.convert("RGB")).reshape(-1, 3)
    found = {tuple(one) for one in np.unique(pixels, axis=0)}
    assert {tuple(_pixels(colour)[0, 0]) for colour in (CLEAR, GREEN, "#ffffff")} <= found
    assert len(found) < 5 * len(NAMES)
    grey = np.asarray(Image.open(io.BytesIO(sheet(figures, "grey"))).convert("RGB"))
    assert grey.shape[:2] == (drawn.height, drawn.width)
    assert (grey == grey[:, :, :1]).all()

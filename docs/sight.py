"""Pictures as others see them: without colour, and with each of the three kinds of colour-blindness.

`python -m docs.make_gallery` keeps one contact sheet of all figures for each, so that whoever changes a colour looks.
"""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.colours import NAMES, PAPER

Pixels = NDArray[np.float64]

GREY = "grey"
SIGHTS = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
    GREY: ((0.2126, 0.7152, 0.0722),) * 3,
}
"""What red, green and blue become, in linear light: Machado GM, Oliveira MM, Fernandes LAF (2009) IEEE Transactions on
Visualization and Computer Graphics 15:1291-1298, severity 1.0; for grey the luminance of ITU-R BT.709."""

ACROSS, WIDE, GAP = (
    8,
    190,
    12,
)  # columns of a sheet, the width of a picture and the gap between two, in pixels
TINTS = (1.0, 0.75, 0.5, 0.25, 0.16)  # how much of each colour of the house is left where it meets the paper


def as_seen(pixels: NDArray[np.uint8], sight: str) -> NDArray[np.uint8]:
    """A picture of red, green and blue as one with that sight sees it."""
    linear = _to_light(pixels.astype(float) / 255)
    seen = np.clip(linear @ np.array(SIGHTS[sight]).T, 0, 1)
    return np.asarray(np.rint(255 * _from_light(seen)), dtype=np.uint8)


def _to_light(value: Pixels) -> Pixels:
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def _from_light(value: Pixels) -> Pixels:
    return np.where(value <= 0.0031308, value * 12.92, 1.055 * value ** (1 / 2.4) - 0.055)


def sheet(figures: Sequence[Figure], sight: str = "") -> bytes:
    """Every figure on one sheet, each in the column that is shortest so far, as a PNG; with a `sight`, as seen with it.

    The sheet keeps the colours of the house and their tints alone, so that it is small and they are not blurred.
    """
    feet, placed = [GAP] * ACROSS, []
    for figure in figures:
        picture, column = _small(figure), feet.index(min(feet))
        placed.append((picture, (GAP + column * (WIDE + GAP), feet[column])))
        feet[column] += picture.height + 2 * GAP
    whole = Image.new("RGB", (ACROSS * (WIDE + GAP) + GAP, max(feet)), PAPER)
    for picture, corner in placed:
        whole.paste(picture, corner)
    colours = _palette()
    kept = whole.quantize(palette=_with_palette(colours), dither=Image.Dither.NONE)
    kept.putpalette((as_seen(colours, sight) if sight else colours).tobytes())
    buffer = io.BytesIO()
    kept.save(buffer, "PNG", optimize=True)
    return buffer.getvalue()


def _palette() -> NDArray[np.uint8]:
    """The colours of the house, each with its tints on paper."""
    house = np.array([[int(colour[at : at + 2], 16) for at in (1, 3, 5)] for colour in NAMES])
    tints = [255 + tint * (house - 255) for tint in TINTS]
    return np.unique(np.rint(np.concatenate(tints)).astype(np.uint8), axis=0)


def _with_palette(colours: NDArray[np.uint8]) -> Image.Image:
    holder = Image.new("P", (1, 1))
    holder.putpalette(colours.tobytes())
    return holder


def _small(figure: Figure) -> Image.Image:
    picture = Image.open(io.BytesIO(figure.png())).convert("RGB")
    return picture.resize((WIDE, round(picture.height * WIDE / picture.width)), Image.Resampling.LANCZOS)

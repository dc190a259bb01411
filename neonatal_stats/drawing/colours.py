"""Every colour of the house, by what it is for, on white paper and on the dark ground of a screen at night.

Letters keep at least 4.5:1 against their ground and marks 3:1 (the Web Content Accessibility Guidelines 2.2, success
criteria 1.4.3 and 1.4.11). Pictures are drawn in the light colours; inside a page each becomes a variable of the
page's style, so that one drawing serves both grounds.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from neonatal_stats.vocabulary.terms import CAUSES

PAPER = "#ffffff"
INK = "#22303a"
QUIET = "#56636c"
RULE = "#d5dade"
PAST = "#79858d"  # seasons other than the one under review
CLEAR = "#9b2d20"  # what the ledger calls clear

BLUE, OCHRE, GREEN, VIOLET, STEEL = "#1b4f72", "#8a5800", "#117864", "#7b4b94", "#5d6d7e"
OLIVE, ROSE = "#5b6b1f", "#a63d74"

SERIES = (BLUE, OCHRE, GREEN, VIOLET, CLEAR, STEEL)

DARK = {
    PAPER: "#151b20",
    INK: "#e4e9ec",
    QUIET: "#a8b3ba",
    RULE: "#3b464e",
    PAST: "#8a969e",
    CLEAR: "#f2917f",
    BLUE: "#79b4dc",
    OCHRE: "#e0ab52",
    GREEN: "#57c2a8",
    VIOLET: "#c59ade",
    STEEL: "#9caebf",
    OLIVE: "#b5c65e",
    ROSE: "#ec8fbd",
}
"""What each colour becomes on a dark ground."""

NAMES = dict(
    zip(
        DARK,
        ("paper", "ink", "quiet", "rule", "past", "clear", "blue", "ochre", "green", "violet", "steel", "olive",
         "rose"),
        strict=True,
    )
)  # fmt: skip
"""The name of each colour in the page's style."""

_LOOKS = (
    (BLUE, ""), (CLEAR, "\\\\\\\\"), (GREEN, "xxxx"), (OCHRE, "////"), (VIOLET, "...."), (ROSE, "----"),
    (OLIVE, "++++"), (STEEL, "||||"), (QUIET, "oo"), (PAST, ""),
)  # fmt: skip
CAUSE_LOOKS = dict(zip(CAUSES, _LOOKS, strict=True))
"""Colour and hatch of each cause: the same for every species, in every season, whatever its rank."""


def cause_looks(causes: Sequence[str]) -> dict[str, tuple[str, str]]:
    """Colour and hatch of each cause; a farm's own causes, in their order, take pairs that no other has.

    >>> looks = cause_looks(["infection", "fox", "flood"])
    >>> looks["infection"] == CAUSE_LOOKS["infection"], len(set(looks.values()))
    (True, 12)
    """
    own = [cause for cause in causes if cause not in CAUSE_LOOKS]
    pairs = ((_LOOKS[place % len(_LOOKS)][0], _LOOKS[_hatch(place)][1]) for place in range(len(own)))
    return {**CAUSE_LOOKS, **dict(zip(own, pairs, strict=True))}


def _hatch(place: int) -> int:
    """The place of a hatch that the colour of that place has not had yet."""
    return (place + 3 + place // len(_LOOKS)) % (len(_LOOKS) - 1)


def variables(dark: bool = False) -> str:
    """The colours as variables of a page's style, one ground or the other."""
    return " ".join(f"--{name}: {DARK[light] if dark else light};" for light, name in NAMES.items())


def by_variable(svg: str) -> str:
    """The same drawing with every colour of the house as a variable of the page around it."""
    return re.sub("#[0-9a-f]{6}", lambda found: _variable(found.group()), svg)


def _variable(colour: str) -> str:
    return f"var(--{NAMES[colour]})" if colour in NAMES else colour


def contrast(one: str, other: str) -> float:
    """How far two colours stand apart, from 1 (the same) to 21 (black on white).

    References
    ----------
    Web Content Accessibility Guidelines 2.2, definitions of contrast ratio and relative luminance.

    Examples
    --------
    >>> round(contrast("#000000", "#ffffff"), 1)
    21.0
    """
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue

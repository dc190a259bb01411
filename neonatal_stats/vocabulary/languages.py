"""The languages a review can be written in, and the regions in which words of the trade differ.

Languages are English, and one more for each language file. Each region names the words in which it differs from the
species' own entry: common usage of the trade, from memory, unchecked by a native reader of each region. A word that is
not named here is that of `vocabulary.species`. The forms are those of `species.FORMS`; "" stands for several species
together. Regions are of English only: a language file has the words of its own trade.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from importlib.resources.abc import Traversable

ENGLISH = "en"
Words = Mapping[str, Mapping[str, str]]

_HEIFERS: Words = {
    "cattle": {"first_timers": "first-calving heifers"},
    "buffalo": {"first_timers": "heifers"},
}

REGIONAL: Mapping[str, Words] = {
    "UK": {
        **_HEIFERS,
        "sheep": {"first_timers": "first-time ewes", "marking": "tailing"},
        "cattle": {"first_timers": "first-calving heifers", "marking": "turnout"},
    },
    "Ireland": {
        **_HEIFERS,
        "sheep": {"first_timers": "first-time ewes", "marking": "tailing"},
        "cattle": {"first_timers": "first-calving heifers", "marking": "turnout"},
    },
    "Australia": {
        **_HEIFERS,
        "": {"joined": "joined", "crop": "marking percentage"},
        "sheep": {"first_timers": "maiden ewes", "joined": "joined", "crop": "marking percentage"},
        "goat": {"first_timers": "maiden does", "joined": "joined", "crop": "marking percentage"},
        "cattle": {"first_timers": "first-calf heifers", "joined": "joined", "crop": "branding percentage"},
    },
    "New Zealand": {
        **_HEIFERS,
        "": {"joined": "mated"},
        "sheep": {
            "first_timers": "first-time ewes",
            "joined": "mated",
            "marking": "docking",
            "crop": "docking percentage",
        },
        "goat": {"joined": "mated"},
        "cattle": {"first_timers": "first-calving heifers", "joined": "mated"},
        "deer": {"joined": "mated"},
    },
    "North America": {
        **_HEIFERS,
        "": {"joined": "exposed"},
        "sheep": {
            "first_timers": "first-time ewes",
            "joined": "exposed to the ram",
            "marking": "docking",
            "crop": "lamb crop",
        },
        "goat": {
            "first_timers": "first fresheners",
            "joined": "exposed to the buck",
            "marking": "disbudding",
            "crop": "kid crop",
        },
        "cattle": {
            "first_timers": "first-calf heifers",
            "joined": "exposed to the bull",
            "marking": "branding",
            "crop": "calf crop",
        },
    },
    "South Africa": {
        **_HEIFERS,
        "": {"joined": "mated"},
        "sheep": {
            "first_timers": "maiden ewes",
            "joined": "mated",
            "marking": "docking",
            "crop": "weaning percentage",
        },
        "goat": {"joined": "mated", "crop": "weaning percentage"},
        "cattle": {
            "first_timers": "first-calf heifers",
            "joined": "mated",
            "marking": "branding",
            "crop": "weaning percentage",
        },
    },
}
REGIONS = tuple(REGIONAL)


def languages() -> tuple[str, ...]:
    """Their codes (ISO 639-1), English first."""
    files = sorted(file.name for file in _folder().iterdir() if file.name.endswith(".toml"))
    return (ENGLISH, *(name.removesuffix(".toml") for name in files))


def language_file(language: str) -> Traversable:
    """The one file that holds a language."""
    return _folder() / f"{language}.toml"


def _folder() -> Traversable:
    return resources.files("neonatal_stats") / "words" / "languages"


def regional(region: str, species: str) -> Mapping[str, str]:
    """The words in which a region differs, by form; none where it does not, or no region is said.

    >>> regional("New Zealand", "sheep")["marking"], regional("", "sheep")
    ('docking', {})
    """
    return REGIONAL.get(region, {}).get(species, {})

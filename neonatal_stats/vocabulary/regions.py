"""Words of the trade that differ by region: each region names those in which it differs from the species' own entry.

Common usage of the trade, from memory, unchecked by a native reader of each region. A word that is not named here is
that of `vocabulary.species`. The forms are those of `species.FORMS`; "" stands for several species together. English
only: a language file has the words of its own trade.
"""

from __future__ import annotations

from collections.abc import Mapping

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


def regional(region: str, species: str) -> Mapping[str, str]:
    """The words in which a region differs, by form; none where it does not, or no region is said.

    >>> regional("New Zealand", "sheep")["marking"], regional("", "sheep")
    ('docking', {})
    """
    return REGIONAL.get(region, {}).get(species, {})

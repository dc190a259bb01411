"""The species' own words: lamb, ewe, lambing. Used as {newborn}, {newborns}, {dam}, {dams}, {birthing}, {herd}."""

from __future__ import annotations

ENGLISH = {
    "": ("newborn", "newborns", "dam", "dams", "birthing", "herd"),
    "sheep": ("lamb", "lambs", "ewe", "ewes", "lambing", "flock"),
    "goat": ("kid", "kids", "doe", "does", "kidding", "herd"),
    "cattle": ("calf", "calves", "cow", "cows", "calving", "herd"),
    "buffalo": ("calf", "calves", "cow", "cows", "calving", "herd"),
    "deer": ("calf", "calves", "hind", "hinds", "calving", "herd"),
    "camelid": ("cria", "crias", "dam", "dams", "birthing", "herd"),
}

KEYS = ("newborn", "newborns", "dam", "dams", "birthing", "herd")

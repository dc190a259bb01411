"""The words of the table of published figures, which a reader's own figures and targets use as well."""

from __future__ import annotations

BORN_DEAD, LOST, FAILED_TRANSFER = "born dead", "lost", "failed transfer"
OUTCOMES = (BORN_DEAD, LOST, FAILED_TRANSFER)
"""Failed transfer: a blood sample in the lowest class of passive transfer."""

BORN, BORN_ALIVE = "born", "born alive"
DENOMINATORS = (BORN, BORN_ALIVE)

ALL_KINDS = "all"
KINDS = (
    "dairy",
    "suckler",
    "beef",
    "hill",
    "upland",
    "lowland",
    "range",
    "meat",
    "fibre",
    "smallholder",
)
"""Kinds of flock and herd in the trade's terms; `ALL_KINDS` stands for a source that names none."""
APART_KINDS = ("dairy", "suckler")
"""Kinds whose newborns live so differently that neither is read for the other."""
SAME_KIND = {"beef": "suckler"}
"""Two words of one kind, by region: the table has the second."""
SUCKLED, TAKEN_OFF = ("suckler", "beef"), ("dairy",)
"""Kinds that are reared so differently that marks and questions differ: suckled by their dam, or taken off her."""

AVERAGES = ("years", "countries", "quartiles")
"""What low and high are the ends of, where they are where flocks and herds usually lie."""
SINGLE_ONES = ("flocks", "herds", "sites and years")
"""The same, where they are the lowest and highest single flock or herd (or season) that was met with."""
SPREADS = (*AVERAGES, *SINGLE_ONES, "interval")

COUNTED_IN = ("newborns", "litters", "foetuses", "flocks", "herds", "farms", "studies", "states", "countries")

LOST_BY = "lost by "
"""Before the name of a window: the keeper's target for the loss by then; `LOST` alone is the loss by the end."""
HOUR_TARGETS = {
    "standing": "standing",
    "fed in time": "feeding",
    "enough colostrum": "enough",
    "absorbed": "absorbed",
    "mothered up": "mothered",
}
"""The keeper's targets for the first hours, each with the mark that it is a target of."""

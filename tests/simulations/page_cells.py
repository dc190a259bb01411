"""The cells of the proof: which invented seasons are reviewed, how many times, and what was planted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np

from neonatal_stats.season.model import Season
from tests.simulations.page_book import season_of
from tests.simulations.page_flock import MORE_TRIPLETS, Plan, newborns

RNG_NUMBER = 20260712
NULL_REVIEWS, PLANTED_REVIEWS = 400, 200


@dataclass(frozen=True)
class Cell:
    """Seasons of one plan. ``year`` : the last season truly is a bad one, so what is said of it is no false finding.
    ``planted`` : what is there to be found ("" where nothing differs). ``unfed`` : keep the hazard ratio too.
    """

    name: str
    says: str
    plan: Plan
    planted: str = ""
    year: bool = False
    unfed: bool = False

    @property
    def reviews(self) -> int:
        """How many are asked for."""
        return PLANTED_REVIEWS if self.planted else NULL_REVIEWS

    def season(self, review: int) -> Season:
        """The season of a review, the same at every call."""
        draw = np.random.default_rng([RNG_NUMBER, crc32(self.name.encode()), review])
        return season_of(newborns(self.plan, draw), self.plan, draw)


SMALL, ONE, FOUR = Plan(dams=40), Plan(), Plan(seasons=4)
LITTERS = Plan(seasons=4, twin=1.5, triplet=2.2)
BLANKS = {"": 0.0, "-blank5": 0.05, "-blank12": 0.12}


def _blank(name: str, says: str, plan: Plan) -> list[Cell]:
    """The same plan complete, and with cells of the first hours blank."""
    cells = []
    for ending, share in BLANKS.items():
        told = f"{says}, {f'{share:.0%} blank' if share else 'complete'}"
        cells.append(Cell(name + ending, told, replace(plan, blank=share), unfed=plan.seasons > 1))
    return cells


NULL = (
    *_blank("40x1", "40 dams, 1 season", SMALL),
    *_blank("350x1", "350 dams, 1 season", ONE),
    *_blank("350x4", "350 dams, 4 seasons", FOUR),
    Cell("ageing", "350 dams, 4 seasons, ageing", replace(FOUR, ageing=True)),
    Cell("bad-year", "a bad year for everybody", replace(FOUR, bad_year=1.6), year=True),
    Cell("bad-year-ageing", "a bad year, dams ageing", replace(FOUR, bad_year=1.6, ageing=True), year=True),
    Cell("farms", "8 to 20 farms of 40 dams, alike", Plan(dams=40, farms=(8, 20))),
    Cell("farms-differ", "8 to 20 farms, risks differ by farm", Plan(dams=40, farms=(8, 20), farm_sd=0.25)),
    Cell("empty", "5 % lost, 9 % by surgery", Plan(dams=135, risk=0.05, surgical=0.09)),
    Cell(
        "one-stratum",
        "triplets in the last season only",
        replace(FOUR, litters=(0.5, 0.5), last_litters=(0.45, 0.45, 0.085, 0.015)),
    ),
)
"""Nothing differs (but the last season, where ``year``; but the farms, in "farms-differ")."""

PLANTED = (
    Cell("caesarean", "caesarean x 3 alone", replace(FOUR, caesarean=3.0), "surgery"),
    Cell(
        "caesarean-beside",
        "caesarean x 3 beside litters and unfed x 4",
        replace(LITTERS, caesarean=3.0, unfed=4.0),
        "surgery",
    ),
    Cell("twins", "twins x 1.5, triplets x 2.2", LITTERS, "twins"),
    Cell("unfed", "hazard x 4 while unfed", replace(FOUR, unfed=4.0), "unfed", unfed=True),
    Cell(
        "unfed-seen",
        "the same, the time of every death known",
        replace(FOUR, unfed=4.0, seen=True),
        "unfed",
        unfed=True,
    ),
    Cell(
        "unfed-late",
        "hazard x 4 while unfed, and ever after a first feed later than 8 h",
        replace(FOUR, unfed=4.0, fed_late=4.0),
        "unfed",
        unfed=True,
    ),
    Cell(
        "mix-year",
        "bad year by mix alone",
        replace(LITTERS, last_litters=MORE_TRIPLETS),
        "mix",
        year=True,
    ),
    Cell("outbreak", "one pen with an outbreak", replace(FOUR, outbreak=0.3), "outbreak"),
)

CELLS = {cell.name: cell for cell in (*NULL, *PLANTED)}

"""Published cut points of serum IgG, total protein and Brix, per species, with their sources and how far
sources differ.

Sources agree for calves (one consensus, with targets for the herd). For lambs and kids they do not: one
source is named and used, the others are listed as the spread. Samples are classed only when drawn in the
stated window.
"""

from __future__ import annotations

from dataclasses import dataclass

from neonatal_stats.vocabulary.terms import TURBIDITIES

IGG, PROTEIN, BRIX = "igg_g_per_l", "total_protein_g_per_dl", "brix_pct"
TURBIDITY = "turbidity"


@dataclass(frozen=True)
class Scheme:
    """Classes of one measure in one species, best first.

    ``cuts`` are the lowest value of each class but the last; a value at a cut belongs to the better class.
    ``from_h`` to ``to_h`` is the age at sampling within which a sample is classed (from included, to
    included). ``targets`` are the shares of the herd meant to stand in each class (``target_sign`` how they
    are meant), empty where the source gives none.
    """

    species: str
    measure: str
    classes: tuple[str, ...]
    cuts: tuple[float, ...]
    from_h: float
    to_h: float
    source: str
    spread: str = ""
    targets: tuple[float, ...] = ()
    target_signs: tuple[str, ...] = ()


CONSENSUS = "Lombard J et al. (2020) Journal of Dairy Science 103:7611-7624 (doi 10.3168/jds.2019-17955)"
CALF_CLASSES = ("excellent", "good", "fair", "poor")
CALF_TARGETS = (0.40, 0.30, 0.20, 0.10)
CALF_SIGNS = ("over", "about", "about", "under")
CALF_SPREAD = (
    "older single cut points for calves: IgG 10 g/l, total protein 5.2 g/dl, Brix 8.4 %; beef calves: total "
    "protein 5.1 g/dl or Brix 7.9 % for IgG 10 g/l (Gamsjager 2021, Journal of Veterinary Internal Medicine "
    "35:632-643)"
)
LAMB_SPREAD = (
    "cut points for lambs' serum IgG at 24 h run from 1.93 g/l (death) and 9.98 g/l (illness; Gokce 2025, "
    "347 lambs) to 15 g/l (Reneau 1973), eight-fold, and differ by assay"
)
KID_SPREAD = "cut points for kids rest on single studies of some tens of kids"


def _calf(measure: str, cuts: tuple[float, ...]) -> Scheme:
    return Scheme(
        "cattle", measure, CALF_CLASSES, cuts, 24, 168, CONSENSUS, CALF_SPREAD, CALF_TARGETS, CALF_SIGNS
    )


SCHEMES: tuple[Scheme, ...] = (
    _calf(IGG, (25.0, 18.0, 10.0)),
    _calf(PROTEIN, (6.2, 5.8, 5.1)),
    _calf(BRIX, (9.4, 8.9, 8.1)),  # the cuts at 8.9 from memory, unchecked; 9.4 and 8.1 as published
    Scheme(
        "sheep",
        IGG,
        ("not low", "low"),
        (15.0,),
        24,
        48,
        "Reneau JK et al. (1973) Journal of Dairy Science 56:670: under 15 g/l at 24 h, 9 of 49 lambs",
        LAMB_SPREAD,
    ),
    Scheme(
        "sheep",
        BRIX,
        ("good", "between", "low"),
        (9.0, 8.0),
        24,
        48,
        "Hamer K (2023), as used for 75 lambs on a Welsh farm (2024): under 8 % low, over 9 % good",
        LAMB_SPREAD,
    ),
    Scheme(
        "goat",
        IGG,
        ("not low", "low"),
        (12.0,),
        24,
        48,
        "12 g/l as quoted in Turkish Journal of Veterinary and Animal Sciences 43(5), 2019 (75 kids)",
        KID_SPREAD,
    ),
    Scheme(
        "goat",
        BRIX,
        ("not low", "low"),
        (8.6,),
        24,
        48,
        "Turkish Journal of Veterinary and Animal Sciences 43(5), 2019 (75 kids): under 8.6 % on day 1, 9.2 "
        "% on day 2, 9.3 % on day 3; only day 1 is classed here",
        KID_SPREAD,
    ),
)


READ_BY_LABORATORY = Scheme(
    "",
    TURBIDITY,
    TURBIDITIES,
    (),
    24,
    168,
    "the classes of the laboratory that read the test; drawn from the second day on, as is common practice",
    "laboratories class the test differently, and it overlaps with the classes of serum IgG only in part",
)
"""A turbidity test is not classed here: the laboratory's word is the class."""


@dataclass(frozen=True)
class Conversion:
    """Colostrum IgG (g/l) from Brix (%): slope x Brix + intercept, with its source and how well it fitted."""

    slope: float
    intercept: float
    source: str


BRIX_TO_IGG: dict[str, Conversion] = {
    "goat": Conversion(6.97, -73.65, "114 goats, r squared 0.73 (university thesis, Pennsylvania)"),
}
"""Only where an equation with a source is at hand; elsewhere only measured IgG gives an IgG mass."""

PLASMA_SHARE_OF_WEIGHT = 0.09
"""Plasma volume over body weight for the apparent efficiency of absorption; 0.07 is used too (from memory,
unchecked).
"""

PUBLISHED_EFFICIENCY = (0.281, 0.077, 0.599)
"""Mean, lowest and highest in 100 calves (Halleran 2017, Journal of Dairy Science 100:3282; through a later
page).
"""

CALF_IGG_MASS_G = (150.0, 200.0)
"""IgG in a calf's first feeds (Penn State extension)."""

LARGE_CALF_FEED_L = (3, 4)
"""First feed of a large dairy calf, about a tenth of its weight: common practice, with no published source."""

ABSORBED_BY_AGE_H: dict[float, float] = {6: 0.658, 12: 0.469, 24: 0.115, 36: 0.067, 48: 0.060}
"""Share of the IgG of 2 l of pooled colostrum that reached plasma, by age at the feed, 8 calves each (Matte
1982).
"""


def scheme(species: str, measure: str) -> Scheme | None:
    """The scheme in use for a measure in a species, or None where no source is at hand.

    A turbidity test is classed by the laboratory that read it, in every species.

    >>> scheme("cattle", IGG).cuts
    (25.0, 18.0, 10.0)
    """
    if measure == TURBIDITY:
        return READ_BY_LABORATORY
    return next((one for one in SCHEMES if (one.species, one.measure) == (species, measure)), None)


@dataclass(frozen=True)
class Mark:
    """What colostrum of a species is held against: the least value of a measure that is called good."""

    species: str
    measure: str
    least: float
    source: str


_MOST = "as most sources say"
_POOR = "under 18 % poor (Buczinski S, Vandeweerd JM (2016) Journal of Dairy Science 99:7381-7394)"
COLOSTRUM_MARKS: tuple[Mark, ...] = (
    Mark("cattle", IGG, 50.0, f"50 g/l, {_MOST}"),
    Mark("cattle", BRIX, 22.0, f"22 %, {_MOST}; {_POOR}"),
    Mark(
        "sheep",
        IGG,
        50.0,
        "50 g/l as for cows, no cut point of ewes with a source at hand (from memory, unchecked)",
    ),
    Mark("sheep", BRIX, 26.5, "26.5 % for 50 g/l (from memory, unchecked)"),
    Mark("goat", IGG, 20.0, "20 g/l (from memory, unchecked)"),
    Mark("goat", BRIX, 19.0, "19 to 20 % for 20 g/l (from memory, unchecked)"),
)
"""The marks of colostrum, with how well each is founded."""


def mark(species: str, measure: str) -> Mark | None:
    """The mark of a measure of colostrum in a species, or None where none is at hand.

    >>> mark("cattle", BRIX).least
    22.0
    """
    return next((one for one in COLOSTRUM_MARKS if (one.species, one.measure) == (species, measure)), None)

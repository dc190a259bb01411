"""Values of a laboratory that are limits: "<8", "> 30 g/l", "below 10", "40+". They bound a value and are none."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from neonatal_stats.season.cells.parsed import Parsed
from neonatal_stats.season.finding import say
from neonatal_stats.season.grid import RawColumn, objects
from neonatal_stats.vocabulary.spelling import unaccented

LIMITED = ("igg_g_per_l", "total_protein_g_per_dl", "brix_pct")
"""Columns of samples of which a laboratory may give a limit."""
SAID = {
    "<": r"<|under|below|less than|fewer than|lower than|unter|weniger als|kleiner(?: als)?|moins de|inferieur a|sous"
    r"|menos de|menor (?:de|que)|inferior a|minder dan|lager dan|onder|mindre (?:enn|end|an)|lavere (?:enn|end)"
    r"|ponizej|mniej niz|meno di|sotto|inferiore a|llai na|o dan",
    "≤": r"≤|<=|=<|at most|no more than|up to|hochstens|maximal|bis(?: zu)?|au plus|como maximo|hoogstens"
    r"|najwyzej|al massimo",
    ">": r">|over|above|more than|greater than|higher than|uber|ueber|mehr als|grosser(?: als)?|groesser(?: als)?"
    r"|plus de|superieur a|mas de|mayor (?:de|que)|superior a|meer dan|hoger dan|boven|mer (?:enn|an)|mere end"
    r"|powyzej|wiecej niz|piu di|oltre|superiore a|mais de|maior que|mwy na",
    "≥": r"≥|>=|=>|\+|at least|no less than|from|ab|mindestens|wenigstens|au moins|al menos|minstens|minst|mindst"
    r"|co najmniej|almeno|pelo menos",
}
BEGINS = re.compile(
    "(?:" + "|".join(f"(?P<s{at}>{ways})" for at, ways in enumerate(SAID.values())) + r")\s*(?=[\d.,])(.+)",
    re.DOTALL,
)
ENDS = (
    (
        "≥",
        re.compile(
            r"(.*\d.*?)\s*(?:\+|(?:and|or) (?:more|over|above|higher)|oder mehr|und mehr|of meer|o mas|ou plus)"
        ),
    ),
    (
        "≤",
        re.compile(
            r"(.*\d.*?)\s*(?:(?:and|or) (?:less|under|below|lower)|oder weniger|of minder|o menos|ou moins)"
        ),
    ),
)
LONGEST = 40


def limit_in(cell: object) -> tuple[str, str] | None:
    """The sign of a limit and what stands beside it; None where a cell holds no limit.

    >>> limit_in("< 8 g/l"), limit_in("below 10"), limit_in("+ 40"), limit_in("25+"), limit_in("8.5")
    (('<', '8 g/l'), ('<', '10'), ('≥', '40'), ('≥', '25'), None)
    """
    if not isinstance(cell, str) or len(cell) > LONGEST:
        return None
    said = " ".join(unaccented(cell.casefold()).split())
    if found := BEGINS.fullmatch(said):
        sign = next(sign for at, sign in enumerate(SAID) if found[f"s{at}"])
        return sign, str(found[found.lastindex or 0])
    return next(((sign, str(end[1])) for sign, way in ENDS if (end := way.fullmatch(said))), None)


def read_with_limits(cells: RawColumn, read: Callable[[RawColumn], Parsed]) -> Parsed:
    """A column of numbers as ``read`` reads it, its limits kept apart from the values, in ``extra`` as "<8"."""
    found = [limit_in(cell) for cell in cells.distinct]
    if not any(found):
        return read(cells)
    bare = [limit[1] if limit else cell for limit, cell in zip(found, cells.distinct, strict=True)]
    parsed = read(RawColumn(cells.codes, objects(bare)))
    values, notes = parsed.values.copy(), parsed.notes.copy()
    limits = np.full(len(values), None, dtype=object)
    for at, limit in enumerate(found):
        if limit and np.isfinite(values[at]):
            limits[at] = f"{limit[0]}{values[at]:.12g}"
            notes[at] = say(
                "it is a limit and no value, kept as {limit}: it counts where that tells the class, and in no mean",
                limit=limits[at],
            )
            values[at] = np.nan
    return replace(parsed, values=values, notes=notes, extra={**parsed.extra, "limit": (limits, None)})

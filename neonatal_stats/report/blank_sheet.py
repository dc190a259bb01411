"""A blank sheet for the shed written to a file: a workbook, or a page to print."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike
from pathlib import Path

from neonatal_stats.report.shed_page import shed_page
from neonatal_stats.report.shed_sheet import Sheet, asked_by, sheet_of
from neonatal_stats.report.shed_workbook import write_workbook
from neonatal_stats.season.finding import CannotRead

USUAL_SPECIES = "sheep"
"""Whose sheet is written where nothing says it."""


def write_sheet(
    path: str | PathLike[str],
    species: str = "",
    *,
    language: str = "en",
    fields: Sequence[str] = (),
    asked: str | PathLike[str] | None = None,
) -> Sheet:
    """Write a blank sheet for the shed; what it is filled with reads back with no map.

    Parameters
    ----------
    path : ``.xlsx`` for a workbook; ``.html`` for A4 sides to print, one of lines and one of slips.
    species : one of the vocabulary's; gives the usual fields, and newborns side by side or one a line. By default that
        of the review that asks, else sheep.
    language : of headings, codes and notes; filled sheets of every language are read.
    fields : columns of births instead of the usual ones; dam, birth and outcome always stand on it.
    asked : the folder of a written review (or its headline.json), whose wishes are added.

    Raises
    ------
    CannotRead : with one sentence; so too where the review is of another species.
    """
    target = Path(path)
    wanted, reviewed = asked_by(Path(asked)) if asked is not None else ((), "")
    if species and reviewed not in ("", species):
        raise CannotRead(
            f"the review that asks is one of {reviewed}, and the sheet is to be for {species}; leave out --species, or "
            "name the review of that species."
        )
    sheet = sheet_of(species or reviewed or USUAL_SPECIES, language, fields, wanted)
    ending = target.suffix.casefold()
    if ending in (".html", ".htm"):
        target.write_text(shed_page(sheet), encoding="utf-8", newline="\n")
    elif ending == ".xlsx":
        write_workbook(target, sheet)
    else:
        raise CannotRead(
            f"{target.name}: a sheet is written as .xlsx (a workbook) or .html (a page to print)."
        )
    return sheet

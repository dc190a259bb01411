"""Blank sheets for next season: a workbook with drop-downs, or a page to print for the shed."""

from __future__ import annotations

from pathlib import Path

from neonatal_stats.season.trouble import CannotRead
from neonatal_stats.vocabulary import terms


def write_sheet(path: str | Path, species: str) -> None:
    """Write a blank sheet whose headings read back with no map.

    Parameters
    ----------
    path
        ``.xlsx`` for a workbook (births, feeds, samples, weather and a help sheet; drop-downs for every word,
        units in the headings, the header frozen); ``.html`` for A4 pages of the births columns, to print.
    species
        One of the vocabulary's species; narrows the plausible ranges.
    """
    target = Path(path)
    if species not in terms.SPECIES:
        raise CannotRead(f'species "{species}" is not known; write one of {", ".join(terms.SPECIES)}.')
    if target.suffix.casefold() in (".html", ".htm"):
        from neonatal_stats.season.blank.page import shed_page

        target.write_text(shed_page(species), encoding="utf-8", newline="\n")
    elif target.suffix.casefold() == ".xlsx":
        from neonatal_stats.season.blank.workbook import write_workbook

        write_workbook(target, species)
    else:
        raise CannotRead(
            f"{target.name}: a sheet is written as .xlsx (a workbook) or .html (a page to print)."
        )

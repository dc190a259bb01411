"""The filled sheet for the shed: each line a litter, unfolded to its newborns, its codes turned into words.

A newborn stands where any of its fields is filled, and a line with a dam has at least one. An outcome that nobody rang
stays open, whatever the other lines hold: the form has a code for the living.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from neonatal_stats.season.finding import NO_NEED, say
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, Remark, Rows, objects, recoded
from neonatal_stats.vocabulary.shed import (
    ALIVE,
    BY_NAME,
    DEAD_AT_BIRTH,
    DIED_LATER,
    FATE,
    Meant,
    ShedWords,
    meanings,
    meanings_beside,
)

LITTERS, SLIPS = "litters", "slips"
FATES: Mapping[str, tuple[str, str]] = {
    DEAD_AT_BIRTH: ("yes", "no"),
    DIED_LATER: ("yes", "yes"),
    ALIVE: ("no", "yes"),
}
"""What a fate says of ``died`` and of ``born_alive``."""
COLUMN_OF = {"letter": "shed letter", "lay": "remarks", "age_at_death": "age at death"}
"""Where a slip's own fields go."""


def from_the_shed(table: RawTable) -> RawTable:
    """A filled sheet's litters with one row a newborn, its other sheets with tidy headings; any other as it is."""
    if table.table:
        return table
    if (beside := meanings_beside(table.columns)) is not None:
        return _beside(table, *beside)
    if (found := meanings(table.columns)) is None:
        return table
    form, own, meant = found
    return _slips(table, own, meant) if form == SLIPS else _newborns(table, own, meant)


def _beside(table: RawTable, name: str, own: ShedWords, meant: Mapping[str, str]) -> RawTable:
    """Feeds, samples or weather under the headings and in the words of another language."""
    columns = {}
    for heading, cells in table.columns.items():
        column = meant.get(heading, heading)
        said = [own.chosen(column, str(cell)) or cell for cell in cells.distinct]
        columns[column] = recoded(cells.codes, said) if column in own.words else cells
    return replace(table, columns=columns, meant=name)


def _slips(table: RawTable, own: ShedWords, meant: Mapping[str, Meant]) -> RawTable:
    columns = {}
    for heading, cells in table.columns.items():
        name = meant[heading].name if heading in meant else heading
        columns[COLUMN_OF.get(name, name)] = _in_words(cells, own, name)
    return replace(table, columns=columns, form=SLIPS)


def _newborns(table: RawTable, own: ShedWords, meant: Mapping[str, Meant]) -> RawTable:
    letters = sorted({one.letter for one in meant.values() if one.name == FATE})
    present = np.column_stack([_present(table, meant, letter) for letter in letters])
    present[~present.any(axis=1), 0] = True
    row, place = np.nonzero(present)
    letter_of = objects([letter or "a" for letter in letters])[place]
    columns = _of_the_line(table, own, meant, row)
    names = dict.fromkeys(one.name for one in meant.values() if not _of_litter(one))
    for name in names:
        columns[name] = _in_words(_laid_out(table, meant, name, letters, place, row), own, name)
    columns |= _fates(columns.pop(FATE))
    columns["shed letter"] = recoded(place.astype(np.int64), [one or "a" for one in letters])
    problem = say(
        "the sheet for the shed: {rows} lines were unfolded to {n} newborns",
        rows=f"{len(table.rows):,}",
        n=f"{len(letter_of):,}",
    )
    first = np.searchsorted(row, np.arange(len(table.rows)))
    moved = tuple(replace(finding, at=first[finding.at]) for finding in table.findings)
    return table.remarked(
        Remark("", problem, NO_NEED), columns=columns, rows=table.rows[row], findings=moved, form=LITTERS
    )


def _of_litter(one: Meant) -> bool:
    return one.name == "litter" or BY_NAME[one.name].of_litter


def _of_the_line(
    table: RawTable, own: ShedWords, meant: Mapping[str, Meant], row: Rows
) -> dict[str, RawColumn]:
    """The columns that littermates share, the species of the sheet, and whatever else stands on its lines."""
    columns: dict[str, RawColumn] = {}
    for heading, cells in table.columns.items():
        one = meant.get(heading)
        if one is None:
            columns[heading] = cells.take(row)
        elif _of_litter(one) and one.name != "litter":
            columns[one.name] = _in_words(cells.take(row), own, one.name)
    species = next((one.species for one in meant.values() if one.species), "")
    if species and "species" not in columns:
        columns["species"] = RawColumn(np.zeros(len(row), dtype=np.int64), objects([species]))
    return columns


def _present(table: RawTable, meant: Mapping[str, Meant], letter: str) -> Mask:
    """Lines on which any field of this newborn is filled."""
    fields = [h for h, one in meant.items() if not _of_litter(one) and one.letter == letter]
    filled: Mask = np.logical_or.reduce([table.columns[heading].filled for heading in fields])
    return filled


def _laid_out(
    table: RawTable, meant: Mapping[str, Meant], name: str, letters: list[str], place: Rows, row: Rows
) -> RawColumn:
    """One field over all newborns, each from its own letter's column."""
    codes = np.full(len(row), -1, dtype=np.int64)
    distinct: list[object] = []
    for heading, one in meant.items():
        if one.name == name and one.letter in letters:
            cells, here = table.columns[heading], place == letters.index(one.letter)
            codes[here] = np.where(cells.codes[row[here]] >= 0, cells.codes[row[here]] + len(distinct), -1)
            distinct += list(cells.distinct)
    return RawColumn(codes, objects(distinct))


def _in_words(cells: RawColumn, own: ShedWords, name: str) -> RawColumn:
    """Codes turned into the words that they stand for; what is no code stays for the readers."""
    if name not in own.codes and not name.endswith("_after_min"):
        return cells
    return recoded(cells.codes, [own.meant(name, str(cell)) or cell for cell in cells.distinct])


def _fates(cells: RawColumn) -> dict[str, RawColumn]:
    """What a rung code says of death and of birth; any other word stands in ``died`` for the readers."""
    said = [FATES.get(str(cell), (cell, None)) for cell in cells.distinct]
    died, born = zip(*said, strict=True) if said else ((), ())
    return {"died": recoded(cells.codes, died), "born_alive": recoded(cells.codes, born)}

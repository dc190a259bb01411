"""The filled sheet for the shed, and the slips for its dead: codes turned into words, deaths put to their newborns.

Each line is a litter, unfolded to its newborns. A newborn stands where any of its fields is filled, and a line with a
dam has at least one. An outcome that nobody rang stays open, whatever the other lines hold: the form has a code for the
living.

A slip is a death. It belongs to the newborn of its tag, else to the one of its dam and letter, else to the only one of
its dam that died, or that there is. A slip for a further newborn of a known dam makes one; what belongs to nobody, or
is a second slip of one newborn, is counted and asked about.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from neonatal_stats.season.finding import NO_NEED, say
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, Remark, Rows, objects, raw_column, recoded
from neonatal_stats.vocabulary.columns import OF_LITTER
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
Named = tuple[str, RawTable]
Cells = dict[str, object]
Told = tuple[str, str, str, Remark]
TOLD = ("found_dead_at", "last_alive_at", "age at death", "cause", "cause_basis", "remarks")
SHOWS_DEATH = ("found_dead_at", "age at death", "cause")
LETTER = "shed letter"
SHOWN = 8


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


@dataclass
class _Newborn:
    """One newborn of the lines: in which table, on which row, its cells, and whether a slip was put to it."""

    table: int
    row: int
    cells: Cells
    slip: bool = False


@dataclass
class _Lines:
    """All newborns of all lines, the tables in which a slip is looked up, and what came of the slips."""

    newborns: list[_Newborn]
    among: set[int] = field(default_factory=set)
    further: list[str] = field(default_factory=list)
    nobody: list[str] = field(default_factory=list)


def with_slips(tables: Sequence[Named]) -> tuple[list[Named], int, tuple[Told, ...]]:
    """The tables, slips put to their newborns and then no tables of their own; how many belong to nobody; remarks.

    Where no table holds lines of a sheet, slips stay as they are: each is a newborn that died.
    """
    lines = [raw for _, raw in tables if raw.form == LITTERS]
    slips = [raw for _, raw in tables if raw.form == SLIPS and raw.rows.size]
    if not lines or not slips:
        return (
            [(name, without_letters(raw)) for name, raw in tables if raw.form != SLIPS or raw.rows.size],
            0,
            (),
        )
    held = _Lines([one for number, raw in enumerate(lines) for one in _of_line(number, raw)])
    remarks: list[Told] = []
    unmatched = 0
    for raw in slips:
        same_file = {number for number, own in enumerate(lines) if own.file == raw.file}
        held.among = same_file or set(range(len(lines)))
        held.further, held.nobody = [], []
        for one in _of_line(0, raw):
            _put(held, one.cells)
        unmatched += len(held.nobody)
        remarks += [("births", raw.file, raw.sheet, said) for said in _remarks(held)]
    filled = {id(raw): _rebuilt(raw, number, held) for number, raw in enumerate(lines)}
    kept = [(name, filled.get(id(raw), raw)) for name, raw in tables if raw.form != SLIPS]
    return [(name, without_letters(raw)) for name, raw in kept], unmatched, tuple(remarks)


def _of_line(number: int, raw: RawTable) -> Iterator[_Newborn]:
    names = list(raw.columns)
    cells = [raw.columns[name].at(np.arange(len(raw.rows))) for name in names]
    for row, values in enumerate(zip(*cells, strict=True)):
        yield _Newborn(number, int(raw.rows[row]), dict(zip(names, values, strict=True)))


def _put(held: _Lines, slip: Cells) -> None:
    """One slip to its newborn."""
    dam, tag, letter = (_key(slip.get(name)) for name in ("dam_id", "newborn_id", LETTER))
    among = [one for one in held.newborns if one.table in held.among]
    of_dam = [one for one in among if dam and _key(one.cells.get("dam_id")) == dam]
    found = _meant(among, of_dam, dam, tag, letter)
    if found is not None and not found.slip:
        found.slip = True
        _write(found.cells, slip)
    elif found is None and of_dam and letter and not _named(of_dam, LETTER, letter):
        new = _Newborn(of_dam[0].table, of_dam[0].row, _litter_of(of_dam[0].cells, slip), True)
        held.newborns.insert(held.newborns.index(of_dam[-1]) + 1, new)
        _write(new.cells, slip)
        held.further.append(_shown(slip))
    else:
        held.nobody.append(_shown(slip))


def _meant(
    newborns: list[_Newborn], of_dam: list[_Newborn], dam: str, tag: str, letter: str
) -> _Newborn | None:
    """The one newborn that a slip can mean; None where there is none or several."""
    tagged = _named(of_dam if dam else newborns, "newborn_id", tag) if tag else []
    if len(tagged) == 1:
        return tagged[0]
    if letter:
        lettered = [one for one in _named(of_dam, LETTER, letter) if not _other_tag(one, tag)]
        return lettered[0] if len(lettered) == 1 else None
    untagged = [one for one in of_dam if not _other_tag(one, tag)]
    dead = [one for one in untagged if one.cells.get("died") == "yes" and not one.slip]
    return dead[0] if len(dead) == 1 else untagged[0] if len(untagged) == 1 else None


def _other_tag(one: _Newborn, tag: str) -> bool:
    own = _key(one.cells.get("newborn_id"))
    return bool(tag and own and own != tag)


def _named(newborns: list[_Newborn], name: str, key: str) -> list[_Newborn]:
    return [one for one in newborns if _key(one.cells.get(name)) == key]


def _key(cell: object) -> str:
    """An identity as it is compared: without capitals and spaces, a number without its ".0"."""
    return "" if cell is None else "".join(str(cell).casefold().removesuffix(".0").split())


def _litter_of(sibling: Cells, slip: Cells) -> Cells:
    """A further newborn of the same litter: what littermates share, and its own letter and tag."""
    shared = {name: cell for name, cell in sibling.items() if name in OF_LITTER}
    return shared | {LETTER: slip.get(LETTER), "newborn_id": slip.get("newborn_id")}


def _write(cells: Cells, slip: Cells) -> None:
    """A slip into a newborn's cells: a blank outcome is a death; one that says alive stays, and is then torn."""
    if cells.get("died") is None:
        cells["died"] = "yes"
    for name in ("newborn_id", *TOLD):
        if cells.get(name) is None and slip.get(name) is not None:
            cells[name] = slip[name]
    if cells["died"] == "no" and not any(cells.get(name) is not None for name in SHOWS_DEATH):
        cells["died"] = "alive; and a slip"


def _rebuilt(raw: RawTable, number: int, held: _Lines) -> RawTable:
    own = [one for one in held.newborns if one.table == number]
    names = dict.fromkeys((*raw.columns, *(name for one in own for name in one.cells)))
    columns = {name: raw_column([one.cells.get(name) for one in own]) for name in names}
    rows = np.array([one.row for one in own], dtype=np.int64)
    return raw.remarked(columns=columns, rows=rows)


def without_letters(raw: RawTable) -> RawTable:
    """The table without the letters of a sheet's newborns, which no table of the records has."""
    if LETTER not in raw.columns:
        return raw
    return raw.remarked(columns={name: cells for name, cells in raw.columns.items() if name != LETTER})


def _shown(slip: Cells) -> str:
    parts = (slip.get(name) for name in ("dam_id", LETTER, "newborn_id"))
    return " ".join(str(part) for part in parts if part is not None) or "-"


def _remarks(held: _Lines) -> Iterator[Remark]:
    if held.further:
        yield Remark(
            "dam_id",
            say(
                "slips for a newborn that its dam's line does not hold: {n}, each counted as born and lost ({tags})",
                n=len(held.further),
                tags=", ".join(held.further[:SHOWN]),
            ),
            say("write it on the line of its litter too"),
            "asked",
            "outcome",
        )
    if held.nobody:
        yield Remark(
            "dam_id",
            say(
                "slips that fit no newborn of the lines, or several, or one that has a slip already: {n}, not counted "
                "({tags})",
                n=len(held.nobody),
                tags=", ".join(held.nobody[:SHOWN]),
            ),
            say("write dam, letter and tag on the slip as they stand on the line"),
            "asked",
            "outcome",
        )

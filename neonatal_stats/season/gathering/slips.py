"""Slips for the dead, put to their newborns on the lines of the sheet for the shed.

A slip is a death. It belongs to the newborn of its tag, else to the one of its dam and letter, else to the only one of
its dam that died, or that there is. A slip for a further newborn of a known dam makes one; what belongs to nobody, or
is a second slip of one newborn, is counted and asked about.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from neonatal_stats.season.finding import say
from neonatal_stats.season.gathering.shed import LITTERS, SLIPS
from neonatal_stats.season.grid import RawTable, Remark, raw_column
from neonatal_stats.vocabulary.columns import OF_LITTER

Named = tuple[str, RawTable]
Cells = dict[str, object]
Told = tuple[str, str, str, Remark]
TOLD = ("found_dead_at", "last_alive_at", "age at death", "cause", "cause_basis", "remarks")
SHOWS_DEATH = ("found_dead_at", "age at death", "cause")
LETTER = "shed letter"
SHOWN = 8


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
    held = _Lines([one for number, raw in enumerate(lines) for one in _newborns(number, raw)])
    remarks: list[Told] = []
    unmatched = 0
    for raw in slips:
        same_file = {number for number, own in enumerate(lines) if own.file == raw.file}
        held.among = same_file or set(range(len(lines)))
        held.further, held.nobody = [], []
        for one in _newborns(0, raw):
            _put(held, one.cells)
        unmatched += len(held.nobody)
        remarks += [("births", raw.file, raw.sheet, said) for said in _remarks(held)]
    filled = {id(raw): _rebuilt(raw, number, held) for number, raw in enumerate(lines)}
    kept = [(name, filled.get(id(raw), raw)) for name, raw in tables if raw.form != SLIPS]
    return [(name, without_letters(raw)) for name, raw in kept], unmatched, tuple(remarks)


def _newborns(number: int, raw: RawTable) -> Iterator[_Newborn]:
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

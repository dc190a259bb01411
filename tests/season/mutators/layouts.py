"""Mutators of layout: one row a dam, headings over headings, counts alone."""

from __future__ import annotations

from tests.season.mutators.book import Book, Row, Said
from tests.season.mutators.truth import Newborn

OF_DAM = ("farm", "season", "species", "dam_id", "breed", "born_at", "litter_size", "dam_parity")


def one_row_a_dam(book: Book) -> None:
    """Unfold-able: newborn 1, newborn 2, newborn 3 beside each other."""
    _fold(book, lambda name, number: f"Newborn {number} {name.replace('_', ' ')}")


def numbers_behind(book: Book) -> None:
    """The same with the number behind each heading."""
    _fold(book, lambda name, number: f"{name}_{number}")


def headings_over_headings(book: Book) -> None:
    """The same under headings of two rows: "Newborn 1" over its own columns."""
    _fold(book, lambda name, number: f"Newborn {number}|{name}")
    upper, over = [], ""
    for heading in book.headings:
        above = heading.partition("|")[0] if "|" in heading else ""
        upper.append(above if above != over else "")
        over = above
    book.upper_headings = upper


def _fold(book: Book, heading: object) -> None:
    assert callable(heading)
    own = [name for name in book.headings if name not in OF_DAM]
    sizes = range(1, 4)
    book.headings = [*OF_DAM, *(heading(name, number) for number in sizes for name in own)]
    litters: dict[object, Row] = {}
    lines = []
    for row in book.rows:
        newborn = row.newborn
        assert newborn is not None
        line = litters.get(newborn["dam_id"])
        if line is None:
            line = litters[newborn["dam_id"]] = Row({name: row.cells.get(name) for name in OF_DAM}, None)
            lines.append(line)
        number = int(str(newborn["birth_order"]))
        line.cells |= {heading(name, number): row.cells.get(name) for name in own}
    most = max(int(str(newborn["birth_order"])) for newborn in book.births)
    book.rows_read = len(book.births)
    book.rows = lines
    said = f"each row holds up to 3 newborns; {len(lines)} rows were unfolded to {len(book.births)} newborns"
    book.said.append(Said(None, "", said, "noted"))
    assert most <= 3


def counts_alone(book: Book) -> None:
    """Born, born alive and dead later for each dam: no identity, no times, no littermates told apart."""
    by_dam: dict[object, list[Newborn]] = {}
    for newborn in book.births:
        by_dam.setdefault(newborn["dam_id"], []).append(newborn)
    book.rows, book.births = [], []
    shared = ("farm", "season", "species", "dam_id", "breed", "dam_parity")
    for litter in by_dam.values():
        still = sum(n["born_alive"] == "no" for n in litter)
        died = sum(n["died"] == "yes" for n in litter) - still
        counts = {"Born": len(litter), "Born alive": len(litter) - still, "Died later": died}
        common = {name: litter[0][name] for name in shared}
        book.rows.append(Row({**common, **counts}, None))
        for place in range(len(litter)):
            fate = {
                "born_alive": "no" if place < still else "yes",
                "died": "yes" if place < still + died else "no",
            }
            book.births.append({**common, **fate, "litter_size": len(litter)})
    book.headings = [*shared, "Born", "Born alive", "Died later"]
    book.rows_read = len(book.births)
    said = (
        f"the sheet counts newborns for each dam: {len(book.rows)} rows were expanded to {len(book.births)} newborns; "
        "which littermate died, and when, is not known, so nothing that differs between littermates can be asked"
    )
    book.said.append(Said(None, "", said, "noted"))

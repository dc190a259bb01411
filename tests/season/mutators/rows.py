"""Mutators of rows: what stands between, above and beside the records, and records written twice."""

from __future__ import annotations

from tests.season.mutators.book import Book, Row, Said


def blank_rows(book: Book) -> None:
    """Empty rows in between: no records, so nothing is said."""
    for place in (3, 9, 17):
        book.rows.insert(place, Row({}, None))


def headings_again(book: Book) -> None:
    """The headings printed again at the top of the second page."""
    again = Row({heading: heading for heading in book.headings}, None)
    book.rows.insert(11, again)
    book.said.append(Said(again, "", "the headings stand here again", "no record"))


def totals(book: Book) -> None:
    """A row of totals at the foot."""
    last = Row({"dam_id": "Total", "litter_size": 40, "died": "6"}, None)
    book.rows.append(last)
    book.said.append(Said(last, "", "a row of totals is no newborn", "no record"))


def row_twice(book: Book) -> None:
    """Two rows copied below: each newborn counts once."""
    for newborn in book.some(2, lambda n: n["newborn_id"] is not None):
        copy = Row(dict(book.row_of(newborn).cells), None)
        book.rows.append(copy)
        problem = "the same row stands in the records twice; it is counted once"
        book.said.append(Said(copy, "newborn_id", problem, "set aside"))


def row_twice_fuller(book: Book) -> None:
    """A newborn written again with a cell left empty: the fuller row counts."""
    for newborn in book.some(2, lambda n: n["newborn_id"] is not None):
        copy = Row({**book.row_of(newborn).cells, "breed": None}, None)
        book.rows.insert(0, copy)
        problem = "one newborn stands in two rows; the one with more cells filled is used"
        book.said.append(Said(copy, "newborn_id", problem, "set aside"))


def two_outcomes(book: Book) -> None:
    """A newborn written again with another outcome: neither row can be believed."""
    (newborn,) = book.some(1, lambda n: n["died"] == "no")
    copy = Row({**book.row_of(newborn).cells, "died": "yes", "last_seen_at": None}, None)
    book.rows.append(copy)
    problem = "one newborn stands in two rows that differ in what became of it"
    book.say(newborn, "newborn_id", problem, "set aside")
    book.said.append(Said(copy, "newborn_id", problem, "set aside"))
    book.lose(newborn)
    for sibling in book.births:
        if sibling["dam_id"] == newborn["dam_id"]:
            book.say(sibling, "litter_size", FEWER, "asked")
            break


FEWER = "the records hold fewer littermates than this litter size; were the dead ones written down?"


def one_tag_two_newborns(book: Book) -> None:
    """Two newborns of different dams with one tag: both count, neither keeps the tag."""
    first, second = book.some(2, lambda n: n["newborn_id"] is not None and n["birth_order"] == 1)
    book.row_of(second).cells["newborn_id"] = first["newborn_id"]
    for newborn in (first, second):
        problem = "the same identity stands at two newborns, so feeds and samples cannot be told apart"
        book.say(newborn, "newborn_id", problem, "set to missing")
        newborn["newborn_id"] = None


def one_cell_too_many(book: Book) -> None:
    """A row with a cell beyond the last heading, as when a comma is not quoted."""
    (newborn,) = book.some(1, lambda n: n["litter_size"] == 1)
    book.headings.append("")
    book.row_of(newborn).cells[""] = "moved"
    problem = "the row has more cells than there are headings, so its cells may have moved"
    book.say(newborn, "", problem, "set aside")
    book.lose(newborn)


def unknown_column(book: Book) -> None:
    """A column of remarks that means nothing here, with things a spreadsheet or a browser might act on."""
    book.headings.append("Scribbles")
    for row, text in zip(book.rows, ("=1+1", "<b>bold</b>", "a\nb", "'quoted'"), strict=False):
        row.cells["Scribbles"] = text
    book.said.append(
        Said(None, "Scribbles", "no column of births is called so; the review leaves it out", "asked")
    )

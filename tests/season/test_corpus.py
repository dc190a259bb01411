"""Every messy file gives exactly the known season and list, or one clear sentence; no row is lost from sight.

Each named file is made of one flock, the next one of another; with EVERY_FORM=yes each of both.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from tests.season.mutators.book import Book, fresh_book
from tests.season.mutators.corpus import CORPUS, NUMBERS, Messy
from tests.season.mutators.truth import COLUMNS, Newborn, expected_age_h
from tests.thinned import EVERY_FORM

KEY = ("dam_id", "birth_order")
FORMS = [
    (messy, NUMBERS[(place + turn) % 2])
    for turn in range(2 if EVERY_FORM else 1)
    for place, messy in enumerate(CORPUS)
]


def made(messy: Messy, number: int, folder: Path) -> tuple[Book, Path, dict[str, Path]]:
    """The book, its file, and the map and settings that go with it."""
    book = fresh_book(number)
    for mutate in messy.mutators:
        mutate(book)
    path = messy.writer(book, folder)
    given = {}
    for name, text in (("map", book.map_text), ("settings", book.settings_text)):
        if text:
            given[name] = folder / f"{name}.toml"
            given[name].write_text(text, encoding="utf-8")
    return book, path, given


@pytest.mark.quickly(18)
@pytest.mark.parametrize(("messy", "number"), FORMS, ids=[f"{messy.name}-{n}" for messy, n in FORMS])
def test_a_messy_file_gives_the_known_season_or_one_sentence(
    messy: Messy, number: int, tmp_path: Path
) -> None:
    book, path, given = made(messy, number, tmp_path)
    if book.sentence:
        with pytest.raises(CannotRead) as raised:
            read_season(path, **given)
        assert str(raised.value) == book.sentence.format(file=path.name)
        return
    season = read_season(path, **given)
    assert listed(season) == expected_list(book)
    assert balance(season) == expected_balance(book)
    assert [source.unaccounted for source in season.sources] == [0] * len(season.sources)
    asked = _asked(book)
    assert newborns(season, asked) == [_comparable(newborn, asked) for newborn in _in_order(book.births)]


def listed(season: Season) -> Counter[tuple[object, str, str, str]]:
    """The problem list, without the fixed wording of remedies."""
    rows = season.problems[["row", "column", "problem", "ended"]].itertuples(index=False)
    unlisted = ("the file is not UTF-8", "hidden")
    return Counter(
        (None if pd.isna(row) else int(row), column, problem, ended)
        for row, column, problem, ended in rows
        if not problem.startswith(unlisted)
    )


def expected_list(book: Book) -> Counter[tuple[object, str, str, str]]:
    return Counter(
        (said.row.number if said.row else None, said.column, said.problem, said.ended) for said in book.said
    )


def balance(season: Season) -> tuple[int, int, int, int, int]:
    births = season.balances[0]
    return births.rows_read, births.used, births.used_with_missing, births.set_aside, births.no_record


def expected_balance(book: Book) -> tuple[int, int, int, int, int]:
    """Counted from the truth: each row ends in its worst place."""
    read = (
        book.rows_read
        if book.rows_read is not None
        else sum(any(map(_filled, row.cells.values())) for row in book.rows)
    )
    aside = {id(said.row) for said in book.said if said.ended == "set aside"}
    none = {id(said.row) for said in book.said if said.ended == "no record"}
    missing = {id(said.row) for said in book.said if said.ended == "set to missing"} - aside - none
    return read, read - len(aside) - len(missing) - len(none), len(missing), len(aside), len(none)


def _filled(cell: object) -> bool:
    return cell is not None and cell != ""


def _asked(book: Book) -> list[str]:
    """The columns to compare, with what follows from them."""
    columns = [name for name in book.births[0] if name in {*KEY, *COLUMNS}]
    return (
        [*columns, "stood_not_by_h"]
        if any("stood_not_by_h" in newborn for newborn in book.births)
        else columns
    )


def _in_order(births: list[Newborn]) -> list[Newborn]:
    return sorted(births, key=lambda n: tuple(str(n.get(name)) for name in (*KEY, "born_alive", "died")))


def newborns(season: Season, asked: list[str]) -> list[dict[str, object]]:
    """What was read, newborn by newborn, in the order of the truth."""
    records = season.births.astype(object).where(season.births.notna(), None).to_dict("records")
    read = []
    for record in records:
        plain = {str(name): _plain(value) for name, value in record.items()}
        plain["cause"] = record["cause"]
        read.append(plain)
    return [_comparable(newborn, asked, newborn.get("age_h")) for newborn in _in_order(read)]


def _plain(value: object) -> object:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value


def _comparable(newborn: Newborn, columns: list[str], age_h: object = "ask") -> dict[str, object]:
    compared = {name: _comparable_value(newborn.get(name)) for name in columns}
    if "born_at" in columns:
        compared["age_h"] = expected_age_h(newborn) if age_h == "ask" else age_h
    return compared


def _comparable_value(value: object) -> object:
    if isinstance(value, pd.Timestamp):
        return value.to_pydatetime()
    return round(float(value), 6) if isinstance(value, int | float) else value


def test_the_corpus_holds_sixty_files_and_each_is_named_once() -> None:
    names = [messy.name for messy in CORPUS]
    assert len(names) == len(set(names))
    assert len(names) * len(NUMBERS) >= 120

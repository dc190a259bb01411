"""Newborns of which only birth alive or dead is written: no page says that none was lost later."""

from __future__ import annotations

from neonatal_stats.chapters import losses, records, survival
from neonatal_stats.tables import printed
from tests.season.books import book, read


def texts(born_alive: list[str]) -> tuple[str, list[str], tuple[str, ...]]:
    """The first sentence of the losses, the names of the times of loss, and what survival lacks."""
    season = read(book("born_alive", born_alive))
    result = losses.answer(season)
    first = str(losses.sentences(result)[0].text)
    return first, [one.label for one in losses.glance(result)], survival.missing(season)


def test_later_losses_are_not_said_to_be_none() -> None:
    first, times, lacks = texts(["no"] * 3 + ["yes"] * 27)
    assert "3 of 30 (10.0\u00a0%" in first
    assert "what became of the others is not written" in first
    assert "after birth" not in times
    assert times[0] == "birth"
    assert "nothing is written of the lambs after their birth" in lacks[0]


def test_none_born_dead_is_said_of_birth_alone() -> None:
    first, _, _ = texts(["yes"] * 30)
    assert first == "None of the 30 lambs born was born dead; what became of them later is not written."


def test_the_records_chapter_counts_no_deaths_after_birth_of_them() -> None:
    tables = {
        table.name: table
        for table in records.tables(records.answer(read(book("born_alive", ["no"] + ["yes"] * 29))))
    }
    assert "died after birth" not in str(printed(tables["records-ages"]))

"""Single cells: what is read, what is refused, and in which words."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import numpy as np
import pytest

from neonatal_stats.season.cells.dates import read_dates
from neonatal_stats.season.cells.numbers import decimal_mark, plain_number, read_elapsed, read_numbers
from neonatal_stats.season.cells.parsed import read_text, read_words
from neonatal_stats.season.grid import raw_column
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import column

COMMA, POINT = (
    "the comma may stand before thousands or before decimals",
    "the point may stand before thousands or before decimals",
)


@pytest.mark.parametrize(
    ("cells", "file_uses_comma", "number", "trouble"),
    [
        (["1,500"], False, None, COMMA),
        (["1,500", "2,5"], False, 1.5, ""),
        (["1,500", "2.5"], False, 1500.0, ""),
        (["1,500"], True, 1.5, ""),
        (["1.500"], True, None, POINT),
        (["1.500", "2,5"], True, 1500.0, ""),
        (["1.500"], False, 1.5, ""),
        (["1.234,5"], False, 1234.5, ""),
        (["1,234.5"], False, 1234.5, ""),
        (["12 500"], False, 12500.0, ""),
        (["4.2.1"], False, None, "this is not a number"),
        (["-3"], False, -3.0, ""),
    ],
)
def test_the_decimal_sign_is_proven_or_the_number_is_refused(
    cells: list[str], file_uses_comma: bool, number: float | None, trouble: str
) -> None:
    found, said = plain_number(cells[0], decimal_mark(raw_column(cells), file_uses_comma))
    assert said == trouble
    assert (None if np.isnan(found) else found) == number


@pytest.mark.parametrize(
    ("cell", "value", "note", "trouble"),
    [
        ("2 l", 2000.0, "it was read as 2000 ml, by the unit in the cell", ""),
        ("250 ml", 250.0, "", ""),
        ("250ML", 250.0, "", ""),
        ("3 kg", None, "", "this is not a number in the column's unit"),
        ("about 200", None, "", "this is not a number"),
        (date(2026, 4, 3), None, "", "the spreadsheet has turned this number into a date or a time"),
        ("NA", None, "", ""),
    ],
)
def test_a_unit_in_the_cell_is_heeded_and_said(
    cell: object, value: float | None, note: str, trouble: str
) -> None:
    parsed = read_numbers(column("feeds", "volume_ml"), raw_column([cell]), None, False)
    assert (parsed.notes[0], parsed.trouble[0]) == (note, trouble)
    assert (None if np.isnan(parsed.values[0]) else parsed.values[0]) == value


@pytest.mark.parametrize(
    ("cell", "when", "is_day"),
    [
        ("2026-04-03", "2026-04-03T00:00", True),
        ("2026-04-03T05:30", "2026-04-03T05:30", False),
        ("13/04/2026 0530", "2026-04-13T05:30", False),
        ("13.04.26 5.30", "2026-04-13T05:30", False),
        ("3 Apr 2026 5:30 pm", "2026-04-03T17:30", False),
        ("April 3, 2026", "2026-04-03T00:00", True),
        ("Fri 3rd April 2026, 05:30", "2026-04-03T05:30", False),
        ("20260403", "2026-04-03T00:00", True),
        ("2026-04-03 24:00", "2026-04-04T00:00", False),
        (46115.25, "2026-04-03T06:00", False),
        ("46115", "2026-04-03T00:00", True),
        (datetime(2026, 4, 3, 5, 30), "2026-04-03T05:30", False),
        (date(2026, 4, 3), "2026-04-03T00:00", True),
    ],
)
def test_dates_in_many_forms(cell: object, when: str, is_day: bool) -> None:
    other = datetime(2026, 4, 20, 1, 1)
    parsed = read_dates(column("births", "born_at"), raw_column([cell, other]), "a.csv", Settings(), {})
    assert parsed.values[0] == np.datetime64(when)
    assert parsed.extra["is_day"][0][0] == is_day
    assert parsed.trouble[0] == ""


@pytest.mark.parametrize(
    ("cell", "trouble"),
    [
        ("31/04/2026", "there is no such day"),
        ("2026-02-29", "there is no such day"),
        ("3 Floréal 2026", "this is not a date that can be read"),
        ("3/4", "this is not a date that can be read"),
        ("1926-04-03", "the year is not between 1980 and 2099"),
        ("2026-04-03 25:10", "this is not a date that can be read"),
        ("05:30", "a clock time without its date"),
        ("#N/A", ""),
        ("?", ""),
    ],
)
def test_what_is_no_date_is_said(cell: str, trouble: str) -> None:
    parsed = read_dates(column("births", "died_at"), raw_column([cell]), "a.csv", Settings(), {})
    assert np.isnat(parsed.values[0])
    assert parsed.trouble[0] == trouble


@pytest.mark.parametrize(
    ("cell", "minutes", "clock_s", "not_by"),
    [
        ("45", 45.0, None, False),
        ("45 min", 45.0, None, False),
        ("1.5 h", 90.0, None, False),
        ("05:45", None, 20700.0, False),
        (time(5, 45), None, 20700.0, False),
        (timedelta(minutes=50), 50.0, None, False),
        ("not by 06:30", None, 23400.0, True),
        ("Not seen by 90", 90.0, None, True),
        ("> 120 min", 120.0, None, True),
    ],
)
def test_times_after_birth(cell: object, minutes: float | None, clock_s: float | None, not_by: bool) -> None:
    parsed = read_elapsed(column("births", "stood_after_min"), raw_column([cell]), None, False)
    found = parsed.values[0], parsed.extra["clock_s"][0][0]
    assert tuple(None if np.isnan(value) else value for value in found) == (minutes, clock_s)
    assert parsed.extra["not_by"][0][0] == not_by
    assert parsed.trouble[0] == ""


@pytest.mark.parametrize(
    ("cell", "text", "trouble"),
    [
        ("000123", "000123", ""),
        (826012345678901.0, "826012345678901", ""),
        ("826012345678901", "826012345678901", ""),
        ("8.26012E+14", None, "the spreadsheet has shortened this number and its last digits are lost"),
        (
            1.2e18,
            None,
            "the spreadsheet keeps 15 digits of a number and the last digits of this one are lost",
        ),
        (datetime(2026, 3, 4), None, "the spreadsheet has turned this text into a date or a time"),
        (" UK  12\u00a0345 ", "UK 12 345", ""),
        ("unknown", None, ""),
        ("'=A1", "=A1", ""),
    ],
)
def test_identities_are_text(cell: object, text: str | None, trouble: str) -> None:
    parsed = read_text(column("births", "newborn_id"), raw_column([cell]))
    assert (parsed.values[0], parsed.trouble[0]) == (text, trouble)


@pytest.mark.parametrize(
    ("name", "cell", "word", "trouble"),
    [
        ("sex", "F", "female", ""),
        ("sex", "Castrated_Male", "castrated male", ""),
        ("delivery", "C-section", "caesarean", ""),
        ("delivery", "none", None, "this is no word for delivery"),
        ("delivery", 4.0, None, "a number for ease of birth means different things in different lists"),
        ("resuscitation", "stimulated, airway cleared", "airway cleared; stimulated", ""),
        ("resuscitation", "none", "none", ""),
        ("resuscitation", "none; drug", None, "it says none and something else at once"),
        ("resuscitation", "prayer", None, "this is no word for resuscitation"),
        ("died", "TRUE", "yes", ""),
        ("died", True, "yes", ""),
        ("suck_reflex", "unknown", None, ""),
        ("cause", "unknown", "unknown", ""),
    ],
)
def test_words_in_many_spellings(name: str, cell: object, word: str | None, trouble: str) -> None:
    tidy = column("births", name)
    parsed = read_words(tidy, raw_column([cell]), tidy.words, {})
    assert (parsed.values[0], parsed.trouble[0]) == (word, trouble)

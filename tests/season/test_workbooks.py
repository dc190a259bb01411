"""What workbooks hide: rows and columns, formats, formulas, sheets."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pandas as pd
import xlsxwriter

from neonatal_stats.season.read import read_season

HEADINGS = ["newborn_id", "dam_id", "born_at", "died", "birth_weight_kg", "species"]


def test_identities_survive_as_numbers_of_fifteen_digits_and_with_shown_zeros(tmp_path: Path) -> None:
    path = tmp_path / "tags.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("births")
        zeros = book.add_format({"num_format": "000000"})
        sheet.write_row(0, 0, HEADINGS)
        sheet.write(1, 0, 123, zeros)
        sheet.write_row(1, 1, [826012345678901, "2026-04-13 05:30", "no", 4.2, "sheep"])
        sheet.write_row(2, 0, ["000124", "826012345678901", "2026-04-13 05:50", "no", 4.0, "sheep"])
        sheet.write_row(3, 0, [1234567890123456789, "D2", "2026-04-14 05:50", "no", 4.0, "sheep"])
    season = read_season(path)
    identity = season.births["newborn_id"].astype(object)
    assert identity.where(identity.notna(), None).tolist() == [
        "000123",
        "000124",
        None,
    ]
    assert season.births["dam_id"].tolist() == ["826012345678901", "826012345678901", "D2"]
    assert season.problems["problem"].tolist() == [
        "the spreadsheet keeps 15 digits of a number and the last digits of this one are lost"
    ]


def test_hidden_rows_columns_and_sheets_are_read_and_said(tmp_path: Path) -> None:
    path = tmp_path / "hidden.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("births")
        sheet.write_row(0, 0, HEADINGS)
        for row in (1, 2, 3):
            sheet.write_row(row, 0, [f"00{row}", f"D{row}", "2026-04-13", "no", 4.2, "sheep"])
        sheet.set_row(2, None, None, {"hidden": True})
        sheet.set_column(4, 4, None, None, {"hidden": True})
        feeds = book.add_worksheet("feeds")
        feeds.write_row(0, 0, ["newborn_id", "fed_at", "volume_ml"])
        feeds.write_row(1, 0, ["001", "2026-04-13 12:00", 120])
        feeds.hide()
        book.add_worksheet("notes").write(0, 0, "call the vet")
        book.add_worksheet("list").write_column(0, 0, ["things to buy", "twine"])
    season = read_season(path)
    assert len(season.births) == 3
    assert len(season.feeds) == 1
    listed = season.problems[["sheet", "problem"]].to_numpy().tolist()
    assert sorted(listed) == [
        ["births", "1 hidden rows were read like all others, the first is row 3"],
        ["births", "hidden columns were read like all others: E"],
        ["feeds", "the sheet is hidden in the workbook; it was read all the same"],
        ["list", "the sheet was left out: none of its headings opens a table (1 rows)"],
    ]


def test_formulas_never_worked_out_and_errors_are_set_to_missing(tmp_path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(HEADINGS)
    sheet.append(["001", "D1", datetime(2026, 4, 13, 5, 30), "no", "=2+2", "sheep"])
    sheet.append(["002", "D2", datetime(2026, 4, 13, 6, 30), "no", "#DIV/0!", "sheep"])
    sheet.append(["003", "D3", datetime(2026, 4, 13, 7, 30), True, 4.4, "sheep"])
    path = tmp_path / "formulas.xlsx"
    book.save(path)
    season = read_season(path)
    assert season.births["birth_weight_kg"].dropna().tolist() == [4.4]
    assert season.births["died"].tolist() == [False, False, True]
    lines = season.problems[["row", "column", "value", "problem", "ended"]].to_numpy().tolist()
    problem = "the spreadsheet could not work this cell out"
    assert lines == [
        [2, "birth_weight_kg", "#VALUE!", problem, "set to missing"],
        [3, "birth_weight_kg", "#DIV/0!", problem, "set to missing"],
    ]


def test_parquet_with_categories_nullable_numbers_and_lists_of_nothing(tmp_path: Path) -> None:
    frame = pd.DataFrame(
        {
            "dam_id": pd.Categorical(["000001", "000001", "000002"]),
            "litter_size": pd.array([2, 2, None], dtype="Int64"),
            "born_at": pd.to_datetime(["2026-04-13 05:30", "2026-04-13 05:50", None]),
            "died": pd.array([True, False, False], dtype="boolean"),
        }
    )
    frame.to_parquet(tmp_path / "births.parquet")
    births = read_season(tmp_path / "births.parquet").births
    assert births["dam_id"].tolist() == ["000001", "000001", "000002"]
    assert births["litter_size"].tolist() == [2, 2, 1]
    assert births["litter_size_counted"].tolist() == [False, False, True]

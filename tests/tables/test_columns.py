"""A declared table: on the page as a person reads it, in the CSV as numbers, and in a codebook."""

from __future__ import annotations

import math

import pandas as pd
import pytest

from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.tables import NumberWords, Printer, Table, columns, printed

NAN, SPACE = math.nan, "\u00a0"
FRAME = pd.DataFrame(
    {
        "window": ["24 h", "end"],
        "by": ["24 Stunden", "42 Tage"],
        "week": pd.to_datetime(["2026-03-30", "2026-04-06"]),
        "monday": ["30.3.", "6.4."],
        "events": [1234.0, NAN],
        "low": [0.09, NAN],
        "high": [0.142, NAN],
        "ratio_low": [1.2, NAN],
        "ratio_high": [NAN, 3.4],
        "change_low": [-0.031, NAN],
        "change_high": [0.012, NAN],
        "start_h": [0.0, 24.0],
        "end_h": [12.0, 72.0],
        "verdict": [Verdict.CLEAR, Verdict.TOO_FEW],
        "reading": ["lost more", "too few to say"],
        "never_shown": [1, 2],
    }
)
DECLARED = (
    columns.key("window", "Window"),
    columns.text("by", "Lost by"),
    columns.text("monday", "Week from Monday", raw="week"),
    columns.count("events", "Lost"),
    columns.interval("low", "high", "95 % interval"),
    columns.interval("ratio_low", "ratio_high", "95 % interval of the ratio", "ratio"),
    columns.interval("change_low", "change_high", "95 % interval of the change", "points"),
    columns.age_span("start_h", "end_h", "Age"),
    columns.text("reading", "Reading", raw="verdict"),
)
GERMAN = Printer(NumberWords(of="von", to="bis", at_least="mindestens", decimal=","))


def _table(printer: Printer | None = None) -> Table:
    return Table("t", "Title", FRAME, DECLARED, printer=printer or Printer())


def test_what_a_person_reads() -> None:
    shown = printed(_table())
    assert list(shown.columns) == [column.heading for column in DECLARED[1:]]
    assert shown.iloc[0].tolist() == [
        "24 Stunden",
        "30.3.",
        "1\u202f234",
        f"9.0 to 14.2{SPACE}%",
        "at least 1.20",
        "−3.1 to +1.2",
        f"0 to 12{SPACE}h",
        "lost more",
    ]
    assert shown.iloc[1, 2:].tolist() == [
        "–",
        "–",
        "at most 3.40",
        "–",
        f"24{SPACE}h to 3{SPACE}d",
        "too few to say",
    ]


def test_a_table_prints_in_its_own_language() -> None:
    assert printed(_table(GERMAN)).iloc[0, 3:6].tolist() == [
        f"9,0 bis 14,2{SPACE}%",
        "mindestens 1,20",
        "−3,1 bis +1,2",
    ]


def test_what_the_csv_holds() -> None:
    raw = _table().raw()
    assert raw.to_csv(index=False, lineterminator="\n").splitlines() == [
        "window,by,week,events,low,high,ratio_low,ratio_high,change_low,change_high,start_h,end_h,verdict",
        "24 h,24 Stunden,2026-03-30,1234,0.09,0.142,1.2,,-0.031,0.012,0.0,12.0,clear",
        "end,42 Tage,2026-04-06,,,,,3.4,,,24.0,72.0,too few to say",
    ]


def test_the_codebook_has_a_line_for_each_column_of_the_csv() -> None:
    book = _table().codebook()
    assert book["name"].tolist() == list(_table().raw().columns)
    lines = book.set_index("name")
    assert lines.loc["high", ["heading", "kind", "unit", "end"]].tolist() == [
        "95 % interval",
        "share",
        "share, 0 to 1",
        "high",
    ]
    assert lines.loc["start_h", "unit"] == "hours since birth"
    assert lines.loc["verdict", "heading"] == "Reading"


def test_rows_of_several_kinds_in_one_column() -> None:
    frame = pd.DataFrame(
        {"value": [0.237, 1.5], "low": [0.1, 1.1], "high": [0.4, 2.0], "kind": ["share", "ratio"]}
    )
    value = columns.mixed(columns.number("value", "Value"), "kind")
    bounds = columns.mixed(columns.interval("low", "high", "Interval"), "kind")
    table = Table("t", "T", frame, (value, bounds), printer=Printer())
    assert printed(table).to_numpy().tolist() == [
        [f"23.7{SPACE}%", f"10.0 to 40.0{SPACE}%"],
        ["1.50", "1.10 to 2.00"],
    ]
    assert list(table.raw().columns) == ["value", "low", "high"]


def test_a_number_and_of_how_many_are_one_cell_and_two_columns() -> None:
    frame = pd.DataFrame({"events": [5, 3, NAN], "n": [628, 7, NAN], "born": [628, 7, 3]})
    printed_as = [columns.counts("events", "n", kind, kind) for kind in ("counts", "of", "out of")]
    table = Table("t", "T", frame.head(2), printed_as, printer=Printer())
    assert printed(table).to_numpy().tolist() == [
        [f"5 of 628 (0.8{SPACE}%)", "5/628", "5 / 628"],
        ["3 of 7", "3/7", "3 / 7"],
    ]
    assert table.raw().to_csv(index=False, lineterminator="\n") == "events,n\n5,628\n3,7\n"
    assert table.codebook()["end"].tolist() == ["events", "n"]
    unknown = Table("t", "T", frame.tail(1), printed_as[:1], printer=Printer())
    assert printed(unknown).to_numpy().tolist() == [["–"]]


def test_a_word_in_a_column_of_numbers_stays_a_word() -> None:
    frame = pd.DataFrame({"born": [1, 12345, "all litters"]})
    table = Table("t", "T", frame, (columns.count("born", "Born"),), printer=Printer())
    assert printed(table)["Born"].tolist() == ["1", "12\u202f345", "all litters"]


def test_a_column_that_is_not_in_the_frame_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^table t: declared and not in its frame: lost, gone$"):
        Table(
            "t",
            "T",
            FRAME,
            (columns.count("lost", "Lost"), columns.text("by", "By", raw="gone")),
            printer=Printer(),
        )


def test_an_unknown_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="'percent' is no kind of column"):
        columns.interval("low", "high", "Interval", "percent")


def test_what_a_person_is_to_tick_has_a_box_for_each_choice_and_is_empty_in_the_csv() -> None:
    frame = pd.DataFrame({"dam": ["A", "B"], "keep": ["", ""]})
    declared = (columns.text("dam", "Dam"), columns.to_tick("keep", "Keep or cull", "keep", "cull"))
    table = Table("t", "Title", frame, declared, printer=Printer())
    assert printed(table)["Keep or cull"].tolist() == ["\u2610\u00a0keep  \u2610\u00a0cull"] * 2
    assert table.raw()["keep"].tolist() == ["", ""]


def test_none_of_none_is_a_dash() -> None:
    frame = pd.DataFrame({"events": [1.0, NAN], "n": [3.0, NAN]})
    table = Table("t", "T", frame, (columns.counts("events", "n", "Not accepted", "of"),), printer=Printer())
    assert printed(table)["Not accepted"].tolist() == ["1/3", "–"]

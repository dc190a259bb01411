"""Files made to harm or to overwhelm are refused or made harmless, each with one sentence, in bounded memory."""

from __future__ import annotations

import io
import tracemalloc
import zipfile
from pathlib import Path

import pytest
import xlsxwriter

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.read import read_season
from neonatal_stats.season.tidy import write_tidy

HEADER = "newborn_id,dam_id,born_at,died,breed\n"
ONE_ROW = "000123,900000000000001,2026-04-13 05:30,no,Hill\n"


def refused(path: Path) -> str:
    """The one sentence with which a file is refused."""
    with pytest.raises(CannotRead) as raised:
        read_season(path)
    return str(raised.value)


def workbook(path: Path) -> Path:
    """A small sound workbook to be spoiled."""
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("births")
        sheet.write_row(0, 0, ["newborn_id", "dam_id", "born_on", "died"])
        sheet.write_row(1, 0, ["000123", "D1", "2026-04-13", "no"])
    return path


def replaced(path: Path, part: str, text: bytes) -> Path:
    """The workbook with one part replaced."""
    old = zipfile.ZipFile(io.BytesIO(path.read_bytes()))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, text if name == part else old.read(name))
    return path


@pytest.mark.slow
def test_a_zip_bomb_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    path = workbook(tmp_path / "bomb.xlsx")
    with (
        zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive,
        archive.open("xl/media/image1.png", "w") as part,
    ):
        for _ in range(700):
            part.write(bytes(1_000_000))
    tracemalloc.start()
    sentence = refused(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "it would unpack to 700 MB in" in sentence
    assert sentence.endswith(
        "more than the 600 MB accepted; keep only the sheets of the records and save it again."
    )
    assert peak < 50_000_000


def test_a_workbook_with_entities_is_refused(tmp_path: Path) -> None:
    entities = (
        b'<?xml version="1.0"?><!DOCTYPE b [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">'
        b'<c r="A1" t="inlineStr"><is><t>&b;</t></is></c></row></sheetData></worksheet>'
    )
    path = replaced(workbook(tmp_path / "entities.xlsx"), "xl/worksheets/sheet1.xml", entities)
    assert refused(path) == (
        "entities.xlsx: it declares a document type, which no spreadsheet writes; "
        "do not open it, and ask whoever sent it for a plain CSV."
    )


@pytest.mark.parametrize("part", ["xl/styles.xml", "xl/workbook.xml", "docProps/core.xml"])
def test_no_part_of_a_workbook_may_declare_a_document_type(tmp_path: Path, part: str) -> None:
    path = replaced(workbook(tmp_path / "any.xlsx"), part, b'<?xml version="1.0"?><!DOCTYPE x []><x/>')
    assert refused(path).startswith("any.xlsx: it declares a document type")


def test_a_cell_at_the_far_corner_is_refused_before_the_sheet_is_laid_out(tmp_path: Path) -> None:
    path = tmp_path / "corner.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("births")
        sheet.write_row(0, 0, ["newborn_id", "dam_id", "born_on", "died"])
        sheet.write(1_048_575, 1_900, "x")
    assert refused(path) == (
        "corner.xlsx, sheet births: it has 1,048,576 rows of 1,901 columns and at most 2,000,000 rows and "
        "100,000,000 cells are accepted; remove what lies outside the records and save it again."
    )


def test_ten_thousand_columns_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "wide.csv"
    path.write_text(",".join(f"c{n}" for n in range(10_000)) + "\n" + "," * 9_999 + "\n", encoding="utf-8")
    assert refused(path) == (
        "wide.csv: it has 10,000 columns and at most 2,000 are accepted; "
        "keep only the columns of the records and save it again."
    )


@pytest.mark.slow
def test_a_cell_of_a_hundred_megabytes_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "long.csv"
    path.write_text(HEADER + '000123,D1,2026-04-13,no,"' + "a" * 100_000_000 + '"\n', encoding="utf-8")
    assert refused(path) == (
        "long.csv, line 2: one cell is longer than 100,000 characters; "
        "look for a quotation mark that is opened and never closed, and save the file again."
    )


def test_a_long_text_in_a_workbook_is_refused(tmp_path: Path) -> None:
    strings = (
        b'<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><si><t>'
        + b"a" * 5_000_000
        + b"</t></si></sst>"
    )
    path = replaced(workbook(tmp_path / "long.xlsx"), "xl/sharedStrings.xml", strings)
    assert refused(path) == (
        "long.xlsx: one cell is longer than 100,000 characters; shorten it and save it again."
    )


def test_an_ods_cell_repeated_a_billion_times_is_refused(tmp_path: Path) -> None:
    names = ("office", "table", "text")
    spaces = " ".join(f'xmlns:{n}="urn:oasis:names:tc:opendocument:xmlns:{n}:1.0"' for n in names)
    content = (
        f"<office:document-content {spaces}><office:body><office:spreadsheet><table:table table:name='births'>"
        '<table:table-row table:number-rows-repeated="1000000"><table:table-cell office:value-type="string" '
        'table:number-columns-repeated="1000000"><text:p>x</text:p></table:table-cell></table:table-row>'
        "</table:table></office:spreadsheet></office:body></office:document-content>"
    )
    path = tmp_path / "repeated.ods"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
    assert refused(path) == (
        "repeated.ods, sheet births: it has 1,000,000 columns and at most 2,000 are accepted; "
        "keep only the columns of the records and save it again."
    )


FORMULA = '=HYPERLINK("http://example.invalid";"x")'


def test_formulas_and_markup_in_cells_stay_text_and_are_written_harmless(tmp_path: Path) -> None:
    path = tmp_path / "formula.csv"
    cells = [FORMULA.replace('"', '""'), "+1", "-1+2", "@SUM(A1)", "<script>alert(1)</script>"]
    rows = [f'00{place},D{place},2026-04-13,no,"{cell}"\n' for place, cell in enumerate(cells)]
    path.write_text(HEADER + "".join(rows), encoding="utf-8")
    season = read_season(path)
    assert sorted(season.births["breed"]) == sorted(
        [FORMULA, "+1", "-1+2", "@SUM(A1)", "<script>alert(1)</script>"]
    )
    write_tidy(season, tmp_path / "tidy")
    written = (tmp_path / "tidy" / "births.csv").read_text(encoding="utf-8")
    assert '"\'=HYPERLINK(""http://example.invalid"";""x"")"' in written
    assert ",'@SUM(A1)," in written
    assert (
        read_season(tmp_path / "tidy" / "births.csv").births["breed"].tolist()
        == season.births["breed"].tolist()
    )


def test_sheet_names_like_paths_are_only_names(tmp_path: Path) -> None:
    path = workbook(tmp_path / "names.xlsx")
    text = zipfile.ZipFile(path).read("xl/workbook.xml").replace(b'name="births"', b'name="../../etc/passwd"')
    season = read_season(replaced(path, "xl/workbook.xml", text))
    assert [source.sheet for source in season.sources] == ["../../etc/passwd"]
    write_tidy(season, tmp_path / "tidy")
    assert sorted(p.name for p in (tmp_path / "tidy").iterdir()) == [
        "births.csv",
        "codebook.csv",
        "set-aside.csv",
    ]


NO_TABLES = {
    "empty.csv": (
        b"",
        "empty.csv: it is empty; the first row must hold headings, with one newborn a row below.",
    ),
    "spaces.csv": (
        b" \n \n",
        "spaces.csv: it is empty; the first row must hold headings, with one newborn a row below.",
    ),
    "header.csv": (
        HEADER.encode(),
        "header.csv: it has headings and no row below them; write one newborn a row.",
    ),
    "photo.csv": (
        b"\x89PNG\r\n\x1a\n" + bytes(100),
        "photo.csv: it is not a table; save the records as CSV, XLSX, ODS or Parquet.",
    ),
    "binary.csv": (
        b"ab\x00cd" * 50,
        "binary.csv: it is not a table but a binary file; save the records as CSV, XLSX, ODS or Parquet.",
    ),
    "page.csv": (
        b"<!DOCTYPE html><html></html>",
        "page.csv: it is a web or XML page, not a table; save the records as CSV or XLSX.",
    ),
    "old.xls": (
        b"\xd0\xcf\x11\xe0" + bytes(100),
        "old.xls: it is an old or a password-locked workbook; open it and save it as XLSX without a password.",
    ),
    "named.xlsx": (
        b"a,b\n1,2\n",
        "named.xlsx: it is named .xlsx but is not such a file; save the records again.",
    ),
    "cut.xlsx": (
        b"PK\x03\x04" + bytes(100),
        "cut.xlsx: the workbook is damaged, locked with a password or of another kind; "
        "open it, save it as XLSX without a password, and try again.",
    ),
    "cut.parquet": (
        b"PAR1" + bytes(100),
        "cut.parquet: it is named or begins as Parquet but cannot be read as that; write it anew.",
    ),
    "prose.txt": (
        b"Dear vet, here are my lambs.\nThey did well.\n",
        'prose.txt: no births were recognised by the headings (found "Dear vet", "here are my lambs."); name the '
        "columns as in the README, or draft a map of your own headings with: neonatal-stats map FILE -o map.toml",
    ),
}


@pytest.mark.parametrize("name", NO_TABLES)
def test_what_is_no_table_gives_one_sentence(tmp_path: Path, name: str) -> None:
    data, sentence = NO_TABLES[name]
    (tmp_path / name).write_bytes(data)
    assert refused(tmp_path / name) == sentence


def test_a_file_that_is_not_there_gives_one_sentence(tmp_path: Path) -> None:
    assert refused(tmp_path / "gone.csv") == (
        "gone.csv: it cannot be opened (No such file or directory); check the name and the folder."
    )


@pytest.mark.parametrize("cut", [200, 1_000, 3_000])
def test_a_workbook_cut_short_gives_one_sentence(tmp_path: Path, cut: int) -> None:
    path = workbook(tmp_path / "short.xlsx")
    path.write_bytes(path.read_bytes()[:-cut])
    assert refused(path).startswith("short.xlsx: the workbook is damaged")


def test_a_cell_of_blanks_and_signs_is_no_number_no_date_and_no_heading(tmp_path: Path) -> None:
    endless = "1" + " " * 90_000 + "-"
    path = tmp_path / "blanks.csv"
    path.write_text(
        f"dam_id,species,died,born_on,birth_weight_kg,stood_after_min,x{endless}\nA,sheep,no,{endless},{endless},{endless},y\n",
        encoding="utf-8",
    )
    problems = read_season(path).problems
    listed = dict(zip(problems["column"], problems["problem"], strict=True))
    assert {name: listed[name] for name in ("born_on", "birth_weight_kg", "stood_after_min")} == {
        "born_on": "this is not a date that can be read",
        "birth_weight_kg": "this is not a number",
        "stood_after_min": "this is not a number",
    }

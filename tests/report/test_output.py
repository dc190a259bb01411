"""What lands in the folder: whole, the same on every run, the same for shuffled rows, harmless in a spreadsheet."""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
from collections.abc import Collection
from importlib import resources
from pathlib import Path

import jsonschema
import matplotlib.figure
import openpyxl
import pandas as pd
import pytest

from neonatal_stats.report.folder import FIGURES, PARTS
from neonatal_stats.report.review import Review, build
from neonatal_stats.report.write import write_review
from neonatal_stats.season.read import read_season
from neonatal_stats.tables import Printer, Table, columns
from tests.chapters.twelve import twelve
from tests.conftest import DEMO, MADE_ON

pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore:Workbook contains no default style:UserWarning"),
]


def digests(folder: Path) -> dict[str, str]:
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


@pytest.fixture(scope="module")
def one_season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("one")
    last = sorted(DEMO.glob("hill_sheep_[0-9]*.csv"))[-1]
    shutil.copy(last, folder / "births.csv")
    return folder / "births.csv"


def written(records: Path, out: Path, parts: Collection[str] = PARTS) -> Review:
    """Its whole review, and the folder, whole unless parts are named."""
    review = build(read_season([records]), made_on=MADE_ON)
    write_review(review, out, parts=parts)
    return review


@pytest.fixture(scope="module")
def plain(one_season: Path) -> tuple[Path, Review]:
    """The folder of that season as it stands, and its review."""
    out = one_season.parent / "plain"
    return out, written(one_season, out)


def test_everything_the_readme_promises_is_there(plain: tuple[Path, Review]) -> None:
    folder, review = plain
    expected = {
        "review.html",
        "keeper.html",
        "review.xlsx",
        "set-aside.csv",
        "codebook.csv",
        "headline.json",
        "tables",
        "figures",
    }
    assert {path.name for path in folder.iterdir()} == expected
    for figure in review.figures:
        assert (folder / "figures" / f"{figure.name}.svg").exists()
        assert (folder / "figures" / f"{figure.name}.png").exists()
    for table in review.tables:
        read_back = pd.read_csv(folder / "tables" / f"{table.name}.csv")
        assert len(read_back) == len(table.frame)


def test_the_page_of_one_season_is_small_enough_to_mail(last_season_folder: Path) -> None:
    assert (last_season_folder / "review.html").stat().st_size < 1_000_000


def test_headline_follows_its_schema(hill_folder: Path) -> None:
    schema = json.loads((resources.files("neonatal_stats.report") / "headline.schema.json").read_text())
    jsonschema.validate(json.loads((hill_folder / "headline.json").read_text()), schema)


def test_headline_alone_draws_nothing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def drawn(*_: object, **__: object) -> None:
        raise AssertionError("a figure was begun")

    monkeypatch.setattr(matplotlib.figure.Figure, "__init__", drawn)
    review = build(twelve(), made_on=MADE_ON, parts=("headline",))
    write_review(review, tmp_path / "out", parts=("headline",))
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["headline.json"]
    assert (review.figures, review.tables) == ((), ())


@pytest.mark.slow
def test_two_runs_are_the_same_to_the_byte(
    one_season: Path, plain: tuple[Path, Review], tmp_path: Path
) -> None:
    written(one_season, tmp_path / "again")
    assert digests(tmp_path / "again") == digests(plain[0])


@pytest.mark.slow
def test_shuffled_rows_change_no_byte(one_season: Path, plain: tuple[Path, Review], tmp_path: Path) -> None:
    """But for what speaks of the file itself: its hash, and the rows' own numbers in the set-aside list.

    The figures are those that stand on the page.
    """
    text = pd.read_csv(one_season, dtype=str, keep_default_na=False)
    shuffled = tmp_path / "shuffled" / "births.csv"
    shuffled.parent.mkdir()
    text.sample(frac=1, random_state=7).to_csv(shuffled, index=False)
    written(shuffled, tmp_path / "b", set(PARTS) - {FIGURES})
    before, mixed = digests(plain[0]), digests(tmp_path / "b")
    before = {name: digest for name, digest in before.items() if not name.startswith("figures")}
    of_the_file = {"set-aside.csv", "headline.json", "review.html", "review.xlsx"}
    assert {n: d for n, d in before.items() if n not in of_the_file} == {
        n: d for n, d in mixed.items() if n not in of_the_file
    }
    pages = []
    for records, folder in ((one_season, plain[0]), (shuffled, tmp_path / "b")):
        sha = hashlib.sha256(records.read_bytes()).hexdigest()
        pages.append((folder / "review.html").read_text().replace(sha[:12], "hash"))
    assert pages[0] == pages[1]


def test_workbook_numbers_are_numbers_and_farm_text_is_harmless(hill_folder: Path) -> None:
    book = openpyxl.load_workbook(hill_folder / "review.xlsx")
    cells = [cell for sheet in book for line in sheet.iter_rows() for cell in line if cell.value is not None]
    assert not [cell for cell in cells if cell.data_type == "f"]
    assert not [cell for cell in cells if isinstance(cell.value, str) and cell.value[:1] in "=+@"]
    assert sum(isinstance(cell.value, int | float) for cell in cells) > 300
    assert any(sheet.tables for sheet in book)


@pytest.mark.slow
def test_workbook_opens_in_a_spreadsheet_program(hill_folder: Path, tmp_path: Path) -> None:
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("no LibreOffice is installed: apt-get install libreoffice-calc opens this test")
    profile = f"-env:UserInstallation=file://{tmp_path}/profile"
    command = [office, profile, "--headless", "--convert-to", "csv", "--outdir", str(tmp_path)]
    done = subprocess.run(
        [*command, str(hill_folder / "review.xlsx")], capture_output=True, text=True, timeout=180
    )
    assert done.returncode == 0, done.stderr
    assert "neonatal" not in done.stderr
    assert (tmp_path / "review.csv").stat().st_size > 0


def test_formula_text_is_neutralised() -> None:
    from neonatal_stats.tables.table import harmless

    frame = pd.DataFrame({"pen": ["=1+1", "+44", "-x", "@me", "plain"], "n": [1, 2, 3, 4, 5]})
    assert list(harmless(frame)["pen"]) == ["'=1+1", "'+44", "'-x", "'@me", "plain"]
    assert list(harmless(frame)["n"]) == [1, 2, 3, 4, 5]


def test_html_in_farm_text_stays_text() -> None:
    hostile = "<script>alert(1)</script>"
    html = Table(
        "t", hostile, pd.DataFrame({"pen": [hostile]}), [columns.text("pen", hostile)], printer=Printer()
    ).html()
    assert "<script" not in html
    assert html.count("&lt;script&gt;") == 3  # caption, heading and cell

"""The commands as a person types them: output, exit codes, one sentence for what cannot be read."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from tests.commands import run, run_apart
from tests.conftest import DEMO
from tests.report.browser import program

pytestmark = pytest.mark.slow

BIRTHS = """season,dam_id,born_at,died
2026,E1,2026-04-01 06:10,no
2026,E1,2026-04-01 06:40,yes
2026,E2,2026-04-02 11:00,no
"""


@pytest.fixture
def births(tmp_path: Path) -> Path:
    path = tmp_path / "births.csv"
    path.write_text(BIRTHS)
    return path


@pytest.mark.slow
def test_review_writes_the_folder_and_leaves_the_records_alone(births: Path, tmp_path: Path) -> None:
    before = births.read_bytes()
    done = run_apart("review", births, "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert "3 births reviewed, 0 rows set aside." in done.stdout
    headline = json.loads((tmp_path / "out" / "headline.json").read_text())
    assert headline["numbers"]["lost"]["events"] == 1
    assert births.read_bytes() == before


@pytest.mark.slow
def test_a_part_of_the_review_is_written_by_itself(births: Path, tmp_path: Path) -> None:
    done = run("review", births, "--out", tmp_path / "out", "--only", "headline, tables")
    assert done.returncode == 0, done.stderr
    written = {path.name for path in (tmp_path / "out").iterdir()}
    assert written == {"headline.json", "tables", "set-aside.csv", "codebook.csv"}


def test_a_part_that_there_is_not(births: Path, tmp_path: Path) -> None:
    done = run("review", births, "--out", tmp_path / "out", "--only", "poster")
    assert done.returncode == 2
    assert "there is no part 'poster'; name some of headline, tables, workbook, page, figures" in done.stderr


def test_pdf_without_a_browser_is_refused_before_any_work(births: Path, tmp_path: Path) -> None:
    done = run("review", births, "--out", tmp_path / "out", "--pdf", env={**os.environ, "PATH": ""})
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("neonatal-stats: --pdf prints with a browser of the Chromium family")
    assert "install Chromium, Chrome or Edge" in done.stderr
    assert not (tmp_path / "out").exists()


def test_pdf_prints_the_page_and_so_needs_it(births: Path, tmp_path: Path) -> None:
    done = run("review", births, "--out", tmp_path / "out", "--pdf", "--only", "tables")
    assert done.returncode == 2
    assert done.stderr == "neonatal-stats: --pdf prints the page: name page in --only as well\n"


@pytest.mark.browser
def test_pdf_writes_three_editions(births: Path, tmp_path: Path) -> None:
    program()
    done = run("review", births, "--out", tmp_path / "out", "--pdf", "--only", "page")
    assert done.returncode == 0, done.stderr
    made = {path.name: path.read_bytes()[:5] for path in (tmp_path / "out").glob("*.pdf")}
    assert made == dict.fromkeys(("keeper.pdf", "review-short.pdf", "review-full.pdf"), b"%PDF-")


def test_review_does_not_overwrite(births: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    done = run("review", births, "--out", tmp_path / "out")
    assert done.returncode == 2
    again = "already exists; name another folder, or add --force (in Python force=True) to replace it"
    sentence = f"{tmp_path / 'out'} {again}"
    assert done.stderr == f"neonatal-stats: {sentence}\n"


@pytest.mark.slow
def test_a_season_that_is_not_there(births: Path, tmp_path: Path) -> None:
    done = run("review", births, "--out", tmp_path / "out", "--season", "2019")
    assert done.returncode == 2
    assert done.stderr.endswith("no records of '2019'; the records hold 2026\n")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("name", "content"),
    [
        pytest.param("empty.csv", b"", marks=pytest.mark.slow),
        pytest.param("header.csv", b"season,dam_id,born_at,died\n", marks=pytest.mark.slow),
        pytest.param("picture.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", marks=pytest.mark.slow),
        pytest.param("letter.csv", b"Dear vet,\nthe lambs were fine.\n", marks=pytest.mark.slow),
        pytest.param("broken.xlsx", b"PK\x03\x04 not a workbook", marks=pytest.mark.slow),
    ],
)
def test_what_cannot_be_read_is_one_sentence(tmp_path: Path, name: str, content: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    done = run("review", path, "--out", tmp_path / "out")
    assert done.returncode == 2
    last = done.stderr.strip().splitlines()[-1]
    assert last.startswith("neonatal-stats: ")
    assert name in last
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    done = run("check", tmp_path / "none.csv")
    assert done.returncode == 2
    assert "none.csv" in done.stderr
    assert "Traceback" not in done.stderr


def test_check_says_all_well(births: Path) -> None:
    done = run("check", births)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "births: 3 rows read = 3 used + 0 used with a field missing + 0 set aside" in done.stdout


def test_check_exits_1_where_a_field_was_set_to_missing(births: Path) -> None:
    births.write_text(BIRTHS.replace("born_at,died", "born_at,sex,died").replace("06:10,no", "06:10,purple,no")
                      .replace("06:40,yes", "06:40,male,yes").replace("11:00,no", "11:00,female,no"))  # fmt: skip
    done = run("check", births)
    assert done.returncode == 1, done.stdout + done.stderr
    assert "row 2, column sex" in done.stdout


@pytest.mark.slow
def test_demo_is_the_committed_demo(tmp_path: Path) -> None:
    done = run("demo", tmp_path / "demo")
    assert done.returncode == 0, done.stderr
    made = (path.relative_to(tmp_path / "demo") for path in (tmp_path / "demo").rglob("*.*"))
    names = sorted(map(str, made))
    assert set(names) <= {str(path.relative_to(DEMO)) for path in DEMO.rglob("*.*")}
    for name in names:
        assert (tmp_path / "demo" / name).read_bytes() == (DEMO / name).read_bytes(), name


def test_a_sheet_in_a_folder_that_is_not_there_yet(tmp_path: Path) -> None:
    done = run("sheet", "--out", tmp_path / "office" / "shed.xlsx")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "office" / "shed.xlsx").exists()


def test_a_sheet_says_what_it_holds_and_what_it_could_not_take(tmp_path: Path) -> None:
    (tmp_path / "headline.json").write_text('{"record_next": ["birth_weight_kg", "sampled_at"]}')
    chosen = ("--fields", "sex, mothered_up", "--language", "de", "--asked", tmp_path)
    done = run("sheet", "-o", tmp_path / "shed.html", *chosen)
    assert done.returncode == 0, done.stderr
    assert "for sheep: 6 fields, 13 lines and up to 39 newborns to a side of A4" in " ".join(
        done.stdout.split()
    )
    assert "asked for, and not on the sheet: sampled_at" in done.stdout


@pytest.mark.slow
def test_a_season_is_not_compared_with_itself(births: Path, tmp_path: Path) -> None:
    done = run("review", births, "--out", tmp_path / "out", "--compare", "2026", "2026")
    assert done.returncode == 2
    assert "a season cannot be compared with itself (2026)" in done.stderr


@pytest.mark.slow
def test_a_question_ends_with_its_own_mark(tmp_path: Path) -> None:
    path = tmp_path / "births.csv"
    path.write_text("season,dam_id,litter_size,died\n2026,E1,2,no\n")
    done = run("check", path)
    assert "were the dead ones written down?\n" in done.stdout
    assert "\n  All files, column species: no species is known" in done.stdout


@pytest.mark.slow
def test_own_headings_are_named_where_none_is_known(tmp_path: Path) -> None:
    """A cell that happens to read like a heading ("died") does not make its row the headings."""
    path = tmp_path / "shed.csv"
    path.write_text("Uuhi,Karitsan merkki,Kuollut?\nB1,UK1,\nB1,UK2,died\n", encoding="utf-8")
    done = run("check", path)
    assert done.returncode == 2
    assert 'found "Uuhi", "Karitsan merkki", "Kuollut?"' in done.stderr


PLAN = """action,who,done,measure,from,to
Feed within two hours,Ann,yes,lost by the end,2 of 3,20 %
Mend the gate,Ben,,,,
"""


@pytest.mark.slow
def test_a_plan_is_written_filled_in_and_followed_up(births: Path, tmp_path: Path) -> None:
    done = run("plan", births, "-o", tmp_path / "blank.csv")
    assert done.returncode == 0, done.stderr
    assert "measures. Fill it in, then next season: neonatal-stats review FILES --plan" in done.stdout
    assert run("plan", births, "-o", tmp_path / "blank.csv").returncode == 2
    plan = tmp_path / "plan.csv"
    plan.write_text(PLAN)
    done = run("review", births, "--plan", plan, "--out", tmp_path / "out", "--only", "headline,tables")
    assert done.returncode == 0, done.stderr
    headline = json.loads((tmp_path / "out" / "headline.json").read_text())
    assert [(one["action"], one["done"], one["verdict"]) for one in headline["plan"]] == [
        ("Feed within two hours", "yes", "not recorded"),
        ("Mend the gate", "not recorded", "not recorded"),
    ]
    assert (tmp_path / "out" / "tables" / "agreed-plan.csv").exists()


def test_a_plan_that_is_none_is_one_sentence(births: Path, tmp_path: Path) -> None:
    plan = tmp_path / "plan.csv"
    plan.write_text(PLAN.replace("2 of 3", "a lot"))
    done = run("review", births, "--plan", plan, "--out", tmp_path / "out")
    assert done.returncode == 2
    assert 'neonatal-stats: plan.csv, row 2, column from: "a lot" is no share;' in done.stderr
    done = run("plan", births, "-o", tmp_path / "plan.pdf")
    assert done.returncode == 2
    assert "plan.pdf: a plan is written as .csv or .xlsx" in done.stderr
    run("plan", births, "-o", tmp_path / "blank.csv")
    done = run("review", births, "--plan", tmp_path / "blank.csv", "--out", tmp_path / "out")
    assert "blank.csv: it holds no action" in done.stderr
    (tmp_path / "s.toml").write_text('[[plan]]\naction = "Feed early"\n')
    plan.write_text(PLAN)
    done = run("review", births, "--plan", plan, "--settings", tmp_path / "s.toml", "--out", tmp_path / "out")
    assert done.returncode == 2
    assert "the settings hold a plan too" in done.stderr

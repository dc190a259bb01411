"""The command `desk`: a bad file stops nobody, the unchanged is not read again, no keeper sees another's name."""

from __future__ import annotations

import csv
import json
import shutil
import signal
import subprocess
import sys
import time
from importlib import resources
from pathlib import Path

import jsonschema
import openpyxl
import pandas as pd
import pytest

from neonatal_stats.report.desk_farm import _folders, farms_in
from neonatal_stats.season.finding import CannotRead
from tests.chapters.flocks import flock
from tests.commands import Done, run, run_apart
from tests.test_cli_manners import in_the_group

pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore:Workbook contains no default style:UserWarning"),
]
SCHEMA = json.loads((resources.files("neonatal_stats.report") / "desk.schema.json").read_text())
LOST = {"Brook": 9, "Crag": 11, "Dale": 10, "Höhe & Tal": 10, "Fell": 55}
HEADINGS = ("season", "species", "dam_id", "born_at", "died", "died_at")


def written(folder: Path, name: str, lost: int, n: int = 100) -> None:
    """A farm's births as a CSV file in its folder."""
    (folder / name).mkdir(exist_ok=True)
    with (folder / name / "births.csv").open("w", newline="", encoding="utf-8") as file:
        book = csv.DictWriter(file, HEADINGS)
        book.writeheader()
        for place, row in enumerate(flock([({}, lost, n)], litter=2)):
            day = 1 + place % 28
            died = row["died"] == "yes"
            book.writerow(
                {
                    "season": "2026",
                    "species": "sheep",
                    "dam_id": row["dam_id"],
                    "born_at": f"2026-03-{day:02d} 06:00",
                    "died": row["died"],
                    "died_at": f"2026-03-{day:02d} 20:00" if died else "",
                }
            )


@pytest.fixture(scope="module")
def farms(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("practice") / "farms"
    folder.mkdir()
    for name, lost in LOST.items():
        written(folder, name, lost)
    (folder / "Moor").mkdir()
    (folder / "Moor" / "births.csv").write_text("a,b\n1,2\n")
    (folder / "Brook" / "plan.csv").write_text("season,action,who,done,measure\n2026,Dry pens,Jo,yes,\n")
    (folder / "Höhe & Tal" / "settings.toml").write_text('language = "de"\n')
    (folder / "stray.csv").write_text("a\n")
    return folder


@pytest.fixture(scope="module")
def desk(farms: Path) -> tuple[Done, Path]:
    out = farms.parent / "desk"
    return run_apart("desk", farms, "--out", out, "--only", "headline", "--json"), out


def test_one_bad_file_stops_nobody(desk: tuple[Done, Path]) -> None:
    done, out = desk
    told = json.loads(done.stdout)
    assert (done.returncode, told["exit_code"], told["schema"]) == (1, 1, "neonatal_stats desk 1")
    assert "(6 of 6)" in done.stderr
    assert told["to_know"][0].startswith("Moor: not read. births.csv: no births were recognised")
    assert told["headline"] == json.loads((out / "headline.json").read_text())
    assert set(told["files"]) >= {"desk.html", "desk.xlsx", "codebook.csv", "farms/moor/note.html"}
    note = (out / "farms" / "moor" / "note.txt").read_text(encoding="utf-8")
    assert "no births were recognised" in note
    assert not (out / "farms" / "moor" / "headline.json").exists()


def test_the_numbers_are_as_their_schema_says_and_the_bad_farm_leads(
    desk: tuple[Done, Path],
) -> None:
    told = json.loads((desk[1] / "headline.json").read_text(encoding="utf-8"))
    jsonschema.validate(told, SCHEMA)
    (block,) = told["desks"]
    assert block["named"] == ["Fell"]
    assert block["order"][0]["farm"] == "Fell"
    brook = next(one for one in block["order"] if one["farm"] == "Brook")
    assert brook["plan"] == [{"action": "Dry pens", "done": "yes", "verdict": "not recorded"}]
    assert (brook["events"], brook["n"]) == (9, 100)


def test_page_workbook_and_tables_hold_every_farm(
    desk: tuple[Done, Path],
) -> None:
    out = desk[1]
    page = (out / "desk.html").read_text(encoding="utf-8")
    assert all(name.replace("&", "&amp;") in page for name in (*LOST, "Moor", "stray.csv"))
    assert 'href="farms/hohe-tal/among.html"' in page
    assert "<script" not in page
    visits = pd.read_csv(out / "tables" / "desk-visits.csv")
    assert sorted(visits["name"]) == sorted(LOST)
    book = pd.read_csv(out / "codebook.csv")
    for path in (out / "tables").glob("*.csv"):
        assert set(pd.read_csv(path).columns) == set(book.loc[book["table"] == path.stem, "name"])
    sheets = openpyxl.load_workbook(out / "desk.xlsx").sheetnames
    assert sheets == ["At a glance", "visits", "process", "records", "changes"]


def test_no_keepers_folder_names_another_farm(desk: tuple[Done, Path]) -> None:
    for name, folder in zip(LOST, _folders(list(LOST)), strict=True):
        for path in (desk[1] / "farms" / folder).iterdir():
            text = path.read_text(encoding="utf-8")
            assert not [other for other in LOST if other != name and other in text], path
    german = (desk[1] / "farms" / "hohe-tal" / "among.html").read_text(encoding="utf-8")
    assert "Ihr Betrieb ist" in german


def test_only_what_has_changed_is_read_again(farms: Path, desk: tuple[Done, Path], tmp_path: Path) -> None:
    out, mine = tmp_path / "desk", tmp_path / "farms"
    shutil.copytree(desk[1], out)
    shutil.copytree(farms, mine)
    before = (out / "farms" / "fell" / "headline.json").read_bytes()
    written(mine, "Dale", 14)
    done = run("desk", mine, "--out", out, "--only", "headline", "--force")
    assert done.returncode == 1
    assert "5 of 6 farms with 500 births reviewed (4 unchanged)." in done.stdout
    told = json.loads((out / "headline.json").read_text(encoding="utf-8"))
    assert [one["farm"] for one in told["farms"] if one["read_again"]] == ["Dale"]
    dale = next(one for one in told["desks"][0]["order"] if one["farm"] == "Dale")
    assert dale["events"] == 14
    assert (out / "farms" / "fell" / "headline.json").read_bytes() == before


def test_what_is_wrong_with_the_folder_is_told_before_any_work(farms: Path, tmp_path: Path) -> None:
    empty = tmp_path / "none"
    empty.mkdir()
    with pytest.raises(
        CannotRead, match="there is no such folder; name the one that holds a folder for each"
    ):
        farms_in(tmp_path / "nowhere", None, None)
    with pytest.raises(
        CannotRead, match="none: it holds no folder of a farm; put the files of each farm into"
    ):
        farms_in(empty, None, None)
    done = run("desk", farms, "--out", farms / "out")
    assert (done.returncode, done.stdout) == (2, "")
    assert "it lies among the farms' folders; name a folder elsewhere" in done.stderr
    assert done.stderr.count("\n") == 1
    shutil.copytree(farms / "Dale", tmp_path / "one" / "Dale")
    one = (tmp_path / "one", "--out", tmp_path / "out", "--only", "headline")
    done = run("desk", *one, "--season", "2019", "--quiet")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "neonatal-stats: --season: no farm has records of '2019'; they hold 2026\n"
    (empty / "Moor").mkdir()
    done = run("desk", empty, "--out", tmp_path / "out", "--json")
    assert done.returncode == 2
    assert (
        "none of 1 farms could be read. Moor: Moor: the folder holds no file of"
        in json.loads(done.stdout)["error"]
    )
    assert not (tmp_path / "out").exists()


@pytest.mark.skipif(shutil.which("ps") is None, reason="ps is not installed")
def test_told_to_stop_it_leaves_nothing(farms: Path, tmp_path: Path) -> None:
    command = [
        sys.executable,
        "-u",
        "-m",
        "neonatal_stats",
        "desk",
        str(farms),
        "--out",
        str(tmp_path / "out"),
    ]
    started = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    assert started.stderr is not None
    next(line for line in started.stderr if "of 6)" in line)
    started.send_signal(signal.SIGTERM)
    _, said = started.communicate(timeout=120)
    assert started.returncode == 128 + signal.SIGTERM
    assert said.splitlines()[-1] == "neonatal-stats: stopped"
    for _ in range(300):
        if not in_the_group(started.pid):
            break
        time.sleep(0.1)
    assert in_the_group(started.pid) == []
    assert list(tmp_path.iterdir()) == []

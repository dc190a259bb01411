"""What a command line owes to whoever types, or to the program that calls it: names, streams, signals, completion."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import neonatal_stats
from tests.commands import run, run_apart
from tests.conftest import DEMO
from tests.test_cli import BIRTHS

ROOT = Path(__file__).parents[1]
UNREADABLE = BIRTHS.replace("11:00,no", "11:00,perhaps")


@pytest.fixture
def births(tmp_path: Path) -> Path:
    path = tmp_path / "births.csv"
    path.write_text(BIRTHS)
    return path


def test_version() -> None:
    done = run_apart("--version")
    assert (done.returncode, done.stdout) == (0, f"neonatal-stats {neonatal_stats.__version__}\n")


def test_check_in_json_is_one_object_and_nothing_else(births: Path) -> None:
    births.write_text(UNREADABLE)
    done = run("check", births, "--json")
    found = json.loads(done.stdout)
    assert (done.returncode, found["exit_code"], found["all_well"]) == (1, 1, False)
    assert found["schema"] == "neonatal_stats check 1"
    assert [(one["table"], one["rows_read"], one["set_aside"]) for one in found["balances"]] == [
        ("births", 3, 1)
    ]
    assert [(one["born"], one["not_readable"]) for one in found["open_outcomes"]] == [(3, 1)]
    assert [one["value"] for one in found["problems"] if one.get("row") == "4"] == ["perhaps"]
    assert found["sources"][0]["lines"] == 4
    assert "1 set aside" in done.stderr


def test_what_cannot_be_read_is_json_too(tmp_path: Path) -> None:
    for command in (["check"], ["review", "--out", tmp_path / "out"]):
        done = run(*command, tmp_path / "none.csv", "--json")
        found = json.loads(done.stdout)
        assert (done.returncode, found["exit_code"]) == (2, 2)
        assert f"neonatal-stats: {found['error']}" in done.stderr
        assert found["error"].startswith("none.csv: it cannot be opened")


@pytest.mark.slow
@pytest.mark.parametrize("more", [[], ["--as-of", "2026-04-03"]], ids=["whole", "in progress"])
def test_review_in_json_names_what_it_wrote(births: Path, tmp_path: Path, more: list[str]) -> None:
    done = run("review", births, "--out", tmp_path / "out", "--only", "headline,tables", "--json", *more)
    found = json.loads(done.stdout)
    assert (done.returncode, found["exit_code"]) == (0, 0), done.stderr
    assert (found["births"], found["folder"]) == (3, str((tmp_path / "out").resolve()))
    there = (path for path in (tmp_path / "out").rglob("*") if path.is_file())
    assert found["files"] == sorted(path.relative_to(tmp_path / "out").as_posix() for path in there)
    assert found["headline"] == json.loads((tmp_path / "out" / "headline.json").read_text())


def test_quiet_says_nothing_and_leaves_the_exit_code_to_speak(births: Path, tmp_path: Path) -> None:
    done = run_apart("review", births, "--out", tmp_path / "out", "--only", "headline", "--quiet")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert (tmp_path / "out" / "headline.json").exists()
    births.write_text(UNREADABLE)
    done = run("check", births, "-q")
    assert (done.returncode, done.stdout, done.stderr) == (1, "", "")
    done = run_apart("check", tmp_path / "none.csv", "--quiet")
    assert (done.returncode, done.stdout) == (2, "")
    assert "none.csv: it cannot be opened" in done.stderr


@pytest.mark.slow
@pytest.mark.parametrize("command", ["review", "tidy", "notebooks", "plan", "check", "map", "sheet"])
def test_a_place_that_cannot_be_written_is_found_before_the_records_are_read(
    births: Path, tmp_path: Path, command: str
) -> None:
    """The records are not even there, yet it is the place that is told of."""
    place = births / "out.csv"
    records = [] if command == "sheet" else [tmp_path / "none.csv"]
    options = {
        "notebooks": [place, "--records", births],
        "check": [*records, "--list", place],
        "sheet": ["-o", place.with_suffix(".xlsx")],
    }
    done = run(command, *options.get(command, [*records, "--out", place]))
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.endswith("cannot be written (not a directory); name another place\n")
    assert done.stderr.count("\n") == 1


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="a name of bytes that are no letters")
@pytest.mark.parametrize("name", [b"lambs-\xff.csv", "ягнята.csv".encode(), b"a\x1b[2Jb.csv"])
@pytest.mark.parametrize("code_page", ["ascii", "utf-8"])
def test_every_name_is_printed_whatever_the_code_page(tmp_path: Path, name: bytes, code_page: str) -> None:
    path = tmp_path / os.fsdecode(name)
    path.write_text(UNREADABLE)
    env = {**os.environ, "PYTHONIOENCODING": code_page}
    run_it = run_apart if (name[:5], code_page) == (b"lambs", "ascii") else run
    done = run_it("check", path, env=env)
    assert done.returncode == 1, done.stderr
    assert "rows read" in done.stdout
    assert "\x1b" not in done.stdout
    assert done.stderr == ""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="a name of bytes that are no letters")
def test_a_name_of_another_code_page_is_written_into_every_file(tmp_path: Path) -> None:
    path = tmp_path / os.fsdecode(b"lambs-\xff.csv")
    path.write_text(UNREADABLE)
    done = run("review", path, "--out", tmp_path / "out")
    assert done.returncode == 1, done.stderr
    assert r"lambs-\udcff.csv" in (tmp_path / "out" / "set-aside.csv").read_text(encoding="utf-8")
    assert run("tidy", path, "--out", tmp_path / "tidy").returncode == 0


def test_the_notebooks_take_many_files_after_one_another(births: Path, tmp_path: Path) -> None:
    more = [tmp_path / "second.csv", tmp_path / "third.csv"]
    for path in more:
        path.write_text(BIRTHS)
    done = run("notebooks", tmp_path / "nb", "--records", births, *more)
    assert done.returncode == 0, done.stderr
    text = (tmp_path / "nb" / "season_review.ipynb").read_text(encoding="utf-8")
    assert all(str(path) in text for path in (births, *more))


def test_the_notebooks_are_not_set_to_what_cannot_be_read(births: Path, tmp_path: Path) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text("folow_up_d = 3", encoding="utf-8")
    done = run("notebooks", tmp_path / "nb", "--records", births, "--settings", settings)
    assert done.returncode == 2
    assert "folow_up_d" in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "nb").exists()


def test_the_notebooks_are_not_set_to_a_file_that_is_not_there(births: Path, tmp_path: Path) -> None:
    done = run("notebooks", tmp_path / "nb", "--records", births, tmp_path / "none.csv")
    assert done.returncode == 2
    assert "none.csv: there is no such file" in done.stderr
    done = run("notebooks", "--records", births, births, tmp_path / "nb")
    assert done.returncode == 2
    assert "births.csv is a file; name the folder first: notebooks DIR --records FILES..." in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["births.csv"]


@pytest.mark.skipif(shutil.which("bash") is None, reason="bash is not installed")
def test_completion_in_a_shell(tmp_path: Path) -> None:
    program = tmp_path / "neonatal-stats"
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -m neonatal_stats "$@"\n')
    program.chmod(0o755)
    asked = """
        eval "$(_NEONATAL_STATS_COMPLETE=source_bash neonatal-stats)"
        complete -p neonatal-stats
        COMP_WORDS=(neonatal-stats re) COMP_CWORD=1; _neonatal_stats_completion neonatal-stats
        echo "${COMPREPLY[@]}"
        COMP_WORDS=(neonatal-stats check --js) COMP_CWORD=2; _neonatal_stats_completion neonatal-stats
        echo "${COMPREPLY[@]}"
    """
    env = {**os.environ, "PATH": f"{tmp_path}{os.pathsep}{os.environ['PATH']}", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(["bash", "-c", asked], capture_output=True, text=True, env=env)
    assert done.stdout.splitlines()[-2:] == ["review", "--json"], done.stderr
    assert "--install-completion" in run("--help").stdout


def in_the_group(leader: int) -> list[str]:
    """The processes of a group that still run; one that has ended and was not yet counted out is none."""
    listed = subprocess.run(["ps", "-A", "-o", "pgid=,stat=,args="], capture_output=True, text=True).stdout
    rows = (line.split(None, 2) for line in listed.splitlines())
    return [row[-1] for row in rows if row[0] == str(leader) and not row[1].startswith("Z")]


def hears_ctrl_c() -> None:
    """Whoever runs the tests in the background of a shell is deaf to it, and so would be all they start."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.fixture(scope="module")
def cows(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Eighty calves of the demo herd."""
    lines = (DEMO / "suckler_cows.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    records = tmp_path_factory.mktemp("cows") / "cows.csv"
    records.write_text("".join(lines[:81]), encoding="utf-8")
    return records


def begun(records: Path, out: Path, until: str) -> subprocess.Popen[str]:
    """A review that has come as far as a stage; in a group of processes of its own."""
    command = [sys.executable, "-u", "-m", "neonatal_stats", "review", str(records), "--out", str(out)]
    started = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        preexec_fn=hears_ctrl_c,
    )
    assert started.stderr is not None
    for line in started.stderr:
        if until in line:
            return started
    raise AssertionError(f"it ended before {until}")


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("ps") is None, reason="ps is not installed")
@pytest.mark.parametrize(
    ("number", "until"),
    [
        (signal.SIGINT, "Reading the records"),
        (signal.SIGINT, "Drawing the figures"),
        (signal.SIGTERM, "Filling the workbook"),
    ],
)
def test_told_to_stop_it_leaves_nothing(
    cows: Path, tmp_path: Path, number: signal.Signals, until: str
) -> None:
    """As Ctrl-C does, the whole group is told; as a service does, the first process alone."""
    started = begun(cows, tmp_path / "deep" / "out", until)
    (os.killpg if number == signal.SIGINT else os.kill)(started.pid, number)
    _, said = started.communicate(timeout=120)
    assert started.returncode == 128 + number
    assert said.splitlines()[-1] == "neonatal-stats: stopped"
    assert "Traceback" not in said
    assert "Exception" not in said
    for _ in range(300):  # the last of them may still be on its way out
        if not in_the_group(started.pid):
            break
        time.sleep(0.1)
    assert in_the_group(started.pid) == []
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal")
def test_killed_outright_it_leaves_no_process_that_holds_the_line(cows: Path, tmp_path: Path) -> None:
    """Whoever reads its standard error comes to the end of it: no second process keeps it open."""
    started = begun(cows, tmp_path / "out", "Drawing the figures")
    started.kill()
    started.communicate(timeout=120)
    assert started.returncode == -signal.SIGKILL
    assert not (tmp_path / "out").exists()


def test_ctrl_c_before_anything_is_imported() -> None:
    code = (
        "import signal, neonatal_stats.cli.start as start\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "def early(): signal.raise_signal(signal.SIGINT)\n"
        "start._print_whatever_stands_in_a_name = early\n"
        "start.main()"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "neonatal-stats: stopped\n")

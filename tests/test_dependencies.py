"""A plain install holds what the package imports, and nothing else; what only some need is an extra."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.commands import run

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
CALLED = {"python-calamine": "python_calamine", "XlsxWriter": "xlsxwriter", "ibis-framework": "ibis"}
"""Packages that are imported by another name than they are installed by."""
BROUGHT = {"markupsafe"}
"""What comes with a package that is declared: jinja2 is written on it."""


def modules(requirements: list[str]) -> set[str]:
    names = [re.split(r"[<>=!~\[; ]", requirement)[0] for requirement in requirements]
    return {CALLED.get(name, name) for name in names}


def imported() -> set[str]:
    """The first part of every import in the package, wherever in a file it stands."""
    found: set[str] = set()
    for path in (ROOT / "neonatal_stats").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                found.add(node.module.split(".")[0])
    return found - set(sys.stdlib_module_names) - {"neonatal_stats"} - BROUGHT


def test_a_plain_install_holds_what_is_imported_and_nothing_else() -> None:
    extras = PROJECT["optional-dependencies"]
    assert modules(PROJECT["dependencies"]) == imported() - modules(
        [*extras["parquet"], *extras["scheme"], *extras["spark"]]
    )


def test_the_tests_install_every_package_of_the_other_extras_that_they_use() -> None:
    extras = PROJECT["optional-dependencies"]
    for name in ("ibis", "lifelines", "openpyxl", "nbclient", "pyarrow"):
        assert name in modules(extras["test"])
    assert {"lifelines", "openpyxl"} <= modules(extras["notebooks"])


WITHOUT = "import sys; sys.modules['pyarrow'] = None\nfrom neonatal_stats.cli.start import main\nmain()"


def without_pyarrow(*arguments: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", WITHOUT, *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True)


def test_parquet_names_the_extra_that_it_needs(tmp_path: Path) -> None:
    births = tmp_path / "births.csv"
    births.write_text("season,dam_id,died\n2026,E1,no\n2026,E2,yes\n")
    done = without_pyarrow("tidy", births, "--parquet", "--out", tmp_path / "out")
    assert done.returncode == 2
    assert done.stderr == (
        "neonatal-stats: --parquet: Parquet needs pyarrow, which is not installed; install the extra "
        "neonatal_stats[parquet], or use CSV or XLSX.\n"
    )
    assert [path.name for path in tmp_path.iterdir()] == ["births.csv"]
    (tmp_path / "births.parquet").write_bytes(b"PAR1")
    done = without_pyarrow("check", tmp_path / "births.parquet")
    assert (done.returncode, done.stdout) == (2, "")
    assert "births.parquet: Parquet needs pyarrow" in done.stderr


def test_a_schemes_records_name_the_extra_that_they_need() -> None:
    """Nothing that a review imports looks for the engine; the room itself says in a sentence what it lacks."""
    code = (
        "import sys; sys.modules['ibis'] = None\n"
        "import neonatal_stats.cli.main, neonatal_stats.report.write, neonatal_stats.analysis\n"
        "assert not [name for name in sys.modules if name.startswith('neonatal_stats.scheme')]\n"
        "from neonatal_stats.season.finding import CannotRead\n"
        "try:\n    import neonatal_stats.scheme\n"
        "except CannotRead as error:\n    print(error)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == (
        "A scheme's records need Ibis and an engine, which are not installed; install the extra "
        "neonatal_stats[scheme].\n"
    )


@pytest.mark.slow
def test_a_review_needs_no_extra(tmp_path: Path) -> None:
    """The same headline numbers and tables with pyarrow on the machine and without."""
    records = sorted((ROOT / "data" / "demo").glob("suckler_cows*.csv"))
    parts = ("--only", "headline,tables")
    assert without_pyarrow("review", *records, *parts, "--out", tmp_path / "a").returncode in (0, 1)
    assert run("review", *records, *parts, "--out", tmp_path / "b").returncode in (0, 1)
    names = sorted(path.relative_to(tmp_path / "a") for path in (tmp_path / "a").rglob("*.*"))
    assert len(names) > 20
    for name in names:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes(), name

"""The notebooks run from first cell to last, hold no stored output, and print the numbers that the files hold."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from neonatal_stats.report.notebooks import notebook_sources, write_notebooks

pytestmark = pytest.mark.filterwarnings("ignore")  # the notebook machinery's own, of sockets and event loops

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "data" / "demo"
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))


def births_in(*files: str) -> int:
    """Births counted with the csv module alone: rows, those written twice counted once."""
    total = 0
    for name in files:
        with open(DEMO / name, encoding="utf-8", newline="") as lines:
            total += len({tuple(row) for row in csv.reader(lines)}) - 1
    return total


ALL_FOUR = [f"hill_sheep_{year}.csv" for year in (2023, 2024, 2025, 2026)]
NAMED = {
    "season_review": f"'born': {births_in('hill_sheep_2026.csv')}",
    "year_comparison": f"{births_in(*ALL_FOUR)}",
    "high_risk_groups": f"'born': {births_in(*ALL_FOUR)}",
    "colostrum_timing": f"'born': {births_in(*ALL_FOUR)}",
    "mothering_up": f"'born': {births_in(*ALL_FOUR)}",
}


def executed(path: Path, where: Path) -> str:
    """Everything the notebook shows, as one text; an error in a cell is an error here."""
    import nbclient
    import nbformat

    notebook = nbformat.read(path, as_version=4)
    nbclient.NotebookClient(notebook, timeout=300, resources={"metadata": {"path": str(where)}}).execute()
    outputs: list[Any] = [
        output for cell in notebook.cells if cell.cell_type == "code" for output in cell.outputs
    ]
    shown = [output.get("text", "") for output in outputs]
    shown += [str(text) for output in outputs for text in output.get("data", {}).values()]
    return "\n".join(shown)


def test_the_five_questions_have_their_notebook() -> None:
    assert {path.stem for path in NOTEBOOKS} == set(NAMED)
    assert {path.name for path in notebook_sources()} == {path.name for path in NOTEBOOKS}


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_stored_without_outputs_and_without_functions(path: Path) -> None:
    cells = [
        cell for cell in json.loads(path.read_text(encoding="utf-8"))["cells"] if cell["cell_type"] == "code"
    ]
    assert not [cell for cell in cells if cell["outputs"] or cell["execution_count"]]
    assert not [cell for cell in cells if "def " in "".join(cell["source"])]
    assert max(len(cell["source"]) for cell in cells) <= 14


@pytest.mark.slow
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_runs_and_prints_its_named_numbers(path: Path) -> None:
    assert NAMED[path.stem] in executed(path, ROOT / "notebooks")


@pytest.mark.slow
def test_copied_notebook_reads_the_users_own_records(tmp_path: Path) -> None:
    own = tmp_path / "own births.csv"
    own.write_bytes((DEMO / "suckler_cows.csv").read_bytes())
    write_notebooks(tmp_path, [own])
    shown = executed(tmp_path / "mothering_up.ipynb", tmp_path)
    assert f"'born': {births_in('suckler_cows.csv')}" in shown

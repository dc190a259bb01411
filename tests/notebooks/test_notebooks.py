"""The notebooks run from first cell to last on any records, hold no stored output, and print what the files hold."""

from __future__ import annotations

import ast
import csv
import json
import warnings
from collections.abc import Callable, Iterator
from contextlib import redirect_stdout
from functools import cache
from io import StringIO
from pathlib import Path
from typing import Any

import matplotlib as mpl
import pandas as pd
import pytest

from neonatal_stats.cli.files import notebook_sources, write_notebooks
from neonatal_stats.report.in_python import NotThere
from tests.thinned import EVERY_FORM

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
    "year_comparison": f"'born': {births_in(*ALL_FOUR)}",
    "high_risk_groups": f"'born': {births_in(*ALL_FOUR)}",
    "colostrum_timing": f"'born': {births_in(*ALL_FOUR)}",
    "mothering_up": f"'born': {births_in(*ALL_FOUR)}",
    "own_questions": f"'born': {births_in(*ALL_FOUR)}",
}
UNSEEN = (DeprecationWarning, PendingDeprecationWarning, ImportWarning, ResourceWarning)
"""Warnings for those who write programs, which Python does not print to a reader."""


def code_cells(path: Path) -> list[str]:
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]


@cache
def on_the_demo(path: Path) -> tuple[list[Any], list[str]]:
    """What a notebook shows of the records that it stands with, and what a reader is warned of."""
    with warnings.catch_warnings(record=True) as warned:
        warnings.simplefilter("always")
        shown = list(shown_by(path, ROOT / "notebooks"))
    return shown, [str(one.message) for one in warned if not issubclass(one.category, UNSEEN)]


def shown_by(path: Path, where: Path) -> Iterator[Any]:
    """What each cell shows, run in one namespace as a kernel would, each rich display made; and what is printed."""
    names: dict[str, Any] = {}
    with pytest.MonkeyPatch.context() as patch, mpl.rc_context({"backend": "agg"}):
        patch.chdir(where)
        for cell in code_cells(path):
            *first, last = ast.parse(cell).body
            with redirect_stdout(StringIO()) as printed:
                exec(compile(ast.Module(first, []), path.name, "exec"), names)
                if not isinstance(last, ast.Expr):
                    exec(compile(ast.Module([last], []), path.name, "exec"), names)
                    continue
                value = eval(compile(ast.Expression(last.value), path.name, "eval"), names)
            for name in ("_repr_html_", "_repr_svg_"):
                if (display := getattr(value, name, None)) is not None and not isinstance(value, type):
                    assert display() is not None
            yield value
            if printed.getvalue():
                yield printed.getvalue()


def executed(path: Path, where: Path) -> str:
    """Everything the notebook shows in Jupyter, as one text; an error or a warning is an error here."""
    import nbclient
    import nbformat

    notebook = nbformat.read(path, as_version=4)
    nbclient.NotebookClient(notebook, timeout=300, resources={"metadata": {"path": str(where)}}).execute()
    outputs: list[Any] = [
        output for cell in notebook.cells if cell.cell_type == "code" for output in cell.outputs
    ]
    assert [output.text for output in outputs if output.get("name") == "stderr"] == []
    shown = [output.get("text", "") for output in outputs]
    shown += [str(text) for output in outputs for text in output.get("data", {}).values()]
    return "\n".join(shown)


def test_each_question_has_its_notebook() -> None:
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
def test_on_the_demo_every_cell_has_something_to_show(path: Path) -> None:
    shown, warned = on_the_demo(path)
    assert any(NAMED[path.stem] in repr(value) for value in shown)
    assert [value for value in shown if isinstance(value, NotThere)] == []
    assert warned == []


@pytest.mark.slow
def test_runs_in_jupyter() -> None:
    path = ROOT / "notebooks" / "mothering_up.ipynb"
    assert NAMED[path.stem] in executed(path, ROOT / "notebooks")


def lambs(n: int = 60, **columns: Any) -> pd.DataFrame:
    """A small flock: twins, one in six lost on its second day."""
    told: dict[str, Any] = {
        "species": "sheep",
        "season": 2026,
        "newborn_id": [f"L{place}" for place in range(n)],
        "dam_id": [f"E{place // 2}" for place in range(n)],
        "born_at": [f"2026-04-{1 + place // 4:02d} 06:00" for place in range(n)],
        "litter_size": 2,
        "sex": ["female", "male"] * (n // 2),
        "died": ["yes" if place % 6 == 0 else "no" for place in range(n)],
        "died_at": [f"2026-04-{2 + place // 4:02d} 08:00" if place % 6 == 0 else None for place in range(n)],
        "cause": ["infection" if place % 6 == 0 else None for place in range(n)],
        "last_seen_at": [None if place % 6 == 0 else "2026-06-20" for place in range(n)],
    }
    return pd.DataFrame({name: values for name, values in (told | columns).items() if values is not None})


def german(flock: pd.DataFrame) -> pd.DataFrame:
    return flock.rename(columns={"dam_id": "Aue", "died": "Ausgang", "born_at": "Lammzeit"}).assign(
        Ausgang=flock["died"].map({"yes": "2", "no": "1"})
    )


def all_of(flock: pd.DataFrame, outcome: str) -> pd.DataFrame:
    return flock.assign(died=outcome).drop(columns=["died_at", "cause", "last_seen_at"])


MAP = """
[columns]
"Aue" = "dam_id"
"Ausgang" = "died"
"Lammzeit" = "born_at"
[words.died]
1 = "no"
2 = "yes"
"""
MESSY: dict[str, Callable[[], pd.DataFrame]] = {
    "three columns": lambda: lambs()[["season", "dam_id", "died"]],
    "no ages": lambda: lambs(died_at=None, last_seen_at=None, born_at=None),
    "no causes": lambda: lambs(cause=None),
    "none died": lambda: all_of(lambs(), "no"),
    "all died": lambda: all_of(lambs(), "yes"),
    "four newborns": lambda: lambs(4),
    "rows written twice": lambda: pd.concat([lambs(), lambs().head(20)]),
    "german headings": lambda: german(lambs()),
    "ten seasons": lambda: pd.concat(
        [lambs(20, season=year, born_at=[f"{year}-04-01 06:00"] * 20, died_at=None, last_seen_at=None)
         for year in range(2017, 2027)]
    ),
    "two farms and species": lambda: pd.concat(
        [lambs(farm="Brook"), lambs(farm="Dale", species="goat", newborn_id=[f"K{n}" for n in range(60)])]
    ),
    "bloods alone": lambda: pd.DataFrame(
        {"species": "cattle", "newborn_id": [f"C{n}" for n in range(12)], "igg_g_per_l": range(8, 32, 2),
         "born_on": "2026-03-01", "sampled_at": "2026-03-03 10:00"}
    ),
    "mobs alone": lambda: pd.DataFrame(
        {"season": [2025, 2026] * 4, "mob": list("AABBCCDD"), "joined": 100, "born": 110, "marked": 95, "weaned": 93}
    ),
    "blanks": lambda: lambs(sex=None).mask(lambda frame: frame.isin(["E3", "E7", "2026-04-05 06:00"])),
}  # fmt: skip


@pytest.fixture(scope="module")
def of_kinds(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A folder of notebooks set to each of the messy files."""
    folders = {}
    for kind, made in MESSY.items():
        folder = folders[kind] = tmp_path_factory.mktemp(kind.replace(" ", "_"))
        made().to_csv(folder / "births.csv", index=False)
        (folder / "map.toml").write_text(MAP if kind.startswith("german") else "", encoding="utf-8")
        write_notebooks(folder, [folder / "births.csv"], words=folder / "map.toml")
    return folders


BY_TURNS = [
    (notebook, kind)
    for turn, notebook in enumerate(sorted(NAMED))
    for place, kind in enumerate(MESSY)
    if EVERY_FORM or notebook == "season_review" or (turn + place) % 3 == 0
]
"""The first notebook on all messy files, each other one on a third of them, so that each file is read by several."""


@pytest.mark.quickly(11)
@pytest.mark.parametrize(("notebook", "kind"), BY_TURNS)
def test_runs_on_any_records_and_says_what_they_lack(
    of_kinds: dict[str, Path], kind: str, notebook: str
) -> None:
    shown = list(shown_by(of_kinds[kind] / f"{notebook}.ipynb", of_kinds[kind]))
    for value in shown:
        if isinstance(value, NotThere):
            assert len(value.text) > 20
    if notebook == "season_review":
        lost = {"none died": "0", "all died": "60", "three columns": "10", "no ages": "10"}.get(kind)
        season = next(value for value in shown if type(value).__name__ == "Season")
        assert lost is None or f": {lost} of 60 newborns lost" in repr(season)


OTHER_HERDS = [
    (notebook, herd)
    for turn, notebook in enumerate(sorted(NAMED))
    for place, herd in enumerate(
        ("dairy_goats", "suckler_cows", "hill_sheep_2023.csv", "hill_sheep_2025.csv")
    )
    if EVERY_FORM or notebook == "season_review" or place == turn % 2
]
"""The first notebook on each of them, the others on the goats and the cows by turns; all have read the sheep above."""


@pytest.mark.slow
@pytest.mark.parametrize(("notebook", "herd"), OTHER_HERDS)
def test_runs_on_each_demo_alone(herd: str, notebook: str, tmp_path: Path) -> None:
    files = sorted(DEMO.glob(f"{herd}*.csv")) if not herd.endswith(".csv") else [DEMO / herd]
    settings = DEMO / f"{herd}_settings.toml"
    write_notebooks(tmp_path, files, settings=settings if settings.exists() else None)
    shown = list(shown_by(tmp_path / f"{notebook}.ipynb", tmp_path))
    assert any("'born': " in repr(value) for value in shown)


@pytest.mark.slow
def test_models_elsewhere_stand_beside_ours() -> None:
    pytest.importorskip("lifelines", reason="lifelines does not take this pandas yet")
    pytest.importorskip("statsmodels")
    shown, _ = on_the_demo(ROOT / "notebooks" / "own_questions.ipynb")
    frames = [value for value in shown if isinstance(value, pd.DataFrame)]
    for frame in frames[-2:]:
        ours, alone, told = frame.index
        width = (frame["high"] / frame["low"]).to_dict()
        assert frame.loc[ours].iloc[0] == pytest.approx(frame.loc[told].iloc[0], rel=1e-3)
        assert width[alone] < width[told]
        assert width[ours] >= width[told] * 0.97

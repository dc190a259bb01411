"""The house rules that a machine can hold: arrows run down, and only `drawing` knows matplotlib."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "neonatal_stats"

FLOORS = (
    {"cli"},
    {"report"},
    {"chapters"},
    {"drawing", "words"},
    {"tables"},
    {"measures"},
    {"season", "estimates"},
    {"vocabulary"},
)
FLOOR_OF = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}
FILES = sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: say the whole name of the module"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_arrows_run_down_only(path: Path) -> None:
    room = room_of(path)
    if room not in FLOOR_OF:
        return
    for name in imports(path):
        parts = name.split(".")
        if parts[0] != "neonatal_stats" or len(parts) < 2 or parts[1] not in FLOOR_OF or parts[1] == room:
            continue
        assert FLOOR_OF[parts[1]] > FLOOR_OF[room], f"{room} must not import {name}"


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_only_drawing_imports_matplotlib(path: Path) -> None:
    if room_of(path) != "drawing":
        assert not [name for name in imports(path) if name.split(".")[0] == "matplotlib"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_chapters_do_not_import_chapters(path: Path) -> None:
    if room_of(path) != "chapters":
        return
    own = path.relative_to(PACKAGE / "chapters").parts[0].removesuffix(".py")
    shared = {"protocol", "showing", own}
    if own == "order":
        return
    for name in imports(path):
        if name.startswith("neonatal_stats.chapters."):
            assert name.split(".")[2] in shared, f"{own} must not import {name}"


def test_no_room_for_odds_and_ends() -> None:
    assert not [path for path in FILES if path.stem in {"utils", "util", "common", "helpers", "misc"}]


@pytest.mark.parametrize(
    ("module", "heavy"),
    [
        ("neonatal_stats", ("numpy", "pandas", "matplotlib")),
        ("neonatal_stats.cli", ("numpy", "pandas", "matplotlib")),
        ("neonatal_stats.estimates.survival", ("pandas", "matplotlib", "lifelines")),
        ("neonatal_stats.season.model", ("matplotlib", "lifelines", "scipy")),
    ],
)
def test_heavy_imports_wait_until_needed(module: str, heavy: tuple[str, ...]) -> None:
    code = f"import sys, {module}; print(*[m for m in {heavy!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""

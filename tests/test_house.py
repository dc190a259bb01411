"""The house rules that a machine can hold: arrows run down, and only `drawing` knows matplotlib."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

import pytest

from neonatal_stats.chapters import READING_ORDER

PACKAGE = Path(__file__).parents[1] / "neonatal_stats"

FLOORS = (
    {"cli"},
    {"report"},
    {"analysis"},
    {"chapters"},
    {"drawing", "words"},
    {"tables"},
    {"scheme"},
    {"measures"},
    {"season", "estimates", "demo"},
    {"vocabulary"},
)
FLOOR_OF = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}
FILES = sorted(PACKAGE.rglob("*.py"))
COUNTED = sorted((PACKAGE / "chapters" / "counted").glob("*.py"))
CHAPTERS = "neonatal_stats.chapters."
COUNTS = f"{CHAPTERS}counted."
TELLING = ("neonatal_stats.words.", "neonatal_stats.tables.", "neonatal_stats.drawing.", "matplotlib.")


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


@cache
def imports(path: Path) -> tuple[str, ...]:
    found: list[str] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: say the whole name of the module"
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return tuple(found)


def rooms_imported(path: Path) -> Iterator[tuple[str, str]]:
    """The rooms that a file reaches into, with the names it takes from them."""
    for name in imports(path):
        parts = name.split(".")
        if parts[0] == "neonatal_stats" and len(parts) > 1 and parts[1] in FLOOR_OF:
            yield parts[1], name


def test_arrows_run_down_only() -> None:
    wrong = [
        f"{path.relative_to(PACKAGE)} must not import {name}"
        for path in FILES
        for room, name in rooms_imported(path)
        if room_of(path) in FLOOR_OF and room != room_of(path) and FLOOR_OF[room] <= FLOOR_OF[room_of(path)]
    ]
    assert wrong == []


def test_every_file_is_reached() -> None:
    """By another one, or as a chapter of the reading order: what nothing reaches is a copy that was left behind."""
    asked = {name for path in FILES for name in imports(path)}
    reached = (
        asked | {name.rpartition(".")[0] for name in asked} | {CHAPTERS + name for name in READING_ORDER}
    )
    names = {".".join(("neonatal_stats", *path.relative_to(PACKAGE).with_suffix("").parts)) for path in FILES}
    files = {name for name in names if not name.endswith(("__init__", "__main__"))}
    assert sorted(files - reached) == []


def test_only_a_season_asks_at_the_packages_own_address() -> None:
    """`Season.review` alone calls what stands above all rooms, when it is called and not when it is imported."""
    from neonatal_stats import __all__ as public

    names = {f"neonatal_stats.{name}" for name in public if name != "__version__"}
    asked = {str(path.relative_to(PACKAGE)): sorted(names & set(imports(path))) for path in FILES}
    assert {path: found for path, found in asked.items() if found and path != "__init__.py"} == {
        "season/model.py": [f"neonatal_stats.{name}" for name in ("Answer", "Review", "ask", "review")]
    }
    code = "import sys, neonatal_stats.season.model; print(*[m for m in sys.modules if '.report' in m])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


def test_every_room_has_its_floor() -> None:
    rooms = {room_of(path) for path in FILES} - {"__init__", "__main__"}
    assert rooms == set(FLOOR_OF)


def test_only_drawing_imports_matplotlib() -> None:
    drawn = {room_of(path) for path in FILES for name in imports(path) if name.split(".")[0] == "matplotlib"}
    assert drawn == {"drawing"}


PAGES_OF_THEIR_OWN = ("progress", "desk", "scheme")
"""Told as chapters are, and in no reading order."""


def chapter_of(parts: Sequence[str]) -> str:
    """The chapter that a page below chapters belongs to: losses for losses, counted.losses, losses_shown."""
    page = next((part for part in parts if part != "counted"), "counted")
    known = (*READING_ORDER, *PAGES_OF_THEIR_OWN)
    return next((name for name in known if page == name or page.startswith(f"{name}_")), page)


def test_chapters_do_not_import_chapters() -> None:
    chapters = PACKAGE / "chapters"
    wrong = []
    for path in sorted(chapters.rglob("*.py")):
        own = chapter_of(path.relative_to(chapters).with_suffix("").parts)
        inside = [
            name.split(".")[2:] for name in imports(path) if name.startswith("neonatal_stats.chapters.")
        ]
        taken = {chapter_of(parts) for parts in inside}
        wrong += [
            f"{path} must not import {name}" for name in taken - {"protocol", "Shown", "READING_ORDER", own}
        ]
    assert wrong == []


def test_what_is_counted_knows_no_words_no_tables_and_no_pictures() -> None:
    wrong = [
        f"counted/{path.name} must not import {name}"
        for path in COUNTED
        for name in imports(path)
        if f"{name}.".startswith(TELLING) or (name.startswith(CHAPTERS) and not name.startswith(COUNTS))
    ]
    assert wrong == []
    modules = [f"{CHAPTERS}counted.{path.stem}".removesuffix(".__init__") for path in COUNTED]
    told = tuple(room.removesuffix(".") for room in TELLING)
    code = f"import sys, {', '.join(modules)}; print(*[m for m in {told!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


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


SEASON = (
    {
        "finding",
        "grid",
        "toml_file",
        "actions",
        "settings",
        "records_map",
        "blank",
    },
    {"cells"},
    {"exchange"},
    {"files"},
    {"ledger"},
    {"gathering"},
    {"following"},
    {"checks"},
    {"model"},
    {"read", "tidy", "plan"},
    {"map"},
)
"""The rooms within season, the lower first; those of the first floor may import each other."""
BELOW = {room: floor for floor, rooms in enumerate(SEASON) for room in rooms}


def room_within(name: str) -> str:
    """The room of season that a module's name lies in, "" for what lies elsewhere."""
    parts = name.split(".")
    return parts[2] if parts[:2] == ["neonatal_stats", "season"] and len(parts) > 2 else ""


def test_arrows_within_season_run_down_too() -> None:
    season = PACKAGE / "season"
    own = {path: path.relative_to(season).parts[0].removesuffix(".py") for path in season.rglob("*.py")}
    assert set(own.values()) - {"__init__"} == set(BELOW)
    wrong = [
        f"season/{path.relative_to(season)} must not import {name}"
        for path, room in own.items()
        for name in imports(path)
        if room_within(name) in BELOW and BELOW[room_within(name)] > BELOW[room]
    ]
    assert wrong == []

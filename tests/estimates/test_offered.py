"""What `neonatal_stats.estimates` offers: every name is defined once, where it is said to be, and light to come by."""

from __future__ import annotations

import ast
import inspect
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from neonatal_stats import estimates

ROOM = Path(str(estimates.__file__)).parent
FILES = sorted(path for path in ROOM.glob("*.py") if path.stem != "__init__")
PACKAGE = ROOM.parent


def defined(path: Path) -> set[str]:
    """Functions and classes that a file defines."""
    body = ast.parse(path.read_text(encoding="utf-8")).body
    return {node.name for node in body if isinstance(node, ast.FunctionDef | ast.ClassDef)}


def asked_for(path: Path) -> set[tuple[str, str]]:
    """(file of estimates, name) of every import in a file of the package."""
    source = path.read_text(encoding="utf-8")
    if "neonatal_stats.estimates" not in source:
        return set()
    tree = ast.parse(source)
    taken = {
        (node.module.rpartition(".")[2], alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module and "neonatal_stats.estimates" in node.module
        for alias in node.names
    }
    of_arguments = {
        ("arguments", node.attr)
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id == "arguments"
    }
    return taken | of_arguments


def test_every_name_offered_is_there_and_is_a_function_or_a_result() -> None:
    for name in estimates.__all__:
        found = getattr(estimates, name)
        assert inspect.isfunction(found) or inspect.isclass(found), name
        assert found.__module__.startswith("neonatal_stats.estimates."), name
        assert found.__doc__, name


def test_the_names_said_to_readers_to_the_type_checker_and_to_the_importer_are_one_list() -> None:
    typed = {name for _, name in asked_for(ROOM / "__init__.py")}
    assert sorted(estimates.__all__) == sorted(set(estimates.__all__))
    assert typed == set(estimates.__all__) == set(dir(estimates))


def test_no_name_offered_is_the_name_of_a_file() -> None:
    # such a file, once imported, would stand in the way of the name
    assert not set(estimates.__all__) & {path.stem for path in FILES}


def test_what_has_no_underscore_is_offered_or_asked_for_by_another_file() -> None:
    asked: dict[tuple[str, str], set[Path]] = {}
    for path in PACKAGE.rglob("*.py"):
        for name in asked_for(path) if path != ROOM / "__init__.py" else ():
            asked.setdefault(name, set()).add(path)
    idle = [
        f"{path.stem}.{name}"
        for path in FILES
        for name in defined(path) - set(estimates.__all__)
        if not name.startswith("_") and not asked.get((path.stem, name), set()) - {path}
    ]
    assert idle == []


def test_offered_functions_have_no_silent_level() -> None:
    for name in estimates.__all__:
        found = getattr(estimates, name)
        level = inspect.signature(found).parameters.get("level") if inspect.isfunction(found) else None
        assert level is None or level.default is inspect.Parameter.empty, name


def test_the_room_itself_imports_nothing_heavy() -> None:
    code = (
        "import sys, neonatal_stats.estimates; print(sorted({'numpy', 'scipy', 'pandas'} & set(sys.modules)))"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


def test_a_name_that_is_not_offered_is_an_attribute_error() -> None:
    with pytest.raises(
        AttributeError, match=r"^module 'neonatal_stats\.estimates' has no attribute 'cluster'$"
    ):
        _ = estimates.cluster  # type: ignore[attr-defined]


def test_every_file_is_in_the_room_itself() -> None:
    assert [path for path in ROOM.rglob("*.py") if path.parent != ROOM] == []
    for path in FILES:
        import_module(f"neonatal_stats.estimates.{path.stem}")

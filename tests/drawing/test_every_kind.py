"""No picture without a test that reads it, nor one that chapters cannot ask for."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import neonatal_stats.drawing
from neonatal_stats.drawing.figure import Kind

ROOM = Path(neonatal_stats.drawing.__file__).parent
TESTS = Path(__file__).parent
KINDS = {
    node.name: path.stem
    for path in sorted(ROOM.glob("*.py"))
    for node in ast.parse(path.read_text(encoding="utf-8")).body
    if isinstance(node, ast.FunctionDef) and node.name.startswith("draw_")
}


@pytest.mark.parametrize(("drawn_by", "kind"), KINDS.items(), ids=list(KINDS))
def test_every_picture_is_read_where_its_kind_is_tested(drawn_by: str, kind: str) -> None:
    text = (TESTS / f"test_{kind}.py").read_text(encoding="utf-8")
    assert f"{drawn_by}(" in text
    assert len(KINDS) >= 20


def test_every_picture_is_asked_for_at_the_door_of_the_room() -> None:
    asked = {name: file for file, names in neonatal_stats.drawing.KINDS.items() for name in names}
    assert asked == KINDS
    assert all(getattr(neonatal_stats.drawing, name) == Kind(file, name) for name, file in KINDS.items())
    with pytest.raises(AttributeError, match="draw_nothing"):
        print(neonatal_stats.drawing.draw_nothing)

"""Every check against R, other libraries and published answers, held to its tolerance."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest

REFERENCE = Path(__file__).parents[1] / "reference"
FAMILIES = sorted(path.parent.name for path in REFERENCE.glob("*/checks.py"))


@pytest.mark.parametrize("family", FAMILIES)
def test_agrees_with_answers_from_elsewhere(family: str) -> None:
    error = runpy.run_path(str(REFERENCE / "table.py"))["relative_error"]
    checks = runpy.run_path(str(REFERENCE / family / "checks.py"))["checks"]()
    assert checks
    strays = [
        f"{quantity}, {data}: {ours!r} against {reference!r} ({source})"
        for quantity, data, ours, reference, source, tolerance in checks
        if not error(ours, reference) <= tolerance
    ]
    assert strays == []

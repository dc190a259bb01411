"""Writes docs/estimates.md: every estimate beside an answer from elsewhere.

``python -m tests.reference.table`` reads each family's ``tests/reference/<family>/checks.py``, whose
``checks()`` gives tuples (quantity, data, ours, reference, source, tolerance).
"""

from __future__ import annotations

import runpy
from pathlib import Path

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
Check = tuple[str, str, float, float, str, float]


def families() -> dict[str, list[Check]]:
    """The checks of each family, by the name of its folder."""
    return {
        path.parent.name: runpy.run_path(str(path))["checks"]() for path in sorted(HERE.glob("*/checks.py"))
    }


def relative_error(ours: float, reference: float) -> float:
    """|ours - reference| over |reference|; the plain difference where the reference is zero."""
    return abs(ours - reference) / (abs(reference) or 1.0)


def rows(checks: list[Check]) -> list[str]:
    """A Markdown table, one row a check."""
    lines = [
        "| quantity | data | ours | reference | source | relative error |",
        "|---|---|---:|---:|---|---:|",
    ]
    for quantity, data, ours, reference, source, _ in checks:
        error = relative_error(ours, reference)
        shown = "0" if error == 0 else f"{error:.0e}"
        lines.append(f"| {quantity} | {data} | {ours:.10g} | {reference:.10g} | {source} | {shown} |")
    return lines


def kept(folder: str) -> list[str]:
    """Pointers to the printed tables kept in a folder."""
    found = sorted((ROOT / "tests" / folder).glob("*.txt"))
    return [f"- [{path.name}](../{path.relative_to(ROOT).as_posix()})" for path in found]


def page() -> str:
    """The whole page."""
    lines = [
        "# The estimates beside answers from elsewhere",
        "",
        "Written by `python -m tests.reference.table`; the tests hold each row to its tolerance (1e-8 for",
        "closed forms, 1e-5 for iterated fits, looser only where the reference is rounded or stops early).",
    ]
    for family, checks in families().items():
        lines += ["", f"## {family} ({len(checks)} checks)", "", *rows(checks)]
    folders = {"Simulated coverage and size": "simulations", "Speed and memory": "benchmarks"}
    for title, folder in folders.items():
        lines += ["", f"## {title}", "", *(kept(folder) or ["(no printed table kept yet)"])]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    target = ROOT / "docs" / "estimates.md"
    target.parent.mkdir(exist_ok=True)
    target.write_text(page(), encoding="utf-8")

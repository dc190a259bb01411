"""The notebooks, copied out and set to the user's own records."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import neonatal_stats

FIRST_CELL = "records = ["


def notebook_sources() -> tuple[Path, ...]:
    """The notebooks that come with the package: inside it once installed, beside it in a checkout."""
    package = Path(neonatal_stats.__file__).parent
    for folder in (package / "notebooks", package.parent / "notebooks"):
        found = tuple(sorted(folder.glob("*.ipynb")))
        if found:
            return found
    return ()


def write_notebooks(folder: Path, records: Sequence[Path]) -> tuple[str, ...]:
    """Copy every notebook into `folder`, its first cell naming `records`; the names written."""
    for source in notebook_sources():
        notebook = json.loads(source.read_text(encoding="utf-8"))
        _point_to(notebook, records)
        text = json.dumps(notebook, indent=1, ensure_ascii=False) + "\n"
        (folder / source.name).write_text(text, encoding="utf-8")
    return tuple(source.name for source in notebook_sources())


def _point_to(notebook: dict[str, list[dict[str, object]]], records: Sequence[Path]) -> None:
    """Replace the first cell that sets `records` by one that names the user's files."""
    lines = ["records = [\n", *(f"    {str(path)!r},\n" for path in records), "]"]
    for cell in notebook["cells"]:
        if cell["cell_type"] == "code" and "".join(cell["source"]).lstrip().startswith(FIRST_CELL):  # type: ignore[arg-type]
            cell["source"] = lines
            return

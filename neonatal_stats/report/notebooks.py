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


def write_notebooks(
    folder: Path,
    records: Sequence[Path],
    *,
    settings: Path | None = None,
    words: Path | None = None,
    plan: Path | None = None,
) -> tuple[str, ...]:
    """Copy every notebook into `folder`, its first cell naming the files; the names written.

    Parameters
    ----------
    records : the files with births (and feeds, samples, weather).
    settings, words, plan : files of settings, of a map of headings and words, and of the plan that was agreed, or None.
    """
    named = {"settings": settings, "words": words, "plan": plan}
    lines = ["records = [", *(f"    {str(path)!r}," for path in records), "]"]
    lines += [f"{name} = {None if path is None else str(path)!r}" for name, path in named.items()]
    for source in notebook_sources():
        notebook = json.loads(source.read_text(encoding="utf-8"))
        _point_to(notebook, [*(f"{line}\n" for line in lines[:-1]), lines[-1]])
        text = json.dumps(notebook, indent=1, ensure_ascii=False) + "\n"
        (folder / source.name).write_text(text, encoding="utf-8")
    return tuple(source.name for source in notebook_sources())


def _point_to(notebook: dict[str, list[dict[str, object]]], lines: list[str]) -> None:
    """Replace the first cell that sets `records` by one that names the user's files."""
    for cell in notebook["cells"]:
        if cell["cell_type"] == "code" and "".join(cell["source"]).lstrip().startswith(FIRST_CELL):  # type: ignore[arg-type]
            cell["source"] = lines
            return

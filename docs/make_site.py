"""The documentation as a site, built without any network: python -m docs.make_site FOLDER (needs the extra docs).

The pages are the files that are kept anyway (README, this folder, DEVELOPERS, CHANGELOG), the columns of the
vocabulary, and the public names with their docstrings. A warning is an error.
"""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
from collections.abc import Iterator, Sequence
from importlib import import_module
from pathlib import Path

from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.derived import OF_BIRTHS

ROOT = Path(__file__).parents[1]
PAGES = {
    "index": ROOT / "README.md",
    "python": ROOT / "docs" / "python.md",
    "scheme": ROOT / "docs" / "scheme.md",
    "r_and_quarto": ROOT / "docs" / "r_and_quarto.md",
    "shed": ROOT / "docs" / "shed.md",
    "estimates": ROOT / "docs" / "estimates.md",
    "developers": ROOT / "DEVELOPERS.md",
    "contributing": ROOT / "CONTRIBUTING.md",
    "changelog": ROOT / "CHANGELOG.md",
}
"""The pages in order, each with the file that it is made of."""
API = {
    "neonatal_stats": "read_season Season Settings review Review ask Answer CannotRead NotRecorded",
    "neonatal_stats.analysis": "",
    "neonatal_stats.estimates": "",
}
"""Addresses, and of one that holds other addresses too the names that are shown; else all that it offers."""
OWN_SECTIONS = ["Counted", "Method", "Limits", "Source", "Sources"]
CONF = f"""
project = "neonatal_stats"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
html_theme = "alabaster"
html_theme_options = {{"description": "The season review of newborn loss", "page_width": "70rem"}}
html_theme_options["font_family"] = "sans-serif"
html_show_sphinx = False
html_copy_source = False
myst_heading_anchors = 3
napoleon_google_docstring = False
napoleon_custom_sections = {OWN_SECTIONS!r}
napoleon_use_rtype = False
autodoc_typehints = "none"
autodoc_member_order = "bysource"
suppress_warnings = ["myst.header", "misc.highlighting_failure"]
"""


def write_sources(folder: Path) -> None:
    """The sources of the site: every page, the columns, and a page an address."""
    (folder / "conf.py").write_text(CONF, encoding="utf-8")
    for name, source in PAGES.items():
        text = linked(source.read_text(encoding="utf-8"), source.parent)
        (folder / f"{name}.md").write_text(text + (contents() if name == "index" else ""), encoding="utf-8")
    shutil.copytree(ROOT / "docs" / "gallery", folder / "gallery")
    (folder / "gallery" / "README.md").rename(folder / "gallery" / "index.md")
    (folder / "columns.md").write_text("\n".join(columns()) + "\n", encoding="utf-8")
    for address in API:
        (folder / f"{address}.rst").write_text(api_page(address, names_of(address)), encoding="utf-8")


def linked(text: str, beside: Path) -> str:
    """The text with links to kept pages led to those of the site, and links to other files told as their names."""
    place = {source: f"{name}.md" for name, source in PAGES.items()}
    place[ROOT / "docs" / "gallery" / "README.md"] = "gallery/index.md"

    def led(found: re.Match[str]) -> str:
        shown, target, anchor = found[1], found[2], found[3] or ""
        file = (beside / target).resolve()
        if file in place:
            return f"[{shown}]({place[file]}{anchor})"
        if file.is_relative_to(ROOT / "docs" / "gallery"):
            return f"[{shown}](gallery/{file.name})"
        return f"`{shown}`" if "`" not in shown else shown

    return re.sub(r"(?<!!)\[([^\]]+)\]\((?!https?:|#)([^)#\s]+)(#[^)]*)?\)", led, text).replace(
        "](docs/gallery/", "](gallery/"
    )


def contents() -> str:
    """The table of contents, hidden at the end of the first page."""
    names = [*(name for name in PAGES if name != "index"), "columns", "gallery/index", *API]
    return "\n```{toctree}\n:hidden:\n\n" + "\n".join(names) + "\n```\n"


def columns() -> Iterator[str]:
    """Every column that is read, table by table, and those of births that follow."""
    yield "# Every column\n"
    for table, held in TABLES.items():
        yield from (f"\n## {table.capitalize()}\n", "| column | holds | unit | words |", "|---|---|---|---|")
        for one in held:
            yield f"| `{one.name}` | {one.meaning} | {one.unit} | {', '.join(one.words)} |"
    yield from (
        "\n## What follows, in `season.births`\n",
        "| column | holds | unit | words |",
        "|---|---|---|---|",
    )
    for derived in OF_BIRTHS:
        yield f"| `{derived.name}` | {derived.meaning} | {derived.unit} | {', '.join(derived.words)} |"


def api_page(address: str, names: Sequence[str]) -> str:
    """The names of one address with their docstrings."""
    made = f"{address}\n{'=' * len(address)}\n\n.. automodule:: {address}\n\n"
    return made + "\n".join(f".. auto{_kind(name)}:: {address}.{name}\n{_members(name)}" for name in names)


def names_of(address: str) -> list[str]:
    """What is shown of an address: as it is said here, else all that it offers, functions first."""
    return API[address].split() or sorted(
        import_module(address).__all__, key=lambda name: (name[0].isupper(), name)
    )


def _kind(name: str) -> str:
    return (
        "exception" if name in ("CannotRead", "NotRecorded") else "class" if name[0].isupper() else "function"
    )


def _members(name: str) -> str:
    return "   :members:\n   :inherited-members: tuple\n" if _kind(name) == "class" else ""


def parted(app: object, what: str, name: str, one: object, options: object, lines: list[str]) -> None:
    """An error and what it is raised for, said on one line, on two as the reader of docstrings wants them."""
    told = []
    for line in lines:
        found = re.fullmatch(r"(\s*)((?:[A-Z]\w+(?:, )?)+) : (.*)", line)
        told += [f"{found[1]}{found[2]}", f"{found[1]}    {found[3]}"] if found else [line]
    lines[:] = told


def make_site(out: Path) -> None:
    """Build the site into a folder; a warning ends it with an error."""
    from sphinx.application import Sphinx

    with tempfile.TemporaryDirectory() as made:
        sources = Path(made) / "sources"
        sources.mkdir()
        write_sources(sources)
        app = Sphinx(sources, sources, out, Path(made) / "doctrees", "html", warningiserror=True, status=None)
        app.connect("autodoc-process-docstring", parted, priority=1)
        app.build()
        if app.statuscode:
            raise SystemExit(app.statuscode)


if __name__ == "__main__":
    make_site(Path(sys.argv[1]).resolve())

"""The README promises only what is there."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
import typer.main

from neonatal_stats.cli.main import app
from neonatal_stats.season.settings import Marks, Settings
from neonatal_stats.vocabulary.terms import CAUSES

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


NAMES = [field.name for field in (*fields(Settings), *fields(Marks)) if field.name != "marks"]


@pytest.mark.parametrize("name", NAMES)
def test_every_setting_is_documented(name: str) -> None:
    assert f"`{name}" in README or f"[{name}" in README or f", `{name}`" in README


IN_WORDS: dict[str, Any] = {
    "not set": None,
    "none": (),
    "the last two seasons": None,
    "the cause list": CAUSES,
    "see `neonatal_stats/vocabulary/species.py`": (),
}


def rows_of_settings() -> Iterator[tuple[str, str]]:
    """The names and the default as they stand in each row of the README's tables of settings."""
    for table in re.findall(r"\| key \| default \|.*\n\|[-| ]+\n((?:\|.*\n)+)", README):
        for line in table.splitlines():
            names, default, _ = (cell.strip() for cell in line.strip("|").split("|"))
            yield names, default


def promised() -> dict[str, Any]:
    """Each setting's default as the README states it: as TOML, or in the words of `IN_WORDS`."""
    found: dict[str, Any] = {}
    for names, default in rows_of_settings():
        said = re.findall(r"`\[*([a-z_]+)", names)
        if default in IN_WORDS:
            found |= dict.fromkeys(said, IN_WORDS[default])
            continue
        cells = [default] if len(said) == 1 else default.split(", ")
        for name, cell in zip(said, cells, strict=True):
            whole = IN_WORDS[cell] if cell in IN_WORDS else toml(name, cell)
            found[name] = tuple(whole) if isinstance(whole, list) else whole
    return found


def toml(name: str, cell: str) -> Any:
    """A value as it would stand in a settings file; a table's rows are given one by one."""
    parts = re.findall("`([^`]+)`", cell)
    table = " = " in parts[0]
    text = f"[{name}]\n" + "\n".join(parts) if table else f"{name} = {', '.join(parts)}"
    return tomllib.loads(text)[name]


@pytest.mark.parametrize("name", NAMES)
def test_every_default_is_the_one_promised(name: str) -> None:
    holder = Marks() if name in {field.name for field in fields(Marks)} else Settings()
    real = getattr(holder, name)
    assert (() if real == {} else real) == promised()[name]


def test_every_command_is_documented() -> None:
    for name in typer.main.get_command(app).commands:  # type: ignore[attr-defined]
        assert f"| `{name} " in README


def test_every_link_to_a_file_leads_somewhere() -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target


def test_the_smallest_table_gives_a_first_review(tmp_path: Path) -> None:
    from neonatal_stats import read_season
    from neonatal_stats.report.review import build

    lines = README.partition("| season | dam_id | died |")[2].partition("\n\n")[0].splitlines()[2:]
    rows = [",".join(cell.strip() for cell in line.strip("|").split("|")) for line in lines]
    births = tmp_path / "births.csv"
    births.write_text("\n".join(["season,dam_id,died", *rows]))
    sections = build(read_season([births])).sections
    assert any("1 of 3" in sentence.text for section in sections for sentence in section.sentences)


SNIPPETS = re.findall(
    r"```python\n(.*?)```", README.partition("## In Python")[2].partition("\n## ")[0], re.DOTALL
)


@pytest.mark.slow
@pytest.mark.parametrize("snippet", SNIPPETS, ids=["frames", "own column", "chapter"])
def test_what_is_shown_in_python_runs(
    snippet: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "data").symlink_to(ROOT / "data")
    monkeypatch.chdir(tmp_path)
    exec(compile(snippet, "README.md", "exec"), {})
    said = capsys.readouterr().out
    if "write(" in snippet:
        assert (tmp_path / "review-cows" / "review.html").stat().st_size > 100_000
        assert "births frame" in said
        assert "born alive" in said
    elif "with_column" in snippet:
        assert "watched" in said
    else:
        assert "calves" in said


def test_what_is_public_is_documented() -> None:
    import neonatal_stats

    documented = (
        README.partition("## In Python")[2].partition("\n## ")[0] + README.partition("## Settings")[2]
    )
    for name in set(neonatal_stats.__all__) - {"__version__"}:
        assert re.search(rf"\b{name}\b", documented, re.IGNORECASE), name
        assert getattr(neonatal_stats, name).__doc__

"""The README promises only what is there."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest
import typer.main

from neonatal_stats.cli.main import app
from neonatal_stats.season.settings import Marks, Settings

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


NAMES = [field.name for field in (*fields(Settings), *fields(Marks)) if field.name != "marks"]


@pytest.mark.parametrize("name", NAMES)
def test_every_setting_is_documented(name: str) -> None:
    assert f"`{name}" in README or f"[{name}" in README or f", `{name}`" in README


def test_every_command_is_documented() -> None:
    for name in typer.main.get_command(app).commands:  # type: ignore[attr-defined]
        assert f"| `{name} " in README


def test_every_link_to_a_file_leads_somewhere() -> None:
    import re

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

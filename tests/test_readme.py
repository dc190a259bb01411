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


@pytest.mark.parametrize("name", [f.name for f in fields(Settings) if f.name != "marks"] + [f.name for f in fields(Marks)])
def test_every_setting_is_documented(name: str) -> None:
    assert f"`{name}" in README or f"[{name}" in README or f", `{name}`" in README


def test_every_command_is_documented() -> None:
    for name in typer.main.get_command(app).commands:  # type: ignore[attr-defined]
        assert f"| `{name} " in README


def test_every_link_to_a_file_leads_somewhere() -> None:
    import re

    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target

"""The files by which people and programs know a project agree with it and with each other."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
import typer.main

import neonatal_stats
from neonatal_stats.cli.main import app
from tests.long_tests import long_tests

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TEXTS = ("README.md", "DEVELOPERS.md", "CHANGELOG.md", "CONTRIBUTING.md", "SECURITY.md", "CITATION.cff")


def text(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def test_one_version_everywhere() -> None:
    cited = re.search(r"^version: (.+)$", text("CITATION.cff"), re.M)
    newest = re.search(r"^## (\d[\d.]*)", text("CHANGELOG.md"), re.M)
    assert cited
    assert newest
    assert {neonatal_stats.__version__, PROJECT["version"], cited[1], newest[1]} == {PROJECT["version"]}
    assert re.search(r"^license: (.+)$", text("CITATION.cff"), re.M)[1] == PROJECT["license"]  # type: ignore[index]


@pytest.mark.parametrize("name", [name for name in TEXTS if name.endswith(".md")])
def test_every_link_leads_to_a_file_and_a_heading_that_are_there(name: str) -> None:
    for target, heading in re.findall(r"\]\(([^)#\s]+)#?([^)\s]*)\)", text(name)):
        assert (ROOT / target).exists(), target
        titles = re.findall(r"^#+ (.+)$", text(target), re.M) if heading else []
        assert not heading or heading in {title.lower().replace(" ", "-") for title in titles}, heading


@pytest.mark.parametrize("name", [*TEXTS, "pyproject.toml", ".pre-commit-config.yaml"])
def test_no_host_is_named(name: str) -> None:
    assert not re.search(r"https?://|git@|\bwww\.", text(name))


def test_every_extra_is_known_to_the_readme_and_none_is_promised_that_there_is_not() -> None:
    assert set(re.findall(r"`\.\[(\w+)\]`", text("README.md"))) == set(PROJECT["optional-dependencies"])


def test_the_readme_makes_the_command_known_before_it_uses_it() -> None:
    told = text("README.md")
    first = re.search(r"^neonatal-stats ", told, re.M)
    assert first
    assert ". .venv/bin/activate" in told[: first.start()]
    assert told.index("git clone") < told.index(".venv/bin/neonatal-stats")


def test_every_option_of_check_and_review_that_is_for_scripts_is_in_the_readme() -> None:
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    for name in ("check", "review"):
        offered = {option for one in commands[name].params for option in one.opts}
        assert {"--quiet", "--json"} <= offered
    assert all(f"| `{option}` |" in text("README.md") for option in ("--quiet", "--json", "--version"))


def test_hooks_run_what_the_environment_holds_and_fetch_nothing() -> None:
    hooks = text(".pre-commit-config.yaml")
    assert re.findall(r"repo: (.+)", hooks) == ["local"]
    assert set(re.findall(r"language: (.+)", hooks)) == {"system"}
    lint = {re.split(r"[<>=]", one)[0] for one in PROJECT["optional-dependencies"]["lint"]}
    assert set(re.findall(r"entry: (\w+)", hooks)) <= lint


def test_what_is_listed_as_long_is_there() -> None:
    """A test that was renamed would be among the quick ones again, however long it takes."""
    texts: dict[str, str] = {}
    gone = []
    for name in long_tests():
        path, _, test = name.partition("::")
        if path not in texts:
            texts[path] = (ROOT / path).read_text(encoding="utf-8") if (ROOT / path).is_file() else ""
        if f" {test.rpartition('.')[2].rpartition('::')[2]}" not in texts[path]:
            gone.append(name)
    assert gone == []

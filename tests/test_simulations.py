"""Every script of the simulations runs as the code stands, and prints the rows that its kept table has.

With a few repetitions only: the numbers are not looked at, the words that stand before them are. Of the scripts one in
three is run, and all of them with the rest of the forms: what breaks one, a signature that moved on, breaks several.
"""

from __future__ import annotations

import re
import runpy
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.simulations.__main__ import HERE, TABLES
from tests.simulations.times import SHARE
from tests.thinned import thinned


def rows(printed: str) -> list[str]:
    """The lines of a table by their words, without numbers, rules and what depends on them."""
    lines = (
        " ".join(re.findall(r"[A-Za-z][A-Za-z'-]+", line.split("  ")[0])) for line in printed.splitlines()
    )
    return [line for line in lines if len(line) > 6]


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", thinned(TABLES, 3))
def test_a_script_prints_the_rows_of_its_kept_table(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A signature that moved on, or a row that was renamed, shows here and not when the table is wanted."""
    monkeypatch.setenv(SHARE, "0.001")
    monkeypatch.setattr("concurrent.futures.ProcessPoolExecutor", lambda *processes: ThreadPoolExecutor(1))
    monkeypatch.setattr(sys, "argv", [name])
    runpy.run_module(f"tests.simulations.{name}", run_name="__main__")
    assert rows(capsys.readouterr().out) == rows((HERE / f"{name}.txt").read_text(encoding="utf-8"))

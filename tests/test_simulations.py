"""Every script of the simulations runs as the code stands, and prints the rows that its kept table has.

With a few repetitions only: the numbers are not looked at, the words that stand before them are.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.simulations.__main__ import HERE, TABLES
from tests.simulations.times import SHARE

ROOT = Path(__file__).parents[1]


def rows(printed: str) -> list[str]:
    """The lines of a table by their words, without numbers, rules and what depends on them."""
    lines = (
        " ".join(re.findall(r"[A-Za-z][A-Za-z'-]+", line.split("  ")[0])) for line in printed.splitlines()
    )
    return [line for line in lines if len(line) > 6]


@pytest.mark.slow
@pytest.mark.parametrize("name", TABLES)
def test_a_script_prints_the_rows_of_its_kept_table(name: str) -> None:
    """A signature that moved on, or a row that was renamed, shows here and not when the table is wanted."""
    run = subprocess.run(
        [sys.executable, "-m", f"tests.simulations.{name}"],
        cwd=ROOT,
        env=os.environ | {SHARE: "0.001", "OMP_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
    )
    assert run.returncode == 0, run.stderr[-2000:]
    assert rows(run.stdout) == rows((HERE / f"{name}.txt").read_text(encoding="utf-8"))

"""The reviews of the demo herds are the same files, byte for byte, whichever pandas made them.

The second environment is named by OTHER_PYTHON, the path of its Python (`.ci/pandas3` makes one and names it).
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.demo import HERDS

ROOT = Path(__file__).parents[1]
OTHER = os.environ.get("OTHER_PYTHON", "")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        not OTHER, reason="OTHER_PYTHON names no second environment to compare the pages with"
    ),
]
PANDAS = "import pandas; print(pandas.__version__)"


def told_by(python: str, *arguments: object) -> str:
    """What that Python prints, told to run this package's source."""
    done = subprocess.run(
        [python, *map(str, arguments)],
        cwd=ROOT / "data" / "demo",
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
    )
    assert done.returncode < 2, done.stderr
    return done.stdout.strip()


def written_by(python: str, herd: str, out: Path) -> dict[str, bytes]:
    """Every file of a herd's review, made by that Python, by its path in the folder."""
    records = sorted(path.name for path in (ROOT / "data" / "demo").glob(f"{herd}*.csv"))
    review = ("-m", "neonatal_stats", "review", *records, "--settings", HERDS[herd], "--quiet", "--out")
    told_by(python, *review, out)
    return {path.relative_to(out).as_posix(): path.read_bytes() for path in out.rglob("*") if path.is_file()}


def test_the_two_hold_another_pandas() -> None:
    assert told_by(OTHER, "-c", PANDAS) != told_by(sys.executable, "-c", PANDAS)


@pytest.mark.parametrize("herd", HERDS)
def test_every_file_of_a_review(herd: str, tmp_path: Path) -> None:
    ours = written_by(sys.executable, herd, tmp_path / "ours")
    theirs = written_by(OTHER, herd, tmp_path / "theirs")
    assert ours.keys() == theirs.keys()
    assert {"review.html", "keeper.html", "review.xlsx", "headline.json"} <= ours.keys()
    assert [name for name in ours if ours[name] != theirs[name]] == []

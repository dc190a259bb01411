"""The thirteen jobs of docs/python.md: each at most three lines, all of them run, nothing imported from deep within."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import matplotlib as mpl
import pandas as pd
import pytest

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
FIRST, *JOBS = re.split(r"^## ", PAGE, flags=re.MULTILINE)
DEEPEST = 2
ELSEWHERE = ("lifelines", "statsmodels")


def blocks(text: str) -> list[str]:
    return re.findall(r"```python\n(.*?)```", text, re.DOTALL)


def imported(code: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield str(node.module)


def test_thirteen_jobs_of_at_most_three_lines() -> None:
    assert [job.partition(".")[0] for job in JOBS] == [str(n) for n in range(1, 14)]
    for job in JOBS:
        assert blocks(job), job
        assert all(len(block.splitlines()) <= 3 for block in blocks(job)), job
        assert max(map(len, job.splitlines())) < 140


def test_no_job_imports_from_deep_within() -> None:
    for block in (*blocks(FIRST), *(block for job in JOBS for block in blocks(job))):
        for name in imported(block):
            assert not name.startswith("neonatal_stats") or name.count(".") < DEEPEST, block


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> dict[str, object]:
    """All jobs, one after the other, in one namespace; those of packages that are not here are passed over."""
    folder = tmp_path_factory.mktemp("jobs")
    (folder / "data").symlink_to(ROOT / "data")
    names: dict[str, object] = {"folder": folder}
    with pytest.MonkeyPatch.context() as patch, mpl.rc_context({"backend": "agg"}):
        patch.chdir(folder)
        for block in [*blocks(FIRST), *(block for job in JOBS for block in blocks(job))]:
            if any(name in block and find_spec(name) is None for name in ELSEWHERE):
                continue
            *first, last = ast.parse(block).body
            exec(compile(ast.Module(first, []), "python.md", "exec"), names)
            if isinstance(last, ast.Expr):
                names[f"shown {block}"] = eval(
                    compile(ast.Expression(last.value), "python.md", "eval"), names
                )
            else:
                exec(compile(ast.Module([last], []), "python.md", "exec"), names)
    return names


def shown(done: dict[str, object], part: str) -> object:
    return next(value for name, value in done.items() if name.startswith("shown ") and part in name)


@pytest.mark.slow
def test_each_job_gives_what_it_promises(done: dict[str, object]) -> None:
    folder = done["folder"]
    assert isinstance(folder, Path)
    at_ages = shown(done, '"early"')
    assert isinstance(at_ages, pd.DataFrame)
    assert at_ages["age_h"].tolist() == [24, 168, 24, 168]
    sentences = shown(done, "german")
    assert isinstance(sentences, list)
    assert any("Kälber" in text for text in sentences)
    contrasts = shown(done, "surgery.to_frame()")
    assert isinstance(contrasts, pd.DataFrame)
    assert contrasts["verdict"].isin(["no clear difference", "leaning", "clear", "too few to say"]).all()
    assert {"two.png", "difficulty.svg", "surgery.csv"} <= {path.name for path in folder.iterdir()}
    assert (folder / "review-2026" / "review.html").stat().st_size > 100_000
    frame = shown(done, "curve.to_frame()")
    assert isinstance(frame, pd.DataFrame)
    assert frame["share"].tolist() == pytest.approx([0.75, 0.5, 0.5])


@pytest.mark.slow
@pytest.mark.parametrize("package", ELSEWHERE)
def test_one_goes_on_elsewhere(done: dict[str, object], package: str) -> None:
    pytest.importorskip(package, reason="the extra [notebooks] is not here, or does not take this pandas yet")
    found = shown(done, package)
    assert isinstance(found, pd.Series)
    assert found.notna().all()

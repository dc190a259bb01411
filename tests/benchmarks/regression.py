"""How long regression takes beside other libraries, from a thousand newborns to a million. Prints a table; no test.

Run from the top of the project: ``python tests/benchmarks/regression.py [--most 1000000] [--limit 60]``.
Every run is a process of its own, so that its peak memory (above the data) is its own; seconds are medians,
fitting only. A tool that would take longer than the limit at a size, judged by how it grew, is skipped with
the reason.
"""

from __future__ import annotations

import argparse
import datetime
import json
import platform
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

X = [f"x{j}" for j in range(6)]
TASKS = {
    "Cox, 6 covariates, errors by litter": (
        "ours",
        "rust survival",
        "R survival",
        "lifelines",
        "statsmodels",
        "scikit-survival",
    ),
    "Cox with first feed as time goes, errors by litter": ("ours", "rust survival", "R survival", "lifelines"),
    "deaths between two checks (Turnbull)": ("ours", "rust survival", "R survival", "lifelines"),
}  # fmt: skip
NOTES = {
    "scikit-survival": "no errors at all, coefficients only",
    "statsmodels": "Breslow ties, by litter through its groups",
    "lifelines": "no errors by litter in the second task; closed intervals in the third",
}
COX, FEED, CHECKS = TASKS


def flock(n: int) -> pd.DataFrame:
    """Invented: litters of one to four, ages in whole hours over 42 days, about 15 % lost, five 0/1 covariates."""
    rng = np.random.default_rng(20240517)
    litter = np.repeat(np.arange(n), rng.integers(1, 5, n))[:n]
    z = np.column_stack([*(rng.integers(0, 2, n) for _ in range(5)), np.round(rng.normal(4, 0.8, n), 1)])
    eta = z @ np.array([0.3, -0.2, 0.5, 0.0, 0.1, -0.4]) + rng.normal(0, 0.5, n)[litter] + 1.3
    age = np.floor(1008 * (rng.exponential(1, n) / 0.15 * np.exp(-eta)) ** (1 / 0.4))
    died = (age < 1008).astype(np.int64)
    age = np.minimum(age, 1008)
    fed = np.floor(rng.exponential(5, n))
    gap = rng.choice([1.0, 2.0, 4.0], n)
    low = np.floor(age / gap) * gap
    return pd.DataFrame(
        dict(zip(X, z.T, strict=True))
        | {"age": age + 1, "died": died, "litter": litter, "fed_h": np.where(fed < age, fed, np.nan)}
        | {"low": np.where(died == 1, low, age), "high": np.where(died == 1, low + gap, np.inf)}
    )


def split(rows: pd.DataFrame) -> pd.DataFrame:
    """Start-stop rows for the peers."""
    fed = rows["fed_h"].notna()
    first = rows.assign(start=0.0, stop=np.where(fed, rows["fed_h"] + 1, rows["age"]), fed=0)
    first["died"] = np.where(fed, 0, rows["died"])
    later = rows[fed].assign(start=rows["fed_h"] + 1, stop=rows["age"], fed=1)
    return pd.concat([first, later], ignore_index=True)


def ours(task: str, rows: pd.DataFrame) -> Callable[[], object]:
    """This project."""
    from neonatal_stats.estimates.cox_regression import cox
    from neonatal_stats.estimates.interval_censored import turnbull
    from neonatal_stats.estimates.time_dependent import fed_hazard_ratio

    age, died, litter = (rows[name].to_numpy() for name in ("age", "died", "litter"))
    z, fed = rows[X].to_numpy(), rows["fed_h"].to_numpy() + 1
    low, high = rows["low"].to_numpy(), rows["high"].to_numpy()
    return {
        COX: lambda: cox(age, died, z, cluster=litter, level=0.95),
        FEED: lambda: fed_hazard_ratio(age, died, fed, z, cluster=litter, level=0.95),
        CHECKS: lambda: turnbull(low, high),
    }[task]


def rust(task: str, rows: pd.DataFrame) -> Callable[[], object]:
    """The `survival` package from PyPI."""
    import survival

    if task == CHECKS:
        found = np.isfinite(rows["high"].to_numpy())
        low = rows["low"].to_numpy() + 1e-4  # its intervals are closed
        high, status = np.where(found, rows["high"], low), np.where(found, 3, 0)
        turnbull: Callable[..., object] = getattr(survival.interval, "turnbull")  # noqa: B009
        return lambda: turnbull(low, high, status)
    table = split(rows) if task == FEED else rows
    columns: dict[str, Any] = {str(name): table[name].to_numpy() for name in table}
    left = "Surv(start, stop, died) ~ fed + " if task == FEED else "Surv(age, died) ~ "
    return lambda: survival.coxph(left + " + ".join(X), columns, cluster="litter")


def lifelines(task: str, rows: pd.DataFrame) -> Callable[[], object]:
    from lifelines import CoxPHFitter, CoxTimeVaryingFitter, KaplanMeierFitter

    if task == CHECKS:
        return lambda: KaplanMeierFitter().fit_interval_censoring(rows["low"], rows["high"])
    if task == FEED:
        table = split(rows).assign(id=lambda d: np.arange(len(d)))[["id", "start", "stop", "died", "fed", *X]]
        return lambda: CoxTimeVaryingFitter().fit(
            table, "died", id_col="id", start_col="start", stop_col="stop"
        )
    return lambda: CoxPHFitter().fit(rows[["age", "died", "litter", *X]], "age", "died", cluster_col="litter")


def statsmodels(task: str, rows: pd.DataFrame) -> Callable[[], object]:
    from statsmodels.duration.hazard_regression import PHReg

    assert task == COX
    return lambda: PHReg(rows["age"], rows[X], rows["died"], ties="breslow").fit(groups=rows["litter"]).bse


def scikit_survival(task: str, rows: pd.DataFrame) -> Callable[[], object]:
    from sksurv.linear_model import CoxPHSurvivalAnalysis

    assert task == COX
    y = np.array(
        list(zip(rows["died"] == 1, rows["age"], strict=True)), dtype=[("died", "?"), ("age", "<f8")]
    )
    z = rows[X].to_numpy()
    return lambda: CoxPHSurvivalAnalysis(ties="efron").fit(z, y)


R_CALLS = {
    COX: "coxph(Surv(age, died) ~ x0+x1+x2+x3+x4+x5, d, cluster = litter)",
    FEED: "coxph(Surv(start, stop, died) ~ fed+x0+x1+x2+x3+x4+x5, d, cluster = litter)",
    CHECKS: "survfit(Surv(low, ifelse(is.finite(high), high, NA), type = 'interval2') ~ 1)",
}


def in_r(task: str, rows: pd.DataFrame) -> tuple[float, float]:
    """Seconds and peak megabytes above the data in R survival."""
    table = split(rows) if task == FEED else rows
    table = table.assign(low=table["low"] + (table["low"] < table["high"]) * 1e-4)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "flock.csv"
        table.to_csv(path, index=False)
        code = (
            f"suppressMessages(library(survival)); d <- read.csv('{path}'); attach(d); g <- sum(gc(reset=TRUE)[,6]);"
            f"t <- system.time(f <- {R_CALLS[task]})[3]; cat(t, sum(gc()[,6]) - g)"
        )
        seconds, memory = subprocess.run(
            ["Rscript", "-e", code], capture_output=True, text=True, check=True
        ).stdout.split()
    return float(seconds), float(memory)


TOOLS: dict[str, Callable[[str, pd.DataFrame], Callable[[], object]]] = {
    "ours": ours,
    "rust survival": rust,
    "lifelines": lifelines,
    "statsmodels": statsmodels,
    "scikit-survival": scikit_survival,
}


def one(task: str, tool: str, n: int) -> tuple[float, float]:
    """Median seconds of up to five runs and peak megabytes above the data, in this process."""
    warnings.simplefilter("ignore")
    rows = flock(n)
    if tool == "R survival":
        return in_r(task, rows)
    run = TOOLS[tool](task, rows)
    TOOLS[tool](task, flock(300))()  # imports and first-call work are not fitting
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    seconds: list[float] = []
    while len(seconds) < 5 and sum(seconds) < 10:
        start = time.perf_counter()
        with np.errstate():
            run()
        seconds.append(time.perf_counter() - start)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    return float(np.median(seconds)), peak / 1024


def apart(task: str, tool: str, n: int, limit: float) -> tuple[float, float] | str:
    """The same in a process of its own, or why there is no answer."""
    command = [sys.executable, __file__, "--one", task, tool, str(n)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=4 * limit + 60, check=False)
    except subprocess.TimeoutExpired:
        return f"stopped after {4 * limit + 60:.0f} s"
    if done.returncode:
        return "failed: " + done.stderr.strip().splitlines()[-1][:80]
    seconds, memory = json.loads(done.stdout.splitlines()[-1])
    return seconds, memory


def expected(past: dict[int, float], n: int) -> float:
    """Seconds to expect at n from the growth between the last two sizes, at least in proportion to n."""
    if not past:
        return 0.0
    *_, (size, last) = sorted(past.items())
    before = [seconds for smaller, seconds in past.items() if smaller < size]
    growth = min(max(10.0, last / before[-1]), 100.0) if before else 10.0
    return last * growth if n > size else last


def compare(task: str, sizes: list[int], limit: float) -> None:
    """One table: sizes down, tools across, each with its ratio to ours."""
    print(
        f"\n## {task}\n\n| newborns | tool | seconds | ratio to ours | peak MB above the data |\n|---|---|---|---|---|"
    )
    past: dict[str, dict[int, float]] = {tool: {} for tool in TASKS[task]}
    for n in sizes:
        for tool in TASKS[task]:
            if tool == "R survival" and not shutil.which("Rscript"):
                answer: tuple[float, float] | str = "skipped: no Rscript here"
            elif tool != "ours" and expected(past[tool], n) > limit:
                answer = f"skipped: would take about {expected(past[tool], n):.0f} s"
                past[tool][n] = expected(past[tool], n)
            else:
                answer = apart(task, tool, n, limit)
            if isinstance(answer, str):
                print(f"| {n} | {tool} | {answer} | | |", flush=True)
                continue
            past[tool][n] = answer[0]
            ratio = answer[0] / past["ours"][n]
            print(f"| {n} | {tool} | {answer[0]:.4f} | {ratio:.1f} | {answer[1]:.0f} |", flush=True)


def main() -> None:
    """Run one measurement (``--one``) or print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--one", nargs=3, metavar=("TASK", "TOOL", "N"))
    parser.add_argument("--most", type=int, default=1_000_000)
    parser.add_argument("--limit", type=float, default=60.0, help="seconds above which a tool is skipped")
    given = parser.parse_args()
    if given.one:
        task, tool, n = given.one
        print(json.dumps(one(task, tool, int(n))))
        return
    today = datetime.date.today().isoformat()
    print(f"# Regression beside other libraries\n\n{today}, {platform.machine()}\n")
    for name in ("numpy", "survival", "lifelines", "statsmodels", "scikit-survival"):
        print(f"- {name} {version(name)}{': ' + NOTES[name] if name in NOTES else ''}")
    sizes = [n for n in (1_000, 10_000, 100_000, 1_000_000, 10_000_000) if n <= given.most]
    for task in TASKS:
        compare(task, sizes, given.limit)


if __name__ == "__main__":
    main()

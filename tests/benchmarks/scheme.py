"""A scheme's records on the embedded engine: seconds, peak memory and passes for one question, by newborns.

Run from the project root: ``python -m tests.benchmarks.scheme [most] [--memory 2GB] [--threads 2] >
tests/benchmarks/scheme.txt`` (10^6 when absent; tenfold steps from 10^5). Every line is a process of its own, whose
peak memory is that of the whole process. One question is: survival, loss by 24 h (share, interval, each group against
the rest) and causes, by sex, from the births in Parquet to the frames; in clusters of dams (histories that are alike;
with the rows in the order of the dams, and shuffled within each file) and of farms (newborns that are alike). Beside
it stands what no answer can do without, counting the same columns' rows as they are written, and the whole command:
every question that those columns answer, with page, workbook and tables. Seconds of the processors (all threads) tell
the cost where other programs run on the machine.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import warnings
from contextlib import redirect_stdout
from datetime import date
from io import StringIO
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

import ibis

from neonatal_stats.cli.scheme import run_scheme
from neonatal_stats.measures.contrasts import contrasts
from neonatal_stats.measures.curves import incidence, survival
from neonatal_stats.measures.rates import rates
from neonatal_stats.scheme.engines import counting, embedded
from neonatal_stats.scheme.histories import ALIKE, Question, histories
from neonatal_stats.scheme.records import births_of
from neonatal_stats.season.settings import Settings
from tests.scheme.made import scheme_births

AT_ONCE, FARMS = 1_000_000, 25
WRITTEN, SHUFFLED = "written", "shuffled"
PAGE = "whole page"
KINDS = ("dam", "farm", "counted alone", PAGE)
COLUMNS = ("farm", "sex", "cause", "died", "born_alive")


def write(n: int, folder: Path, shuffled: bool) -> None:
    """Births of n newborns, a file for each million with farms of its own; in a process of its own, for its memory."""
    for part in range(max(1, n // AT_ONCE)):
        frame = scheme_births(min(n, AT_ONCE), farms=FARMS, number=part)
        frame = frame.sample(frac=1, random_state=part) if shuffled else frame
        place = folder / f"farm={part:03d}" / "season=2026"
        place.mkdir(parents=True)
        frame.assign(farm=f"{part:03d} " + frame["farm"]).to_parquet(place / "births.parquet", index=False)


def one_question(folder: Path, kind: str, threads: int, memory: str) -> None:
    """Answer it and print one line."""
    start = perf_counter()
    engine = embedded(threads=threads, memory=memory, spill=folder / "spill")
    births = births_of(engine, folder)
    with counting(engine) as passes:
        if kind == KINDS[2]:
            counted = births.group_by(*COLUMNS).aggregate(n=births.count()).execute()
            print_line(kind, int(counted["n"].sum()), len(counted), perf_counter() - start, 0.0, len(passes))
            return
        settings = Settings(cluster=kind.partition(",")[0])
        told = histories(births, settings, Question(("sex",), causes=True))
    derived = perf_counter()
    alive = told[~told["stillborn"]]
    survival(alive, ("sex",), level=settings.level, alike=ALIKE)
    rates(told, ("sex",), "lost_by_24_h", level=settings.level, alike=ALIKE)
    contrasts(told, "sex", versus=None, outcome="lost_by_24_h", settings=settings, alike=ALIKE)
    incidence(told, ("sex",), level=settings.level, alike=ALIKE)
    n = int((told[ALIKE.newborns] * told[ALIKE.clusters]).sum())
    print_line(kind, n, told["cluster"].nunique(), derived - start, perf_counter() - derived, len(passes))


def whole_page(folder: Path, threads: int, memory: str) -> None:
    """The whole command, and one line."""
    told: list[dict[str, Any]] = []
    start = perf_counter()
    with tempfile.TemporaryDirectory() as out:
        run_scheme(
            folder,
            Path(out) / "scheme",
            None,
            "duckdb",
            None,
            (),
            5,
            memory,
            threads,
            False,
            True,
            told.append,
        )
    headline = told[0]["headline"]
    engine_s = sum(one["seconds"] for one in headline["cost"])
    passes = sum(one["passes"] for one in headline["cost"])
    rest_s = perf_counter() - start - engine_s
    print_line(PAGE, headline["newborns"], 0, engine_s, rest_s, passes)


def print_line(kind: str, n: int, distinct: int, engine_s: float, estimates_s: float, passes: int) -> None:
    """One line of the table."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
    print(
        f"{n:>12,}  {kind:<14}{distinct:>10,}{engine_s:>10.1f}{estimates_s:>11.1f}{process_time():>8.1f}"
        f"{peak:>10.2f}{passes:>8}",
        flush=True,
    )


def main() -> None:
    """The table, a process a line."""
    parser = argparse.ArgumentParser()
    parser.add_argument("most", nargs="?", type=float, default=1e6)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--memory", default="2GB")
    parser.add_argument("--one", nargs=3, metavar=("FOLDER", "KIND", "N"))
    given = parser.parse_args()
    warnings.filterwarnings("ignore", "fetch_arrow_table", DeprecationWarning)
    if given.one:
        folder, kind, n = given.one
        if kind in (WRITTEN, SHUFFLED):
            write(int(n), Path(folder), kind == SHUFFLED)
        elif kind == PAGE:
            with redirect_stdout(StringIO()) as quiet:
                whole_page(Path(folder), given.threads, given.memory)
            print(quiet.getvalue().splitlines()[-1], flush=True)
        else:
            one_question(Path(folder), kind, given.threads, given.memory)
        return
    print(
        f"{date.today():%Y-%m-%d}; Ibis {ibis.__version__}, {given.threads} threads, engine at most {given.memory}"
    )
    print("    newborns  clusters        distinct  engine s  estimates s   cpu s   peak GB  passes")
    n = 100_000
    while n <= given.most:
        options = ["--threads", str(given.threads), "--memory", given.memory]
        for kinds in ((WRITTEN, *KINDS), (SHUFFLED, f"{KINDS[0]}, {SHUFFLED}")):
            with tempfile.TemporaryDirectory() as folder:
                for kind in kinds:
                    one = ("--one", folder, kind, str(n))
                    subprocess.run(
                        [sys.executable, "-m", "tests.benchmarks.scheme", *options, *one], check=True
                    )
        n *= 10


if __name__ == "__main__":
    main()

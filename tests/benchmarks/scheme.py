"""A scheme's records on the embedded engine: seconds, peak memory and passes for one question, by newborns.

Run from the project root: ``python -m tests.benchmarks.scheme [most] [--memory 2GB] [--threads 2] >
tests/benchmarks/scheme.txt`` (10^6 when absent; tenfold steps from 10^5). Every line is a process of its own, whose
peak memory is that of the whole process. One question is: survival, loss by 24 h (share, interval, each group against
the rest) and causes, by sex, from the births in Parquet to the frames; in clusters of dams (histories that are alike;
with the rows in the order of the dams, and shuffled within each file) and of farms (newborns that are alike). Beside
it stand

- what no answer can do without: counting the same columns' rows as they are written;
- the whole command: every question that those columns answer, with page, workbook and tables; and so of shuffled rows;
- the same question in memory, and of Apache Spark on this machine, as far as that is bearable (`AT_MOST`);
- a farm's whole review of the births as CSV, with every chapter and figure;
- lifelines' curves by sex from ages and events that are there already: a peer for the estimates alone, no clusters.

"MB read" are the compressed columns of the question, times the passes. Seconds of the processors (all threads of the
process) tell the cost where other programs run on the machine; they and the memory leave out Spark's Java.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import warnings
from collections.abc import Collection
from contextlib import redirect_stdout
from datetime import date
from importlib.util import find_spec
from io import StringIO
from pathlib import Path
from time import perf_counter
from typing import Any

import ibis
import pandas as pd
from lifelines import KaplanMeierFitter
from pyarrow import parquet

from neonatal_stats import read_season
from neonatal_stats.cli.scheme import run_scheme
from neonatal_stats.measures.contrasts import contrasts
from neonatal_stats.measures.curves import incidence, survival
from neonatal_stats.measures.rates import Alike, rates
from neonatal_stats.scheme.engines import counting, embedded, has_java, spark
from neonatal_stats.scheme.histories import ALIKE, Question, histories
from neonatal_stats.scheme.records import births_of, files_of
from neonatal_stats.season.following.follow import follow
from neonatal_stats.season.settings import Settings
from tests.scheme.made import scheme_births

AT_ONCE, FARMS = 1_000_000, 25
MODULE = "tests.benchmarks.scheme"
WRITTEN, SHUFFLED, PAGE_SHUFFLED = "written", "shuffled", "page, shuffled"
ALONE, PAGE, MEMORY, REVIEW, SPARK, SPARK_PAGE, PEER = (
    "counted alone",
    "whole page",
    "in memory",
    "farm's review",
    "Spark, dam",
    "Spark, page",
    "lifelines",
)
KINDS = ("dam", "farm", ALONE, PAGE)
BESIDE = (MEMORY, PEER, SPARK, SPARK_PAGE, REVIEW)
AT_MOST = {MEMORY: 1e6, PEER: 1e7, SPARK: 1e7, SPARK_PAGE: 1e6, REVIEW: 1e6}
COLUMNS = ("farm", "sex", "cause", "died", "born_alive")
QUESTION = (*COLUMNS, "season", "species", "dam_id", "born_at", "died_at", "left_at", "litter_size")
READ_BACK = (*QUESTION, *(f"{moment}_is_day" for moment in ("born_at", "died_at", "left_at")))


def write(n: int, folder: Path, shuffled: bool) -> None:
    """Births of n newborns, a file for each million with farms of its own; in a process of its own, for its memory."""
    for part in range(max(1, n // AT_ONCE)):
        frame = scheme_births(min(n, AT_ONCE), farms=FARMS, number=part)
        frame = frame.sample(frac=1, random_state=part) if shuffled else frame
        place = folder / f"farm={part:03d}" / "season=2026"
        place.mkdir(parents=True)
        frame.assign(farm=f"{part:03d} " + frame["farm"]).to_parquet(place / "births.parquet", index=False)


def one_question(folder: Path, kind: str, engine: ibis.BaseBackend) -> None:
    """Answer it of an engine and print one line."""
    start = perf_counter()
    births = births_of(engine, folder)
    with counting(engine) as passes:
        if kind == ALONE:
            counted = births.group_by(*COLUMNS).aggregate(n=births.count()).execute()
            derived, n = perf_counter(), int(counted["n"].sum())
            print_line(kind, n, len(counted), derived - start, 0.0, megabytes(folder, COLUMNS), len(passes))
            return
        settings = Settings(cluster="farm" if kind == "farm" else "dam")
        told = histories(births, settings, Question(("sex",), causes=True))
    derived = perf_counter()
    answer(told, settings, ALIKE)
    n = int((told[ALIKE.newborns] * told[ALIKE.clusters]).sum())
    read = megabytes(folder, QUESTION) * len(passes)
    distinct = told["cluster"].nunique()
    print_line(kind, n, distinct, derived - start, perf_counter() - derived, read, len(passes))


def answer(told: pd.DataFrame, settings: Settings, alike: Alike | None) -> None:
    """Survival, loss by 24 h and causes, by sex."""
    level = settings.level
    survival(told[~told["stillborn"]], ("sex",), level=level, alike=alike)
    rates(told, ("sex",), "lost_by_24_h", level=level, alike=alike)
    contrasts(told, "sex", versus=None, outcome="lost_by_24_h", settings=settings, alike=alike)
    incidence(told, ("sex",), level=level, alike=alike)


def in_memory(folder: Path, kind: str) -> None:
    """The same question with every newborn in memory; or lifelines' curves alone."""
    settings = Settings(cluster="dam")
    start = perf_counter()
    tidy = pd.concat([pd.read_parquet(file, columns=list(READ_BACK)) for file in files_of(folder)])
    tidy = tidy.astype(dict.fromkeys(tidy.select_dtypes("string"), object)).astype({"litter_size": float})
    tidy = tidy.astype(dict.fromkeys(tidy.select_dtypes("datetime"), "datetime64[ns]"))
    births = follow(tidy.where(tidy.notna(), None).astype(tidy.dtypes).reset_index(drop=True), settings)
    derived = perf_counter()
    read, distinct = megabytes(folder, READ_BACK), births["cluster"].nunique()
    if kind == MEMORY:
        answer(births, settings, None)
    else:
        alive = births[~births["stillborn"]]
        derived = perf_counter()
        for _, one in alive.groupby("sex", observed=True):
            KaplanMeierFitter().fit(one["age_h"], one["died"].astype(bool))
        distinct = 0
    print_line(kind, len(births), distinct, derived - start, perf_counter() - derived, read, 1)


def whole_page(folder: Path, kind: str, engine: str, threads: int, memory: str) -> None:
    """The whole command, and one line."""
    told: list[dict[str, Any]] = []
    start = perf_counter()
    with tempfile.TemporaryDirectory() as out, redirect_stdout(StringIO()):
        run_scheme(
            folder, Path(out) / "scheme", None, engine, None, (), 5, memory, threads, False, True, told.append
        )
    headline = told[0]["headline"]
    engine_s = sum(one["seconds"] for one in headline["cost"])
    passes = sum(one["passes"] for one in headline["cost"])
    rest_s = perf_counter() - start - engine_s
    print_line(kind, headline["newborns"], 0, engine_s, rest_s, megabytes(folder, QUESTION) * passes, passes)


def farms_review(folder: Path) -> None:
    """`review` of the births as CSV, with every chapter and figure."""
    tidy = pd.concat([pd.read_parquet(file) for file in files_of(folder)])
    records = folder / "births.csv"
    tidy.to_csv(records, index=False)
    start = perf_counter()
    season = read_season(records)
    read = perf_counter()
    season.review().write(folder / "review")
    print_line(REVIEW, len(tidy), 0, read - start, perf_counter() - read, records.stat().st_size / 1024**2, 1)


def megabytes(folder: Path, columns: Collection[str]) -> float:
    """What the columns take in the files, compressed."""
    groups = [
        meta.row_group(place)
        for meta in map(parquet.read_metadata, files_of(folder))
        for place in range(meta.num_row_groups)
    ]
    chunks = [group.column(place) for group in groups for place in range(group.num_columns)]
    return sum(one.total_compressed_size for one in chunks if one.path_in_schema in columns) / 1024**2


def print_line(
    kind: str, n: int, distinct: int, first_s: float, rest_s: float, read: float, passes: int
) -> None:
    """One line of the table."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    peak, cpu = max(one.ru_maxrss for one in used) / 1024**2, sum(one.ru_utime + one.ru_stime for one in used)
    print(
        f"{n:>12,}  {kind:<14}{distinct:>10,}{first_s:>10.1f}{rest_s:>11.1f}{cpu:>8.1f}{peak:>10.2f}"
        f"{passes:>8}{read:>9.1f}",
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
        one_line(Path(given.one[0]), given.one[1], int(given.one[2]), given.threads, given.memory)
        return
    print(
        f"{date.today():%Y-%m-%d}; Ibis {ibis.__version__}, {given.threads} threads, engine at most {given.memory}"
    )
    print("    newborns  what            distinct  engine s  estimates s   cpu s   peak GB  passes  MB read")
    n = 100_000
    while n <= given.most:
        beside = [kind for kind in BESIDE if n <= AT_MOST[kind]]
        for kinds in ((WRITTEN, *KINDS, *beside), (SHUFFLED, f"{KINDS[0]}, {SHUFFLED}", PAGE_SHUFFLED)):
            with tempfile.TemporaryDirectory() as folder:
                for kind in kinds:
                    options = ["--threads", str(given.threads), "--memory", given.memory]
                    subprocess.run(
                        [sys.executable, "-m", MODULE, *options, "--one", folder, kind, str(n)],
                        check=True,
                    )
        n *= 10


def one_line(folder: Path, kind: str, n: int, threads: int, memory: str) -> None:
    """Write the data set, or print one line about it."""
    local = f"local[{threads}]"
    if kind in (WRITTEN, SHUFFLED):
        write(n, folder, kind == SHUFFLED)
    elif kind in (PAGE, PAGE_SHUFFLED, SPARK_PAGE):
        whole_page(folder, kind, local if kind == SPARK_PAGE else "duckdb", threads, memory)
    elif kind in (MEMORY, PEER):
        in_memory(folder, kind)
    elif kind == REVIEW:
        farms_review(folder)
    elif kind == SPARK and not (find_spec("pyspark") and has_java()):
        print("Spark: not on this machine")
    elif kind == SPARK:
        one_question(folder, kind, spark(local, memory=memory))
    else:
        one_question(folder, kind, embedded(threads=threads, memory=memory, spill=folder / "spill"))


if __name__ == "__main__":
    main()

"""May a page be believed? The whole review, without its pictures, over invented seasons of which the truth is known.

Run from the top of the project; a run that was killed goes on where it stopped, and the tables hold what there is:

    python -m tests.simulations.page --workers 2                              (all cells: some hours)
    python -m tests.simulations.page --cell 350x4 --reviews 50 --workers 2    (one cell)
    python -m tests.simulations.page --tables --write                         (page.txt, from what was kept)

Over seasons in which nothing differs at most 1 page in 10 may say that anything stands out, and at most 3 in 20 may
hold a clear sentence anywhere; what is planted must be found. The raw rows (`page_read.COLUMNS`) are kept as one CSV
file a cell, in a folder named after the code that made them, so that numbers of different code never mix.
"""

from __future__ import annotations

import argparse
import os
import tempfile
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from hashlib import sha256
from multiprocessing import get_context
from pathlib import Path

import pandas as pd

import neonatal_stats
from tests.simulations.page_cells import CELLS, Cell
from tests.simulations.page_read import COLUMNS, Row, read_page
from tests.simulations.page_tables import tables

HERE = Path(__file__).parent
PACKAGE = Path(neonatal_stats.__file__).parent
COUNTS = ("vocabulary", "season", "estimates", "measures", "words", "chapters", "report")
AT_A_TIME = 5  # reviews that a worker makes before it hands them over


def code() -> str:
    """Ten letters that stand for the code whose claims are proven."""
    files = [path for room in COUNTS for path in sorted((PACKAGE / room).rglob("*.py"))]
    digest = sha256()
    for path in [*files, *(HERE / f"page_{name}.py" for name in ("flock", "book", "read", "cells"))]:
        digest.update(path.read_bytes())
    return digest.hexdigest()[:10]


def made(cell: str, reviews: list[int]) -> list[Row]:
    """The rows of some reviews of a cell; a review that could not be made is a row that says why."""
    rows: list[Row] = []
    for review in reviews:
        try:
            found = read_page(CELLS[cell].season(review), unfed=CELLS[cell].unfed)
        except Exception as trouble:
            found = [{"what": "failed", "text": repr(trouble)}]
        rows += [{**row, "review": review} for row in found]
    return rows


def kept(folder: Path, cell: Cell) -> pd.DataFrame:
    """The rows of all reviews of a cell that were kept whole; those of a review that was cut short are dropped."""
    path = folder / f"{cell.name}.csv"
    if not path.exists():
        return pd.DataFrame(columns=list(COLUMNS))
    rows = pd.read_csv(path, on_bad_lines="skip", dtype={"key": object, "text": object})
    rows["review"] = pd.to_numeric(rows["review"], errors="coerce")
    whole = rows.loc[rows["what"].isin(("page", "failed")), "review"]
    return rows[rows["review"].isin(whole)].reset_index(drop=True)


def run(cell: Cell, reviews: int, workers: int, folder: Path) -> Iterator[int]:
    """Make those of the first so many reviews that are not kept yet; how many are there after each batch."""
    rows = kept(folder, cell)
    path = folder / f"{cell.name}.csv"
    rows.to_csv(path, index=False)
    done = set(rows["review"].astype(int))
    missing = [number for number in range(reviews) if number not in done]
    batches = [missing[start : start + AT_A_TIME] for start in range(0, len(missing), AT_A_TIME)]
    for batch in _side_by_side(cell.name, batches, workers):
        pd.DataFrame(batch, columns=list(COLUMNS)).to_csv(path, mode="a", header=False, index=False)
        done |= {int(row["review"]) for row in batch}
        yield len(done)


def _side_by_side(cell: str, batches: Iterable[list[int]], workers: int) -> Iterator[list[Row]]:
    """Batches as they are finished, each worker on one processor."""
    os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        for job in as_completed([pool.submit(made, cell, batch) for batch in batches]):
            yield job.result()


def main() -> None:
    """Run what is asked for and print the tables of everything kept."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.simulations.page", description=__doc__.splitlines()[0]
    )
    parser.add_argument(
        "--cell", action="append", choices=list(CELLS), help="only this cell (may be repeated)"
    )
    parser.add_argument(
        "--reviews", type=int, help="reviews of each cell (400 where nothing differs, else 200)"
    )
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--kept", type=Path, help="folder of the raw rows")
    parser.add_argument("--tables", action="store_true", help="print the tables only")
    parser.add_argument("--write", action="store_true", help="write the tables to page.txt too")
    asked = parser.parse_args()
    folder = asked.kept or Path(tempfile.gettempdir()) / "neonatal_stats_page" / code()
    folder.mkdir(parents=True, exist_ok=True)
    print(f"raw rows in {folder}", flush=True)
    for name in () if asked.tables else asked.cell or CELLS:
        cell = CELLS[name]
        for there in run(cell, asked.reviews or cell.reviews, asked.workers, folder):
            print(f"\r{name}: {there} reviews", end="", flush=True)
        print()
    text = tables({name: kept(folder, cell) for name, cell in CELLS.items()})
    print(text)
    if asked.write:
        (HERE / "page.txt").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

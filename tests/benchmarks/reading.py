"""How long it takes, and how much memory, to read, map and check a large season.

Run as a script: ``python tests/benchmarks/reading.py``. It prints seconds and peak memory for 100,000 rows of CSV and
20,000 rows of XLSX, and how many times as long that is as a plain ``pandas.read_csv`` of the same file takes (of all
cells as text, which settles no date, word or number); it is no test, since machines differ.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

MAP = """
[columns]
"Ear tag" = "newborn_id"
"Ewe" = "dam_id"
"Born" = "born_at"
"Assistance" = "delivery"
[words.delivery]
"none" = "unassisted"
"pulled" = "hard assist"
"section" = "caesarean"
[fixed]
species = "sheep"
"""


def large_season(rows: int) -> pd.DataFrame:
    """Invented births under a farm's own headings: litters of one to three, 12 % dead, every time distinct."""
    rng = np.random.default_rng(20260403)
    dam = np.repeat(np.arange(rows), rng.integers(1, 4, rows))[:rows]
    start = pd.Timestamp("2026-02-01")
    born = start + pd.to_timedelta((rng.random(rows)[dam] * 60 * 86_400).astype(int), unit="s")
    died = rng.random(rows) < 0.12
    death = born + pd.to_timedelta((rng.exponential(60, rows) * 3600).astype(int), unit="s")
    causes = np.array(["infection", "accident", "premature or weak", "unknown"], dtype=object)
    return pd.DataFrame(
        {
            "Ear tag": [f"{826_000_000_000_000 + place:015d}" for place in range(rows)],
            "Ewe": [f"{identity:06d}" for identity in dam],
            "Born": born.strftime("%d/%m/%Y %H:%M"),
            "sex": rng.choice(["female", "male"], rows),
            "birth_weight_kg": rng.normal(4.2, 0.8, rows).clip(1, 8).round(2),
            "Assistance": rng.choice(["none", "pulled", "section"], rows, p=[0.9, 0.08, 0.02]),
            "dam_parity": rng.integers(1, 7, rows)[dam],
            "birth_place": rng.choice(["indoors", "outdoors"], rows),
            "group": rng.choice([f"pen {n}" for n in range(20)], rows),
            "born_alive": "yes",
            "suck_reflex": rng.choice(["strong", "weak", "absent", "not checked"], rows),
            "stood_after_min": rng.integers(5, 120, rows),
            "fed_after_min": rng.integers(10, 240, rows),
            "meconium_after_min": rng.integers(30, 400, rows),
            "mothered_up": rng.choice(["yes", "no", "not judged"], rows),
            "rearing": rng.choice(["dam", "fostered", "artificial"], rows),
            "rectal_temperature_c": rng.normal(39, 0.8, rows).round(1),
            "died": np.where(died, "yes", "no"),
            "died_at": pd.Series(death.strftime("%d/%m/%Y %H:%M")).where(died),
            "cause": pd.Series(rng.choice(causes, rows)).where(died),
            "last_seen_at": (start + pd.Timedelta(days=115)).strftime("%d/%m/%Y"),
        }
    ).assign(last_seen_at=lambda frame: frame["last_seen_at"].where(~died))


def timed(path: Path, map_path: Path) -> None:
    """Read one file and print how long it took and what came of its rows."""
    from neonatal_stats import read_season

    start, worked = time.perf_counter(), time.process_time()
    season = read_season(path, map=map_path)
    took, work = time.perf_counter() - start, time.process_time() - worked
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
    balance = season.balances[0]
    print(
        f"{path.name}: {balance.rows_read:,} rows in {took:.1f} s ({work:.1f} s of processor time), peak {peak:.2f} GB"
    )
    print(f"  {balance}")
    if path.suffix == ".csv":
        print(f"  {_ratio(path, work)}")


def _ratio(path: Path, work: float) -> str:
    """The time of the reading as so many times that of a plain reading of the cells, the best of five."""
    plain = []
    for _ in range(5):
        start = time.process_time()
        pd.read_csv(path, dtype=str, keep_default_na=False, engine="c")
        plain.append(time.process_time() - start)
    return f"{work / min(plain):.0f} times a plain pandas.read_csv of the same file ({min(plain):.2f} s)"


def main() -> None:
    """Write the files, then read each in a fresh process so that the peak belongs to it alone."""
    import subprocess

    if len(sys.argv) == 3:
        timed(Path(sys.argv[1]), Path(sys.argv[2]))
        return
    with tempfile.TemporaryDirectory() as folder:
        map_path = Path(folder) / "map.toml"
        map_path.write_text(MAP, encoding="utf-8")
        large, smaller = Path(folder) / "season.csv", Path(folder) / "season.xlsx"
        large_season(100_000).to_csv(large, index=False)
        large_season(20_000).to_excel(smaller, index=False, engine="xlsxwriter")
        for path in (large, smaller):
            subprocess.run([sys.executable, __file__, str(path), str(map_path)], check=True)


if __name__ == "__main__":
    main()

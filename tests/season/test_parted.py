"""Dams that gave birth twice in a season, against a plain loop over them on tables made at random."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.season.checks.identity import part_litters
from neonatal_stats.season.finding import Finding
from neonatal_stats.season.ledger import Gathered, Ledger


class Births(Gathered):
    """A made table of births under the checks, which keeps what was entered."""

    def __init__(self, frame: pd.DataFrame) -> None:
        self.table, self.frame, self.entered = "births", frame, list[Finding]()
        self.origin = pd.DataFrame({"file": "made", "sheet": "", "row": np.arange(len(frame))})
        self.ledger = Ledger("births", self.origin)

    def enter(self, finding: Finding | None) -> None:
        if finding is not None and len(finding.at):
            self.entered.append(finding)


def made_births(seed: int) -> pd.DataFrame:
    """Few dams and many rows, on days close together, days apart and months apart, with sizes right and wrong."""
    draws = np.random.Generator(np.random.PCG64(seed))
    n = int(draws.integers(1, 60))
    offset = draws.choice([0, 1, 5, 6, 7, 12, 99, 100, 106, 130], n)
    frame = pd.DataFrame(
        {
            "farm": draws.choice(["a", "b"], n),
            "season": "2026",
            "dam_id": draws.choice(np.array(["1", "2", "3", None], dtype=object), n, p=[0.4, 0.3, 0.2, 0.1]),
            "born_at": pd.Timestamp("2026-01-10 06:00") + pd.to_timedelta(offset, unit="D"),
            "litter_size": draws.choice([1.0, 2.0, 3.0, np.nan], n, p=[0.35, 0.4, 0.2, 0.05]),
        }
    )
    frame.loc[draws.random(n) < 0.05, "born_at"] = pd.NaT
    if draws.random() < 0.3:
        frame["litter_id"] = np.where(draws.random(n) < 0.2, "own", None)
    return frame.drop(columns="litter_size") if draws.random() < 0.1 else frame


def parted_one_by_one(frame: pd.DataFrame) -> tuple[dict[int, str], list[int], list[int]]:
    """Names of litters by row, and the first rows of dams parted by months and by sizes: dam after dam, day by day."""
    names: dict[int, str] = {}
    sure: list[int] = []
    by_size: list[int] = []
    dams: dict[tuple[str, str], list[int]] = {}
    for row in frame.index:
        free = "litter_id" not in frame or pd.isna(frame["litter_id"][row])
        if pd.notna(frame["dam_id"][row]) and pd.notna(frame["born_at"][row]) and free:
            dams.setdefault((frame["farm"][row], frame["dam_id"][row]), []).append(row)
    for (_, dam), rows in dams.items():
        day = {row: frame["born_at"][row].normalize() for row in rows}
        days = sorted(set(day.values()))
        gaps = [(after - before).days for before, after in pairwise(days)]
        if (days[-1] - days[0]).days <= 5:
            continue
        apart = 100 if max(gaps) >= 100 else 6
        births = [[days[0]]]
        for gap, after in zip(gaps, days[1:], strict=True):
            births = [*births, [after]] if gap >= apart else [*births[:-1], [*births[-1], after]]
        parts = [[row for row in rows if day[row] in those] for those in births]
        if apart == 6:
            sizes = (
                [{frame["litter_size"][row] for row in part} for part in parts]
                if "litter_size" in frame
                else []
            )
            known = bool(sizes) and all(pd.notna(size) for part in sizes for size in part)
            one_each = known and all(len(part) == 1 for part in sizes)
            if not one_each or any(len(part) > max(size) for part, size in zip(parts, sizes, strict=True)):
                continue
            if len(rows) <= max(max(size) for size in sizes):
                continue
        (sure if apart == 100 else by_size).append(min(rows))
        for those, part in zip(births, parts, strict=True):
            names |= dict.fromkeys(part, f"{dam}, {those[0]:%Y-%m-%d}")
    return names, sorted(sure), sorted(by_size)


@pytest.mark.parametrize("tables", [range(40), pytest.param(range(40, 240), marks=pytest.mark.slow)])
def test_litters_are_parted_as_dam_after_dam_would_be(tables: range) -> None:
    """Made tables against the plain loop above, which knows no groups and no gaps of pandas."""
    parted = 0
    for seed in tables:
        frame = made_births(seed)
        names, sure, by_size = parted_one_by_one(frame)
        births = Births(frame.copy())
        part_litters(births)
        before = (
            frame["litter_id"] if "litter_id" in frame else pd.Series(None, index=frame.index, dtype=object)
        )
        after = births.frame.get("litter_id", before)
        changed = {row: after[row] for row in frame.index if pd.notna(after[row]) and pd.isna(before[row])}
        assert changed == names, seed
        found = {finding.ended: finding.at.tolist() for finding in births.entered}
        assert found == {ended: at for ended, at in (("noted", sure), ("asked", by_size)) if at}, seed
        parted += bool(names)
    assert parted > len(tables) / 2

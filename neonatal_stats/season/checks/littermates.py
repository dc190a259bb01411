"""Do the rows of one litter agree with each other?"""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import Finding, where
from neonatal_stats.season.following.ages import born
from neonatal_stats.season.following.litters import litter_codes
from neonatal_stats.season.settings import Settings

DAYS_APART = 5


def litter_sizes_differ(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Littermates with different litter sizes."""
    if "litter_size" not in frame:
        return None
    sizes = frame["litter_size"].groupby(litter_codes(frame).to_numpy()).transform("nunique")
    at = where((sizes > 1) & frame["litter_size"].notna())
    problem = "littermates are given different litter sizes; the size is counted from the rows"
    return Finding(
        at, "litter_size", _values(frame, at), problem, "write the litter's size once right", "set to missing"
    )


def more_rows_than_litter_size(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """More littermates in the records than the litter size allows."""
    if "litter_size" not in frame:
        return None
    litter = litter_codes(frame)
    rows = litter.groupby(litter.to_numpy()).transform("size")
    at = where(rows > frame["litter_size"])
    problem = "the records hold more littermates than this litter size; the size is counted from the rows"
    remedy = "look at the litter size and at the dam's identity in each of the rows"
    return Finding(at, "litter_size", _values(frame, at), problem, remedy, "set to missing")


def fewer_rows_than_litter_size(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Fewer littermates in the records than the litter size says: those missing may be the dead ones."""
    if "litter_size" not in frame:
        return None
    litter = litter_codes(frame)
    rows = litter.groupby(litter.to_numpy()).transform("size")
    first = ~litter.duplicated()
    at = where((rows < frame["litter_size"]) & first & frame["litter_size"].notna())
    problem = "the records hold fewer littermates than this litter size; were the dead ones written down?"
    return Finding(
        at,
        "litter_size",
        _values(frame, at),
        problem,
        "add a row for each newborn, the dead ones too",
        "noted",
    )


def order_of_birth(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """An order of birth that stands twice in a litter, or lies above its size."""
    if "birth_order" not in frame:
        return None
    known = frame["birth_order"].notna()
    twice = pd.DataFrame({"litter": litter_codes(frame), "order": frame["birth_order"]}).duplicated(
        keep=False
    )
    above = (
        frame["birth_order"] > frame["litter_size"] if "litter_size" in frame else np.zeros(len(frame), bool)
    )
    at = where(known & (twice | above))
    problem = "this order of birth stands twice in the litter or is above its size"
    values = frame["birth_order"].take(at).tolist()
    return Finding(at, "birth_order", values, problem, "number the littermates 1, 2, 3", "set to missing")


def littermates_days_apart(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Littermates by dam and season that were born days apart: two litters, or a slip."""
    start, _ = born(frame)
    litter = litter_codes(frame)
    day = start.groupby(litter.to_numpy())
    apart = (day.transform("max") - day.transform("min")).dt.days > DAYS_APART
    at = where(apart & ~litter.duplicated())
    problem = f"newborns of this dam were born more than {DAYS_APART} days apart in one season"
    remedy = "look at dam and date; if the dam gave birth twice, name each litter in litter_id"
    return Finding(
        at,
        "dam_id",
        frame["dam_id"].take(at).tolist() if "dam_id" in frame else [None] * len(at),
        problem,
        remedy,
        "noted",
    )


def _values(frame: pd.DataFrame, at: np.ndarray) -> list[object]:
    return list(frame["litter_size"].take(at))


RULES = (
    litter_sizes_differ,
    more_rows_than_litter_size,
    fewer_rows_than_litter_size,
    order_of_birth,
    littermates_days_apart,
)

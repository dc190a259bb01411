"""Who is who: identities given twice, rows entered twice, litters whose members contradict each other."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import About, Finding, say, where
from neonatal_stats.season.following.ages import born
from neonatal_stats.season.following.links import litter_codes
from neonatal_stats.season.settings import Settings

OUTCOME = (
    "born_alive",
    "died",
    "died_at",
    "last_alive_at",
    "found_dead_at",
    "left_at",
    "last_seen_at",
    "cause",
)
DAYS_APART = 5


def identified(frame: pd.DataFrame) -> pd.Series:
    """True where a row names its newborn."""
    return frame["newborn_id"].notna() if "newborn_id" in frame else pd.Series(False, index=frame.index)


def same_row_twice(frame: pd.DataFrame, settings: Settings) -> Finding:
    """A row equal to an earlier one in every cell; without an identity this needs a time of birth to be certain."""
    recorded = frame[[name for name in frame if not str(name).endswith("_is_day")]]
    again = recorded.duplicated(keep="first")
    if again.any():
        again &= identified(frame) | _numbered(frame)
    at = where(again)
    problem = say("the same row stands in the records twice; it is counted once")
    return Finding(at, "newborn_id", _ids(frame, at), problem, say("remove one of the two rows"), "set aside")


def _numbered(frame: pd.DataFrame) -> pd.Series:
    """Littermates without an identity are told apart by their order of birth."""
    if "birth_order" not in frame or "dam_id" not in frame:
        return pd.Series(False, index=frame.index)
    return frame["birth_order"].notna() & frame["dam_id"].notna()


def _ids(frame: pd.DataFrame, at: np.ndarray) -> list[object]:
    return frame["newborn_id"].take(at).tolist() if "newborn_id" in frame else [None] * len(at)


def _repeated(frame: pd.DataFrame) -> pd.DataFrame:
    """The rows whose identity stands more than once in a farm's season, with their births told apart."""
    if "newborn_id" not in frame:
        return frame.iloc[:0].assign(identity=[], birth=[])
    identity = (
        frame["farm"].astype(str)
        + "\0"
        + frame["season"].astype(str)
        + "\0"
        + frame["newborn_id"].astype(object)
    )
    twice = identity.duplicated(keep=False) & frame["newborn_id"].notna()
    rows = frame[twice]
    start, _ = born(rows)
    dam = rows["dam_id"].astype(str) if "dam_id" in rows else pd.Series("", index=rows.index)
    dam = dam + "\0" + _told_apart(rows)
    return rows.assign(identity=identity[twice], birth=dam + "\0" + start.dt.normalize().astype(str))


def _told_apart(rows: pd.DataFrame) -> pd.Series:
    """What tells littermates apart: their order of birth, else their sex."""
    nothing = pd.Series(np.nan, index=rows.index)
    order = rows.get("birth_order", nothing).astype(object)
    sex = rows.get("sex", nothing).astype(object)
    return order.where(order.notna(), sex).astype(str)


def identity_used_twice(frame: pd.DataFrame, settings: Settings) -> Finding:
    """One identity for two newborns (another dam, day or order of birth): both stay, without an identity."""
    rows = _repeated(frame)
    several = rows.groupby("identity")["birth"].transform("nunique") > 1
    at = np.sort(rows.index[several].to_numpy().astype(np.int64))
    problem = say("the same identity stands at two newborns, so feeds and samples cannot be told apart")
    return Finding(
        at,
        "newborn_id",
        _ids(frame, at),
        problem,
        say("give each newborn an identity of its own"),
        "set to missing",
    )


def written_twice_with_two_outcomes(frame: pd.DataFrame, settings: Settings) -> Finding:
    """One newborn in two rows that differ in what became of it."""
    rows = _same_birth(frame)
    fates = [name for name in OUTCOME if name in rows]
    differ = pd.Series(False, index=rows.index)
    for name in fates:
        differ |= rows[name].astype(object).groupby(rows["identity"]).transform("nunique") > 1
    at = np.sort(rows.index[differ].to_numpy().astype(np.int64))
    problem = say("one newborn stands in two rows that differ in what became of it")
    remedy = say("keep the row that is right")
    about: list[About] = [
        "outcome" if again else "not readable" for again in rows["identity"].reindex(at).duplicated()
    ]
    return Finding(at, "newborn_id", _ids(frame, at), problem, remedy, "set aside", about=about)


def written_twice(frame: pd.DataFrame, settings: Settings) -> Finding:
    """One newborn in two rows that agree in its outcome: the fuller row is kept."""
    rows = _same_birth(frame)
    recorded = [name for name in frame if not str(name).endswith("_is_day")]
    filled = rows[recorded].notna().sum(axis=1)
    text = rows[recorded].astype(str).agg("\0".join, axis=1) if len(rows) else pd.Series("", index=rows.index)
    order = pd.DataFrame({"identity": rows["identity"], "filled": -filled, "text": text})
    kept = order.sort_values(["identity", "filled", "text"], kind="stable").drop_duplicates("identity").index
    at = np.sort(rows.index.difference(kept).to_numpy().astype(np.int64))
    problem = say("one newborn stands in two rows; the one with more cells filled is used")
    return Finding(at, "newborn_id", _ids(frame, at), problem, say("remove one of the two rows"), "set aside")


def _same_birth(frame: pd.DataFrame) -> pd.DataFrame:
    rows = _repeated(frame)
    return rows[rows.groupby("identity")["birth"].transform("nunique") == 1]


RULES = (identity_used_twice, written_twice_with_two_outcomes, written_twice)


def litter_sizes_differ(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Littermates with different litter sizes."""
    if "litter_size" not in frame:
        return None
    sizes = frame["litter_size"].groupby(litter_codes(frame).to_numpy()).transform("nunique")
    at = where((sizes > 1) & frame["litter_size"].notna())
    problem = say("littermates are given different litter sizes; the size is counted from the rows")
    return Finding(
        at,
        "litter_size",
        _values(frame, at),
        problem,
        say("write the litter's size once right"),
        "set to missing",
    )


def more_rows_than_litter_size(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """More littermates in the records than the litter size allows."""
    if "litter_size" not in frame:
        return None
    litter = litter_codes(frame)
    rows = litter.groupby(litter.to_numpy()).transform("size")
    at = where(rows > frame["litter_size"])
    problem = say(
        "the records hold more littermates than this litter size; the size is counted from the rows"
    )
    remedy = say("look at the litter size and at the dam's identity in each of the rows")
    return Finding(at, "litter_size", _values(frame, at), problem, remedy, "set to missing")


def fewer_rows_than_litter_size(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Fewer littermates in the records than the litter size says: those missing may be the dead ones."""
    if "litter_size" not in frame:
        return None
    litter = litter_codes(frame)
    rows = litter.groupby(litter.to_numpy()).transform("size")
    first = ~litter.duplicated()
    at = where((rows < frame["litter_size"]) & first & frame["litter_size"].notna())
    problem = say(
        "the records hold fewer littermates than this litter size; were the dead ones written down?"
    )
    return Finding(
        at,
        "litter_size",
        _values(frame, at),
        problem,
        say("add a row for each newborn, the dead ones too"),
        "asked",
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
    problem = say("this order of birth stands twice in the litter or is above its size")
    values = frame["birth_order"].take(at).tolist()
    return Finding(
        at, "birth_order", values, problem, say("number the littermates 1, 2, 3"), "set to missing"
    )


def littermates_days_apart(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Littermates by dam and season that were born days apart: two litters, or a slip."""
    start, _ = born(frame)
    litter = litter_codes(frame)
    day = start.groupby(litter.to_numpy())
    apart = (day.transform("max") - day.transform("min")).dt.days > DAYS_APART
    at = where(apart & ~litter.duplicated())
    problem = say("newborns of this dam were born more than {days} days apart in one season", days=DAYS_APART)
    remedy = say("look at dam and date; if the dam gave birth twice, name each litter in litter_id")
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


LITTER_RULES = (
    litter_sizes_differ,
    more_rows_than_litter_size,
    fewer_rows_than_litter_size,
    order_of_birth,
    littermates_days_apart,
)

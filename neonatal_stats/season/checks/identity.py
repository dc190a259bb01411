"""Who is who: identities given twice, rows entered twice, litters whose members contradict each other."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import About, CannotRead, Finding, found_in, say, spelled
from neonatal_stats.season.following.ages import birth
from neonatal_stats.season.following.links import litter_codes, litter_is_named
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
SHARED_LITTERS, FEWEST_SHARED, MANY_DAMS = 0.2, 3, 5
REMOVE = say("remove one of the two rows")


def identified(frame: pd.DataFrame) -> pd.Series:
    """True where a row names its newborn."""
    return frame["newborn_id"].notna() if "newborn_id" in frame else pd.Series(False, index=frame.index)


def same_row_twice(frame: pd.DataFrame, settings: Settings) -> Finding:
    """A row equal to an earlier one in every cell; without an identity this needs a time of birth to be certain."""
    recorded = frame[[name for name in frame if not str(name).endswith("_is_day")]]
    again = recorded.duplicated(keep="first")
    if again.any():
        again &= identified(frame) | _numbered(frame)
    problem = say("the same row stands in the records twice; it is counted once")
    return found_in(frame, again, "newborn_id", problem, REMOVE, "set aside")


def _numbered(frame: pd.DataFrame) -> pd.Series:
    """Littermates without an identity are told apart by their order of birth."""
    if "birth_order" not in frame or "dam_id" not in frame:
        return pd.Series(False, index=frame.index)
    return frame["birth_order"].notna() & frame["dam_id"].notna()


def _among(frame: pd.DataFrame, rows: pd.Index) -> NDArray[np.bool_]:
    return np.asarray(frame.index.isin(rows))


def _repeated(frame: pd.DataFrame) -> pd.DataFrame:
    """The rows whose identity stands more than once in a farm's season, with their births told apart."""
    if "newborn_id" not in frame:
        return frame.iloc[:0]
    keys = ["farm", "season", "newborn_id"]
    twice = frame.duplicated(keys, keep=False) & frame["newborn_id"].notna()
    if not twice.any():
        return frame.iloc[:0]
    rows = frame[twice]
    identity = spelled(rows["farm"]) + "\0" + spelled(rows["season"]) + "\0" + rows["newborn_id"]
    dam = spelled(rows["dam_id"]) if "dam_id" in rows else pd.Series("", index=rows.index)
    born_by = dam + "\0" + _told_apart(rows) + "\0" + spelled(birth(rows).dt.normalize())
    return rows.assign(identity=identity, birth=born_by)


def _told_apart(rows: pd.DataFrame) -> pd.Series:
    """What tells littermates apart: their order of birth, else their sex."""
    nothing = pd.Series(np.nan, index=rows.index)
    order = rows.get("birth_order", nothing).astype(object)
    sex = rows.get("sex", nothing).astype(object)
    return spelled(order.where(order.notna(), sex))


def identity_used_twice(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """One identity for two newborns (another dam, day or order of birth): both stay, without an identity."""
    if (rows := _repeated(frame)).empty:
        return None
    several = rows.groupby("identity")["birth"].transform("nunique") > 1
    problem = say("the same identity stands at two newborns, so feeds and samples cannot be told apart")
    remedy = say("give each newborn an identity of its own")
    return found_in(
        frame, _among(frame, rows.index[several]), "newborn_id", problem, remedy, "set to missing"
    )


def written_twice_with_two_outcomes(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """One newborn in two rows that differ in what became of it."""
    if (rows := _same_birth(frame)).empty:
        return None
    fates = [name for name in OUTCOME if name in rows]
    differ = pd.Series(False, index=rows.index)
    for name in fates:
        differ |= rows[name].astype(object).groupby(rows["identity"]).transform("nunique") > 1
    problem = say("one newborn stands in two rows that differ in what became of it")
    remedy = say("keep the row that is right")
    again = rows.loc[differ, "identity"].sort_index().duplicated()
    about: list[About] = ["outcome" if second else "not readable" for second in again]
    twice = _among(frame, rows.index[differ])
    return found_in(frame, twice, "newborn_id", problem, remedy, "set aside", about=about)


def written_twice(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """One newborn in two rows that agree in its outcome: the fuller row is kept."""
    if (rows := _same_birth(frame)).empty:
        return None
    recorded = [name for name in frame if not str(name).endswith("_is_day")]
    filled = rows[recorded].notna().sum(axis=1)
    text = rows[recorded].apply(spelled).agg("\0".join, axis=1)
    order = pd.DataFrame({"identity": rows["identity"], "filled": -filled, "text": text})
    kept = order.sort_values(["identity", "filled", "text"], kind="stable").drop_duplicates("identity").index
    problem = say("one newborn stands in two rows; the one with more cells filled is used")
    less_full = _among(frame, rows.index.difference(kept))
    return found_in(frame, less_full, "newborn_id", problem, REMOVE, "set aside")


def _same_birth(frame: pd.DataFrame) -> pd.DataFrame:
    rows = _repeated(frame)
    return rows if rows.empty else rows[rows.groupby("identity")["birth"].transform("nunique") == 1]


RULES = (identity_used_twice, written_twice_with_two_outcomes, written_twice)


def litter_sizes_differ(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Littermates with different litter sizes."""
    if "litter_size" not in frame:
        return None
    sizes = frame["litter_size"].groupby(litter_codes(frame).to_numpy()).transform("nunique")
    differ = (sizes > 1) & frame["litter_size"].notna()
    problem = say("littermates are given different litter sizes; the size is counted from the rows")
    remedy = say("write the litter's size once right")
    return found_in(frame, differ, "litter_size", problem, remedy, "set to missing")


def more_rows_than_litter_size(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """More littermates in the records than the litter size allows."""
    if "litter_size" not in frame:
        return None
    more = _rows_of_its_litter(litter_codes(frame)) > frame["litter_size"]
    problem = say(
        "the records hold more littermates than this litter size; the size is counted from the rows"
    )
    remedy = say("look at the litter size and at the dam's identity in each of the rows")
    return found_in(frame, more, "litter_size", problem, remedy, "set to missing")


def fewer_rows_than_litter_size(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Fewer littermates in the records than the litter size says: those missing may be the dead ones."""
    if "litter_size" not in frame:
        return None
    litter = litter_codes(frame)
    fewer = (
        (_rows_of_its_litter(litter) < frame["litter_size"]) & ~litter.duplicated() & litter_is_named(frame)
    )
    problem = say(
        "the records hold fewer littermates than this litter size; were the dead ones written down?"
    )
    remedy = say("add a row for each newborn, the dead ones too")
    return found_in(frame, fewer, "litter_size", problem, remedy, "asked")


def _rows_of_its_litter(litter: pd.Series) -> pd.Series:
    rows: pd.Series = litter.groupby(litter.to_numpy()).transform("size")
    return rows


def order_of_birth(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """An order of birth that stands twice in a litter, or lies above its size."""
    if "birth_order" not in frame:
        return None
    known = frame["birth_order"].notna()
    in_litter = pd.DataFrame({"litter": litter_codes(frame), "order": frame["birth_order"]})
    above = frame["birth_order"] > frame.get("litter_size", np.inf)
    wrong = known & (in_litter.duplicated(keep=False) | above)
    problem = say("this order of birth stands twice in the litter or is above its size")
    remedy = say("number the littermates 1, 2, 3")
    return found_in(frame, wrong, "birth_order", problem, remedy, "set to missing")


def littermates_days_apart(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """Littermates by dam and season that were born days apart: two litters, or a slip."""
    start = birth(frame)
    litter = litter_codes(frame)
    day = start.groupby(litter.to_numpy())
    apart = (day.transform("max") - day.transform("min")).dt.days > DAYS_APART
    problem = say("newborns of this dam were born more than {days} days apart in one season", days=DAYS_APART)
    remedy = say("look at dam and date; if the dam gave birth twice, name each litter in litter_id")
    return found_in(frame, apart & ~litter.duplicated(), "dam_id", problem, remedy, "noted")


def litter_of_several_dams(frame: pd.DataFrame, settings: Settings) -> Finding | None:
    """An identity of a litter under which several dams stand. Raises `CannotRead` where many are so.

    Rows made of one row without a dam bear the place of that row and are none of these.
    """
    if not {"litter_id", "dam_id"} <= set(frame) or frame["litter_id"].isna().all():
        return None
    named = frame["litter_id"].notna() & frame["dam_id"].notna()
    litter = litter_codes(frame)
    dams = frame["dam_id"].where(named).groupby(litter.to_numpy()).nunique()
    shared, litters = dams[dams > 1], litter[named].nunique()
    many = len(shared) >= FEWEST_SHARED or (len(shared) and shared.max() >= MANY_DAMS)
    if many and len(shared) > SHARED_LITTERS * litters:
        raise CannotRead(
            f"births, column litter_id: under {len(shared):,} of its {litters:,} litters stand several dams, "
            f"{int(shared.max()):,} under one; a litter is one dam's. If it is the number of the dam's litter or "
            'lactation, say in the map under [columns] that the heading is dam_parity, or leave it out with = "".'
        )
    several = named & (litter.map(dams) > 1) & ~litter.duplicated()
    problem = say("several dams stand under this litter_id; a litter is one dam's")
    remedy = say("give each litter an identity of its own, or leave the column out")
    return found_in(frame, several, "litter_id", problem, remedy, "asked")


LITTER_RULES = (
    litter_of_several_dams,
    litter_sizes_differ,
    more_rows_than_litter_size,
    fewer_rows_than_litter_size,
    order_of_birth,
    littermates_days_apart,
)

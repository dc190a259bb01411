"""Whose litter: dams giving birth twice in a season, fostered newborns, numbers that littermates share, one dam's tags.

Nothing is joined in silence. A litter is parted only where its dates or its written sizes show that it is two; every
such step is said, and dams that may be one are offered with the lines for the map that would join them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.checks.identity import DAYS_APART
from neonatal_stats.season.finding import Ended, Finding, Said, found_in, say, spelled, where
from neonatal_stats.season.following.ages import birth
from neonatal_stats.season.following.links import litter_codes
from neonatal_stats.season.gathering.gathered import Gathered

TWO_BIRTHS_D = 100
"""No dam of these species carries for less: the shortest gestations are near 145 days (common textbook knowledge)."""
SHARED_MOST, SHARED_LEAST = 0.6, 3
OFFERED = 12
LOOK = say("look at dam and date in these rows")


def part_litters(births: Gathered) -> None:
    """Give each birth of a dam a litter of its own where she gave birth twice in a season.

    Her births are parted at gaps of months, else at gaps of days, and then only where the sizes that are written agree:
    each part has one size, as many rows or fewer, and all parts together more rows than any size.
    """
    rows = _days_apart(births)
    if rows.empty:
        return
    gap = rows.groupby("dam")["day"].diff().dt.days
    widest = gap.groupby(rows["dam"]).transform("max")
    sure = widest >= TWO_BIRTHS_D
    part = (gap.isna() | (gap >= np.where(sure, TWO_BIRTHS_D, DAYS_APART + 1))).cumsum()
    by_size = ~sure & _sizes_agree(rows, part)
    first = rows["day"].groupby(part).transform("min").dt.strftime("%Y-%m-%d")
    named = (spelled(rows["dam_id"]) + ", " + first)[sure | by_size]
    _name_litters(births.frame, named)
    months = say("this dam gave birth twice in one season, months apart; each birth is a litter of its own")
    days = say("the litter sizes show two litters of this dam in one season, days apart; was it two dams?")
    kinds: tuple[tuple[pd.Series, Said, Ended], ...] = ((sure, months, "noted"), (by_size, days, "asked"))
    for found, problem, ended in kinds:
        at = np.sort(rows[found].groupby("dam")["row"].min().to_numpy(dtype=np.int64))
        values = births.frame["dam_id"].take(at).tolist()
        births.enter(Finding(at, "dam_id", values, problem, LOOK, ended))


def _days_apart(births: Gathered) -> pd.DataFrame:
    """The rows of dams whose births of a season lie more than some days apart, by dam and day."""
    frame = births.frame
    if "dam_id" not in frame:
        return frame.iloc[:0]
    day = birth(frame).dt.normalize()
    alone = frame["litter_id"].isna() if "litter_id" in frame else True
    asked = births.ledger.kept & frame["dam_id"].notna() & day.notna() & alone
    size = frame.get("litter_size", np.nan)
    rows = pd.DataFrame({"dam": litter_codes(frame), "dam_id": frame["dam_id"], "day": day, "size": size})[
        asked
    ]
    days = rows.groupby("dam")["day"]
    apart = (days.transform("max") - days.transform("min")).dt.days > DAYS_APART
    far: pd.DataFrame = rows.assign(row=rows.index)[apart].sort_values(["dam", "day", "row"])
    return far


def _sizes_agree(rows: pd.DataFrame, part: pd.Series) -> pd.Series:
    """True for the rows of a dam of whose births each has one written size and as many rows or fewer."""
    sizes = rows["size"].groupby(part).agg(["min", "max", "size", "count"])
    whole = (
        (sizes["count"] == sizes["size"]) & (sizes["min"] == sizes["max"]) & (sizes["size"] <= sizes["max"])
    )
    dam = rows["dam"]
    of_dam = part.map(whole).groupby(dam).transform("all")
    largest = part.map(sizes["max"]).groupby(dam).transform("max")
    return of_dam & (dam.groupby(dam).transform("size") > largest)


def _name_litters(frame: pd.DataFrame, names: pd.Series) -> None:
    """Write identities of litters at some rows."""
    if len(names):
        if "litter_id" not in frame:
            frame["litter_id"] = pd.Series(None, index=frame.index, dtype=object)
        frame.loc[names.index, "litter_id"] = names


def part_fostered(births: Gathered) -> None:
    """Take a fostered newborn that stands under the dam that rears it out of her litter, where the sizes show it."""
    frame = births.frame
    if not {"dam_id", "rearing", "litter_size"} <= set(frame):
        return
    fostered = (frame["rearing"] == "fostered").to_numpy() & births.ledger.kept & frame["litter_size"].notna()
    litter = litter_codes(frame).to_numpy()
    own = frame["litter_size"].where(~fostered & births.ledger.kept).groupby(litter)
    size, rows = (
        own.transform("max"),
        pd.Series(births.ledger.kept, frame.index).groupby(litter).transform("sum"),
    )
    foreign = fostered & size.notna() & ((size != frame["litter_size"]) | (rows > size))
    at = where(foreign)
    own_id = (
        frame["newborn_id"] if "newborn_id" in frame else pd.Series(None, index=frame.index, dtype=object)
    )
    names = {row: f"fostered {row if own_id[row] is None else own_id[row]}" for row in at}
    _name_litters(frame, pd.Series(names, dtype=object))
    problem = say(
        "it was fostered and its litter size is not that of this dam's litter; it is no littermate of hers"
    )
    remedy = say("nothing need be done if the size is that of the litter it was born in")
    births.enter(found_in(frame, foreign, "litter_size", problem, remedy, "noted"))


def shared_numbers(births: Gathered) -> NDArray[np.bool_]:
    """Rows whose number their littermates share, as with spray marks: newborns of their own, not one row twice."""
    frame = births.frame
    none = np.zeros(len(frame), dtype=bool)
    if not {"newborn_id", "dam_id"} <= set(frame):
        return none
    asked = births.ledger.kept & (frame["newborn_id"].notna() & frame["dam_id"].notna()).to_numpy()
    sheet = spelled(births.origin["file"]) + "\0" + spelled(births.origin["sheet"])
    rows = pd.DataFrame(
        {"sheet": sheet, "litter": litter_codes(frame), "id": frame["newborn_id"].astype(object)}
    )[asked]
    alike = rows.groupby(["sheet", "litter", "id"])["id"].transform("size")
    if not (alike > 1).any():
        return none
    of_litter = rows.groupby(["sheet", "litter"])["id"].transform("size")
    by_size, by_column = _size_allows(frame, rows, of_litter), _column_shares(rows, of_litter)
    shared = (alike > 1) & (by_size | by_column) & ~_same_order(frame, rows)
    found = rows.index[shared].to_numpy(dtype=np.int64)
    none[found] = True
    _say_shared(births, found, by_size[shared].to_numpy())
    return none


def _size_allows(frame: pd.DataFrame, rows: pd.DataFrame, of_litter: pd.Series) -> pd.Series:
    if "litter_size" not in frame:
        return pd.Series(False, index=rows.index)
    size = frame.loc[rows.index, "litter_size"].groupby([rows["sheet"], rows["litter"]]).transform("max")
    allowed: pd.Series = of_litter <= size
    return allowed


def _column_shares(rows: pd.DataFrame, of_litter: pd.Series) -> pd.Series:
    """True for a sheet in which most litters of several rows have one number each; not where every row stands twice."""
    several = rows[of_litter > 1]
    kinds = several.groupby(["sheet", "litter"])["id"].nunique()
    by_sheet = kinds.eq(1).groupby("sheet").agg(["mean", "sum"])
    times = rows.groupby(["sheet", "id"]).size()
    odd = (times % 2 == 1).groupby("sheet").any()
    proven = (
        (by_sheet["mean"] >= SHARED_MOST) & (by_sheet["sum"] >= SHARED_LEAST) & odd.reindex(by_sheet.index)
    )
    return rows["sheet"].map(proven).fillna(False).astype(bool)


def _same_order(frame: pd.DataFrame, rows: pd.DataFrame) -> pd.Series:
    """Rows that an equal order of birth shows to be the same newborn."""
    if "birth_order" not in frame:
        return pd.Series(False, index=rows.index)
    keyed = rows.assign(order=frame.loc[rows.index, "birth_order"])
    return keyed["order"].notna() & keyed.duplicated(["sheet", "litter", "id", "order"], keep=False)


def _say_shared(births: Gathered, at: NDArray[np.int64], by_size: NDArray[np.bool_]) -> None:
    allowed = say(
        "littermates share this number, as their litter size allows; each row is a newborn of its own"
    )
    shared = say("littermates share their number throughout this sheet; each row was counted as a newborn")
    remedy = say(
        "nothing need be done if the number is a spray mark; feeds and samples cannot be told apart by it"
    )
    for rows, problem in ((at[by_size], allowed), (at[~by_size], shared)):
        values = births.frame["newborn_id"].take(rows).tolist()
        births.enter(Finding(rows, "newborn_id", values, problem, remedy, "asked"))


def told_apart(identity: pd.Series, shared: NDArray[np.bool_]) -> pd.Series:
    """Identities in which those that littermates share differ, for rules that look for rows written twice."""
    apart = spelled(identity) + "\0" + identity.index.astype(str)
    return identity.where(~shared, apart)


def under_two_dams(births: Gathered) -> None:
    """Set aside the second row of a newborn that stands under its dam and under the dam that rears it."""
    frame = births.frame
    if not {"newborn_id", "dam_id", "litter_size"} <= set(frame):
        return
    kept = births.ledger.kept
    rows = frame[kept & frame["newborn_id"].notna().to_numpy() & frame["dam_id"].notna().to_numpy()]
    rows = rows.assign(born=birth(rows), dead=rows["died"].fillna(False))
    same = [name for name in ("farm", "season", "newborn_id", "born", "sex", "dead") if name in rows]
    pairs = rows[rows["born"].notna() & rows.duplicated(same, keep=False)]
    pairs = pairs[pairs.groupby(same, dropna=False)["dam_id"].transform("nunique") == 2]
    if pairs.empty:
        return
    pairs = pairs.assign(fits=_have_room(frame[kept], pairs.index))
    one_fits = pairs.groupby(same, dropna=False)["fits"].transform("sum") == 1
    at = np.sort(pairs.index[one_fits & ~pairs["fits"]].to_numpy(dtype=np.int64))
    problem = say("this newborn stands under two dams; only the other one's litter size has room for it")
    remedy = say("keep one row, and name the dam that rears it in a column of its own")
    births.enter(Finding(at, "dam_id", frame["dam_id"].take(at).tolist(), problem, remedy, "set aside"))


def _have_room(frame: pd.DataFrame, rows: pd.Index) -> pd.Series:
    """True where the litter of a row is no larger than the size that its other rows give, or than its own if alone."""
    of_litter = pd.DataFrame(
        {"litter": litter_codes(frame), "size": frame["litter_size"], "row": frame.index}
    )
    asked = of_litter.loc[rows]
    beside = asked.merge(of_litter, on="litter", suffixes=("", "_other"))
    many = beside.groupby("row").size()
    others = beside[beside["row"] != beside["row_other"]].groupby("row")["size_other"].max()
    room = asked["size"].where(many == 1, others.reindex(rows))
    return many.reindex(rows) <= room


def dams_alike(births: Gathered) -> Iterator[Finding]:
    """Dams whose tags differ by zeros, prefix, case or ".0" and whose litters are whole when they are taken as one."""
    frame = births.frame
    if "dam_id" not in frame:
        return
    told = ("farm", "season", "dam_id", "born_at", "born_on", "litter_size")
    named = births.ledger.kept & frame["dam_id"].notna().to_numpy()
    rows = frame.loc[named, [name for name in told if name in frame]]
    sized = rows["litter_size"] if "litter_size" in rows else pd.Series(np.nan, index=rows.index)
    facts = pd.DataFrame(
        {
            "group": spelled(rows["farm"]) + "\0" + spelled(rows["season"]),
            "dam": spelled(rows["dam_id"]),
            "day": birth(rows).dt.normalize(),
            "size": sized.astype(float),
            "row": rows.index,
        }
    )
    dams = facts.groupby(["group", "dam"], as_index=False).agg(
        first=("day", "min"), last=("day", "max"), size=("size", "max"), n=("row", "size"), row=("row", "min")
    )
    offered: dict[tuple[str, ...], int] = {}
    whole, worded = dams["dam"].map(_whole_key), ~dams["dam"].map(str.isdigit).astype(bool)
    number = whole.mask(worded, dams.loc[worded, "dam"].map(_number_key))
    for keys in (whole, number) if worded.any() else (whole,):
        several = dams[(keys != "") & pd.DataFrame({"g": dams["group"], "k": keys}).duplicated(keep=False)]
        for _, alike in several.groupby([several["group"], keys[several.index]]):
            if _one_litter(alike):
                offered.setdefault(
                    tuple(sorted(alike["dam"], key=lambda dam: (-len(dam), dam))), int(alike["row"].min())
                )
    yield from _offer(offered)


def _whole_key(dam: str) -> str:
    """A tag without case, signs, a closing ".0" and leading zeros."""
    if dam.isdigit():
        return dam.lstrip("0")
    return re.sub(r"[\W_]", "", re.sub(r"\.0+$", "", dam.strip())).casefold().lstrip("0")


def _number_key(dam: str) -> str:
    """The last number of a tag that is not all digits, without its leading zeros."""
    found = re.findall(r"\d+", re.sub(r"\.0+$", "", dam.strip()))
    return found[-1].lstrip("0") if found else ""


def _one_litter(alike: pd.DataFrame) -> bool:
    """True where these dams gave birth on the same days and their rows together make the litter's size."""
    if alike["first"].notna().all() and (alike["last"].max() - alike["first"].min()).days > 1:
        return False
    size = alike["size"].max()
    if not np.isnan(size):
        return bool(alike["n"].sum() <= size and (alike["n"] < size).any() and (alike["size"] == size).all())
    return bool(alike["first"].notna().all())


def _offer(offered: dict[tuple[str, ...], int]) -> Iterator[Finding]:
    if not offered:
        return
    groups = sorted(offered, key=lambda group: offered[group])
    at = np.array([offered[group] for group in groups], dtype=np.int64)
    values = [" = ".join(group) for group in groups]
    lines = ", ".join("[" + ", ".join(f'"{dam}"' for dam in group) + "]" for group in groups[:OFFERED])
    more = "" if len(groups) <= OFFERED else ", ..."
    problem = say("this dam seems to be written in several ways: taken as one, the rows make one litter")
    remedy = say("if they are one dam, say in the map under [join] dam_id = [{groups}]", groups=lines + more)
    yield Finding(at, "dam_id", values, problem, remedy, "asked")

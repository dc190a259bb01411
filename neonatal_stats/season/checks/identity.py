"""Who is who, and whose litter: identities given twice, rows entered twice, litters whose members contradict each
other; dams giving birth twice in a season, fostered newborns, numbers that littermates share, one dam's tags.

Nothing is joined in silence. A litter is parted only where its dates or its written sizes show that it is two; every
such step is said, and dams that may be one are offered with the lines for the map that would join them.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import (
    About,
    CannotRead,
    Ended,
    Finding,
    Said,
    found_in,
    say,
    spelled,
    where,
)
from neonatal_stats.season.following.ages import birth, day_of, known, numbers, words
from neonatal_stats.season.following.links import (
    Codes,
    first_of_group,
    litter_codes,
    litter_is_named,
    over_group,
    rows_of_group,
)
from neonatal_stats.season.ledger import Gathered

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


def no_identity_twice(frame: pd.DataFrame) -> bool:
    """True where no two rows name one newborn; then only rows that name none can be written twice."""
    return "newborn_id" not in frame or bool(frame["newborn_id"].dropna().is_unique)


def identified(frame: pd.DataFrame) -> pd.Series:
    """True where a row names its newborn."""
    return frame["newborn_id"].notna() if "newborn_id" in frame else pd.Series(False, index=frame.index)


def same_row_twice(frame: pd.DataFrame) -> Finding | None:
    """A row equal to an earlier one in every cell; without an identity this needs a time of birth to be certain."""
    asked = identified(frame) | _numbered(frame)
    if not asked.any():
        return None
    recorded = frame[[name for name in frame if not str(name).endswith("_is_day")]]
    again = recorded.duplicated(keep="first") & asked
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
    born_by = (
        dam + "\0" + _told_apart(rows) + "\0" + spelled(pd.Series(day_of(birth(rows)), index=rows.index))
    )
    return rows.assign(identity=identity, birth=born_by)


def _told_apart(rows: pd.DataFrame) -> pd.Series:
    """What tells littermates apart: their order of birth, else their sex."""
    nothing = pd.Series(np.nan, index=rows.index)
    order = rows.get("birth_order", nothing).astype(object)
    sex = rows.get("sex", nothing).astype(object)
    return spelled(order.where(order.notna(), sex))


def identity_used_twice(frame: pd.DataFrame) -> Finding | None:
    """One identity for two newborns (another dam, day or order of birth): both stay, without an identity."""
    if (rows := _repeated(frame)).empty:
        return None
    several = rows.groupby("identity")["birth"].transform("nunique") > 1
    problem = say("the same identity stands at two newborns, so feeds and samples cannot be told apart")
    remedy = say("give each newborn an identity of its own")
    return found_in(
        frame, _among(frame, rows.index[several]), "newborn_id", problem, remedy, "set to missing"
    )


def written_twice_with_two_outcomes(frame: pd.DataFrame) -> Finding | None:
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


def written_twice(frame: pd.DataFrame) -> Finding | None:
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


def litter_sizes_differ(frame: pd.DataFrame, litter: Codes) -> Finding:
    """Littermates with different litter sizes."""
    size = numbers(frame, "litter_size")
    least, most = (over_group(gather, size, litter) for gather in (np.fmin, np.fmax))
    problem = say("littermates are given different litter sizes; the size is counted from the rows")
    remedy = say("write the litter's size once right")
    differ = (least < most) & ~np.isnan(size)
    return found_in(frame, differ, "litter_size", problem, remedy, "set to missing")


def more_rows_than_litter_size(frame: pd.DataFrame, litter: Codes) -> Finding:
    """More littermates in the records than the litter size allows."""
    more = rows_of_group(litter) > numbers(frame, "litter_size")
    problem = say(
        "the records hold more littermates than this litter size; the size is counted from the rows"
    )
    remedy = say("look at the litter size and at the dam's identity in each of the rows")
    return found_in(frame, more, "litter_size", problem, remedy, "set to missing")


def fewer_rows_than_litter_size(frame: pd.DataFrame, litter: Codes) -> Finding:
    """Fewer littermates in the records than the litter size says: those missing may be the dead ones."""
    fewer = rows_of_group(litter) < numbers(frame, "litter_size")
    problem = say(
        "the records hold fewer littermates than this litter size; were the dead ones written down?"
    )
    remedy = say("add a row for each newborn, the dead ones too")
    told_once = fewer & first_of_group(litter) & litter_is_named(frame)
    return found_in(frame, told_once, "litter_size", problem, remedy, "asked")


def order_of_birth(frame: pd.DataFrame, litter: Codes) -> Finding | None:
    """An order of birth that stands twice in a litter, or lies above its size."""
    if "birth_order" not in frame:
        return None
    order = numbers(frame, "birth_order")
    twice = pd.DataFrame({"litter": litter, "order": order}).duplicated(keep=False).to_numpy()
    wrong = ~np.isnan(order) & (twice | (order > numbers(frame, "litter_size")))
    problem = say("this order of birth stands twice in the litter or is above its size")
    remedy = say("number the littermates 1, 2, 3")
    return found_in(frame, wrong, "birth_order", problem, remedy, "set to missing")


def littermates_days_apart(frame: pd.DataFrame, litter: Codes) -> Finding:
    """Littermates by dam and season that were born days apart: two litters, or a slip."""
    start = birth(frame)
    first, last = (over_group(gather, start, litter) for gather in (np.fmin, np.fmax))
    apart = (last - first).astype("timedelta64[D]") > np.timedelta64(DAYS_APART, "D")
    problem = say("newborns of this dam were born more than {days} days apart in one season", days=DAYS_APART)
    remedy = say("look at dam and date; if the dam gave birth twice, name each litter in litter_id")
    return found_in(frame, apart & first_of_group(litter), "dam_id", problem, remedy, "noted")


def litter_of_several_dams(frame: pd.DataFrame, litter: Codes) -> Finding | None:
    """An identity of a litter under which several dams stand. Raises `CannotRead` where many are so.

    Rows made of one row without a dam bear the place of that row and are none of these.
    """
    if not {"litter_id", "dam_id"} <= set(frame) or frame["litter_id"].isna().all():
        return None
    named = (frame["litter_id"].notna() & frame["dam_id"].notna()).to_numpy()
    dams = frame["dam_id"].where(named).groupby(litter).nunique()
    shared, litters = dams[dams > 1], len(np.unique(litter[named]))
    many = len(shared) >= FEWEST_SHARED or (len(shared) and shared.max() >= MANY_DAMS)
    if many and len(shared) > SHARED_LITTERS * litters:
        raise CannotRead(
            f"births, column litter_id: under {len(shared):,} of its {litters:,} litters stand several dams, "
            f"{int(shared.max()):,} under one; a litter is one dam's. If it is the number of the dam's litter or "
            'lactation, say in the map under [columns] that the heading is dam_parity, or leave it out with = "".'
        )
    several = named & np.isin(litter, shared.index) & first_of_group(litter)
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
"""Each is given the rows and the codes of their litters, which none of them changes."""


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
    litter, day = litter_codes(frame), day_of(birth(frame))
    asked = births.ledger.kept & frame["dam_id"].notna().to_numpy() & known(day)
    if "litter_id" in frame:
        asked &= frame["litter_id"].isna().to_numpy()
    row = np.flatnonzero(asked)
    of_dam, number = pd.factorize(litter[row])[0], day[row].astype(np.int64)
    apart = over_group(np.maximum, number, of_dam) - over_group(np.minimum, number, of_dam)
    row = row[apart > DAYS_APART]
    far = pd.DataFrame(
        {
            "dam": litter[row],
            "dam_id": words(frame, "dam_id")[row],
            "day": day[row].astype("datetime64[ns]"),
            "size": numbers(frame, "litter_size")[row],
            "row": row,
        },
        index=row,
    )
    return far.sort_values(["dam", "day", "row"]) if len(row) else far


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
    if not fostered.any():
        return
    litter = litter_codes(frame)
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
    named = births.ledger.kept & frame["dam_id"].notna().to_numpy()
    of_row = spelled(frame["dam_id"])
    names = of_row[named].unique()
    whole = {dam: _whole_key(dam) for dam in names}
    number = {dam: whole[dam] if dam.isdigit() else _number_key(dam) for dam in names}
    alike = _sharing_a_key(whole) | _sharing_a_key(number)
    if not alike:
        return
    rows = frame[named & of_row.isin(alike).to_numpy()]
    facts = pd.DataFrame(
        {
            "group": spelled(rows["farm"]) + "\0" + spelled(rows["season"]),
            "dam": spelled(rows["dam_id"]),
            "day": day_of(birth(rows)).astype("datetime64[ns]"),
            "size": numbers(rows, "litter_size"),
            "row": rows.index,
        }
    )
    dams = facts.groupby(["group", "dam"], as_index=False).agg(
        first=("day", "min"), last=("day", "max"), size=("size", "max"), n=("row", "size"), row=("row", "min")
    )
    offered: dict[tuple[str, ...], int] = {}
    for key_of in (whole, number):
        keys = dams["dam"].map(key_of)
        several = dams[(keys != "") & pd.DataFrame({"g": dams["group"], "k": keys}).duplicated(keep=False)]
        for _, one in several.groupby([several["group"], keys[several.index]]):
            if _one_litter(one):
                offered.setdefault(
                    tuple(sorted(one["dam"], key=lambda dam: (-len(dam), dam))), int(one["row"].min())
                )
    yield from _offer(offered)


def _sharing_a_key(key_of: Mapping[str, str]) -> set[str]:
    """The names that have their key in common with another."""
    times = Counter(key_of.values())
    return {name for name, key in key_of.items() if key and times[key] > 1}


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

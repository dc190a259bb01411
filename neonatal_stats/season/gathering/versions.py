"""The same newborns in two files or sheets. Each birth is counted once, and each death is put to its birth.

Copies, and versions of one book; and a list of deaths beside a book of births: rows that name newborns and what became
of them, and nothing of a birth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.fates import DEATHS
from neonatal_stats.season.cells.typed import TypedTable
from neonatal_stats.season.exchange.births import OF_DEATH, forms
from neonatal_stats.season.finding import NO_NEED, CannotRead, Finding, Said, say
from neonatal_stats.season.grid import Remark, as_found
from neonatal_stats.vocabulary.spelling import words

SAME_BOOK = 0.5
FEWEST = 3
MOST_CONTRADICTIONS = 0.2
SHOWN = 3
AGREE_WITHIN = ("farm", "season", "species")
BOTH = ("sex", "birth_weight_kg", "litter_size", "birth_order", "delivery", "born_at", "died_at", "cause")
ONCE = say("keep one of the two files, the one that is right")
Pairs = NDArray[np.int64]


def counted_once(parts: Sequence[TypedTable]) -> list[TypedTable]:
    """The parts, with births that stand in two of them set aside in one: the one that says less.

    Births are the same where tag and dam or day of birth agree, or, in two books of which half is the same, where dam,
    day and sex do and no tag speaks against it. Of two rows the one with a sign of death stands, else the fuller, else
    the one of the longer book; what it leaves blank is taken from the other. Two books that contradict each other in
    many births are refused.
    """
    mended = list(parts)
    keys = [_keys(part) for part in parts] if len(parts) > 1 else []
    for first in range(len(mended)):
        for second in range(first + 1, len(mended)):
            held = _Held(mended[first], mended[second], (keys[first], keys[second]))
            if len(held.pairs):
                mended[first], mended[second] = held.once()
                keys[first], keys[second] = _keys(mended[first]), _keys(mended[second])
    return mended


def _keys(part: TypedTable) -> pd.DataFrame:
    """What each birth is known by, as text with "" where it is not written."""
    aside = [finding.at for finding in part.findings if finding.ended == "set aside"]
    frame = part.frame.drop(index=np.unique(np.concatenate(aside)).tolist() if aside else [])
    moments = [frame[name] for name in ("born_at", "born_on") if name in frame]
    day = pd.concat(moments, axis=1).bfill(axis=1).iloc[:, 0] if moments else _nothing(frame)
    return pd.DataFrame(
        {
            "tag": _text(frame, "newborn_id"),
            "dam": _text(frame, "dam_id"),
            "day": pd.to_datetime(day).dt.strftime("%Y-%m-%d").fillna(""),
            "sex": _text(frame, "sex"),
            "order": _text(frame, "birth_order").str.rjust(8),
            "weight": _text(frame, "birth_weight_kg").str.rjust(8),
            "lives": np.where(dead_or_doubtful(frame) == 2, "0", "1").astype(object),
            "at": frame.index,
        },
        index=frame.index,
    )


def _nothing(frame: pd.DataFrame) -> pd.Series:
    return pd.Series(pd.NaT, index=frame.index, dtype="datetime64[ns]")


def _text(frame: pd.DataFrame, name: str) -> pd.Series:
    if name not in frame:
        return pd.Series("", index=frame.index, dtype=object)
    found: pd.Series = frame[name].astype(object).where(frame[name].notna(), "").astype(str).str.casefold()
    return found


class _Held:
    """Two parts held against each other, each with its keys."""

    def __init__(
        self, first: TypedTable, second: TypedTable, keys: tuple[pd.DataFrame, pd.DataFrame]
    ) -> None:
        self._parts = (first, second)
        by_tag = _by_tag(*keys)
        by_dam = _by_dam(*(each.drop(index=by_tag[:, side].tolist()) for side, each in enumerate(keys)))
        fewer = min(len(first.frame), len(second.frame))
        both = np.concatenate([by_tag, by_dam])
        same_book = len(both) >= max(FEWEST, SAME_BOOK * fewer) or (
            len(both) == fewer and len(by_tag) == fewer
        )
        pairs = both if same_book else by_tag
        self.pairs: Pairs = pairs[self._agree(pairs)]

    def _agree(self, pairs: Pairs) -> NDArray[np.bool_]:
        """True for pairs that do not name two farms, seasons or species."""
        agree = np.ones(len(pairs), dtype=bool)
        for name in AGREE_WITHIN:
            if all(name in part.frame for part in self._parts):
                one, other = (
                    _text(p.frame, name).to_numpy()[pairs[:, side]] for side, p in enumerate(self._parts)
                )
                agree &= (one == other) | (one == "") | (other == "")
        return agree

    def once(self) -> tuple[TypedTable, TypedTable]:
        """Both parts, each birth kept in one of them."""
        first, second = self._parts
        rows = [
            p.frame.take(at).reset_index(drop=True) for p, at in zip(self._parts, self.pairs.T, strict=True)
        ]
        differ = _differences(*rows)
        contradict = sum(bool(_contradictions(each)) for each in differ)
        if contradict > MOST_CONTRADICTIONS * len(differ) and contradict >= FEWEST:
            raise CannotRead(self._refusal(differ, contradict))
        dead = [dead_or_doubtful(frame) for frame in rows]
        filled = [frame[_tidy(frame)].notna().sum(axis=1).to_numpy() for frame in rows]
        longer = len(second.frame) > len(first.frame)
        by_filled = np.where(filled[0] != filled[1], filled[1] > filled[0], longer)
        second_wins = np.where(dead[0] != dead[1], dead[1] > dead[0], by_filled)
        lost, kept = self.pairs[~second_wins], self.pairs[second_wins]
        said = [_said_differences(each) for each in differ]
        asides = (
            self._aside(0, kept[:, 0], [said[at] for at in np.flatnonzero(second_wins)]),
            self._aside(1, lost[:, 1], [said[at] for at in np.flatnonzero(~second_wins)]),
        )
        remarks = self._remarks(len(kept), len(lost), sum(map(bool, said)))
        mended = replace(
            first,
            frame=_filled_up(first.frame, second.frame, lost),
            findings=(*first.findings, *asides[0]),
            remarks=(*first.remarks, *remarks),
        )
        other = _filled_up(second.frame, first.frame, kept[:, ::-1])
        return mended, replace(second, frame=other, findings=(*second.findings, *asides[1]))

    def _aside(self, side: int, at: Pairs, differences: list[str]) -> Iterator[Finding]:
        if not len(at):
            return
        other = self._parts[1 - side].raw.place
        problems: list[Said] = [
            say(
                "this birth stands in {other} too and is counted from there, which says {more}",
                other=other,
                more=more,
            )
            if more
            else say("this birth stands in {other} too and is counted from there", other=other)
            for more in differences
        ]
        order = np.argsort(at, kind="stable")
        frame = self._parts[side].frame
        values = frame["newborn_id" if "newborn_id" in frame else frame.columns[0]].take(at[order]).tolist()
        yield Finding(at[order], "", values, [problems[place] for place in order], ONCE, "set aside")

    def _remarks(self, from_second: int, from_first: int, different: int) -> Iterator[Remark]:
        second = self._parts[1].raw.place
        alone = [len(part.frame) - len(self.pairs) for part in self._parts]
        problem = say(
            "{n} births stand in {second} too: each is counted once, {from_first} from here and {from_second} from "
            "there; the two differ in {different} of them; {alone} births stand here alone and {other} there alone",
            n=len(self.pairs),
            second=second,
            from_first=from_first,
            from_second=from_second,
            different=different,
            alone=alone[0],
            other=alone[1],
        )
        yield Remark("", problem, ONCE, "asked", "outcome" if different else "")

    def _refusal(self, differ: Sequence[Differences], contradict: int) -> str:
        first, second = (part.raw.place for part in self._parts)
        shown: list[str] = []
        for (a, b), each in zip(self.pairs.tolist(), differ, strict=True):
            for name, one, other in _contradictions(each)[:1] if len(shown) < SHOWN else []:
                raws = self._parts[0].raw, self._parts[1].raw
                rows = [
                    raw.labels.get(n := int(raw.rows[at]), n) for raw, at in zip(raws, (a, b), strict=True)
                ]
                shown.append(f"{name} in rows {rows[0]} and {rows[1]}: {one} and {other}")
        return (
            f"{first} and {second} hold the same {len(differ):,} births and contradict each other in {contradict:,} "
            f"of them ({'; '.join(shown)}); give the one that is right and leave the other out."
        )


def _by_tag(one: pd.DataFrame, other: pd.DataFrame) -> Pairs:
    """Pairs of one tag, where dam or day agree and neither speaks against it."""
    told = ["tag", "dam", "day", "at"]
    tables = [k.loc[(k["tag"] != "") & ~k["tag"].duplicated(keep=False), told] for k in (one, other)]
    both = tables[0].merge(tables[1], on="tag", suffixes=("", "_other"))
    agree, against = (pd.Series(False, index=both.index) for _ in range(2))
    for name in ("dam", "day"):
        here, there = both[name], both[f"{name}_other"]
        agree |= (here == there) & (here != "")
        against |= (here != there) & (here != "") & (there != "")
    return both.loc[agree & ~against, ["at", "at_other"]].to_numpy(dtype=np.int64)


def _by_dam(one: pd.DataFrame, other: pd.DataFrame) -> Pairs:
    """Pairs of one dam, day and sex, unless both have a tag (these differ).

    Several are paired by order of birth and weight where both parts tell them, the dead before the living.
    """
    told = [name for name in ("order", "weight") if all(k[name].str.strip().any() for k in (one, other))]
    tables = []
    for keys, against in ((one, other), (other, one)):
        of_one_day = (keys["day"] != "") & keys["day"].isin(against["day"])
        table = keys[(keys["dam"] != "") & of_one_day].sort_values([*told, "lives"], kind="stable")
        tables.append(table.assign(nth=table.groupby(["dam", "day", "sex"]).cumcount()))
    both = tables[0].merge(tables[1], on=["dam", "day", "sex", "nth"], suffixes=("", "_other"))
    kept = both[(both["tag"] == "") | (both["tag_other"] == "")]
    return kept[["at", "at_other"]].to_numpy(dtype=np.int64)


Differences = list[tuple[str, str, str]]


def _differences(first: pd.DataFrame, second: pd.DataFrame) -> list[Differences]:
    """For each pair of rows the columns in which they differ, with what each says ("" where it says nothing)."""
    found: list[Differences] = [[] for _ in range(len(first))]
    for name in dict.fromkeys([*_tidy(first), *_tidy(second)]):
        one, other = (
            frame[name].astype(object).where(frame[name].notna(), None).tolist()
            if name in frame
            else [None] * len(frame)
            for frame in (first, second)
        )
        for row, (a, b) in enumerate(zip(one, other, strict=True)):
            if a is not b and a != b:
                found[row].append((name, as_found(a), as_found(b)))
    return [[one for one in each if _differs(*one)] for each in found]


def _differs(name: str, one: str, other: str) -> bool:
    """A date and a time of that day do not differ, nor does an unknown cause from one that is known."""
    if name.endswith("_at") and one and other and (one.startswith(other) or other.startswith(one)):
        return False
    return name != "cause" or "unknown" not in (one, other)


def _contradictions(differences: Differences) -> Differences:
    """What both rows say, each otherwise, of what does not change as a season goes on."""
    return [(name, one, other) for name, one, other in differences if name in BOTH and one and other]


def _said_differences(differences: Differences) -> str:
    """What two rows say otherwise: "died no / yes, cause / infection"."""
    shown = [f"{name} {one or '-'} / {other or '-'}" for name, one, other in differences[:SHOWN]]
    more = f" + {len(differences) - SHOWN}" if len(differences) > SHOWN else ""
    return ", ".join(shown) + more


def _tidy(frame: pd.DataFrame) -> list[str]:
    return [str(name) for name in frame if "|" not in str(name)]


def dead_or_doubtful(frame: pd.DataFrame) -> NDArray[np.int64]:
    """2 for rows with any sign of a death, 1 for those whose outcome cannot be read, else 0."""
    dead, unread = (np.zeros(len(frame), dtype=bool) for _ in range(2))
    for name in map(str, frame):
        if name in ("died_at", "found_dead_at", "cause"):
            dead |= frame[name].notna().to_numpy()
        elif name in ("died", "born_alive"):
            dead |= (frame[name].astype(object) == (name == "died")).to_numpy()
        elif name.endswith(("|state", "|sign")):
            said = frame[name].astype(object)
            dead |= said.isin(DEATHS).to_numpy()
            unread |= said.isin(("?", "not known")).to_numpy()
    return np.where(dead, 2, np.where(unread, 1, 0))


def _filled_up(frame: pd.DataFrame, other: pd.DataFrame, pairs: Pairs) -> pd.DataFrame:
    """The frame, blank cells of the rows that stand filled from the rows that do not."""
    filled = frame.copy()
    for name in other:
        if name not in filled or not len(pairs) or not filled[name].dtype == other[name].dtype != bool:
            continue
        blank = filled[name].isna().to_numpy()[pairs[:, 0]] & other[name].notna().to_numpy()[pairs[:, 1]]
        if blank.any():
            mended = filled[name].copy()
            mended.iloc[pairs[blank, 0]] = other[name].iloc[pairs[blank, 1]].array
            filled[name] = mended
    return filled


TOLD_OF = (
    "died",
    "died_at",
    "found_dead_at",
    "last_alive_at",
    "cause",
    "cause_basis",
    "left_at",
    "left_reason",
)
DEATH_COLUMNS = ("died_at", "found_dead_at", "cause")
OF_A_BIRTH = words(
    "dam_id litter_id born_at born_on birth_weight_kg litter_size birth_order born_alive delivery"
)
SHARE_KNOWN = 0.5
TAGS_SHOWN = 8


@dataclass(frozen=True, eq=False)
class Told:
    """Births with what lists of deaths say of them, and how many deaths in the lists belong to no newborn."""

    births: list[TypedTable]
    unmatched: int
    remarks: tuple[tuple[str, str, str, Remark], ...]


def with_death_lists(parts: Sequence[TypedTable]) -> Told:
    """The books of births, each list of deaths put to its newborns by their tags; a list is then no table of its own.

    A list names newborns and what became of them and nothing of their birth, and most of its tags are those of newborns
    in a book. A death in it is a death, whatever the book says; what the book has already stays. Deaths of tags that
    no book holds are counted and named.
    """
    lists = [part for part in parts if _is_list(part.frame)]
    books = [part for part in parts if part not in lists and "newborn_id" in part.frame]
    places = {part: _Places(books, part) for part in lists}
    lists = [part for part in lists if places[part].share >= SHARE_KNOWN]
    if not lists:
        return Told(list(parts), 0, ())
    remarks, unmatched = [], 0
    told = {id(book): book for book in books}
    for part in lists:
        found = places[part]
        for book, pairs in zip(books, found.pairs, strict=True):
            told[id(book)] = _told(told[id(book)], part, pairs)
        unmatched += len(found.nobody)
        remarks += [
            ("births", part.raw.file, part.raw.sheet, remark) for remark in (*part.remarks, *found.remarks())
        ]
    kept = [told.get(id(part), part) for part in parts if part not in lists]
    return Told(kept, unmatched, tuple(remarks))


def _is_list(frame: pd.DataFrame) -> bool:
    names = {str(name) for name in frame}
    return "newborn_id" in names and bool(names & set(TOLD_OF)) and not names & OF_A_BIRTH


class _Places:
    """Where the newborns of a list stand in the books: by tag, else by the only tag that is like it."""

    def __init__(self, books: Sequence[TypedTable], part: TypedTable) -> None:
        tags = part.frame["newborn_id"].astype(object).where(part.frame["newborn_id"].notna(), None).tolist()
        every = [
            (str(tag), number, row)
            for number, book in enumerate(books)
            for row, tag in enumerate(book.frame["newborn_id"])
            if pd.notna(tag)
        ]
        known: tuple[dict[str, set[tuple[int, int]]], ...] = ({}, {}, {}, {})
        for tag, number, row in every:
            for form, by_form in zip((tag, *forms(tag)), known, strict=True):
                by_form.setdefault(form, set()).add((number, row))
        dead = _signs(part)
        self._likened, self._matched = 0, 0
        self.nobody: list[str] = []
        self.pairs = [np.empty((0, 2), dtype=np.int64) for _ in books]
        for row, tag in enumerate(tags):
            said = [] if tag is None else [str(tag), *forms(str(tag))]
            exact = bool(said) and said[0] in known[0]
            places = next((k[form] for form, k in zip(said, known, strict=False) if form in k), set())
            if len(places) == 1:
                ((number, at),) = places
                self.pairs[number] = np.vstack([self.pairs[number], [at, row]])
                self._likened += not exact
                self._matched += 1
            elif dead[row] and tag is not None:
                self.nobody.append(str(tag or "-"))
        self.share = self._matched / max(1, len(tags)) if books else 0.0

    def remarks(self) -> Iterator[Remark]:
        """What was put to newborns, and what could not be."""
        problem = say(
            "its {n} rows were put to the newborns of these tags in the other files", n=self._matched
        )
        yield Remark("newborn_id", problem, NO_NEED)
        if self._likened:
            problem = say(
                "{n} tags differ from the newborn's by zeros, letters, signs or capitals alone",
                n=self._likened,
            )
            remedy = say("write one tag for one newborn everywhere")
            yield Remark("newborn_id", problem, remedy, "asked", "outcome")
        if self.nobody:
            tags = ", ".join(self.nobody[:TAGS_SHOWN])
            problem = say(
                "{n} deaths are of tags that stand in no book of births, or twice; they are not counted: {tags}",
                n=len(self.nobody),
                tags=tags,
            )
            if len(self.nobody) == 1:
                problem = say(
                    "1 death is of a tag that stands in no book of births, or twice; it is not counted: {tags}",
                    tags=tags,
                )
            remedy = say("look for slips in the tags; write a row for each newborn, the dead ones too")
            yield Remark("newborn_id", problem, remedy, "asked", "outcome")


def _signs(part: TypedTable) -> NDArray[np.bool_]:
    """Rows that tell a death: by any cell that may, readable or not, and every row of a sheet named after deaths."""
    dead = dead_or_doubtful(part.frame) > 0
    if "died" not in part.frame and OF_DEATH.search(f"{part.raw.file} {part.raw.sheet}".casefold()):
        dead[:] = True
    for finding in part.findings:
        if finding.column in DEATH_COLUMNS and finding.ended == "set to missing":
            dead[finding.at] = True
        elif finding.ended in ("set aside", "no record"):
            dead[finding.at] = False
    return dead


def _told(book: TypedTable, part: TypedTable, pairs: NDArray[np.int64]) -> TypedTable:
    """The book with what the list says of its newborns."""
    if not len(pairs):
        return book
    frame = book.frame.copy()
    said = part.frame.take(pairs[:, 1])
    dead = _signs(part)[pairs[:, 1]]
    nobody = pd.Series(None, index=frame.index, dtype=object)
    died, state = frame.get("died", nobody).astype("boolean"), frame.get("died|state", nobody).astype(object)
    died.iloc[pairs[dead, 0]] = True
    state.iloc[pairs[dead, 0]] = "dead"
    frame["died"], frame["died|state"] = died, state
    for name in said:
        if str(name).partition("|")[0] in TOLD_OF and name not in ("died", "died|state"):
            frame[name] = _filled(frame, str(name), said[name], pairs[:, 0])
    return replace(book, frame=frame)


def _filled(frame: pd.DataFrame, name: str, said: pd.Series, at: NDArray[np.int64]) -> pd.Series:
    if name not in frame:
        empty = False if said.dtype == bool else None
        column = pd.Series([empty] * len(frame), index=frame.index, dtype=said.dtype)
        column.iloc[at] = said.array
        return column
    column = frame[name].copy()
    if all(one.dtype == object or isinstance(one.dtype, pd.StringDtype) for one in (column, said)):
        column, said = column.astype(object), said.astype(object)  # text is kept in one of two ways
    if column.dtype != said.dtype or column.dtype == bool:
        return column
    blank = column.isna().to_numpy()[at]
    column.iloc[at[blank]] = said.array[blank]
    return column

"""A list of deaths beside a book of births: rows that name newborns and what became of them, and nothing of a birth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.typed import TypedTable
from neonatal_stats.season.exchange.births import OF_DEATH
from neonatal_stats.season.exchange.fates import forms
from neonatal_stats.season.finding import NO_NEED, say
from neonatal_stats.season.gathering.versions import dead_or_doubtful
from neonatal_stats.season.grid import Remark
from neonatal_stats.vocabulary.spelling import words

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
SHOWN = 8


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
            tags = ", ".join(self.nobody[:SHOWN])
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

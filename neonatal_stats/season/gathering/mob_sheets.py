"""Sheets of mobs before they are typed: a year written once, or in the sheet's name alone; two columns of one count."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import cache, lru_cache
from itertools import combinations

import numpy as np

from neonatal_stats.season.cells.dates import take_apart
from neonatal_stats.season.finding import say
from neonatal_stats.season.grid import RawColumn, RawTable, Remark, numbers, raw_column
from neonatal_stats.season.records_map import TableMap, plain_heading
from neonatal_stats.vocabulary.columns import column
from neonatal_stats.vocabulary.farm_words import words_of
from neonatal_stats.vocabulary.heading_words import mob_meaning
from neonatal_stats.vocabulary.named import season_in
from neonatal_stats.vocabulary.spelling import bare_words

DATES = ("joined_on", "scanned_on", "marked_on", "weaned_on")
SEX = column("births", "sex")


def of_mobs(tables: Sequence[tuple[str, RawTable]], own: TableMap) -> list[tuple[str, RawTable]]:
    """The sheets, those of mobs with their season and the parts of a count put together."""
    mobs = [raw for table, raw in tables if table == "mobs"]
    by_name = mobs and all(_season_above(raw) and not _has_season(raw, own) for raw in mobs)
    return [
        (table, _ready(raw, own, _season_above(raw) if by_name else "")) if table == "mobs" else (table, raw)
        for table, raw in tables
    ]


def _season_above(raw: RawTable) -> str:
    """The season in the sheet's name, or in what stands above its headings."""
    return season_in(raw.sheet) or season_in(raw.titles)


def _ready(raw: RawTable, own: TableMap, season: str) -> RawTable:
    raw = with_parts_summed(_season_below(raw, own), own)
    if not season:
        return raw
    problem = say(
        "no season is written; the year in the sheet's name or title was taken: {season}", season=season
    )
    said = Remark("season", problem, say("write the year in a column season"))
    return raw.remarked(said, columns={**raw.columns, "season": raw_column([season] * len(raw.rows))})


def _has_season(raw: RawTable, own: TableMap) -> bool:
    """True where a filled column or the map says the season, or dates do."""
    meant = {own.column_of("mobs", heading) for heading, cells in raw.columns.items() if cells.filled.any()}
    return bool(meant & {"season", *DATES}) or "season" in own.fixed


def _season_below(raw: RawTable, own: TableMap) -> RawTable:
    """A season written once above a block of mobs holds of those below it."""
    heading = next((h for h in raw.columns if own.column_of("mobs", h) == "season"), None)
    if heading is None:
        return raw
    cells = raw.columns[heading]
    blank = ~cells.filled & ~raw.found & ~_totals(raw, own)
    if not blank.any() or not len(cells.codes) or cells.codes[0] < 0:
        return raw
    last = np.maximum.accumulate(np.where(cells.filled, np.arange(len(cells.codes)), 0))
    filled = RawColumn(np.where(blank, cells.codes[last], cells.codes), cells.distinct)
    problem = say(
        "the season is written once above {n} rows without one; it was read as the same as above",
        n=int(blank.sum()),
    )
    remedy = say("write the year in each row")
    return raw.remarked(Remark(heading, problem, remedy, "asked"), columns={**raw.columns, heading: filled})


def _totals(raw: RawTable, own: TableMap) -> np.ndarray:
    """Rows that name no mob where a column names mobs: what they are, nobody has said."""
    heading = next((h for h in raw.columns if own.column_of("mobs", h) == "mob"), None)
    return np.zeros(len(raw.rows), dtype=bool) if heading is None else ~raw.columns[heading].filled


def parts_of_counts(headings: Collection[str], own: TableMap) -> dict[str, tuple[str, str]]:
    """Pairs of headings that differ by the sex alone ("Ewe lambs marked", "Wether lambs marked"), by what both count.

    Only where no other heading counts it, and the map says nothing of either.
    """
    open_ = [h for h in headings if plain_heading(h) not in own.columns and own.column_of("mobs", h) is None]
    known = {own.column_of("mobs", h) for h in headings}
    counted: dict[str, list[str]] = {}
    for heading in open_:
        if meant := mob_meaning(_without_sex(heading)[0]) or mob_meaning(heading):
            counted.setdefault(meant, []).append(heading)
    found = {}
    for meant, said in counted.items():
        for one, other in combinations(said, 2):
            (rest, sex), (rest_2, sex_2) = _without_sex(one), _without_sex(other)
            two_sexes = {sex, sex_2} in ({"f", "m"},) and rest == rest_2 != ""
            if len(said) == 2 and meant not in known and two_sexes:
                found[meant] = (one, other)
    return found


@lru_cache(maxsize=1024)
def _without_sex(heading: str) -> tuple[str, str]:
    """The heading without its words for one sex, and which: "f", "m", or "" for none or both."""
    said, rest = set(), []
    for word in bare_words(heading).split():
        sex = next((s for way in (word, word.removesuffix("s")) if (s := _sexes().get(way))), "")
        said.add(sex)
        rest += [] if sex else [word]
    sexes = said - {""}
    return " ".join(rest), next(iter(sexes)) if len(sexes) == 1 else ""


@cache
def _sexes() -> dict[str, str]:
    return {
        way: "f" if sex == "female" else "m"
        for way, sex in {**words_of(SEX), **{s: s for s in SEX.words}}.items()
        if len(way) > 1
    }


def with_parts_summed(raw: RawTable, own: TableMap) -> RawTable:
    """Two columns that the words prove to be the parts of one count, added up where both are written."""
    for meant, (one, other) in parts_of_counts(raw.columns, own).items():
        first, second = numbers(raw.columns[one]), numbers(raw.columns[other])
        if not all(_counts(raw.columns[h]) for h in (one, other)):
            continue
        summed = raw_column([None if np.isnan(n) else n for n in first + second])
        half = int((np.isnan(first) != np.isnan(second)).sum())
        problem = say(
            "{one} and {other} were added up to {meant}", one=f'"{one}"', other=f'"{other}"', meant=meant
        )
        remedy = say("nothing need be done if they are the two parts of one count")
        remarks = [Remark(meant, problem, remedy)]
        if half:
            problem = say(
                "one of the two parts of this count is not written in {n} rows; it stayed open there", n=half
            )
            remarks.append(Remark(meant, problem, say("write 0 where there was none"), "asked"))
        columns = {h: cells for h, cells in raw.columns.items() if h not in (one, other)}
        raw = raw.remarked(*remarks, columns={**columns, meant: summed})
    return raw


def _counts(cells: RawColumn) -> bool:
    """True where every filled cell is a number and none a date."""
    return (
        bool(cells.filled.any())
        and bool(np.isfinite(numbers(cells)[cells.filled]).all())
        and not any(take_apart(cell, {}) for cell in cells.distinct)
    )

"""Do the counts of a mob add up, from joining to weaning, and is each row a mob at all?

What cannot be is set to missing, both counts of it, since nobody can tell which is the slip; what happens (a scan that
misses a foetus, a muster that misses a lamb) is used and asked about. Totals, by their words or their counts, and rows
that count nothing are no mobs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.checks.ranges import implausible
from neonatal_stats.season.finding import Finding, Said, found_in, say, where
from neonatal_stats.season.following.mobs import (
    BEARING,
    DATES,
    EACH,
    STAGES,
    WHOLE,
    count,
    foetuses,
    named,
    scanned,
)
from neonatal_stats.season.following.seasons import NOT_RECORDED
from neonatal_stats.season.grid import Mask
from neonatal_stats.season.ledger import Gathered
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.named import TOTAL, total_named
from neonatal_stats.vocabulary.named import WHOLE as MAYBE

Rule = Callable[[pd.DataFrame], Finding]
LOOK = say("look up both counts and mend the one that is wrong")
KEYS = ["farm", "season", "mob"]
MORE: tuple[tuple[str, str, Said], ...] = (
    ("scanned", "joined", say("more dams were scanned than were put to the male")),
    ("born_dead", "born", say("more were born dead than were born")),
    ("marked", "born", say("more were counted at marking than were born")),
    ("weaned", "born", say("more were weaned than were born")),
    ("dams_died", "joined", say("more dams died than were put to the male")),
)
"""What cannot be: a part that is more than its whole, each with the sentence for it."""
ODD: tuple[tuple[str, str, Said, Said], ...] = (
    (
        "weaned",
        "marked",
        say("more were weaned than were counted at marking"),
        say("look whether some were missed at marking, or came from another mob"),
    ),
)
"""What happens and is asked about."""
FEW = "scanned_triplet"
SCANS = ("scanned", *EACH, "foetuses")
NAMING = ("mob", "season", "farm")
FEWEST_COLUMNS, FEWEST_PARTS = 2, 2
"""Of a sum known by its counts alone: the columns that agree, none of them 0, and the mobs that make it up."""


def check_mobs(mobs: Gathered, settings: Settings) -> None:
    """Name farm, season and mob of every row, and hold the counts against each other."""
    not_a_mob(mobs)
    unnamed = "mob" not in mobs.frame or bool(mobs.frame["mob"].isna()[mobs.ledger.kept].all())
    species = mobs.frame.get("species", pd.Series("", index=mobs.frame.index)).fillna("")
    mobs.enter_all(implausible("mobs", mobs.frame, species, settings))
    mobs.frame = named(mobs.frame, settings.season_first_month)
    mobs.enter(_no_season(mobs.frame))
    mobs.enter_all(summed(mobs))
    mobs.enter(_which_mob(mobs) if unnamed else None)
    mobs.enter_all(_blank_classes(mobs))
    for rule in RULES:
        mobs.enter(rule(mobs.frame))
    mobs.enter_all(rule(mobs.frame, *told) for rule, told in _pairs())
    mobs.enter(_dates_out_of_order(mobs.frame))
    mobs.enter_all(_twice(mobs))


def one_row_each(mobs: pd.DataFrame) -> pd.DataFrame:
    """One row a farm, season and mob: what several rows or files count of it stands in one."""
    if mobs.empty:
        return mobs
    whole = mobs.groupby(KEYS, as_index=False, sort=False, dropna=False).first()
    return whole[[column.name for column in TABLES["mobs"] if column.name in whole]]


def _no_season(frame: pd.DataFrame) -> Finding:
    """Neither a season nor a date: the mobs of several years cannot be told apart."""
    problem = say("no season and no date is written; the mob belongs to no season")
    remedy = say("write the year in a column season, or in the map under [mobs.fixed]")
    return found_in(frame, frame["season"] == NOT_RECORDED, "season", problem, remedy, "asked")


def _blank_classes(mobs: Gathered) -> Iterator[Finding]:
    """A blank class of a scan is none where the others make up the dams scanned, or the column writes no 0.

    Where no row has the class it stays unknown, but for triplets, which many scans do not tell from twins.
    """
    looked_at = np.column_stack([count(mobs.frame, name).notna() for name in SCANS]).any(axis=1)
    known = sum((count(mobs.frame, name).fillna(0) for name in EACH), pd.Series(0.0, index=mobs.frame.index))
    proven = (known == count(mobs.frame, "scanned")).to_numpy()
    some = np.column_stack([count(mobs.frame, name).notna() for name in BEARING]).any(axis=1)
    for name in EACH:
        values = count(mobs.frame, name)
        blank = (values.isna().to_numpy()) & looked_at & some
        if not blank.any() or (values.isna().all() and name == "scanned_dry"):
            continue
        if values.isna().all():
            mobs.frame[name] = values.mask(blank & (proven | (name == FEW)), 0.0)
            continue
        none = proven | (not (values == 0).any())
        mobs.frame[name] = values.mask(blank & none, 0.0)
        taken = say("the blank was taken as none, since the column writes no 0")
        yield found_in(
            mobs.frame, blank & none & ~proven, name, taken, say("write 0 where there was none"), "asked"
        )
        open_ = say("how many dams were scanned so is not written, though other rows write 0")
        yield found_in(mobs.frame, blank & ~none, name, open_, say("write 0 where there was none"), "asked")


def _classes_against_scanned(frame: pd.DataFrame) -> Finding:
    """Dry, single, twin and triplet dams that are not those scanned."""
    total = sum((count(frame, name) for name in EACH), pd.Series(0.0, index=frame.index))
    bearing = sum((count(frame, name) for name in BEARING), pd.Series(0.0, index=frame.index))
    own = count(frame, "scanned")
    wrong = (total.notna() & own.notna() & (total != own)) | (bearing > own)
    problem = say("the dams scanned with none, one, two and three do not add up to those scanned")
    return found_in(frame, wrong, "scanned", problem, LOOK, "set to missing", SCANS)


def _more_in_classes_than_joined(frame: pd.DataFrame) -> Finding:
    """The classes of a scan add up to more dams than were joined, where no sum is written."""
    wrong = count(frame, "scanned").isna() & (scanned(frame) > count(frame, "joined"))
    problem = say("more dams were scanned than were put to the male")
    return found_in(frame, wrong, "joined", problem, LOOK, "set to missing", ("joined", *SCANS))


def _foetuses_against_classes(frame: pd.DataFrame) -> Finding:
    """Foetuses written that the classes cannot give; with three or more to a dam there may be more."""
    of_classes = foetuses(frame.drop(columns="foetuses", errors="ignore"))
    own, more = count(frame, "foetuses"), count(frame, "scanned_triplet").fillna(0) > 0
    wrong = (own < of_classes) | ((own > of_classes) & ~more)
    problem = say("the foetuses are not those of the dams scanned with one, two and three; these were used")
    return found_in(frame, wrong, "foetuses", problem, LOOK, "set to missing")


def _more_born_than_scanned(frame: pd.DataFrame) -> Finding:
    """More newborns than foetuses: a scan misses some."""
    more = count(frame, "born") > foetuses(frame)
    problem = say("more were born than foetuses were scanned")
    remedy = say("a scan can miss one; look whether the count of another mob is in it")
    return found_in(frame, more, "born", problem, remedy, "asked")


def _more_marked_than_scanned(frame: pd.DataFrame) -> Finding:
    """More at marking than foetuses, where the born were not counted."""
    more = count(frame, "born").isna() & (count(frame, "marked") > foetuses(frame))
    problem = say("more were counted at marking than foetuses were scanned")
    remedy = say("look whether the count of another mob is in it, or the scan missed some")
    return found_in(frame, more, "marked", problem, remedy, "asked")


RULES: tuple[Rule, ...] = (
    _classes_against_scanned,
    _foetuses_against_classes,
    _more_in_classes_than_joined,
    _more_born_than_scanned,
    _more_marked_than_scanned,
)


def _pairs() -> Iterator[tuple[Callable[..., Finding], tuple[object, ...]]]:
    for part, whole, problem in MORE:
        yield _more_than, (part, whole, problem)
    for part, whole, problem, remedy in ODD:
        yield _oddly_more, (part, whole, problem, remedy)


def _more_than(frame: pd.DataFrame, part: str, whole: str, problem: Said) -> Finding:
    """A part that is more than its whole: neither count can be used."""
    wrong = _more(frame, part, whole)
    return found_in(frame, wrong, part, problem, LOOK, "set to missing", (part, whole))


def _oddly_more(frame: pd.DataFrame, part: str, whole: str, problem: Said, remedy: Said) -> Finding:
    return found_in(frame, _more(frame, part, whole), part, problem, remedy, "asked")


def _more(frame: pd.DataFrame, part: str, whole: str) -> Mask:
    return np.asarray(count(frame, part) > count(frame, whole))


def _dates_out_of_order(frame: pd.DataFrame) -> Finding:
    """A later stage that was counted before an earlier one."""
    names = [name for name in DATES if name in frame]
    wrong = np.zeros(len(frame), dtype=bool)
    for place, name in enumerate(names[1:], start=1):
        latest = frame[names[:place]].max(axis=1)
        wrong |= (frame[name] < latest).to_numpy()
    first = names[0] if names else "joined_on"
    problem = say("the dates of joining, scanning, marking and weaning are not in their order")
    remedy = say("look which date is wrong; the counts were used")
    return found_in(frame, wrong, first, problem, remedy, "set to missing", tuple(names))


def _which_mob(mobs: Gathered) -> Finding | None:
    """Rows of one farm and season that differ while no column names the mob: each is a mob called by its row."""
    again = _counted_again(mobs)
    if not again:
        return None
    frame = mobs.frame
    of = pd.MultiIndex.from_frame(frame[["farm", "season"]])
    at = where(of.isin(of[again]) & mobs.ledger.kept)
    called = pd.Series([f"row {row}" for row in mobs.origin["row"]], index=frame.index, dtype=object)
    here = pd.Series(False, index=frame.index)
    here[here.index[at]] = True
    mobs.frame = frame.assign(mob=frame["mob"].astype(object).mask(here, called))
    problem = say(
        "no column names the mob, and several rows count one season; each was taken for a mob of its own"
    )
    remedy = say(
        'say in a map under [mobs.columns] which heading names the mob: "that heading" = "mob"; keep totals out'
    )
    return Finding(at, "mob", [None] * len(at), problem, remedy, "asked")


def _twice(mobs: Gathered) -> Iterator[Finding]:
    """A row that counts a mob again after an earlier one, in other or the same counts: it is used once.

    Where no season tells the years apart, two rows of one mob may be two seasons of it.
    """
    again = np.array(_counted_again(mobs), dtype=np.int64)
    same = np.setdiff1d(np.array(_adds_nothing(mobs), dtype=np.int64), again)
    unknown = (mobs.frame["season"] == NOT_RECORDED).to_numpy()
    remedy = say("write one row a mob and season, or give each part a name of its own")
    problem = say("the mob stands in the records twice, with other counts; the first was kept")
    yield _aside(mobs, again[~unknown[again]], problem, remedy)
    problem = say("the mob stands in the records twice with the same counts; it is counted once")
    yield _aside(mobs, same[~unknown[same]], problem, remedy)
    problem = say(
        "the season is not recorded, so two rows of one mob cannot be told apart; the first was kept"
    )
    remedy = say("write the year in a column season")
    both = np.union1d(again, same)
    yield _aside(mobs, both[unknown[both]], problem, remedy)


def _aside(mobs: Gathered, at: NDArray[np.int64], problem: Said, remedy: Said) -> Finding:
    return Finding(at, "mob", mobs.values(at, "mob"), problem, remedy, "set aside", about="outcome")


def _adds_nothing(mobs: Gathered) -> list[int]:
    """The rows of which every count stands in an earlier row of their farm, season and mob."""
    kept = where(mobs.ledger.kept)
    frame = mobs.frame.iloc[kept]
    names = [name for name in STAGES if name in frame]
    known: dict[tuple[object, ...], set[str]] = {}
    found = []
    for at, row in zip(kept, frame[[*KEYS, *names]].to_dict("records"), strict=True):
        counts = {name for name in names if pd.notna(row[name])}
        before = known.setdefault(tuple(row[key] for key in KEYS), set())
        if before and counts <= before:
            found.append(int(at))
        before |= counts
    return found


def _counted_again(mobs: Gathered) -> list[int]:
    """The rows whose counts differ from those of an earlier row of their farm, season and mob."""
    kept = where(mobs.ledger.kept)
    frame = mobs.frame.iloc[kept]
    names = [name for name in STAGES if name in frame]
    first: dict[tuple[object, ...], dict[str, float]] = {}
    again = []
    for at, row in zip(kept, frame[[*KEYS, *names]].to_dict("records"), strict=True):
        known = first.setdefault(tuple(row[key] for key in KEYS), {})
        counts = {name: float(row[name]) for name in names if pd.notna(row[name])}
        if any(known.get(name, value) != value for name, value in counts.items()):
            again.append(int(at))
        else:
            known.update(counts)
    return again


def not_a_mob(mobs: Gathered) -> None:
    """Take the totals out by their words, then the rows without any count."""
    frame, kept = mobs.frame, mobs.ledger.kept
    remedy = say("keep totals out of the records")
    for name in NAMING:
        rows = _named_so(frame, name, kept) & kept
        mobs.enter(found_in(frame, rows, name, say("a row of totals is no mob"), remedy, "no record"))
        kept = mobs.ledger.kept
    filled = np.column_stack([count(frame, name).notna() for name in STAGES]).any(axis=1)
    remedy = say("nothing need be done if nothing was counted of this mob")
    mobs.enter(found_in(frame, ~filled & kept, "mob", say("the row counts nothing"), remedy, "no record"))


def _named_so(frame: pd.DataFrame, name: str, kept: Mask) -> Mask:
    """Rows that name a total in this column; one that may name a whole mob only beside other rows of its season."""
    if name not in frame:
        return np.zeros(len(frame), dtype=bool)
    cells = [
        "" if cell is None or cell != cell or cell == WHOLE else str(cell) for cell in frame[name].tolist()
    ]
    said = np.array([total_named(cell) for cell in cells], dtype=object)
    sure, maybe = np.asarray(said == TOTAL), np.asarray(said == MAYBE)
    parts = kept & ~sure & ~maybe
    if name != "mob":
        return sure | (maybe & bool(parts.any()))
    season = frame.get("season", pd.Series(None, index=frame.index, dtype=object)).astype(object)
    beside = season.isin(season[parts].dropna()) | (season.isna() & bool(parts.any()))
    return sure | (maybe & beside.to_numpy())


def summed(mobs: Gathered) -> Iterator[Finding]:
    """Rows whose every count is the sum of the other mobs': of their farm and season, of the season, or of all.

    Nobody wrote that they are totals, so they are asked about, and set aside until somebody says.
    """
    names = [name for name in STAGES if name in mobs.frame]
    counts = np.column_stack([count(mobs.frame, name) for name in names]) if names else np.empty((0, 0))
    frame = mobs.frame
    groups: tuple[list[str], ...] = (["farm", "season"], ["season"], [])
    for keys in groups:
        kept = mobs.ledger.kept
        at = [row for rows in _parted(frame, keys, kept) for row in _sums(counts, rows)]
        problem = say(
            "each of its counts is the sum of the other mobs' counts; it was set aside: is it a row of totals?"
        )
        remedy = say("leave the row out if it is a total; if it is a mob, look up the counts")
        found = np.array(sorted(at), dtype=np.int64)
        yield Finding(found, "mob", mobs.values(found, "mob"), problem, remedy, "set aside")


def _parted(frame: pd.DataFrame, keys: list[str], kept: Mask) -> Iterator[NDArray[np.int64]]:
    rows = where(kept)
    if not keys:
        yield rows
    elif len(rows):
        for _, part in frame.iloc[rows].groupby(keys, sort=False).indices.items():
            yield rows[part]


def _sums(counts: NDArray[np.float64], rows: NDArray[np.int64]) -> Iterator[int]:
    """The row of these that is the sum of the others in every count it has."""
    here = counts[rows]
    known = np.nan_to_num(here)
    for place, row in enumerate(rows):
        parts = np.delete(known, place, axis=0)
        filled = ~np.isnan(here[place])
        same = (parts.sum(axis=0) == known[place])[filled]
        some = (parts > 0).any(axis=1).sum() >= FEWEST_PARTS
        if some and same.all() and int((known[place] > 0).sum()) >= FEWEST_COLUMNS:
            yield int(row)
            return

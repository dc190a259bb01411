"""How many of each litter were born dead, and died later, by counts that farms write in several ways.

"Dead" may count those born dead, those that died later or both, "alive" those born alive or those alive now: which is
meant is proven by the other counts, or asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.finding import CannotRead, say
from neonatal_stats.season.grid import Mask, Remark, Rows

MOST = 12
"""More than so many born of one dam at once are no litter."""
ADD_UP = 0.95
LATER = ("newborns_died", "newborns_lost", "newborns_reared")
DEATHS = ("newborns_born_dead", "newborns_died", "newborns_lost", "dead")
Counts = dict[str, NDArray[np.float64]]


@dataclass(frozen=True, eq=False)
class Reckoned:
    """Born, born dead and dead later for each row; rows whose counts cannot be, those of them with a blank, and those
    of which some newborns are counted neither among the dead nor among those reared: of both the born stay counted.
    ``later_known`` where any column counts what became of those born alive.
    """

    born: Rows
    still: Rows
    died: Rows
    wrong: Mask
    unwritten: Mask
    unaccounted: Mask
    birth_unknown: bool
    later_known: bool
    remarks: tuple[Remark, ...]


def reckoned(place: str, counted: Mapping[str, str], counts: Counts, declared: bool) -> Reckoned:
    """The counts said clearly and reckoned up. Raises `CannotRead` where they can be read in two ways."""
    heading = {name: heading for heading, name in counted.items()}
    zeros = frozenset(name for name in DEATHS if name in counts and (counts[name] == 0).any())
    counts, unwritten, remarks = _blanks(_none_died(counts), heading, zeros)
    if "alive" in counts:
        _whose_alive(place, heading, counts)  # what the counts prove, they prove without the blanks
    counts, none_alive = _none_alive(counts, heading)
    remarks = (*none_alive, *remarks)
    if "alive" in counts:
        counts = _whose_alive(place, heading, counts)
    if "dead" in counts:
        counts = _whose_dead(place, heading, counts)
    counts = _none_died(counts)
    unwritten &= (
        np.any([np.isnan(counts[name]) for name in DEATHS if name in counts], axis=0) if zeros else False
    )
    reared = counts.get("newborns_reared", np.full(len(unwritten), np.nan))
    if "newborns_reared" in counts:
        counts = _by_reared(place, heading, counts, declared)
    birth_unknown = "newborns_lost" in counts
    later_known = any(name in counts and not np.isnan(counts[name]).all() for name in LATER)
    nothing = np.full(len(unwritten), np.nan)
    born, alive = counts.get("newborns_born", nothing), counts.get("newborns_born_alive", nothing)
    dead, died = counts.get("newborns_born_dead", nothing), counts.get("newborns_died", nothing)
    lost = counts.get("newborns_lost", nothing)
    born = np.where(np.isnan(born), alive + np.nan_to_num(dead), born)
    dead = np.where(np.isnan(dead), np.nan_to_num(born - alive), dead)
    died = np.where(np.isnan(died), np.nan_to_num(np.maximum(lost - dead, 0)), died)
    wrong = np.isnan(born) | (born < 0) | (born > MOST) | (dead < 0) | (died < 0) | (dead + died > born)
    wrong |= (~np.isnan(alive) & (alive + dead != born)) | (lost > born) | (lost < dead) | unwritten
    wrong |= reared > born - dead
    unaccounted = ~wrong & (reared < born - dead - died)
    wrong |= unaccounted
    for number in (born, dead, died):
        wrong |= np.nan_to_num(number) != np.floor(np.nan_to_num(number))
    known = (unwritten | unaccounted) & (born >= 1) & (born <= MOST) & (born == np.floor(born))
    whole = [
        np.where(wrong & ~kept, 0, np.nan_to_num(number)).astype(np.int64)
        for number, kept in ((born, known), (dead, False), (died, False))
    ]
    done = (wrong, unwritten, unaccounted, birth_unknown, later_known, remarks)
    return Reckoned(whole[0], whole[1], whole[2], *done)


def _none_died(counts: Counts) -> Counts:
    """A blank among the dead is none more where the reared and the dead that are written make up the born.

    What counts all dead at once then is what was written of the born dead; the row proves it.
    """
    reared, born = counts.get("newborns_reared"), counts.get("newborns_born")
    if born is None and "newborns_born_alive" in counts and "newborns_born_dead" in counts:
        born = counts["newborns_born_alive"] + counts["newborns_born_dead"]
    if reared is None or born is None:
        return counts
    named = {name: counts[name] for name in DEATHS if name in counts}
    in_all = [name for name in ("newborns_lost", "dead") if name in named]
    written = sum((np.nan_to_num(number) for number in named.values()), np.zeros(len(reared)))
    none = reared + written == born
    if in_all:
        none &= written == 0
    found = {name: np.where(none & np.isnan(number), 0.0, number) for name, number in named.items()}
    if in_all == ["newborns_lost"] and "newborns_born_dead" in found:
        still, lost = found["newborns_born_dead"], found["newborns_lost"]
        found["newborns_lost"] = np.where(np.isnan(lost) & (reared + still == born), still, lost)
    return {**counts, **found}


def _none_alive(counts: Counts, heading: Mapping[str, str]) -> tuple[Counts, tuple[Remark, ...]]:
    """A blank among the living beside a dead one is none alive, where that column writes no 0 and no born stand."""
    name = next((one for one in ("newborns_born_alive", "alive") if one in counts), "")
    if not name or "newborns_born" in counts or (counts[name] == 0).any():
        return counts, ()
    dead = np.any(
        [counts[one] > 0 for one in DEATHS if one in counts] or [np.zeros(len(counts[name]), bool)], axis=0
    )
    none = np.isnan(counts[name]) & dead
    if not none.any():
        return counts, ()
    problem = say(
        "{n} blank cells beside dead ones were taken as none alive, since the column writes no 0",
        n=f"{int(none.sum()):,}",
    )
    said = Remark(heading[name], problem, say("write 0 where none was alive"), "asked", "outcome")
    return {**counts, name: np.where(none, 0.0, counts[name])}, (said,)


def _blanks(
    counts: Counts, heading: Mapping[str, str], zeros: frozenset[str]
) -> tuple[Counts, Mask, tuple[Remark, ...]]:
    """A blank among counts of the dead is none where the column writes no 0; else it is not written."""
    counts, remarks = dict(counts), []
    unwritten = np.zeros(len(next(iter(counts.values()))), dtype=bool)
    known = "newborns_born" in counts and "newborns_born_alive" in counts
    for name in DEATHS:
        blank = np.isnan(counts[name]) if name in counts else unwritten[:0]
        if not blank.any() or blank.all():
            continue
        if name in zeros:
            if not (known and name == "newborns_born_dead"):
                unwritten |= blank
            continue
        counts[name] = np.nan_to_num(counts[name])
        problem = say(
            "{n} blank cells were taken as none dead, since the column writes no 0", n=f"{int(blank.sum()):,}"
        )
        remarks.append(Remark(heading[name], problem, say("write 0 where none died"), "asked", "outcome"))
    return counts, unwritten, tuple(remarks)


def _equal(one: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    known = ~np.isnan(one) & ~np.isnan(other)
    return bool(known.any() and (one[known] == other[known]).mean() >= ADD_UP)


def _whose_alive(place: str, heading: Mapping[str, str], counts: Counts) -> Counts:
    """Alive at birth, or alive now: those missing from the born are dead either way, where the born are counted."""
    counts = dict(counts)
    alive = counts.pop("alive")
    later = sum(
        (counts[name] for name in ("newborns_died", "newborns_born_dead") if name in counts),
        np.zeros(len(alive)),
    )
    total = counts.get("newborns_lost", counts.get("dead"))
    born = counts.get("newborns_born")
    if born is None:
        if total is not None and (total > alive).any():
            return {**_without_dead(counts), "newborns_born": alive + total, "newborns_lost": total}
        if total is None and "newborns_died" not in counts:
            return {**counts, "newborns_born_alive": alive}
        if total is None and (counts["newborns_died"] > alive).any():
            return {**counts, "newborns_born": alive + later}
        raise _of_those_alive(place, heading)
    if total is not None:
        if _equal(born, alive + total):
            return {**_without_dead(counts), "newborns_lost": total}
    elif not set(DEATHS) & set(counts):
        return {**counts, "newborns_lost": born - alive}
    elif "newborns_died" in counts and _equal(born, alive + later):
        return counts
    elif "newborns_born_dead" in counts and _equal(born, alive + counts["newborns_born_dead"]):
        return {**counts, "newborns_born_alive": alive}
    raise _of_those_alive(place, heading)


def _of_those_alive(place: str, heading: Mapping[str, str]) -> CannotRead:
    question = "counts those born alive or those alive now"
    return _unclear(place, heading["alive"], question, "newborns_born_alive", "newborns_reared")


def _without_dead(counts: Counts) -> Counts:
    return {name: count for name, count in counts.items() if name != "dead"}


def _whose_dead(place: str, heading: Mapping[str, str], counts: Counts) -> Counts:
    """What a column called only "dead" counts: proven by a row in which the other reading cannot be."""
    dead, rest = counts["dead"], _without_dead(counts)
    born, alive, still = (rest.get(f"newborns_born{end}") for end in ("", "_alive", "_dead"))
    if still is None and born is not None and alive is not None:
        if _equal(dead, born - alive):
            return {**rest, "newborns_born_dead": dead}
        if not _equal(born, alive):
            raise _whom(place, heading)
        return {**rest, "newborns_died": dead}
    if still is not None:
        with_those = born is not None and bool((still + dead > born).any())
        without = bool((dead < still).any()) or not (still > 0).any()
        if with_those == without:
            raise _whom(place, heading)
        return {**rest, "newborns_died" if without else "newborns_lost": dead}
    if born is None:
        raise _whom(place, heading)
    return {**rest, "newborns_lost": dead}


def _whom(place: str, heading: Mapping[str, str]) -> CannotRead:
    question = "counts the born dead, those that died later or both"
    return _unclear(place, heading["dead"], question, "newborns_born_dead", "newborns_died", "newborns_lost")


def _unclear(place: str, heading: str, question: str, *names: str) -> CannotRead:
    accepted = f"{', '.join(names[:-1])} or {names[-1]}"
    return CannotRead(
        f'{place}: it is not clear whether "{heading}" {question}; say in the map under [columns] whether it is '
        f"{accepted}."
    )


def _by_reared(place: str, heading: Mapping[str, str], counts: Counts, declared: bool) -> Counts:
    """Those born and not reared are lost, where the map says so and nothing else counts those that died later."""
    counts = dict(counts)
    reared, said = counts.pop("newborns_reared"), heading["newborns_reared"]
    if {"newborns_died", "newborns_lost"} & set(counts):
        return counts
    if not declared:
        raise CannotRead(
            f'{place}: nothing counts those that died later; if those not among "{said}" are lost, say in the map '
            f'under [columns] "{said}" = "newborns_reared", else add a column of the dead.'
        )
    born = counts.get("newborns_born")
    if born is None:
        born = counts["newborns_born_alive"] + counts.get("newborns_born_dead", np.zeros(len(reared)))
    return {**counts, "newborns_born": born, "newborns_lost": born - reared}

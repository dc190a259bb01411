"""Who is who: spray numbers that littermates share, tags with zeros and prefixes, dams lambing twice, fosters."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

from tests.season.farm_files.case import Made, add, case
from tests.season.farm_files.truth import Newborn, by_litter, season_of
from tests.season.farm_files.writing import ENDED, columns, grid, table, workbook

SPRAY = "spray numbers shared by littermates"
TAGS = "tags with zeros, prefixes, .0"
TWICE = "dams lambing twice"
FOSTER = "fostered newborns"


def shared(
    name: str, seed: int, without: str, mark: Callable[[Newborn], str], accept: str = "mapped"
) -> None:
    def build(folder: Path) -> Made:
        truth = [n.but(tag=mark(n)) for n in season_of(seed, litters=26)]
        say = columns(without, {"born_on": lambda n: n.born.date()}, died=ENDED["died"])
        return Made([table(folder / "b.csv", grid(truth, say))], truth, "litter size")

    add(SPRAY, name, accept, build)


def spray(n: Newborn) -> str:
    return n.litter.split("/")[1]


shared("the litter's number, sizes written", 750, "born_at", spray)
shared("the dam's tag as spray mark", 751, "born_at", lambda n: n.dam)
shared("number and colour", 752, "born_at", lambda n: f"{spray(n)} blue")
shared("without litter sizes", 753, "born_at litter_size", spray, "said")
shared("without litter sizes and sexes", 754, "born_at litter_size sex", spray, "said")
shared("identical rows, sizes written", 755, "born_at sex", spray)


def written_apart(
    name: str, seed: int, tag: Callable[[int, Newborn], Any], accept: str = "said", sheet: bool = False
) -> None:
    """One dam written in several ways from row to row; the truth keeps the number alone."""

    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=26, dam="{:03d}")
        turn = {n.tag: place for place, n in enumerate(truth)}
        say = columns(dam_id=lambda n: tag(turn[n.tag], n), died=ENDED["died"])
        rows = grid(truth, say)
        path = workbook(folder / "b.xlsx", {"Lambs": rows}) if sheet else table(folder / "b.csv", rows)
        return Made([path], truth, "litter size" if accept == "mapped" else "must-say")

    add(TAGS, name, accept, build)


written_apart("with and without zeros", 760, lambda place, n: n.dam if place % 2 else n.dam.lstrip("0"))
written_apart("with and without E", 761, lambda place, n: n.dam if place % 3 else "E" + n.dam)
written_apart("a trailing .0 on each", 762, lambda place, n: n.dam + ".0", "mapped")
written_apart("a trailing .0 on some", 763, lambda place, n: n.dam + (".0" if place % 2 else ""))
written_apart("letter case", 764, lambda place, n: ("e" if place % 2 else "E") + n.dam)
written_apart("blanks around", 765, lambda place, n: f" {n.dam} " if place % 2 else n.dam, "mapped")
written_apart(
    "numbers and texts in a workbook", 766, lambda place, n: int(n.dam) if place % 2 else n.dam, sheet=True
)
written_apart(
    "a country prefix on some", 767, lambda place, n: n.dam if place % 2 else f"XX 0123456 00{n.dam}"
)
written_apart("dashes in some", 768, lambda place, n: f"4-{n.dam}" if place % 2 else f"4{n.dam}")


@case(TAGS, "tags of fifteen digits")
def fifteen(folder: Path) -> Made:
    truth = season_of(769, litters=26, dam="999000001234{:03d}", tag="9990000099{:05d}")
    return Made([table(folder / "b.csv", grid(truth, columns(**ENDED)))], truth, "litter age dam")


@case(TAGS, "tags rounded by a spreadsheet", "said")
def rounded(folder: Path) -> Made:
    truth = season_of(770, litters=26)
    say = columns(newborn_id=lambda n: "9.99E+14", died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], [n.but(tag="") for n in truth], "litter")


@case(TAGS, "one tag typed twice", "said")
def typed_twice(folder: Path) -> Made:
    truth = season_of(771, litters=26)
    slip, other = truth[6], truth[20]
    say = columns(newborn_id=lambda n: other.tag if n is slip else n.tag, died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth)


@case(TAGS, "the stillborn have no tag")
def no_tag(folder: Path) -> Made:
    truth = [n.but(tag="") if n.stillborn else n for n in season_of(772, litters=34)]
    return Made([table(folder / "b.csv", grid(truth, columns(**ENDED)))], truth, "litter age")


@case(TAGS, "unknown dams", "said")
def unknown_dams(folder: Path) -> Made:
    truth = season_of(773, litters=30)
    say = columns(dam_id=lambda n: "?" if n.litter.endswith("3") else n.dam, died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth)


def again(truth: list[Newborn], days: int) -> list[Newborn]:
    """Three dams of the first half take the last litters too, some weeks on."""
    litters = by_litter(truth)
    for early, late in zip(litters[:3], litters[-3:], strict=True):
        shift = early[0].born + timedelta(days=days) - late[0].born
        late[:] = [n.but(dam=early[0].dam, born=n.born + shift) for n in late]
    return [n for litter in litters for n in litter]


def lambs_twice(
    name: str, seed: int, days: int, without: str = "", accept: str = "mapped", species: str = "sheep"
) -> None:
    def build(folder: Path) -> Made:
        truth = again(season_of(seed, litters=24, species=species), days)
        say = columns(without, {"species": lambda n: species}, died=ENDED["died"])
        return Made([table(folder / "b.csv", grid(truth, say))], truth, "litter size")

    add(TWICE, name, accept, build)


lambs_twice("half a year on", 780, 190, "season")
lambs_twice("half a year on, one season's name", 781, 185)
lambs_twice("in early spring and in autumn, no sizes", 782, 200, "season litter_size")
lambs_twice("kids twice in one year", 783, 160, "season", species="goat")


def fostered(
    name: str, seed: int, accept: str = "mapped", *, by_rearer: bool = False, noted: str = "fostered"
) -> None:
    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=30)
        moved = {n.tag for n in truth if n.size == 3 and n.order == 3}
        rearer = next(n.dam for n in truth if n.size == 1)
        say = columns(rearing=lambda n: noted if n.tag in moved else "dam", died=ENDED["died"])
        if by_rearer:
            say["dam_id"] = lambda n: rearer if n.tag in moved else n.dam
        return Made(
            [table(folder / "b.csv", grid(truth, say))], truth, "size" if by_rearer else "litter size"
        )

    add(FOSTER, name, accept, build)


fostered("under its own dam", 790)
fostered("under the foster dam, the birth litter's size written", 791, "said", by_rearer=True)
fostered("set on, as the farm says", 792, "said", noted="set on to 044")


@case(FOSTER, "a column for the foster dam", "said")
def foster_dam(folder: Path) -> Made:
    truth = season_of(793, litters=30)
    say = columns(
        "", {"Foster ewe": lambda n: "044" if n.size == 3 and n.order == 3 else ""}, died=ENDED["died"]
    )
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "litter size", named=("Foster ewe",))


@case(FOSTER, "entered twice, under both dams", "said")
def both_dams(folder: Path) -> Made:
    truth = season_of(794, litters=30)
    rows = grid(truth, columns(died=ENDED["died"]))
    moved = next(place for place, n in enumerate(truth, 1) if n.size == 2 and n.order == 2 and not n.dead)
    again_under = list(rows[moved])
    again_under[3] = next(n.dam for n in truth if n.size == 1)
    return Made([table(folder / "b.csv", [*rows, again_under])], truth, "size")

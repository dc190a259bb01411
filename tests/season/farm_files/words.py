"""Measures in the farm's own manner: ages at death, clocks, weights, two columns of one name, a ram named Count."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.season.farm_files.case import Made, add, case
from tests.season.farm_files.truth import WEIGHTS, Newborn, season_of
from tests.season.farm_files.writing import ENDED, PLAIN, Say, columns, grid, put, table, text_of, workbook

AGES = "ages at death"
CLOCKS = "clocks"
WEIGHED = "weights and their units"
NAMES = "headings that mislead"


def aged(
    name: str, seed: int, head: str, tell: Callable[[float], Any], accept: str = "mapped", facets: str = "age"
) -> None:
    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=28)
        say = columns("", {head: lambda n: tell(n.age_h or 0.0) if n.dead else ""}, died=ENDED["died"])
        return Made([table(folder / "b.csv", grid(truth, say))], truth, facets)

    add(AGES, name, accept, build)


aged("hours", 900, "age at death (h)", lambda h: h)
aged("hours under another name", 901, "Hours lived", lambda h: h, "said")
aged("days", 902, "age at death (days)", lambda h: int(h // 24), facets="day")
aged("days, short", 903, "Age died (d)", lambda h: int(h // 24), facets="day")
aged(
    "with units in the cells",
    904,
    "age at death",
    lambda h: f"{h:g} h" if h < 48 else f"{int(h // 24)} d",
    facets="day",
)
aged("German days", 905, "Alter bei Tod (Tage)", lambda h: int(h // 24), "said", "day")
aged("no unit anywhere", 906, "age at death", lambda h: int(h // 24), "said", "must-say")
aged(
    "classes",
    907,
    "died at",
    lambda h: "birth" if h == 0 else "day 1" if h < 24 else "week 1" if h < 168 else "later",
    "said",
    "",
)


@case(AGES, "an age alone, no died", "said")
def age_alone(folder: Path) -> Made:
    truth = season_of(908, litters=28)
    say = columns("", {"age at death (hours)": lambda n: n.age_h if n.dead else ""})
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "age")


def clocked(
    name: str, seed: int, clock: Callable[[Newborn], str], accept: str = "mapped", head: str = "time born"
) -> None:
    """A day in one column, a clock in another; the time of death written whole."""

    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=26)
        born: dict[str, Say] = {"date born": lambda n: n.born.date(), head: clock}
        say = columns("born_at", born, died=ENDED["died"], died_at=ENDED["died_at"])
        return Made([table(folder / "b.csv", grid(truth, say))], truth, "age litter")

    add(CLOCKS, name, accept, build)


clocked("530", 910, lambda n: f"{n.born.hour}{n.born:%M}")
clocked("0530", 911, lambda n: f"{n.born:%H%M}")
clocked("5.30", 912, lambda n: f"{n.born.hour}.{n.born:%M}")
clocked("5h30", 913, lambda n: f"{n.born.hour}h{n.born:%M}")
clocked("5:30 am", 914, lambda n: f"{n.born:%I:%M} {n.born:%p}".lower().lstrip("0"))
clocked("05:30:00", 915, lambda n: f"{n.born:%H:%M:%S}")
clocked("5:30a", 916, lambda n: f"{n.born:%I:%M}{'a' if n.born.hour < 12 else 'p'}", "said")
clocked("kl. 05.30", 917, lambda n: f"kl. {n.born:%H.%M}", "said")
clocked("five past", 918, lambda n: "morning" if n.born.hour < 12 else "evening", "said")


def in_one_cell(name: str, seed: int, style: str, accept: str = "mapped") -> None:
    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=26)
        return Made([table(folder / "b.csv", grid(truth, columns(**ENDED)), clock=style)], truth, "age")

    add(CLOCKS, name, accept, build)


in_one_cell("day and 0530 in one cell", 920, "%Y-%m-%d %H%M")
in_one_cell("day and 5h30 in one cell", 921, "%d/%m/%Y %Hh%M")
in_one_cell("day and 05.30 in one cell", 922, "%d.%m.%Y %H.%M")
in_one_cell("clock before the day", 923, "%H:%M %d %B %Y", "said")


def weighed(
    name: str,
    seed: int,
    head: str,
    tell: Callable[[float], Any],
    accept: str = "mapped",
    *,
    species: str = "sheep",
    said: bool = True,
) -> None:
    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=28, species=species)
        named: dict[str, Say] = {"species": lambda n: species} if said else {}
        say = columns("species", named | {head: lambda n: tell(n.weight)}, died=ENDED["died"])
        return Made([table(folder / "b.csv", grid(truth, say))], truth, "weight")

    assert species in WEIGHTS
    add(WEIGHED, name, accept, build)


def pounds(kg: float) -> float:
    return round(kg / 0.45359237, 1)


def stones(kg: float) -> str:
    ounces = round(kg / 0.45359237 * 16)
    return f"{ounces // 16} lb {ounces % 16} oz"


weighed("lb in the heading", 930, "birth weight (lb)", pounds)
weighed("lbs in the heading", 931, "Birth wt lbs", pounds)
weighed("g in the heading", 932, "birth weight g", lambda kg: round(kg * 1000))
weighed("oz in the heading", 933, "birth weight (oz)", lambda kg: round(kg / 0.45359237 * 16))
weighed("lb in each cell", 934, "birth weight", lambda kg: f"{pounds(kg)} lb")
weighed("pounds and ounces in each cell", 935, "birth weight", stones, "said")
weighed("grams, no unit", 936, "birth weight", lambda kg: round(kg * 1000), "said")
weighed("pounds, no unit", 937, "birth weight", pounds, "said")
weighed("pounds, no unit, no species", 938, "birth weight", pounds, "said", said=False)
weighed("calves in pounds, no unit", 939, "birth weight", pounds, "said", species="cattle")
weighed("calves in lb, no species", 940, "birth weight lb", pounds, species="cattle", said=False)
weighed("decimal commas in quotes", 941, "birth weight (kg)", lambda kg: str(kg).replace(".", ","))
weighed("kg in each cell", 942, "birth weight", lambda kg: f"{kg}kg")
weighed(
    "kids in oz, no species",
    943,
    "weight at birth oz",
    lambda kg: round(kg / 0.45359237 * 16),
    species="goat",
    said=False,
)


@case(NAMES, "a ram named Count")
def ram_count(folder: Path) -> Made:
    truth = season_of(950, litters=26)
    say = columns(
        "", {"sire_id": lambda n: "Count" if n.litter[-1] in "135" else "Baron"}, died=ENDED["died"]
    )
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "litter")


@case(NAMES, "ewes named Total, Sum and Average")
def ewe_total(folder: Path) -> Made:
    truth = [
        n.but(dam=("Total", "Sum", "Mean")[n.size - 1]) if n.litter[-1] == "7" else n
        for n in season_of(951, litters=26)
    ]
    return Made([table(folder / "b.csv", grid(truth, columns(died=ENDED["died"])))], truth)


@case(NAMES, "a pen named Count")
def pen_count(folder: Path) -> Made:
    truth = season_of(952, litters=26)
    say = columns(group=lambda n: "count pen" if n.order == 1 else "Subtotal", died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "litter")


@case(NAMES, "two columns named Date", "said")
def two_dates(folder: Path) -> Made:
    truth = season_of(953, litters=26)
    rows = grid(truth, columns("born_at", Date=PLAIN["born_at"], died=ENDED["died"], when=ENDED["died_at"]))
    rows[0][-1] = "Date"
    return Made([table(folder / "b.csv", rows)], truth, "litter must-say")


@case(NAMES, "two columns named Died that differ", "said")
def two_died(folder: Path) -> Made:
    truth = season_of(954, litters=26)
    say = columns(
        died=lambda n: "yes" if n.stillborn else "no",
        later=lambda n: "yes" if n.dead and not n.stillborn else "no",
    )
    rows = grid(truth, say)
    rows[0][-1] = "died"
    return Made([table(folder / "b.csv", rows)], truth, "litter")


@case(NAMES, "dead at birth and dead later", "mapped")
def at_birth_and_later(folder: Path) -> Made:
    truth = season_of(955, litters=26)
    say = columns(
        "",
        {
            "Born dead": lambda n: "yes" if n.stillborn else "no",
            "Died later": lambda n: "yes" if n.dead and not n.stillborn else "no",
        },
    )
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "litter")


@case(NAMES, "only Cause known among foreign headings", "said")
def only_cause(folder: Path) -> Made:
    truth = season_of(956, litters=26)
    names = {"Syn": "newborn_id", "Emä": "dam_id", "Karitsoi": "born_at"}
    say = columns("", {head: PLAIN[name] for head, name in names.items()}, plain=False)
    say |= {"Kuollut": lambda n: "kyllä" if n.dead else "ei", "Cause": lambda n: ""}
    return Made([table(folder / "b.csv", grid(truth, say))], truth)


@case(NAMES, "no headings at all", "asked")
def no_headings(folder: Path) -> Made:
    truth = season_of(957, litters=26)
    return Made([table(folder / "b.csv", grid(truth, columns(died=ENDED["died"]))[1:])], truth)


@case(NAMES, "control characters in a heading", "said")
def control(folder: Path) -> Made:
    truth = season_of(958, litters=26)
    text = text_of(grid(truth, columns(note=lambda n: "", died=ENDED["died"])))
    return Made([put(folder / "b.csv", text.replace("note", "no\x1b[31mte", 1))], truth, "litter")


@case(NAMES, "the ewe's own death beside", "said")
def ewe_died(folder: Path) -> Made:
    truth = season_of(959, litters=26)
    say = columns("", {"Ewe died": lambda n: "yes" if n.litter.endswith("4") else "no"}, died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "litter")


DAY_ORDER = "day and month in either order"


@case(DAY_ORDER, "proven by the births")
def proven(folder: Path) -> Made:
    truth = season_of(960, litters=26)
    return Made(
        [table(folder / "b.csv", grid(truth, columns(**ENDED)), clock="%d/%m/%Y %H:%M")], truth, "age"
    )


@case(DAY_ORDER, "month first, proven by the births")
def month_first(folder: Path) -> Made:
    truth = season_of(961, litters=26)
    return Made(
        [table(folder / "b.csv", grid(truth, columns(**ENDED)), clock="%m/%d/%Y %H:%M")], truth, "age"
    )


@case(DAY_ORDER, "no day over twelve", "asked")
def open_order(folder: Path) -> Made:
    truth = [
        n.but(age_h=0.0 if n.stillborn else None)
        for n in season_of(962, litters=20, first="2026-04-01", days=11)
    ]
    say = columns("season", {"born_at": lambda n: f"{n.born:%d/%m/%Y}"}, died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "season")


SAMPLES = "samples and their units"


def sampled(name: str, seed: int, head: str, factor: float, accept: str = "said") -> None:
    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=26)
        rows = [["newborn_id", "sampled_at", head]]
        rows += [
            [n.tag, n.born.replace(hour=12), round(factor * (5 + n.order / 10), 1)]
            for n in truth
            if not n.dead
        ]
        births = table(folder / "births.csv", grid(truth, columns(**ENDED)))
        return Made([births, table(folder / "samples.csv", rows)], truth, "litter")

    add(SAMPLES, name, accept, build)


sampled("total protein in g/l", 970, "Total protein (g/l)", 10.0)
sampled("total protein in g/dl", 971, "total_protein_g_per_dl", 1.0, "mapped")
sampled("TP without a unit", 972, "TP", 1.0)


@case("any value means alive", "a weight at eight weeks", "said")
def eight_weeks(folder: Path) -> Made:
    truth = season_of(975, litters=28)
    say = columns("", {"8 week weight": lambda n: "" if n.dead else round(18 + n.weight, 1)})
    return Made([workbook(folder / "b.xlsx", {"Lambs": grid(truth, say)})], truth)


@case("any value means alive", "an official tag only of those that lived", "said")
def official_tag(folder: Path) -> Made:
    truth = season_of(976, litters=28)
    say = columns("", {"Flock tag": lambda n: "" if n.dead else f"XX{n.tag}"})
    return Made([table(folder / "b.csv", grid(truth, say))], truth)


@case("any value means alive", "a day of sale, else nothing", "said")
def day_of_sale(folder: Path) -> Made:
    truth = season_of(977, litters=28)
    say = columns("", {"Sold on": lambda n: "" if n.dead else "2026-09-01"})
    return Made([table(folder / "b.csv", grid(truth, say))], truth)

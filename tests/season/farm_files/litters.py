"""Books written by the dam: blanks and ditto marks, merged cells, counts, repeated columns, rows for many."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from tests.season.farm_files.case import Made, add, case
from tests.season.farm_files.truth import Newborn, by_litter, season_of
from tests.season.farm_files.writing import ENDED, Row, columns, grid, table, workbook

DITTO = "blanks and ditto marks for dam and date"
COUNTS = "litter counts repeated on rows"
REPEATED = "repeated columns that are no newborns"
BY_DAM = "one row a dam"
MANY = "rows that stand for many"


def ditto(
    name: str, seed: int, mark: str, accept: str = "mapped", *, size: str = "each", dates: bool = True
) -> None:
    """Dam (and date) on a litter's first row only; litter sizes on each row, on the first, or nowhere."""

    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=26)

        def under(n: Newborn, value: Any) -> Any:
            return value if n.order == 1 else mark

        say = columns("season litter_size", dam_id=lambda n: under(n, n.dam), died=ENDED["died"])
        if dates:
            say["born_at"] = lambda n: under(n, n.born.date())
        if size != "nowhere":
            say["litter_size"] = (lambda n: n.size) if size == "each" else (lambda n: under(n, n.size))
        return Made([table(folder / "b.csv", grid(truth, say))], truth, "litter season")

    add(DITTO, name, accept, build)


ditto("blank below the first", 600, "")
ditto("blank, litter size on the first row", 601, "", size="first")
ditto("blank, no litter size", 602, "", "said", size="nowhere")
ditto("ditto marks", 603, '"')
ditto("two commas", 604, "''")
ditto("do.", 605, "do")
ditto("the Japanese ditto sign", 606, "〃")
ditto("an arrow down", 607, "↓", "said")
ditto("as above", 608, "as above", "said")
ditto("blank dam, date on each row", 609, "", dates=False)
ditto("a dash", 610, "-", "said")


def merged(name: str, seed: int, sizes: bool, accept: str = "mapped") -> None:
    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=22)
        say = columns("season" if sizes else "season litter_size", died=ENDED["died"])
        rows = grid(truth, say)

        def merge(book: Workbook) -> None:
            at = 2
            for litter in by_litter(truth):
                for letter in "CD" if len(litter) > 1 else "":
                    book["Lambs"].merge_cells(f"{letter}{at}:{letter}{at + len(litter) - 1}")
                at += len(litter)

        return Made([workbook(folder / "b.xlsx", {"Lambs": rows}, merge)], truth, "litter season")

    add(DITTO, name, accept, build)


merged("merged cells with litter sizes", 620, True)
merged("merged cells without litter sizes", 621, False, "said")


def alive_in(litter: list[Newborn]) -> int:
    return sum(not n.dead for n in litter)


def counted(
    name: str, seed: int, heads: dict[str, Callable[[list[Newborn]], Any]], accept: str = "said"
) -> None:
    """Each newborn's own row, with counts of its litter beside it."""

    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=26)
        litters = {litter[0].litter: litter for litter in by_litter(truth)}
        say = columns("litter_size") | {
            head: (lambda n, tell=tell: tell(litters[n.litter])) for head, tell in heads.items()
        }
        say |= {"died": ENDED["died"]} if "died" not in heads else {}
        return Made([table(folder / "b.csv", grid(truth, say))], truth, "litter")

    add(COUNTS, name, accept, build)


counted("number born, number reared", 630, {"No. born": len, "No. reared": alive_in})
counted("born and dead", 631, {"born": len, "dead": lambda litter: len(litter) - alive_in(litter)})
counted("born, born dead, born alive", 632, {
    "total born": len,
    "born dead": lambda litter: sum(n.stillborn for n in litter),
    "born live": lambda litter: sum(not n.stillborn for n in litter),
})  # fmt: skip
counted("scanned and born", 633, {"scanned": len, "lambs born": len})
counted(
    "only counts of the dead",
    634,
    {"litter size": len, "died": lambda litter: len(litter) - alive_in(litter)},
)


def repeated(
    name: str, seed: int, more: dict[str, Callable[[Newborn], Any]], accept: str = "said", facets: str = ""
) -> None:
    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=26)
        return Made(
            [table(folder / "b.csv", grid(truth, columns("", more, died=ENDED["died"])))],
            truth,
            f"litter {facets}",
        )

    add(REPEATED, name, accept, build)


def second(n: Newborn) -> str:
    return "infection" if n.dead and n.order == 1 else ""


repeated("cause 1, cause 2", 640, {"cause 1": lambda n: n.cause or "", "cause 2": second})
repeated("first and second cause", 641, {"1st cause": lambda n: n.cause or "", "2nd cause": second})
repeated("dam condition 1, 2", 642, {"dam condition 1": lambda n: 3, "dam condition 2": lambda n: 2.5})
repeated(
    "weight 1, weight 2", 643, {"weight 1": lambda n: n.weight, "weight 2": lambda n: round(n.weight * 3, 1)}
)
repeated(
    "treatment 1 to 3", 644, {f"treatment {i}": lambda n, i=i: "navel" if i == 1 else "" for i in (1, 2, 3)}
)
repeated(
    "check 1 alive, check 2 alive",
    645,
    {"check 1": lambda n: "ok", "check 2": lambda n: "" if n.dead else "ok"},
)
repeated("sex 1 and sex 2, read twice", 646, {"sex 1": lambda n: n.sex, "sex 2": lambda n: n.sex})


def by_dam(
    name: str, seed: int, heads: dict[str, Callable[[list[Newborn]], Any]], accept: str = "mapped", **how: Any
) -> None:
    """A row a dam, with whatever `heads` tell of her litter."""

    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=28, **how)
        rows: list[Row] = [["ewe", "lambed", *heads]]
        for litter in by_litter(truth):
            rows.append([litter[0].dam, litter[0].born.date(), *(tell(litter) for tell in heads.values())])
        truth = [n.but(tag="", cause=None, age_h=None) for n in truth]
        return Made([table(folder / "ewes.csv", rows)], truth, "litter size")

    add(BY_DAM, name, accept, build)


def stillborn_in(litter: list[Newborn]) -> int:
    return sum(n.stillborn for n in litter)


def later_in(litter: list[Newborn]) -> int:
    return sum(bool(n.dead) and not n.stillborn for n in litter)


BORN_AND_DEAD = {"born": len, "born dead": stillborn_in, "died": later_in}
by_dam("born, born dead, died", 650, BORN_AND_DEAD)
by_dam("total born, born alive, died later", 651, {
    "total born": len, "born alive": lambda found: len(found) - stillborn_in(found), "died later": later_in
})  # fmt: skip
by_dam("born and reared", 652, {"lambs born": len, "lambs reared": alive_in})
by_dam("born minus weaned", 653, {"born": len, "weaned": alive_in}, "said")
by_dam("alive and dead", 654, {"alive": alive_in, "dead": lambda found: len(found) - alive_in(found)}, "said")
by_dam(
    "blanks for none",
    655,
    {"born": len, "born dead": lambda f: stillborn_in(f) or "", "died": lambda f: later_in(f) or ""},
)
by_dam("two plus one dead", 656, {"lambs": lambda f: f"{alive_in(f)}+{len(f) - alive_in(f)}d"}, "said")


def nth(place: int, tell: Callable[[Newborn], Any]) -> Callable[[list[Newborn]], Any]:
    return lambda litter: tell(litter[place]) if place < len(litter) else ""


def lamb_columns(
    *names: tuple[str, Callable[[Newborn], Any]], to: int = 4
) -> dict[str, Callable[[list[Newborn]], Any]]:
    return {name.format(i + 1): nth(i, tell) for i in range(to) for name, tell in names}


def mark(n: Newborn) -> str:
    return "dead" if n.dead else "alive"


by_dam(
    "lamb 1 to 4: sex and fate",
    660,
    lamb_columns(("lamb {} sex", lambda n: n.sex), ("lamb {} died", ENDED["died"])),
)
by_dam(
    "lamb 1 to 4: tag and died",
    661,
    lamb_columns(("lamb {} tag", lambda n: n.tag), ("lamb {} died", ENDED["died"])),
)
by_dam("L1 to L4, dead or alive", 662, lamb_columns(("L{}", mark)), "said")
by_dam("Lamb A to C", 663, {
    f"Lamb {letter} {what}": nth(place, tell)
    for place, letter in enumerate("ABCD")
    for what, tell in (("sex", lambda n: n.sex), ("died", ENDED["died"]))
}, "said")  # fmt: skip
by_dam(
    "1st and 2nd lamb with weights",
    664,
    lamb_columns(("weight {}", lambda n: n.weight), ("died {}", ENDED["died"])),
    "said",
)


def many(name: str, seed: int, head: str, accept: str = "mapped", **how: Any) -> None:
    """Rows that stand for several newborns of one day and fate."""

    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=26, **how)
        counts: dict[tuple[Any, str], int] = {}
        for n in truth:
            key = (n.litter, mark(n))
            counts[key] = counts.get(key, 0) + 1
        first = {litter[0].litter: litter[0] for litter in by_litter(truth)}
        rows: list[Row] = [["season", "dam_id", "born_on", "outcome", head]]
        rows += [
            ["2026", first[litter].dam, first[litter].born.date(), fate, count]
            for (litter, fate), count in counts.items()
        ]
        truth = [n.but(tag="", cause=None, age_h=None) for n in truth]
        return Made([table(folder / "b.csv", rows)], truth, "season")

    add(MANY, name, accept, build)


many("a column count", 670, "count")
many("a column number of lambs", 671, "number of lambs")
many("a column n", 672, "n", "said")
many("a column head", 673, "head", "said")
many("a column quantity", 674, "Qty", "said")


@case(MANY, "pens as rows: born, dead", "said")
def pens(folder: Path) -> Made:
    truth = season_of(675, litters=30)
    rows: list[Row] = [["pen", "week", "lambs born", "lambs dead"]]
    at = 0
    while at < len(truth):
        part = truth[at : at + 9]
        rows.append([f"pen {at // 9 + 1}", "12", len(part), sum(bool(n.dead) for n in part)])
        at += 9
    return Made([table(folder / "pens.csv", rows)], [n.but(tag="", dam="") for n in truth])


WORDS = "litter words"


def worded(
    name: str, seed: int, words: tuple[str, ...], head: str = "litter_size", accept: str = "mapped"
) -> None:
    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=26)
        say = columns("litter_size", {head: lambda n: words[n.size - 1]}, died=ENDED["died"])
        return Made([table(folder / "b.csv", grid(truth, say))], truth, "litter size")

    add(WORDS, name, accept, build)


worded("single, twin, triplet", 680, ("single", "twin", "triplet", "quad"))
worded("birth type", 681, ("single", "twins", "triplets", "quads"), "birth type")
worded("S, T, Tr", 682, ("S", "T", "Tr", "Q"), "birth type")
worded("1x, 2x, 3x", 683, ("1x", "2x", "3x", "4x"), "litter")
worded("German words", 684, ("Einling", "Zwilling", "Drilling", "Vierling"), "Geburtstyp")
worded("French words", 685, ("simple", "double", "triple", "quadruple"), "mode de naissance")
worded("Sgl, Tw, Trp", 686, ("Sgl", "Tw", "Trp", "Qd"), "type", "said")

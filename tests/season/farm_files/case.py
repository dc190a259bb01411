"""What a case is: files, their truth, what they tell of it, and how a careful reader may end with them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.season.farm_files.truth import Newborn

# How a file may end. "right": unaided. "mapped": right with the drafted map unedited, or asked about. "said": right, or
# something named. "asked": nobody can know from the file, so only a question or a refusal will do.
ACCEPTABLE = ("right", "mapped", "said", "asked")


@dataclass
class Made:
    """The files of a case as written, with the truth they stand for.

    `tells` names what beyond births and deaths the files say: age, day (age to a day), cause, litter, size, season,
    weight, dam, latest (the season under review), must-say (never all well). `may_miss` are tags or dams of newborns
    that no honest reading can rescue (a row cut in its middle); `named` are words that `check` must print.
    """

    paths: list[Path]
    truth: list[Newborn]
    tells: str = ""
    may_miss: frozenset[str] = frozenset()
    named: tuple[str, ...] = ()


@dataclass(frozen=True)
class Case:
    name: str
    kind: str
    accept: str
    build: Callable[[Path], Made] = field(repr=False)


CASES: list[Case] = []


def add(kind: str, name: str, accept: str, build: Callable[[Path], Made]) -> None:
    assert accept in ACCEPTABLE, accept
    CASES.append(Case(name=f"{kind}: {name}", kind=kind, accept=accept, build=build))


def case(
    kind: str, name: str, accept: str = "mapped"
) -> Callable[[Callable[[Path], Made]], Callable[[Path], Made]]:
    """Enter a builder of files into the corpus."""

    def enter(build: Callable[[Path], Made]) -> Callable[[Path], Made]:
        add(kind, name, accept, build)
        return build

    return enter

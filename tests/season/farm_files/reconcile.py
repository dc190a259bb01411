"""What became of a case: read unaided and with the drafted map, and held against its truth row by row."""

from __future__ import annotations

import contextlib
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
import pandas as pd
from scipy.optimize import linear_sum_assignment

from neonatal_stats import Season, read_season
from tests.commands import run
from tests.season.farm_files.case import Case, Made
from tests.season.farm_files.truth import Newborn

LIFE, WRONG_0, WRONG_1 = "death read as life", "wrong, all well", "wrong, something said"
RIGHT, SAID, ASKED, REFUSED = "right", "said", "asked", "refused"
BAD = (LIFE, WRONG_0, WRONG_1)

MENDS = re.compile(
    r"\b(write|give|say|name|draft|save|set|open|use|remove|close|split|put|fill|choose|check|keep|pass|add|look|export"
    r"|mend|rename|answer|move|tell|make)\b",
    re.I,
)


@dataclass(frozen=True)
class Run:
    """One reading: how it ended, its verdict, and the rows that went wrong."""

    verdict: str
    exit: int
    why: str = ""
    message: str = ""
    lives: int = 0


@dataclass(frozen=True)
class Outcome:
    case: Case
    unaided: Run
    mapped: Run

    @property
    def column(self) -> str:
        """The column of the table that the case is counted in."""
        verdicts = (self.unaided.verdict, self.mapped.verdict)
        if set(verdicts) & set(BAD) or self.overreached:
            return "wrong"
        if self.unaided.verdict == RIGHT:
            return "right unaided"
        if self.mapped.verdict == RIGHT:
            return "right with the drafted map"
        return "asked or said" if {SAID, ASKED} & set(verdicts) else "refused"

    @property
    def overreached(self) -> bool:
        """A number was printed where nobody can know one from the file."""
        return (
            self.case.accept == "asked"
            and {self.unaided.verdict, self.mapped.verdict} - {ASKED, REFUSED} != set()
        )

    @property
    def worst(self) -> str:
        found = [run.verdict for run in (self.unaided, self.mapped)]
        return next((bad for bad in BAD if bad in found), "overreached" if self.overreached else "")


def command(*arguments: object) -> tuple[int, str, str]:
    """The command line in this process: exit code, standard output, standard error."""
    done = run(*arguments)
    return done.returncode, done.stdout, done.stderr


def one_sentence_that_mends(message: str) -> bool:
    """A refusal: one line, no traceback, and a verb that says what to do."""
    lines = [line for line in message.strip().splitlines() if line.strip()]
    return len(lines) == 1 and len(lines[0]) < 700 and bool(MENDS.search(lines[0]))


def judged(case: Case, folder: Path) -> Outcome:
    made = case.build(folder)
    unaided = read_and_judge(made)
    draft = folder / "drafted-map.toml"
    code, _, err = command("map", *made.paths, "-o", draft)
    if code:
        mapped = Run(REFUSED, code, message=err) if code == 2 else Run(WRONG_1, code, "map failed", err)
    elif says_nothing(draft):
        mapped = unaided
    else:
        mapped = read_and_judge(made, draft)
    return Outcome(case, unaided, mapped)


def says_nothing(draft: Path) -> bool:
    """Whether the drafted map holds comments alone, so that it changes no reading."""
    return not any(
        line.strip() and not line.startswith("#") for line in draft.read_text("utf-8").splitlines()
    )


def read_and_judge(made: Made, draft: Path | None = None) -> Run:
    extra = ["--map", draft] if draft else []
    with seasons_kept() as read:
        code, out, err = command("check", *made.paths, *extra)
    if code == 2:
        return Run(REFUSED, code, message=err)
    if code not in (0, 1):
        return Run(WRONG_1, code, "neither 0, 1 nor 2", out + err)
    season = read[-1] if read else read_season(list(made.paths), map=draft)
    found = compare(season, made)
    if "must-say" in made.tells and code == 0:
        found["wrong: nothing said"] = 1
    found["withheld name"] = sum(word.lower() not in out.lower() for word in made.named)
    return Run(verdict_of(found, code), code, why_of(found), out, found["death read as life"])


@contextlib.contextmanager
def seasons_kept() -> Iterator[list[Season]]:
    """Keep each season that a command builds, so that no file is read twice."""
    kept: list[Season] = []
    build = Season.__init__

    def keep(season: Season, *arguments: Any, **more: Any) -> None:
        build(season, *arguments, **more)
        kept.append(season)

    with patch.object(Season, "__init__", keep):
        yield kept


def verdict_of(found: Counter[str], code: int) -> str:
    if found["death read as life"]:
        return LIFE
    if any(count for what, count in found.items() if what.startswith("wrong")):
        return WRONG_1 if code else WRONG_0
    if not any(found.values()):
        return RIGHT
    if code == 0:
        return WRONG_0
    return ASKED if found["withheld outcome"] else SAID


def why_of(found: Counter[str]) -> str:
    return "; ".join(f"{what} {count}" for what, count in found.items() if count)


def compare(season: Season, made: Made) -> Counter[str]:
    """Count, row by row, what is wrong, what is withheld, and each death that came out as a life."""
    truth, found = made.truth, Counter[str]()
    read = [Read.of(row) for row in season.births.to_dict("records")]
    reviewed = len(read)
    read += [Read.of({**row, "outcome": "open"}) for row in season.open_births.to_dict("records")]
    pairs = matched(truth, read)
    missed = [one for place, one in enumerate(truth) if place not in pairs]
    expected = [one for one in missed if {one.tag, one.dam} & made.may_miss]
    found["withheld row"] = len(expected)
    found["wrong: newborn missing"] = len(missed) - len(expected)
    found["wrong: newborn invented"] = len(read) - len(pairs)
    told = made.tells.split()
    for place, row in pairs.items():
        one, got = truth[place], read[row]
        found[outcome_of(one, got)] += 1
        if one.dead and got.dead:
            for facet in set(told) & set(DEATH_FACETS):
                found[DEATH_FACETS[facet](one, got)] += 1
        for facet in set(told) & set(BIRTH_FACETS):
            found[BIRTH_FACETS[facet](one, got)] += 1
    for facet in set(told) & set(GROUPS):
        found.update(grouped(truth, read, {p: row for p, row in pairs.items() if row < reviewed}, facet))
    if "latest" in told:
        found["wrong: season under review"] = _reviewed(season) != _latest(truth, read, pairs)
    del found[""]
    return found


def _reviewed(season: Season) -> str:
    return str(getattr(season, "under_review", season.seasons[-1] if season.seasons else ""))


def _latest(truth: list[Newborn], read: list[Read], pairs: dict[int, int]) -> str:
    """The name as read of the truth's last season."""
    last = max((place for place in pairs if truth[place].season), key=lambda place: truth[place].born)
    return str(read[pairs[last]].season)


def bare(tag: Any) -> str:
    """A tag with what readers may honestly drop: case, blanks, a trailing ".0", leading zeros."""
    text = "" if tag is None or tag is pd.NA or tag != tag else str(tag)
    return re.sub(r"[\s/_-]+", "", re.sub(r"\.0$", "", text)).lower().lstrip("0")


@dataclass(frozen=True)
class Read:
    """A row of the births as read, with whatever the package calls an unknown outcome turned to None."""

    tag: str
    dam: str
    born: Any
    dead: bool | None
    age_h: float | None
    low: float
    high: float
    cause: str | None
    size: float | None
    weight: float | None
    sex: str | None
    season: str | None
    cluster: Any

    @classmethod
    def of(cls, row: dict[str, Any]) -> Read:
        known = row.get("age_known", True) is not False
        age = _number(row.get("age_h")) if known else None
        return cls(
            tag=bare(row.get("newborn_id")),
            dam=bare(row.get("dam_id")),
            born=row.get("born", pd.NaT),
            dead=_outcome(row),
            age_h=age,
            low=_number(row.get("age_low_h")) or 0.0,
            high=_or(_number(row.get("age_high_h")), float("inf")),
            cause=_text(row.get("cause")),
            size=_number(row.get("litter_size")),
            weight=_number(row.get("birth_weight_kg")),
            sex=_text(row.get("sex")),
            season=_text(row.get("season")),
            cluster=row.get("litter", row.get("cluster")),
        )


def _outcome(row: dict[str, Any]) -> bool | None:
    """Dead, alive or neither, whether the package says it in words or in a nullable `lost`."""
    word = _text(row.get("outcome"))
    if word is not None:
        return {
            "dead": True,
            "lost": True,
            "died": True,
            "alive": False,
            "survived": False,
            "lived": False,
        }.get(word)
    lost = row.get("lost", row.get("died"))
    return None if lost is None or pd.isna(lost) else bool(lost)


def _number(value: Any) -> float | None:
    return None if value is None or pd.isna(value) else float(value)


def _text(value: Any) -> str | None:
    return None if value is None or pd.isna(value) else str(value)


def _or(value: float | None, other: float) -> float:
    return other if value is None else value


def matched(truth: list[Newborn], read: list[Read]) -> dict[int, int]:
    """Pair the newborns of the truth with the rows read, by tag, dam, birth and, last, by what became of them."""
    if not truth or not read:
        return {}
    pairs = (
        (16, [bare(one.tag) for one in truth], [got.tag for got in read]),
        (8, [bare(one.dam) for one in truth], [got.dam for got in read]),
        (3, [f"{one.born:%Y%m%d}" for one in truth], [_stamp(got.born, "%Y%m%d") for got in read]),
        (2, [f"{one.born:%Y%m%d%H%M}" for one in truth], [_stamp(got.born, "%Y%m%d%H%M") for got in read]),
        (0.6, [one.weight for one in truth], [got.weight for got in read]),
        (0.5, [one.sex for one in truth], [got.sex for got in read]),
        (0.25, [one.dead for one in truth], [got.dead for got in read]),
        (0.1, [one.cause for one in truth], [got.cause for got in read]),
    )
    score = np.ones((len(truth), len(read)))
    for worth, ours, theirs in pairs:
        left, right = np.array(ours, dtype=object), np.array(theirs, dtype=object)
        score += worth * ((left[:, None] == right) & (left != "")[:, None])
    rows, places = linear_sum_assignment(score, maximize=True)
    return dict(zip(rows.tolist(), places.tolist(), strict=True))


def _stamp(moment: Any, style: str) -> str:
    return moment.strftime(style) if pd.notna(moment) else ""


def outcome_of(one: Newborn, got: Read) -> str:
    if got.dead == one.dead:
        return ""
    if got.dead is None:
        return "withheld outcome"
    if one.dead is None and not one.filled:
        return "wrong: guessed outcome"
    if got.dead:
        return "" if one.dead is None else "wrong: life read as death"
    return "death read as life"


def _age(one: Newborn, got: Read, slack: float) -> str:
    if one.age_h is None:
        return "" if got.age_h is None or got.high - got.low > 24 else "wrong: age"
    if got.age_h is not None and abs(got.age_h - one.age_h) <= slack:
        return ""
    if got.age_h is None and got.high - got.low > 24:
        return "withheld age"
    return "" if got.low - slack <= one.age_h <= got.high + slack and got.high < 2000 else "wrong: age"


def _cause(one: Newborn, got: Read) -> str:
    if got.cause == one.cause or (one.cause is None and got.cause in (None, "unknown")):
        return ""
    return "withheld cause" if got.cause in (None, "unknown", "other") else "wrong: cause"


def _value(name: str, slack: float) -> Any:
    def compared(one: Newborn, got: Read) -> str:
        said, want = getattr(got, name), getattr(one, name)
        if said is None:
            return f"withheld {name}"
        return "" if abs(said - want) <= slack else f"wrong: {name}"

    return compared


DEATH_FACETS = {
    "age": lambda one, got: _age(one, got, 1.01),
    "day": lambda one, got: _age(one, got, 24.01),
    "cause": _cause,
}


def _dam(one: Newborn, got: Read) -> str:
    return "" if bare(one.dam) == got.dam else ("wrong: dam" if got.dam else "withheld dam")


BIRTH_FACETS = {"dam": _dam, "size": _value("size", 0), "weight": _value("weight", 0.06)}
GROUPS = {"litter": ("litter", "cluster"), "season": ("season", "season")}


def grouped(truth: list[Newborn], read: list[Read], pairs: dict[int, int], facet: str) -> Counter[str]:
    """Newborns that stand together in truth stand together as read, and no others with them."""
    of_truth, of_read = GROUPS[facet]
    together: dict[Any, set[Any]] = {}
    apart: dict[Any, set[Any]] = {}
    unsettled: list[Any] = []
    for place, row in pairs.items():
        name, label = getattr(truth[place], of_truth), getattr(read[row], of_read)
        if facet == "season" and (label is None or "not recorded" in label):
            label = None
        if name is None:
            unsettled.append(label)
        elif label is None:
            together.setdefault(name, set()).add("")
        else:
            together.setdefault(name, set()).add(label)
            apart.setdefault(label, set()).add(name)
    wrong = sum(len(labels) > 1 for labels in together.values()) + sum(
        len(names) > 1 for names in apart.values()
    )
    wrong += sum(label is not None and label not in apart for label in unsettled)
    withheld = sum(labels == {""} for labels in together.values())
    return Counter({f"wrong: {facet}s": wrong, f"withheld {facet}": withheld})

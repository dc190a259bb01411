"""Records from messages of the ICAR Animal Data Exchange (an open JSON standard), read leniently.

The standard tells who was born when, of which dam, of which sex, how and with what fate. It has no members
for the first hours (suck reflex, standing, first feed, mothering-up). Those join from a table by identity.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import pandas as pd

from neonatal_stats.season.exchange.births import (
    Fates,
    LocalTime,
    Newborn,
    Register,
    from_birth,
    from_parturition,
)
from neonatal_stats.season.exchange.messages import NOTHING, Message, Problems, latest, read_messages
from neonatal_stats.season.exchange.values import Key, local_time
from neonatal_stats.season.finding import Ended, say
from neonatal_stats.season.grid import File, Grid, Remark
from neonatal_stats.vocabulary.columns import BIRTHS

AT_BIRTH, NO_STATUS = "at birth", "(no status)"
OUTCOMES = ("died", "died_at", "born_alive", "newborn_id")
UNUSED = {
    "diagnosis": say("diagnoses"),
    "treatment": say("treatments"),
    "feed intake": say("feed intakes"),
    "group birth": say("births of groups"),
}
MEMBERS = {
    "explanation": say("an explanation of the death in words"),
    "remark": say("a remark"),
    "comment": say("a remark"),
}


@dataclass(frozen=True, eq=False)
class Exchanged:
    """What the messages tell: newborns, findings, deaths of nobody known, messages by file and use."""

    births: pd.DataFrame
    problems: pd.DataFrame
    unmatched_deaths: int
    messages: dict[str, int]
    used: dict[str, set[int]]


def births_frame(newborns: Sequence[Newborn], problems: Problems) -> pd.DataFrame:
    """One row per newborn: the tidy columns that have a value, then ``file`` and ``row``.

    A newborn of which nothing is told, among others that are said to live, has an outcome that cannot be read.
    """
    name_of = _namer([key for each in newborns for key in (*each.keys[:1], each.dam, each.sire) if key])
    rows = []
    told = any(newborn.cells.get("born_alive") == "yes" for newborn in newborns)
    for newborn in newborns:
        if told and not newborn.cells.get("born_alive") and not newborn.cells.get("died"):
            newborn.cells["died"] = NO_STATUS
        _close(newborn, problems)
        rows.append(
            newborn.cells
            | {
                "newborn_id": name_of(newborn.keys[0] if newborn.keys else None),
                "dam_id": name_of(newborn.dam),
                "sire_id": name_of(newborn.sire),
                "file": newborn.message.file,
                "row": newborn.message.place,
            }
        )
    frame = pd.DataFrame(rows, dtype=object)
    held = [column.name for column in BIRTHS if column.name in frame and frame[column.name].notna().any()]
    places = ["file", "row"] if rows else []
    return frame[[*held, *places]].astype(object).where(lambda cells: cells.notna(), None)


def _close(newborn: Newborn, problems: Problems) -> None:
    """Say the outcome where the messages imply it, and warn where they leave it open."""
    cells = newborn.cells
    if cells.get("died_at") == AT_BIRTH:
        cells["died_at"] = cells.get("born_at") or cells.get("born_on")
    if cells.get("born_alive") == "yes":
        newborn.fill(died="no")
    message = newborn.message
    if newborn.dam is None:
        problem = say("no dam is named; the newborn is its own litter unless the message names one")
        problems.of(message, "dam_id", "", problem, say("send the dam"))
    if cells.get("died") == "yes" and cells.get("born_alive") != "no" and not cells.get("died_at"):
        problem = say("dead, but no message says when; its age at death is not known")
        problems.of(message, "died_at", "", problem, say("send the death message"))


def _namer(keys: Sequence[Key]) -> Callable[[Key | None], str | None]:
    """Names animals by id alone where that is enough, else by scheme and id."""
    schemes: dict[str, set[str]] = {}
    for scheme, name in keys:
        schemes.setdefault(name, set()).add(scheme)

    def name_of(key: Key | None) -> str | None:
        if key is None:
            return None
        return key[1] if len(schemes[key[1]]) == 1 else f"{key[0]}:{key[1]}"

    return name_of


def say_unused(messages: Sequence[Message], newborns: Sequence[Newborn], problems: Problems) -> None:
    """Name, one remark a kind, what was read and has no column."""
    kinds = Counter((message.file, message.kind) for message in messages if message.kind in UNUSED)
    for (file, kind), n in kinds.items():
        problem = say("{n} {notes} were read; no tidy column holds them", n=n, notes=UNUSED[kind])
        ended: Ended = "asked" if kind == "group birth" else "noted"
        problems.add(file, "", "", problem, NOTHING, None, ended)
    for member, what in MEMBERS.items():
        told = [message for message in messages if message.body.get(member) and message.kind not in UNUSED]
        for file, n in Counter(message.file for message in told).items():
            shown = next(str(message.body[member]) for message in told if message.file == file)
            problem = say("{n} messages hold {what}; no tidy column holds it", n=n, what=what)
            problems.add(file, member, shown, problem, NOTHING)
    fostered = [newborn for newborn in newborns if newborn.cells.get("rearing") == "fostered"]
    for file, n in Counter(newborn.message.file for newborn in fostered).items():
        problem = say("the foster dams of {n} newborns are named; only that they were fostered is used", n=n)
        problems.add(file, "rearing", "", problem, NOTHING)


def exchanged(files: Sequence[tuple[File, bytes]], time_zone: str) -> Exchanged:
    """What the messages of exchange files tell, all files together; deaths may stand in other files than births.

    ``births`` has tidy columns as text, numbers or None, plus ``file`` and ``row`` (the place of the message in its
    file). ``time_zone`` is the farm's zone into which times in UTC are turned; "" leaves them so.

    Counted
        Every newborn listed in a parturition or named in a birth message, once; the stillborn without
        identity too. A litter with counts only gives that many rows.

    Limits
        The standard has one ease of birth for a litter, no order of birth and no hours for a stillbirth. A
        newborn given as alive, with no later message, counts as alive.
    """
    problems = Problems()
    time = _reader_of_times(ZoneInfo(time_zone) if time_zone else None, problems)
    sent, counts = read_messages(files, problems)
    messages = latest(sent, problems)
    newborns, enriching = _newborns(messages, time, problems)
    fates = Fates(Register(newborns), time, problems)
    fates.add(messages)
    told = {"death", "group death", "animal"} & {message.kind for message in messages}
    if newborns and not told:
        problem = say("there is no death message; newborns given as alive are taken to have lived on")
        remedy = say("add the file of death messages")
        problems.add(newborns[0].message.file, "died", "", problem, remedy, None, "asked")
    say_unused(messages, newborns, problems)
    births = births_frame(newborns, problems)
    used: dict[str, set[int]] = {}
    for message in (*(newborn.message for newborn in newborns), *enriching, *fates.used):
        used.setdefault(message.file, set()).add(message.place)
    return Exchanged(births, problems.frame, fates.unmatched_deaths, counts, used)


def _reader_of_times(zone: ZoneInfo | None, problems: Problems) -> LocalTime:
    def read(value: object, message: Message, column: str) -> str | None:
        if value is None:
            return None
        text, remark = local_time(value, zone)
        if remark:
            problems.add(message.file, column, "", remark, say("set time_zone in the settings file"))
        return text

    return read


def _newborns(
    messages: Sequence[Message], time: LocalTime, problems: Problems
) -> tuple[list[Newborn], list[Message]]:
    """The newborns, and the birth messages that only add to one of them."""
    newborns: list[Newborn] = []
    enriching: list[Message] = []
    for message in messages:
        if message.kind == "parturition":
            newborns += from_parturition(message, time, problems)
    register = Register(newborns)
    for message in messages:
        if message.kind != "birth":
            continue
        named = from_birth(message, time, problems)
        known = next((found for key in named.keys if (found := register.find(key))), None)
        if known is None:
            newborns.append(named)
            register.enter(named)
        else:
            enriching.append(message)
            _enrich(known, named)
    return newborns, enriching


def _enrich(known: Newborn, named: Newborn) -> None:
    """A birth message adds to a newborn listed in its litter; its own time of birth is the more exact."""
    known.keys += [key for key in named.keys if key not in known.keys]
    known.dam = known.dam or named.dam
    known.sire = known.sire or named.sire
    if named.cells.get("born_at"):
        known.cells["born_at"] = named.cells["born_at"]
    known.fill(**named.cells)


def exchange_grids(files: Sequence[tuple[File, bytes]], time_zone: str) -> tuple[list[Grid], int]:
    """One grid of births for each file, empty where it holds none, and how many deaths belong to no newborn.

    What was found stands in the remarks of the file that it was found in; a row is called by its message's place.
    """
    found = exchanged(files, time_zone)
    return [_grid(file.name, data, found) for file, data in files], found.unmatched_deaths


def _grid(name: str, data: bytes, found: Exchanged) -> Grid:
    rows = found.births[found.births["file"] == name] if len(found.births) else found.births
    places = [0, *(map(int, rows["row"]) if len(rows) else ())]
    cells = rows.drop(columns=["file", "row"], errors="ignore")
    held = [column for column in cells if cells[column].notna().any()]
    columns = [[None, *cells[column]] for column in held]
    used = found.used.get(name, set()) - set(places)
    total = found.messages.get(name, 0)
    return Grid(
        name,
        "",
        columns,
        hashlib.sha256(data).hexdigest(),
        _remarks(found.problems[found.problems["file"] == name]),
        headings=tuple(map(str, held)),
        headed=True,
        table="births" if held else "",
        lines=total,
        numbers=places,
        joined=len(used),
        unused=total - len(used) - len(set(places) - {0}),
    )


def _remarks(problems: pd.DataFrame) -> tuple[Remark, ...]:
    """Findings that say the same of the same value are said once, with how often."""
    lines = zip(*(problems[name] for name in ("column", "value", "problem", "remedy", "ended")), strict=True)
    remarks = []
    for (column, value, problem, remedy, ended), count in Counter(lines).items():
        said = say('"{value}": {problem}', value=value, problem=problem) if value else problem
        often = say("{problem} ({n} times)", problem=said, n=count) if count > 1 else said
        touching = ended == "asked" and column in OUTCOMES
        remarks.append(Remark(column, often, remedy, ended, "outcome" if touching else ""))
    return tuple(remarks)

"""Records from messages of the ICAR Animal Data Exchange (an open JSON standard), read leniently.

The standard tells who was born when, of which dam, of which sex, how and with what fate. It has no members
for the first hours (suck reflex, standing, first feed, mothering-up). Those join from a table by identity.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import pandas as pd

from neonatal_stats.season.exchange.births import Newborn, from_birth, from_parturition
from neonatal_stats.season.exchange.fates import Register, add_fates
from neonatal_stats.season.exchange.latest import latest
from neonatal_stats.season.exchange.messages import Message, read_messages
from neonatal_stats.season.exchange.problems import Problems
from neonatal_stats.season.exchange.rows import births_frame, notes_frame
from neonatal_stats.season.exchange.values import local_time
from neonatal_stats.season.trouble import CannotRead

Paths = str | os.PathLike[str] | Iterable[str | os.PathLike[str]]
NAMED_NOBODY = "{count} {kind} messages name animals that are not among the newborns; they were left out"


def read_exchange(paths: Paths, time_zone: str = "") -> dict[str, pd.DataFrame]:
    """Newborns and their fate from one or many exchange files.

    Parameters
    ----------
    paths
        Files or folders of JSON: a collection, a bare array or a single message each. Deaths may stand in
        other files than births.
    time_zone
        The farm's zone, for example "Europe/London", into which times in UTC are turned; "" leaves them so.

    Returns
    -------
    dict of DataFrame
        ``births`` with tidy columns as text, numbers or None, plus ``file`` and ``row`` (the place of the
        message in its file); ``diagnoses`` and ``treatments`` (newborn_id, at, what); ``problems``.

    Counted
        Every newborn listed in a parturition or named in a birth message, once; the stillborn without
        identity too. A litter with counts only gives that many rows.

    Limits
        The standard has one ease of birth for a litter, no order of birth and no hours for a stillbirth. A
        newborn given as alive, with no later message, counts as alive.
    """
    problems = Problems()
    zone = _zone(time_zone)
    time = _reader_of_times(zone, problems)
    messages = latest(read_messages(_files(paths), problems), problems)
    newborns = _newborns(messages, time, problems)
    unmatched = add_fates(messages, Register(newborns), time, problems)
    for kind, count in unmatched.items():
        file = next(message.file for message in messages if message.kind == kind)
        problems.add(file, "", "", NAMED_NOBODY.format(count=count, kind=kind), "send their births too")
    if newborns and not any(message.kind == "death" for message in messages):
        problem = "there is no death message; newborns given as alive are taken to have lived on"
        problems.add(newborns[0].message.file, "died", "", problem, "add the file of death messages")
    births = births_frame(newborns, problems)
    notes = {name: notes_frame(name, messages, time) for name in ("diagnoses", "treatments")}
    return {"births": births, **notes, "problems": problems.frame}


def _files(paths: Paths) -> list[Path]:
    single = isinstance(paths, str | os.PathLike)
    files: list[Path] = []
    for path in map(Path, [paths] if single else list(paths)):  # type: ignore[arg-type]
        files += sorted(path.glob("*.json")) if path.is_dir() else [path]
    if not files:
        raise CannotRead("No exchange message was found; the folder must hold files that end in .json.")
    return files


def _zone(name: str) -> ZoneInfo | None:
    try:
        return ZoneInfo(name) if name else None
    except (ZoneInfoNotFoundError, ValueError):
        raise CannotRead(
            f'time_zone = "{name}" is no time zone; write for example "Europe/London".'
        ) from None


def _reader_of_times(
    zone: ZoneInfo | None, problems: Problems
) -> Callable[[object, Message, str], str | None]:
    def read(value: object, message: Message, column: str) -> str | None:
        if value is None:
            return None
        text, remark = local_time(value, zone)
        if remark:
            problems.add(message.file, column, "", remark, "set time_zone in the settings file")
        return text

    return read


def _newborns(
    messages: Sequence[Message], time: Callable[[object, Message, str], str | None], problems: Problems
) -> list[Newborn]:
    newborns: list[Newborn] = []
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
            _enrich(known, named)
    return newborns


def _enrich(known: Newborn, named: Newborn) -> None:
    """A birth message adds to a newborn listed in its litter; its own time of birth is the more exact."""
    known.keys += [key for key in named.keys if key not in known.keys]
    known.dam = known.dam or named.dam
    known.sire = known.sire or named.sire
    if named.cells.get("born_at"):
        known.cells["born_at"] = named.cells["born_at"]
    known.fill(**named.cells)

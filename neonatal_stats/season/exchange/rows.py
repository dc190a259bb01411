"""The newborns of the messages as rows with tidy columns."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pandas as pd

from neonatal_stats.season.exchange.births import Newborn
from neonatal_stats.season.exchange.messages import Body, Message
from neonatal_stats.season.exchange.problems import Problems
from neonatal_stats.season.exchange.values import Key, key_of
from neonatal_stats.vocabulary.columns import BIRTHS

AT_BIRTH = "at birth"


def births_frame(newborns: Sequence[Newborn], problems: Problems) -> pd.DataFrame:
    """One row per newborn: the tidy columns that have a value, then ``file`` and ``row``."""
    name_of = _namer([key for each in newborns for key in (*each.keys[:1], each.dam, each.sire) if key])
    rows = []
    for newborn in newborns:
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
        problem = "no dam is named; the newborn is its own litter unless the message names one"
        problems.add(message.file, "dam_id", "", problem, "send the dam", message.place)
    if cells.get("died") == "yes" and cells.get("born_alive") == "yes" and not cells.get("died_at"):
        problem = "dead, but no message says when; its age at death is not known"
        problems.add(message.file, "died_at", "", problem, "send the death message", message.place)


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


def notes_frame(
    name: str, messages: Sequence[Message], time: Callable[[object, Message, str], str | None]
) -> pd.DataFrame:
    """Diagnoses or treatments as newborn_id, at, what: the standard's words, which no tidy column holds."""
    kind = {"diagnoses": "diagnosis", "treatments": "treatment"}[name]
    rows = []
    for message in messages:
        if message.kind == kind:
            key = key_of(message.body.get("animal"))
            at = time(message.body.get("eventDateTime"), message, "")
            rows += [(key[1] if key else None, at, what) for what in _spoken(kind, message.body)]
    return pd.DataFrame(rows, columns=["newborn_id", "at", "what"], dtype=object)


def _spoken(kind: str, body: Body) -> list[str]:
    if kind == "diagnosis":
        found = [each for each in body.get("diagnoses", []) if isinstance(each, dict)]
        return [str(each.get("name") or each.get("description") or "") for each in found]
    medicine = body.get("medicine")
    named = medicine.get("name") if isinstance(medicine, dict) else None
    return [str(body.get("procedure") or named or body.get("comment") or "")]

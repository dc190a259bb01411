"""The messages of exchange files: collection, bare array or single object, each with its kind and place."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from neonatal_stats.season.exchange.problems import Problems
from neonatal_stats.season.trouble import CannotRead

Body = dict[str, Any]

# What a message is: its resource's name, members that only it has, and words in a file's or list's name.
KINDS: dict[str, tuple[tuple[str, ...], frozenset[str], tuple[str, ...]]] = {
    "parturition": (
        ("reproparturitionevent", "parturitionevent"),
        frozenset(("progenyDetails", "progeny", "liveProgeny", "totalProgeny", "calvingEase", "damParity")),
        ("parturition",),
    ),
    "birth": (
        ("movementbirthevent", "birthevent"),
        frozenset(("registrationReason", "animalDetail")),
        ("birth",),
    ),
    "death": (
        ("movementdeathevent", "deathevent"),
        frozenset(("deathReason", "deathMethod", "disposalMethod", "explanation")),
        ("death",),
    ),
    "departure": (
        ("movementdepartureevent", "departureevent"),
        frozenset(("departureKind", "departureReason")),
        ("departure",),
    ),
    "weight": (("weightevent",), frozenset(("weight",)), ("weight",)),
    "diagnosis": (("diagnosisevent",), frozenset(("diagnoses",)), ("diagnos",)),
    "treatment": (("treatmentevent",), frozenset(("medicine", "procedure", "dose")), ("treatment",)),
}
INSIDE_EVENTS = frozenset(("progenyDetails", "progeny", "diagnoses", "alternativeIdentifiers", "parentage"))


@dataclass(frozen=True, eq=False)
class Message:
    """One message: its kind, its members without nulls, its file and its place there (from 1)."""

    kind: str
    body: Body
    file: str
    place: int


def read_messages(paths: Iterable[Path], problems: Problems) -> list[Message]:
    """Every message of the files, in order; what is none, or of no known kind, is reported and left out."""
    found: list[Message] = []
    for path in paths:
        for place, (hint, body) in enumerate(_bodies(_parsed(path), path.name), start=1):
            if not isinstance(body, dict):
                problems.add(
                    path.name, "", body, "this is not a message", "look at it in the sending program"
                )
                continue
            kind = _kind(body, hint)
            if kind:
                found.append(Message(kind, _without_nulls(body), path.name, place))
            else:
                what = body.get("resourceType", "no resourceType")
                problems.add(
                    path.name, "resourceType", what, "messages of this kind are not used here", "nothing"
                )
    return found


def _parsed(path: Path) -> object:
    try:
        text = path.read_bytes().decode("utf-8-sig")
        return json.loads(text, parse_constant=lambda word: None)
    except UnicodeDecodeError:
        raise CannotRead(f"{path.name}: it is not UTF-8 text, which JSON must be; export it again.") from None
    except json.JSONDecodeError as error:
        raise CannotRead(
            f"{path.name}: it is not JSON (line {error.lineno}: {error.msg}); export it again, whole."
        ) from None
    except (RecursionError, ValueError):
        raise CannotRead(
            f"{path.name}: it is nested too deeply or its numbers are too long to be messages."
        ) from None


def _bodies(content: object, hint: str) -> Iterator[tuple[str, object]]:
    if isinstance(content, list):
        for each in content:
            yield hint, each
    elif isinstance(content, dict) and isinstance(content.get("member"), list):
        for each in content["member"]:
            yield hint, each
    elif isinstance(content, dict) and (named := _named_lists(content)):
        for name, bodies in named:
            for each in bodies:
                yield name, each
    elif content != {} and not (isinstance(content, dict) and set(content) == {"view"}):
        yield hint, content


def _named_lists(content: Body) -> list[tuple[str, Sequence[object]]]:
    """Lists of messages under names of their own, in an object that is no event itself."""
    if "animal" in content or "resourceType" in content or INSIDE_EVENTS & set(content):
        return []
    named: list[tuple[str, Sequence[object]]] = []
    for name, value in content.items():
        if isinstance(value, list):
            named.append((name, value))
        elif isinstance(value, dict) and isinstance(value.get("member"), list):
            named.append((name, value["member"]))
    return named


def _kind(body: Body, hint: str) -> str:
    said = _bare_name(str(body.get("resourceType", "")))
    group = said.startswith("group")
    for kind, (names, _, _) in KINDS.items():
        if said in names and not group:
            return kind
    if said and said not in ("event", "resource"):
        return ""
    for kind, (_, members, _) in KINDS.items():
        if members & set(body):
            return kind
    for kind, (_, _, words) in KINDS.items():
        if any(word in hint.casefold() for word in words):
            return kind
    return ""


def _bare_name(resource: str) -> str:
    """ "icarWeightEventResource", "icar:WeightEvent" and ".../core/WeightEvent" are all "weightevent"."""
    name = resource.replace(":", "/").rpartition("/")[2].casefold()
    return name.removeprefix("icar").removesuffix(".json").removesuffix("resource")


def _without_nulls(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _without_nulls(inner) for key, inner in value.items() if inner is not None}
    if isinstance(value, list):
        return [_without_nulls(inner) for inner in value if inner is not None]
    return value

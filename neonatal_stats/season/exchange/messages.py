"""The messages of exchange files, each with its kind and place; of several versions the one that stands.

A collection that is sent page by page is refused where pages are missing.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import pandas as pd

from neonatal_stats.season.finding import PROBLEM_COLUMNS, CannotRead, Ended, Said, say
from neonatal_stats.season.grid import File, as_found

NOTHING = say("nothing")
Body = dict[str, Any]
# What a message is: its resource's name, members that only it has, and words in a file's or list's name.
KINDS: dict[str, tuple[tuple[str, ...], frozenset[str], tuple[str, ...]]] = {
    "group death": (("groupmovementdeathevent",), frozenset(("deathreason",)), ("groupdeath", "group death")),
    "group birth": (("groupmovementbirthevent",), frozenset(("groupMethod",)), ("groupbirth", "group birth")),
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
    "feed intake": (("feedintakeevent",), frozenset(("consumedFeed", "feedVisitDuration")), ("feed",)),
    "animal": (("animalcore", "animal"), frozenset(("status", "birthDate")), ("animal",)),
}
INSIDE_EVENTS = frozenset(("progenyDetails", "progeny", "diagnoses", "alternativeIdentifiers", "parentage"))
NEVER = datetime.min.replace(tzinfo=UTC)


class Problems:
    """A list of findings, "noted" or "asked": the reader of messages sets nothing aside by itself."""

    def __init__(self) -> None:
        self._lines: list[tuple[object, ...]] = []

    def add(
        self,
        file: str,
        column: str,
        value: object,
        problem: Said,
        remedy: Said,
        row: int | None = None,
        ended: Ended = "noted",
    ) -> None:
        """Note one finding; ``row`` is the place of the message in its file, from 1."""
        line = ("births", file, "", row, column, as_found(value), problem, remedy, ended)
        if line not in self._lines:
            self._lines.append(line)

    def of(
        self,
        message: Message,
        column: str,
        value: object,
        problem: Said,
        remedy: Said,
        ended: Ended = "noted",
    ) -> None:
        """Note one finding of a message."""
        self.add(message.file, column, value, problem, remedy, message.place, ended)

    @property
    def frame(self) -> pd.DataFrame:
        """The findings as a frame with the columns of the problem list."""
        frame = pd.DataFrame(self._lines, columns=list(PROBLEM_COLUMNS), dtype=object)
        return frame.assign(row=frame["row"].astype("Int64"))


@dataclass(frozen=True, eq=False)
class Message:
    """One message: its kind, its members without nulls, its file and its place there (from 1)."""

    kind: str
    body: Body
    file: str
    place: int


def read_messages(
    files: Iterable[tuple[File, bytes]], problems: Problems
) -> tuple[list[Message], dict[str, int]]:
    """Every message of the files, in order, and how many there are in each file.

    What is no message, or of no known kind, is reported and left out; a collection of which pages are missing is
    refused.
    """
    found: list[Message] = []
    counts: dict[str, int] = {}
    unknown: Counter[tuple[str, str]] = Counter()
    pages: list[Page] = []
    for file, data in files:
        content = _parsed(file.name, data)
        pages += pages_of(file.name, content)
        counts[file.name] = 0
        for place, (hint, body) in enumerate(_bodies(content, file.name), start=1):
            counts[file.name] = place
            if not isinstance(body, dict):
                remedy = say("look at it in the sending program")
                problems.add(file.name, "", body, say("this is not a message"), remedy, None, "asked")
            elif kind := _kind(body, hint):
                found.append(Message(kind, _without_nulls(body), file.name, place))
            else:
                unknown[file.name, str(body.get("resourceType", "no resourceType"))] += 1
    check_pages(pages)
    for (name, what), count in unknown.items():
        shown = what if count == 1 else f"{what} ({count})"
        problem = say("messages of this kind are not used here")
        problems.add(name, "resourceType", shown, problem, NOTHING, None, "asked")
    return found, counts


def _parsed(name: str, data: bytes) -> object:
    try:
        return json.loads(data.decode("utf-8-sig"), parse_constant=lambda word: None)
    except UnicodeDecodeError:
        raise CannotRead(f"{name}: it is not UTF-8 text, which JSON must be; export it again.") from None
    except json.JSONDecodeError as error:
        raise CannotRead(
            f"{name}: it is not JSON (line {error.lineno}: {error.msg}); export it again, whole."
        ) from None
    except (RecursionError, ValueError):
        raise CannotRead(
            f"{name}: it is nested too deeply or its numbers are too long to be messages."
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
    for kind, (names, _, _) in KINDS.items():
        if said in names:
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


def latest(messages: Sequence[Message], problems: Problems) -> list[Message]:
    """The messages that stand, in the order in which they were first sent.

    Messages with the same source and source id (else the same id, else the same content) are versions of one
    another; the newest ``modified`` stands, at a tie the later read; if that one is deleted, none stands.
    """
    versions: dict[Hashable, list[Message]] = {}
    for message in messages:
        versions.setdefault(_same_as(message), []).append(message)
    standing = []
    for sent in versions.values():
        newest = max(enumerate(sent), key=lambda pair: (_modified(pair[1]), pair[0]))[1]
        if len(sent) > 1:
            problem = say("this message was sent {n} times; the version last modified stands", n=len(sent))
            problems.of(newest, "", _name(newest), problem, NOTHING)
        if _meta(newest).get("isDeleted") is True:
            problem = say("the sender has deleted this message; it was left out")
            problems.of(newest, "", _name(newest), problem, NOTHING)
        else:
            standing.append(newest)
    return standing


def _meta(message: Message) -> dict[str, object]:
    meta = message.body.get("meta")
    return meta if isinstance(meta, dict) else {}


def _same_as(message: Message) -> Hashable:
    meta = _meta(message)
    if meta.get("sourceId"):
        return message.kind, "source", str(meta.get("source", "")), str(meta["sourceId"])
    if message.body.get("id"):
        return message.kind, "id", str(meta.get("source", "")), str(message.body["id"])
    content = {key: value for key, value in message.body.items() if key != "meta"}
    return message.kind, "content", json.dumps(content, sort_keys=True)


def _modified(message: Message) -> datetime:
    try:
        moment = datetime.fromisoformat(str(_meta(message).get("modified", "")))
    except ValueError:
        return NEVER
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def _name(message: Message) -> str:
    return f"{message.kind} {_meta(message).get('sourceId', message.body.get('id', 'without an id'))}"


@dataclass(frozen=True)
class Page:
    """What a page says of its collection: how many messages and pages there are, its own number, how many it holds."""

    file: str
    items: int | None
    pages: int | None
    number: int | None
    held: int
    has_next: bool


def pages_of(file: str, content: object) -> Iterator[Page]:
    """The pages in a file: a collection itself, or several under names of their own."""
    held = [content, *(content.values() if isinstance(content, dict) else ())]
    for each in held:
        if not isinstance(each, dict) or not isinstance(each.get("view"), dict):
            continue
        view, member = each["view"], each.get("member")
        yield Page(
            file,
            _count(view.get("totalItems")),
            _count(view.get("totalPages")),
            _count(view.get("currentPage")),
            len(member) if isinstance(member, list) else 0,
            bool(view.get("next")),
        )


def check_pages(pages: Sequence[Page]) -> None:
    """Refuse a collection of which pages are missing.

    Pages that give the same totals belong together; a page number that stands twice stands for two collections.
    """
    together: dict[tuple[int | None, int | None], list[Page]] = {}
    for page in pages:
        together.setdefault((page.items, page.pages), []).append(page)
    for (items, total), some in together.items():
        times = max(Counter(page.number for page in some if page.number is not None).values(), default=1)
        held = sum(page.held for page in some)
        numbers = {page.number for page in some if page.number is not None}
        if items is not None:
            whole = held >= items * times
        elif total is not None:
            whole = max(len(numbers), len(some) // times) >= total
        else:
            whole = len(some) > 1 or not some[0].has_next
        if not whole:
            raise CannotRead(_missing(some, held, items, total))


def _count(value: object) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def _missing(pages: Sequence[Page], held: int, items: int | None, total: int | None) -> str:
    names = ", ".join(dict.fromkeys(page.file for page in pages[:4]))
    many = f"{held:,} of {items:,} messages are here" if items is not None else "a next page is named in it"
    of = f" ({len(pages)} of {total} pages)" if total else ""
    return f"{names}: {many}{of}; fetch the other pages too and give all their files together."

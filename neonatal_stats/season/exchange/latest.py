"""One message where several were sent: the last writer wins, and what was deleted is gone."""

from __future__ import annotations

import json
from collections.abc import Hashable, Sequence
from datetime import UTC, datetime

from neonatal_stats.season.exchange.messages import Message
from neonatal_stats.season.exchange.problems import Problems

NEVER = datetime.min.replace(tzinfo=UTC)


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
            problem = f"this message was sent {len(sent)} times; the version last modified stands"
            problems.add(newest.file, "", _name(newest), problem, "nothing", newest.place)
        if _meta(newest).get("isDeleted") is True:
            problem = "the sender has deleted this message; it was left out"
            problems.add(newest.file, "", _name(newest), problem, "nothing", newest.place)
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

"""What became of the newborns: deaths, departures and weights, matched by identity."""

from __future__ import annotations

from collections.abc import Sequence

from neonatal_stats.season.exchange import terms as said
from neonatal_stats.season.exchange.births import LocalTime, Newborn
from neonatal_stats.season.exchange.messages import Message
from neonatal_stats.season.exchange.problems import Problems
from neonatal_stats.season.exchange.values import Key, key_of, kg_of, within_a_day, word_of


class Register:
    """The newborns by identity; where only one newborn has an id, another scheme for it is accepted too."""

    def __init__(self, newborns: Sequence[Newborn]) -> None:
        self._by_key: dict[Key, Newborn] = {}
        self._by_id: dict[str, list[Newborn]] = {}
        for newborn in newborns:
            self.enter(newborn)

    def enter(self, newborn: Newborn) -> None:
        """Add a newborn under all its identities; the first newborn of an identity keeps it."""
        for key in newborn.keys:
            self._by_key.setdefault(key, newborn)
            if newborn not in self._by_id.setdefault(key[1], []):
                self._by_id[key[1]].append(newborn)

    def find(self, key: Key | None) -> Newborn | None:
        """The newborn of that identity."""
        if key is None:
            return None
        alike = self._by_id.get(key[1], [])
        return self._by_key.get(key) or (alike[0] if len(alike) == 1 else None)


def add_fates(
    messages: Sequence[Message], register: Register, time: LocalTime, problems: Problems
) -> dict[str, int]:
    """Write deaths, departures and weights into the cells; returns how many of each kind named nobody."""
    add = {"death": _add_death, "departure": _add_departure, "weight": _add_weight}
    unmatched: dict[str, int] = {}
    for message in messages:
        if message.kind not in add:
            continue
        newborn = register.find(key_of(message.body.get("animal")))
        if newborn is None:
            unmatched[message.kind] = unmatched.get(message.kind, 0) + 1
        else:
            add[message.kind](newborn, message, time, problems)
    return unmatched


def _add_death(newborn: Newborn, message: Message, time: LocalTime, problems: Problems) -> None:
    body = message.body
    when = time(body.get("eventDateTime"), message, "died_at")
    if body.get("deathMethod") in said.NOT_A_DEATH:
        newborn.fill(left_at=when, left_reason="other")
        return
    if newborn.cells.get("born_alive") == "no":
        problem = (
            "a death message for a newborn that its birth message gives as born dead; it stays born dead"
        )
        problems.add(message.file, "died_at", when, problem, "look at both messages", message.place)
        return
    newborn.fill(
        died="yes",
        died_at=when,
        cause=word_of(body.get("deathReason"), said.CAUSES, "cause", message.file, problems, message.place),
    )
    if body.get("explanation"):
        problem = "the words of explanation have no column; the coded reason was used"
        problems.add(message.file, "explanation", body["explanation"], problem, "nothing", message.place)


def _add_departure(newborn: Newborn, message: Message, time: LocalTime, problems: Problems) -> None:
    kind = message.body.get("departureKind", message.body.get("departureReason"))
    newborn.fill(
        left_at=time(message.body.get("eventDateTime"), message, "left_at"),
        left_reason=word_of(kind, said.LEFT_REASONS, "left_reason", message.file, problems, message.place),
    )


def _add_weight(newborn: Newborn, message: Message, time: LocalTime, problems: Problems) -> None:
    weight = kg_of(message.body.get("weight"), "birth_weight_kg", message.file, problems, message.place)
    when = time(message.body.get("eventDateTime"), message, "birth_weight_kg")
    born = str(newborn.cells.get("born_at") or newborn.cells.get("born_on") or "")
    if when and within_a_day(born, when):
        newborn.fill(birth_weight_kg=weight)
    died = str(newborn.cells.get("died_at") or "")
    if when and died and when[: len(died)] > died:
        problem = "weighed after its death"
        problems.add(
            message.file,
            "died_at",
            f"{died}, weighed {when}",
            problem,
            "look at both messages",
            message.place,
        )

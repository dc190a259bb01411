"""What became of the newborns: deaths, departures, weights and statuses put to them by identity."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence

from neonatal_stats.season.exchange import values as said
from neonatal_stats.season.exchange.births import LocalTime, Newborn
from neonatal_stats.season.exchange.messages import Body, Message, Problems
from neonatal_stats.season.exchange.values import Key, key_of, kg_of, whole, within_a_day, word_of
from neonatal_stats.season.finding import Ended, Said, say

BEFORE_NUMBER = re.compile("[a-z]*0*")
FEWEST_SIGNS = 2
UNMATCHED: Mapping[str, Callable[[int], Said]] = {
    "death": lambda n: say(
        "{n} death messages name animals that are not among the newborns; they were left out", n=n
    ),
    "departure": lambda n: say(
        "{n} departure messages name animals that are not among the newborns; they were left out", n=n
    ),
    "weight": lambda n: say(
        "{n} weight messages name animals that are not among the newborns; they were left out", n=n
    ),
}


class Register:
    """The newborns by identity; where only one newborn has an id, another scheme for it is accepted too."""

    def __init__(self, newborns: Sequence[Newborn]) -> None:
        self._by_key: dict[Key, Newborn] = {}
        self._by_id: dict[str, list[Newborn]] = {}
        self._alike: tuple[dict[str, list[Newborn]], ...] = ({}, {}, {})
        self._dams: set[str] = set()
        for newborn in newborns:
            self.enter(newborn)

    def enter(self, newborn: Newborn) -> None:
        """Add a newborn under all its identities; the first newborn of an identity keeps it."""
        for key in newborn.keys:
            self._by_key.setdefault(key, newborn)
            for form, known in zip((key[1], *forms(key[1])), (self._by_id, *self._alike), strict=True):
                if newborn not in known.setdefault(form, []):
                    known[form].append(newborn)
        if newborn.dam is not None:
            self._dams.add(newborn.dam[1])

    def find(self, key: Key | None) -> Newborn | None:
        """The newborn of that identity."""
        if key is None:
            return None
        alike = self._by_id.get(key[1], [])
        return self._by_key.get(key) or (alike[0] if len(alike) == 1 else None)

    def is_dam(self, key: Key | None) -> bool:
        """True for the identity of a dam."""
        return key is not None and key[1] in self._dams

    def like(self, key: Key | None) -> Newborn | None:
        """The only newborn whose identity differs by capitals, signs, zeros or letters before the number alone."""
        if key is None or self.is_dam(key):
            return None
        for form, known in zip(forms(key[1]), self._alike, strict=True):
            found = known.get(form, []) if len(form) >= FEWEST_SIGNS else []
            if found:
                return found[0] if len(found) == 1 else None
        return None


def forms(name: str) -> tuple[str, str, str]:
    """An identity without signs and capitals, without zeros before it, without letters and zeros before it."""
    plain = re.sub("[^0-9a-z]", "", name.casefold().removesuffix(".0"))
    return plain, plain.lstrip("0"), BEFORE_NUMBER.sub("", plain, count=1)


class Fates:
    """Puts messages to newborns, and counts the deaths that belong to none."""

    def __init__(self, register: Register, time: LocalTime, problems: Problems) -> None:
        self._register, self._time, self._problems = register, time, problems
        self._unmatched: dict[str, list[Message]] = {}
        self._likened: list[tuple[Message, str, str]] = []
        self.unmatched_deaths = 0
        self.used: list[Message] = []

    def add(self, messages: Sequence[Message]) -> None:
        """Write deaths, departures, weights and statuses into the cells; say what could not be put to a newborn."""
        for message in messages:
            if message.kind == "group death":
                self._group(message)
            elif message.kind in ("death", "departure", "weight"):
                self._single(message, message.body.get("animal"))
            elif message.kind == "animal":
                self._status(message)
        self._say()

    def _single(self, message: Message, identifier: object) -> bool:
        key = key_of(identifier)
        newborn = self._register.find(key)
        if newborn is None and key and (alike := self._register.like(key)) and self._was_born(alike, message):
            newborn = alike
            self._likened.append((message, key[1], alike.keys[0][1]))
        if newborn is None:
            self._unmatched.setdefault(message.kind, []).append(message)
            of_deaths = message.kind in ("death", "group death")
            self.unmatched_deaths += of_deaths and not self._register.is_dam(key)
            return False
        self.used.append(message)
        if message.kind == "departure":
            self._departed(newborn, message)
        elif message.kind == "weight":
            self._weighed(newborn, message)
        else:
            self._died(newborn, message)
        return True

    def _was_born(self, newborn: Newborn, message: Message) -> bool:
        """True unless the message is of a time before the birth."""
        born = newborn.born
        when = self._time(message.body.get("eventDateTime"), message, "")
        return not born or not when or when[: len(born)] >= born[: len(when)]

    def _died(self, newborn: Newborn, message: Message) -> None:
        body = message.body
        when = self._time(body.get("eventDateTime"), message, "died_at")
        if body.get("deathMethod") in said.NOT_A_DEATH:
            newborn.fill(left_at=when, left_reason="other")
            return
        if newborn.cells.get("born_alive") == "no":
            problem = say(
                "a death message for a newborn that its birth message gives as born dead; it stays born dead"
            )
            self._problems.of(message, "died_at", when, problem, say("look at both messages"))
            return
        reason = body.get("deathReason", body.get("deathreason"))
        cause = word_of(reason, said.CAUSES, "cause", message, self._problems)
        newborn.cells["died"] = "yes"
        newborn.fill(died_at=when, cause=cause or body.get("explanation"))

    def _departed(self, newborn: Newborn, message: Message) -> None:
        kind = message.body.get("departureKind", message.body.get("departureReason"))
        newborn.fill(
            left_at=self._time(message.body.get("eventDateTime"), message, "left_at"),
            left_reason=word_of(kind, said.LEFT_REASONS, "left_reason", message, self._problems),
        )

    def _weighed(self, newborn: Newborn, message: Message) -> None:
        weight = kg_of(message.body.get("weight"), "birth_weight_kg", message, self._problems)
        when = self._time(message.body.get("eventDateTime"), message, "birth_weight_kg")
        born = newborn.born
        if when and within_a_day(born, when):
            newborn.fill(birth_weight_kg=weight)
        died = str(newborn.cells.get("died_at") or "")
        if when and died and when[: len(died)] > died:
            problem, value = say("weighed after its death"), f"{died}, weighed {when}"
            self._problems.of(message, "died_at", value, problem, say("look at both messages"), "asked")

    def _status(self, message: Message) -> None:
        """An animal's own record: its status, where it is a newborn's."""
        newborn = self._register.find(key_of(message.body.get("identifier", message.body.get("animal"))))
        status = str(message.body.get("status", "")).casefold()
        if newborn is None or status not in ("dead", "alive"):
            return
        self.used.append(message)
        if status == "dead" and newborn.cells.get("born_alive") != "no":
            newborn.cells["died"] = "yes"

    def _group(self, message: Message) -> None:
        """A group's deaths: those of animals named in it one by one, the others counted as belonging to nobody."""
        named = list(_members(message.body))
        found = sum(self._single(message, each) for each in named)
        count = whole(message.body.get("countObserved"))
        listed = message.body.get("inventoryClassification")
        if count is None and isinstance(listed, dict):
            count = whole(listed.get("count"))
        self.unmatched_deaths += max(0, (count or 0) - len(named))
        if found < max(count or 0, len(named)) or not named:
            problem = say(
                "{n} deaths are given for a group, not for single animals; none of them was used",
                n=count or "?",
            )
            remedy = say("send a death message for each animal, or look which newborns these were")
            self._problems.of(message, "died", "", problem, remedy, "asked")

    def _say(self) -> None:
        for kind, messages in self._unmatched.items():
            if kind not in UNMATCHED:
                continue
            names = sorted({key[1] for message in messages if (key := key_of(message.body.get("animal")))})
            column: tuple[str, Ended] = ("died_at", "asked") if kind == "death" else ("", "noted")
            remedy = say("send their births too, or look for slips in the identities")
            file, shown = messages[0].file, ", ".join(names[:8])
            self._problems.add(
                file, column[0], shown, UNMATCHED[kind](len(messages)), remedy, None, column[1]
            )
        for message, sent, born in self._likened:
            problem = say(
                "this message is for {sent}; it was taken for {born}, the only newborn whose identity differs by "
                "zeros, letters before the number, signs or capitals alone",
                sent=sent,
                born=born,
            )
            remedy = say("write one identity for one animal everywhere")
            self._problems.of(message, "newborn_id", sent, problem, remedy, "asked")


def _members(body: Body) -> Iterator[object]:
    """The identities in a group that lists its animals."""
    held = body.get("embeddedAnimalSet")
    members = held.get("member", held.get("members", ())) if isinstance(held, Mapping) else ()
    for each in members if isinstance(members, list) else ():
        yield each.get("animal", each.get("identifier", each)) if isinstance(each, Mapping) else each

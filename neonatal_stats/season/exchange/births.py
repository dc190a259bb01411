"""Newborns from parturition and birth messages, one row each, those born dead too; and what became of them: deaths,
departures, weights and statuses put to them by identity.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from neonatal_stats.season.exchange import values as said
from neonatal_stats.season.exchange.messages import Body, Message, Problems
from neonatal_stats.season.exchange.values import DATE_ONLY, Key, key_of, kg_of, whole, within_a_day, word_of
from neonatal_stats.season.finding import Ended, Said, say

MOST_IN_A_LITTER = 6
MOST_UNLISTED = 3
OF_DEATH = re.compile("dead|died|death|still|abort|mort|perish|euthan|slaughter|cull|kill|lost")

LocalTime = Callable[[object, Message, str], str | None]


@dataclass(eq=False)
class Newborn:
    """A newborn while its messages are put together: its keys, where it came from, its cells."""

    message: Message
    keys: list[Key] = field(default_factory=list)
    dam: Key | None = None
    sire: Key | None = None
    cells: dict[str, object] = field(default_factory=dict)

    @property
    def born(self) -> str:
        """Its moment or day of birth as text, "" where neither is told."""
        return str(self.cells.get("born_at") or self.cells.get("born_on") or "")

    def fill(self, **cells: object) -> None:
        """Set cells that have no value yet."""
        for name, value in cells.items():
            if value is not None and self.cells.get(name) is None:
                self.cells[name] = value


def from_parturition(message: Message, time: LocalTime, problems: Problems) -> list[Newborn]:
    """The newborns of one litter, in the order listed; from the counts alone where none is listed."""
    body = message.body
    listed = _dicts(body.get("progenyDetails")) or _dicts(body.get("progeny"))
    total, live = whole(body.get("totalProgeny")), whole(body.get("liveProgeny"))
    _check_counts(message, listed, total, live, problems)
    if listed:
        born = [_listed_newborn(each, message, problems) for each in listed]
        _by_count(born, live)
    else:
        born = _counted_newborns(message, total, live, problems)
    size = _size(len(listed), total, live)
    for order, newborn in enumerate(born, start=1):
        newborn.dam = key_of(body.get("animal"))
        newborn.fill(
            litter_size=size,
            litter_id=_litter(message, newborn.dam),
            birth_order=order if len(born) > 1 else None,
            dam_parity=whole(body.get("damParity")),
            delivery=word_of(body.get("calvingEase"), said.DELIVERIES, "delivery", message, problems),
            farm=farm_of(body),
        )
        set_birth_time(newborn, time(body.get("eventDateTime"), message, "born_at"))
    return born


def from_birth(message: Message, time: LocalTime, problems: Problems) -> Newborn:
    """The newborn that a birth or registration message names."""
    detail = message.body.get("animalDetail")
    detail = detail if isinstance(detail, dict) else {}
    newborn = _listed_newborn(detail, message, problems)
    if not newborn.keys and (own := key_of(message.body.get("animal"))):
        newborn.keys.append(own)
    for parent in _dicts(detail.get("parentage")):
        _add_parent(newborn, parent)
    newborn.fill(farm=farm_of(message.body))
    if not {"born_alive", "died"} & set(newborn.cells):
        newborn.fill(born_alive="yes")
    when = detail.get("birthDate", message.body.get("eventDateTime"))
    set_birth_time(newborn, time(when, message, "born_at"))
    return newborn


def set_birth_time(newborn: Newborn, when: str | None) -> None:
    """A time goes to born_at, a date alone to born_on."""
    if when is not None and DATE_ONLY.fullmatch(when):
        newborn.fill(born_on=when)
    else:
        newborn.fill(born_at=when)


def farm_of(body: Body) -> str | None:
    """The location's identity."""
    key = key_of(body.get("location"))
    return key[1] if key else None


def _listed_newborn(each: Body, message: Message, problems: Problems) -> Newborn:
    names = [each.get("identifier"), *_dicts(each.get("alternativeIdentifiers"))]
    newborn = Newborn(message, [key for name in names if (key := key_of(name))])
    place = (message, problems)
    newborn.fill(
        species=word_of(each.get("specie"), said.SPECIES, "species", *place),
        sex=word_of(each.get("gender"), said.SEXES, "sex", *place),
        birth_weight_kg=kg_of(each.get("birthWeight"), "birth_weight_kg", *place),
        breed=breed[1] if (breed := key_of(each.get("primaryBreed"))) else None,
    )
    _set_status(newborn, word_of(each.get("birthStatus"), said.BIRTH_STATUSES, "born_alive", *place))
    now = str(each.get("status", "")).casefold()
    if now == "dead" and newborn.cells.get("born_alive") != "no":
        newborn.cells["died"] = "yes"
    elif now == "alive" and not {"born_alive", "died"} & set(newborn.cells):
        newborn.fill(born_alive="yes")
    return newborn


def _set_status(newborn: Newborn, status: str | None) -> None:
    """What a status of birth means; one that is not known is never alive."""
    if status is not None and status not in said.BIRTH_STATUSES:
        newborn.fill(died="yes" if OF_DEATH.search(status.casefold()) else status)
    elif status in said.BORN_DEAD:
        newborn.fill(born_alive="no", died="yes", cause="stillbirth")
    elif status in said.DEAD_AGE_UNKNOWN:
        newborn.fill(born_alive="yes", died="yes")
    elif status in said.KILLED_AT_BIRTH:
        newborn.fill(born_alive="yes", died="yes", cause="other", died_at="at birth")
    elif status == "Alive":
        newborn.fill(born_alive="yes")


def _by_count(born: list[Newborn], live: int | None) -> None:
    """Newborns listed without a status live or are born dead where the count says so of all of them."""
    if live not in (0, len(born)) or any({"born_alive", "died"} & set(newborn.cells) for newborn in born):
        return
    for newborn in born:
        if live:
            newborn.fill(born_alive="yes")
        else:
            newborn.fill(born_alive="no", died="yes", cause="stillbirth")


def _believed(total: int | None, known: int) -> bool:
    """True for a total that leaves no more newborns untold than a litter may."""
    return total is not None and known <= total <= MOST_IN_A_LITTER and total - known <= MOST_UNLISTED


def _size(listed: int, total: int | None, live: int | None) -> int | None:
    """The litter's size; a total that cannot be believed is none."""
    if listed:
        return total if _believed(total, listed) else listed
    return total if _believed(total, live or 0) or live is None else None


def _counted_newborns(
    message: Message, total: int | None, live: int | None, problems: Problems
) -> list[Newborn]:
    """Rows made from counts alone; a total far above the living is a slip rather than so many stillbirths."""
    count = total if total is not None else live
    if count is None:
        return [Newborn(message)]
    if total is not None and live is not None and not _believed(total, live):
        problem = say(
            "{total} born and {live} alive is taken for a slip: only those alive were made rows of, no stillbirths",
            total=total,
            live=live,
        )
        remedy = say("look at the litter and send each newborn")
        problems.of(message, "totalProgeny", total, problem, remedy, "asked")
        count = live
    born = [Newborn(message) for _ in range(max(0, min(count, MOST_IN_A_LITTER)))]
    for order, newborn in enumerate(born, start=1):
        if live is not None and order <= live:
            newborn.fill(born_alive="yes")
        elif live is not None:
            newborn.fill(born_alive="no", died="yes")
    return born


def _check_counts(
    message: Message, listed: list[Body], total: int | None, live: int | None, problems: Problems
) -> None:
    def wrong(member: str, value: object, problem: Said) -> None:
        remedy = say("look at the litter; the newborns listed were used")
        problems.of(message, member, value, problem, remedy, "asked")

    statuses = [each.get("birthStatus") for each in listed]
    if total is not None and not 0 <= total <= MOST_IN_A_LITTER:
        wrong("totalProgeny", total, say("no litter has this many newborns"))
    if live is not None and total is not None and live > total:
        wrong("liveProgeny", live, say("more alive than born ({n})", n=total))
    if listed and total is not None and total != len(listed):
        wrong("totalProgeny", total, say("the count differs from the {n} newborns listed", n=len(listed)))
    if listed and all(statuses) and live is not None and live != statuses.count("Alive"):
        problem = say("the count differs from the {n} listed as Alive", n=statuses.count("Alive"))
        wrong("liveProgeny", live, problem)
    if not listed:
        problem = say("no newborn is listed, only counts; the rows made from them have no identity")
        problems.of(message, "progenyDetails", "", problem, say("send each newborn"))


def _litter(message: Message, dam: Key | None) -> str:
    name = (
        message.body.get("id")
        or f"{dam[1] if dam else 'litter'} {message.body.get('eventDateTime', message.place)}"
    )
    return str(name)


def _dicts(value: object) -> list[Body]:
    return [each for each in value if isinstance(each, dict)] if isinstance(value, list) else []


def _add_parent(newborn: Newborn, parent: Body) -> None:
    key, relation = key_of(parent.get("identifier")), parent.get("relation", "Genetic")
    female = str(parent.get("gender", "")).startswith("Female")
    if female and relation == "Adoptive":
        newborn.fill(rearing="fostered")
    elif female and (newborn.dam is None or relation == "Recipient"):
        newborn.dam = key
    elif not female and relation == "Genetic":
        newborn.sire = key


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

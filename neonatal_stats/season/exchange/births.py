"""Newborns from parturition and birth messages, one row each, those born dead too; and what became of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from neonatal_stats.season.exchange import terms as said
from neonatal_stats.season.exchange.messages import NOTHING, Body, Message, Problems
from neonatal_stats.season.exchange.values import DATE_ONLY, Key, key_of, kg_of, whole, within_a_day, word_of
from neonatal_stats.season.finding import Said, say

MOST_IN_A_LITTER = 20

LocalTime = Callable[[object, Message, str], str | None]


@dataclass(eq=False)
class Newborn:
    """A newborn while its messages are put together: its keys, where it came from, its cells."""

    message: Message
    keys: list[Key] = field(default_factory=list)
    dam: Key | None = None
    sire: Key | None = None
    cells: dict[str, object] = field(default_factory=dict)

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
    else:
        born = _counted_newborns(message, total, live)
    size = max(total or 0, len(listed)) or None
    for order, newborn in enumerate(born, start=1):
        newborn.dam = key_of(body.get("animal"))
        newborn.fill(
            litter_size=size,
            litter_id=_litter(message, newborn.dam),
            birth_order=order if len(born) > 1 else None,
            dam_parity=whole(body.get("damParity")),
            delivery=word_of(
                body.get("calvingEase"), said.DELIVERIES, "delivery", message.file, problems, message.place
            ),
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
    newborn.fill(farm=farm_of(message.body), born_alive="yes")
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
    place = (message.file, problems, message.place)
    newborn.fill(
        species=word_of(each.get("specie"), said.SPECIES, "species", *place),
        sex=word_of(each.get("gender"), said.SEXES, "sex", *place),
        birth_weight_kg=kg_of(each.get("birthWeight"), "birth_weight_kg", *place),
        breed=breed[1] if (breed := key_of(each.get("primaryBreed"))) else None,
    )
    _set_status(newborn, word_of(each.get("birthStatus"), said.BIRTH_STATUSES, "born_alive", *place))
    return newborn


def _set_status(newborn: Newborn, status: str | None) -> None:
    if status in said.BORN_DEAD:
        newborn.fill(born_alive="no", died="yes", cause="stillbirth")
    elif status in said.DEAD_AGE_UNKNOWN:
        newborn.fill(born_alive="yes", died="yes")
    elif status in said.KILLED_AT_BIRTH:
        newborn.fill(born_alive="yes", died="yes", cause="other", died_at="at birth")
    else:
        newborn.fill(born_alive="yes" if status == "Alive" else status)


def _counted_newborns(message: Message, total: int | None, live: int | None) -> list[Newborn]:
    count = total if total is not None else live
    if count is None:
        return [Newborn(message)]
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
        problems.add(message.file, member, value, problem, remedy, message.place)

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
        problems.add(message.file, "progenyDetails", "", problem, say("send each newborn"), message.place)


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
        problem = say(
            "a death message for a newborn that its birth message gives as born dead; it stays born dead"
        )
        problems.add(message.file, "died_at", when, problem, say("look at both messages"), message.place)
        return
    newborn.fill(
        died="yes",
        died_at=when,
        cause=word_of(body.get("deathReason"), said.CAUSES, "cause", message.file, problems, message.place),
    )
    if body.get("explanation"):
        problem = say("the words of explanation have no column; the coded reason was used")
        problems.add(message.file, "explanation", body["explanation"], problem, NOTHING, message.place)


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
        problem = say("weighed after its death")
        problems.add(
            message.file,
            "died_at",
            f"{died}, weighed {when}",
            problem,
            say("look at both messages"),
            message.place,
        )

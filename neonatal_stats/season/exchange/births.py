"""Newborns from parturition and birth messages: one row each, those born dead and without identity too."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from neonatal_stats.season.exchange import terms as said
from neonatal_stats.season.exchange.messages import Body, Message
from neonatal_stats.season.exchange.problems import Problems
from neonatal_stats.season.exchange.values import DATE_ONLY, Key, key_of, kg_of, whole, word_of

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
    def wrong(member: str, value: object, problem: str) -> None:
        remedy = "look at the litter; the newborns listed were used"
        problems.add(message.file, member, value, problem, remedy, message.place)

    statuses = [each.get("birthStatus") for each in listed]
    if total is not None and not 0 <= total <= MOST_IN_A_LITTER:
        wrong("totalProgeny", total, "no litter has this many newborns")
    if live is not None and total is not None and live > total:
        wrong("liveProgeny", live, f"more alive than born ({total})")
    if listed and total is not None and total != len(listed):
        wrong("totalProgeny", total, f"the count differs from the {len(listed)} newborns listed")
    if listed and all(statuses) and live is not None and live != statuses.count("Alive"):
        wrong("liveProgeny", live, f"the count differs from the {statuses.count('Alive')} listed as Alive")
    if not listed:
        problem = "no newborn is listed, only counts; the rows made from them have no identity"
        problems.add(message.file, "progenyDetails", "", problem, "send each newborn", message.place)


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

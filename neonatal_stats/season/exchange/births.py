"""Newborns from parturition and birth messages, one row each, those born dead too; and what became of them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from neonatal_stats.season.exchange import values as said
from neonatal_stats.season.exchange.messages import Body, Message, Problems
from neonatal_stats.season.exchange.values import DATE_ONLY, Key, key_of, kg_of, whole, word_of
from neonatal_stats.season.finding import Said, say

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

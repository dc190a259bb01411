"""Messages of the open animal data exchange standard: deaths that match nothing, zeros, groups, pages, statuses."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.season.farm_files.case import Made, add, case
from tests.season.farm_files.truth import Newborn, by_litter, season_of
from tests.season.farm_files.writing import messages

KIND = "exchange: deaths and identities"
STATUS = "exchange: statuses and counts"
WHOLE = "exchange: pages, folders, remarks"
Message = dict[str, Any]
PLACE = {"id": "invented-1", "scheme": "test.holdings"}


def named(name: str) -> dict[str, str]:
    return {"id": name, "scheme": "test.tags"}


def at(moment: Any) -> str:
    return f"{moment:%Y-%m-%dT%H:%M:00Z}"


def newborn(n: Newborn, **more: Any) -> Message:
    found: Message = {
        "resourceType": "icarProgenyDetailsResource",
        "specie": "Sheep",
        "gender": n.sex.capitalize(),
        "birthStatus": "Stillborn" if n.stillborn else "Alive",
    }
    return found | ({"identifier": named(n.tag)} if n.tag else {}) | more


def birth(litter: list[Newborn], **more: Any) -> Message:
    first = litter[0]
    return {
        "resourceType": "icarReproParturitionEventResource",
        "id": f"birth-{first.litter}",
        "animal": named(first.dam),
        "eventDateTime": at(first.born),
        "location": PLACE,
        "totalProgeny": len(litter),
        "liveProgeny": sum(not n.stillborn for n in litter),
        "progenyDetails": [newborn(n) for n in litter],
    } | more


def death(n: Newborn, **more: Any) -> Message:
    return {
        "resourceType": "icarMovementDeathEventResource",
        "id": f"death-{n.tag}",
        "animal": named(n.tag),
        "eventDateTime": at(n.died or n.born),
        "location": PLACE,
        "deathReason": "Unknown",
        "deathMethod": "Perished",
    } | more


def whole(found: list[Message], total: int | None = None) -> Message:
    count = len(found) if total is None else total
    return {"view": {"totalItems": count, "totalPages": 1, "currentPage": 1}, "member": found}


def flock(seed: int) -> list[Newborn]:
    truth = season_of(seed, litters=20)
    return [n.but(born=next(m.born for m in truth if m.litter == n.litter)) for n in truth]


def later(truth: list[Newborn]) -> list[Newborn]:
    return [n for n in truth if n.dead and not n.stillborn]


def written(
    kind: str,
    name: str,
    seed: int,
    accept: str = "said",
    *,
    births: Callable[[list[list[Newborn]]], list[Message]] = lambda litters: [
        birth(litter) for litter in litters
    ],
    deaths: Callable[[list[Newborn]], list[Message]] = lambda dead: [death(n) for n in dead],
    also: Callable[[list[Newborn]], list[Message]] = lambda truth: [],
    total: Callable[[int], int | None] = lambda count: None,
    facets: str = "litter",
    change: Callable[[list[Newborn]], list[Newborn]] = lambda truth: truth,
) -> None:
    """A message with births, deaths and others; a case changes the ones its fault is about."""

    def build(folder: Path) -> Made:
        truth = flock(seed)
        found = [*births(by_litter(truth)), *deaths(later(truth)), *also(truth)]
        path = messages(folder / "messages.json", whole(found, total(len(found))))
        return Made([path], change(truth), facets)

    add(kind, name, accept, build)


def zeros(dead: list[Newborn]) -> list[Message]:
    return [death(n, animal=named(n.tag.lstrip("0"))) for n in dead]


def unmatched(dead: list[Newborn]) -> list[Message]:
    return [death(n, animal=named(f"XX{n.tag}Z")) if place == 0 else death(n) for place, n in enumerate(dead)]


def group_death(truth: list[Newborn]) -> list[Message]:
    return [
        {
            "resourceType": "icarGroupMovementDeathEventResource",
            "id": "group-1",
            "eventDateTime": at(truth[-1].born),
            "location": PLACE,
            "groupMethod": "InventoryClassification",
            "countObserved": 2,
            "inventoryClassification": {"specie": "Sheep", "count": 2},
        }
    ]


written(KIND, "a plain season", 1000, "right", facets="litter age")
written(KIND, "deaths without the zeros", 1001, deaths=zeros)
written(
    KIND,
    "a death in another scheme",
    1002,
    deaths=lambda dead: [death(n, animal={"id": n.tag, "scheme": "test.other"}) for n in dead],
)
written(
    KIND,
    "lower-case identifiers",
    1003,
    births=lambda litters: [
        birth(litter, progenyDetails=[newborn(n, identifier=named(f"ab{n.tag}")) for n in litter])
        for litter in litters
    ],
    deaths=lambda dead: [death(n, animal=named(f"AB{n.tag}")) for n in dead],
)


def nobody_claims_survival(kind: str, name: str, seed: int, **how: Any) -> None:
    """Deaths that cannot be put to a newborn: the reader must say something, and never that all is well."""

    def build(folder: Path) -> Made:
        truth = flock(seed)
        lost = later(truth)
        found = [
            *[birth(litter) for litter in by_litter(truth)],
            *how["deaths"](lost),
            *how.get("also", lambda t: [])(truth),
        ]
        if how.get("spare"):
            truth = [n.but(dead=False, age_h=None, cause=None) if n.tag == lost[0].tag else n for n in truth]
        return Made([messages(folder / "messages.json", whole(found))], truth, "must-say")

    add(kind, name, "said", build)


nobody_claims_survival(KIND, "one death matches nobody", 1004, deaths=unmatched, spare=True)
nobody_claims_survival(
    KIND, "a group of two died", 1005, deaths=lambda dead: [death(n) for n in dead], also=group_death
)
nobody_claims_survival(
    KIND,
    "a death before its birth's page",
    1006,
    deaths=lambda dead: [*[death(n) for n in dead], death(dead[0], id="death-x", animal=named("99999"))],
)


def group_of_five(truth: list[Newborn]) -> list[Message]:
    method = "EmbeddedAnimalSetAndInventoryClassification"
    return [group_death(truth)[0] | {"countObserved": 5, "deathreason": "Disease", "groupMethod": method}]


nobody_claims_survival(
    KIND,
    "a group died, classified as lambs",
    1007,
    deaths=lambda dead: [death(n) for n in dead],
    also=group_of_five,
)


def cores(word: str) -> Callable[[list[Newborn]], list[Message]]:
    return lambda truth: [
        {
            "resourceType": "icarAnimalCoreResource",
            "identifier": named(n.tag),
            "specie": "Sheep",
            "gender": n.sex.capitalize(),
            "birthDate": at(n.born),
            "status": word if n.dead else "Alive",
        }
        for n in truth
    ]


written(STATUS, "status Dead of the animal", 1010, deaths=lambda dead: [], also=cores("Dead"))
written(STATUS, "status Unknown of the animal", 1011, also=cores("Unknown"))


def born_as(status: str) -> Callable[[list[list[Newborn]]], list[Message]]:
    """Births that write the dead, early or late, by this status alone."""

    def told(n: Newborn) -> Message:
        return newborn(n, **({"birthStatus": status} if n.dead else {}))

    return lambda litters: [birth(litter, progenyDetails=[told(n) for n in litter]) for litter in litters]


def old_style(litters: list[list[Newborn]]) -> list[Message]:
    def told(n: Newborn) -> Message:
        status = "Dead" if n.dead else "Alive"
        return {"identifier": named(n.tag), "specie": "Sheep", "gender": n.sex.capitalize(), "status": status}

    return [birth(litter, progenyDetails=[], progeny=[told(n) for n in litter]) for litter in litters]


for number, status in enumerate(("DiedBeforeTaggingDate", "EuthanisedAtBirth", "DeadInPen"), 1012):
    name = "a status that the standard does not have" if status == "DeadInPen" else status
    written(STATUS, name, number, births=born_as(status), deaths=lambda dead: [], facets="")
written(
    STATUS, "the old list of progeny, status Dead", 1015, births=old_style, deaths=lambda dead: [], facets=""
)
written(
    STATUS,
    "a litter total of 7",
    1016,
    births=lambda litters: [
        birth(litter, totalProgeny=7) if place == 2 else birth(litter) for place, litter in enumerate(litters)
    ],
)
written(
    STATUS,
    "live progeny fewer than the living",
    1017,
    births=lambda litters: [
        birth(litter, liveProgeny=0) if place == 4 else birth(litter) for place, litter in enumerate(litters)
    ],
)


@case(WHOLE, "the first page of four", "asked")
def first_page(folder: Path) -> Made:
    truth = flock(1020)
    found = [*[birth(litter) for litter in by_litter(truth)], *[death(n) for n in later(truth)]]
    page = whole(found[:20], len(found)) | {}
    page["view"] |= {"totalPages": 4, "next": "page-2"}
    return Made([messages(folder / "page1.json", page)], truth, "", frozenset(n.tag for n in truth))


@case(WHOLE, "all four pages")
def four_pages(folder: Path) -> Made:
    truth = flock(1021)
    found = [*[birth(litter) for litter in by_litter(truth)], *[death(n) for n in later(truth)]]
    step = -(-len(found) // 4)
    paths = []
    for place in range(4):
        page = whole(found[place * step : (place + 1) * step], len(found))
        page["view"] |= {"totalPages": 4, "currentPage": place + 1, "pageSize": step}
        paths.append(messages(folder / f"page{place + 1}.json", page))
    return Made(paths, truth, "litter age")


@case(WHOLE, "the same message in two folders", "mapped")
def two_folders(folder: Path) -> Made:
    truth = flock(1022)
    found = whole([*[birth(litter) for litter in by_litter(truth)], *[death(n) for n in later(truth)]])
    return Made([messages(folder / day / "messages.json", found) for day in ("mon", "tue")], truth, "litter")


@case(WHOLE, "births and deaths in two folders, one file name")
def births_and_deaths(folder: Path) -> Made:
    truth = flock(1023)
    births = messages(folder / "births" / "m.json", whole([birth(litter) for litter in by_litter(truth)]))
    deaths = messages(folder / "deaths" / "m.json", whole([death(n) for n in later(truth)]))
    return Made([births, deaths], truth, "litter age")


@case(WHOLE, "a birth sent again with its correction", "said")
def sent_again(folder: Path) -> Made:
    truth = flock(1024)
    litters = by_litter(truth)
    meta = {"source": "shed", "sourceId": "b1", "modified": "2026-05-02T00:00:00Z"}
    old = birth(litters[0], meta=meta | {"modified": "2026-05-01T00:00:00Z"}, totalProgeny=1)
    new = birth(litters[0], meta=meta)
    found = [old, new, *[birth(litter) for litter in litters[1:]], *[death(n) for n in later(truth)]]
    return Made([messages(folder / "m.json", whole(found))], truth)


@case(WHOLE, "a death taken back", "said")
def taken_back(folder: Path) -> Made:
    truth = flock(1025)
    lost = later(truth)
    back = lost[0].tag
    gone = {"source": "shed", "modified": "2026-05-01T00:00:00Z", "isDeleted": True}
    found = [
        *[birth(litter) for litter in by_litter(truth)],
        *[death(n, **({"meta": gone} if n.tag == back else {})) for n in lost],
    ]
    truth = [n.but(dead=False, age_h=None, cause=None) if n.tag == back else n for n in truth]
    return Made([messages(folder / "m.json", whole(found))], truth, "litter")


def beside(name: str, seed: int, word: str, tell: Callable[[Newborn], Message]) -> None:
    """Other events of the newborns: used, or named as unused, but never passed over with all well."""

    def build(folder: Path) -> Made:
        truth = flock(seed)
        living = [n for n in truth if not n.dead][:5]
        found = [
            *[birth(litter) for litter in by_litter(truth)],
            *[death(n) for n in later(truth)],
            *map(tell, living),
        ]
        return Made([messages(folder / "m.json", whole(found))], truth, "litter", named=(word,))

    add(WHOLE, name, "said", build)


def event(kind: str, n: Newborn, **more: Any) -> Message:
    return {
        "resourceType": f"icar{kind}EventResource",
        "animal": named(n.tag),
        "eventDateTime": at(n.born),
        "location": PLACE,
    } | more


beside(
    "treatments",
    1030,
    "treatment",
    lambda n: event("Treatment", n, medicine={"name": "navel dip"}, procedure="navel"),
)
beside(
    "diagnoses",
    1031,
    "diagnos",
    lambda n: event("Diagnosis", n, diagnoses=[{"name": "joint ill", "severity": "Light"}]),
)
beside(
    "feed taken",
    1032,
    "feed",
    lambda n: event("FeedIntake", n, feedingStartingDateTime=at(n.born), consumedFeed=[]),
)
beside("a kind that the standard does not have", 1033, "Blessing", lambda n: event("Blessing", n))

"""Small messages of our own in the manner of the exchange standard: three litters of a made-up farm."""

from __future__ import annotations

from typing import Any

FARM = {"id": "holding-1", "scheme": "test.farms"}


def animal(name: str, scheme: str = "test.tags") -> dict[str, str]:
    return {"id": name, "scheme": scheme}


def newborn(name: str | None, status: str = "Alive", gender: str = "Female", **more: Any) -> dict[str, Any]:
    found = {
        "resourceType": "icarProgenyDetailsResource",
        "specie": "Sheep",
        "gender": gender,
        "birthStatus": status,
    }
    return found | ({"identifier": animal(name)} if name else {}) | more


def parturition(dam: str, at: str, *newborns: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {
        "resourceType": "icarReproParturitionEventResource",
        "id": f"p-{dam}",
        "animal": animal(dam),
        "eventDateTime": at,
        "location": FARM,
        "progenyDetails": list(newborns),
    } | more


def event(kind: str, name: str, at: str, **more: Any) -> dict[str, Any]:
    return {"resourceType": f"icar{kind}EventResource", "animal": animal(name), "eventDateTime": at} | more


def collection(*messages: dict[str, Any]) -> dict[str, Any]:
    return {"view": {"totalItems": len(messages), "totalPages": 1}, "member": list(messages)}


TWINS = parturition(
    "000123",
    "2026-04-03T05:30:00Z",
    newborn("0001", birthWeight={"measurement": 4200, "units": "GRM"}),
    newborn(None, "Stillborn", "Male"),
    totalProgeny=2,
    liveProgeny=1,
    damParity=3,
    calvingEase="DifficultExtraAssistance",
)
SINGLE = parturition(
    "000124", "2026-04-03T23:40:00+01:00", newborn("0002", gender="Male"), calvingEase="EasyUnassisted"
)
DEATH = event("MovementDeath", "0002", "2026-04-05T08:00:00Z", deathReason="Accident", deathMethod="Perished")
SOLD = event("MovementDeparture", "0001", "2026-05-01T10:00:00Z", departureKind="Sale")

"""Invented seasons as rows of truth: who was born, of which dam, what became of it. All of it is made up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from random import Random

SIZES = {
    "sheep": ((1, 2, 3, 4), (30, 52, 15, 3)),
    "goat": ((1, 2, 3), (25, 60, 15)),
    "cattle": ((1, 2), (94, 6)),
}
WEIGHTS = {"sheep": (4.3, 0.6), "goat": (3.4, 0.4), "cattle": (40.0, 4.0)}
LATER_CAUSES = (
    "starvation-mismothering-exposure",
    "infection",
    "predation",
    "accident",
    "congenital",
    "unknown",
)


@dataclass(frozen=True)
class Newborn:
    """One newborn as it was. `dead` is None where the farm's own file leaves it truly unsaid."""

    dam: str
    tag: str
    born: datetime
    order: int
    size: int
    litter: str
    sex: str
    weight: float
    season: str | None
    dead: bool | None = False
    age_h: float | None = None
    cause: str | None = None
    farm: str = "Invented Farm"
    filled: bool = False  # the outcome cell holds something that nobody can read: never a life

    @property
    def died(self) -> datetime | None:
        return None if self.age_h is None or not self.dead else self.born + timedelta(hours=self.age_h)

    @property
    def stillborn(self) -> bool:
        return self.cause == "stillbirth"

    def but(self, **changes: object) -> Newborn:
        return replace(self, **changes)  # type: ignore[arg-type]


def season_of(
    seed: int,
    *,
    litters: int = 24,
    species: str = "sheep",
    first: str = "2026-03-20",
    days: int = 28,
    lost: float = 0.18,
    season: str | None = None,
    dam: str = "{:03d}",
    tag: str = "{:05d}",
    start: int = 1,
) -> list[Newborn]:
    """A season of `litters` litters, about a share `lost` of the newborns dead, never fewer than four."""
    random = Random(seed)
    begin = datetime.fromisoformat(first)
    sizes, weights = SIZES[species]
    mean, spread = WEIGHTS[species]
    label = season or begin.strftime("%Y")
    moments = sorted(random.randrange(days * 24 * 12) * 5 for _ in range(litters))
    born: list[Newborn] = []
    for number, minutes in enumerate(moments, start):
        size = random.choices(sizes, weights)[0]
        at = begin + timedelta(minutes=minutes)
        name = dam.format(number * 7 % 1000 if litters < 90 else number)
        for order in range(1, size + 1):
            born.append(
                Newborn(
                    dam=name,
                    tag=tag.format(start * 100 + len(born) + 1),
                    born=at + timedelta(minutes=15 * (order - 1)),
                    order=order,
                    size=size,
                    litter=f"{label}/{number}",
                    sex=random.choice(("female", "male")),
                    weight=round(random.gauss(mean, spread), 1),
                    season=label,
                )
            )
    deaths = max(4, round(lost * len(born)))
    for row in random.sample(range(len(born)), deaths):
        born[row] = _dies(born[row], random)
    return born


def _dies(newborn: Newborn, random: Random) -> Newborn:
    if random.random() < 0.25:
        return newborn.but(dead=True, age_h=0.0, cause="stillbirth")
    hours = round(random.choice((3, 8, 20, 30, 50, 75, 110, 170, 300)) * random.uniform(0.8, 1.2) * 4) / 4
    return newborn.but(dead=True, age_h=hours, cause=random.choice(LATER_CAUSES))


def by_litter(newborns: list[Newborn]) -> list[list[Newborn]]:
    """Litter by litter, in the order of the book."""
    litters: dict[str, list[Newborn]] = {}
    for one in newborns:
        litters.setdefault(one.litter, []).append(one)
    return list(litters.values())

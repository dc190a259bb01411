"""How often does a page call something clear where nothing differs, and how often does it call what is there?

Run from the top of the project and keep what it prints:

    python tests/simulations/ledger.py | tee tests/simulations/ledger.txt

Each page is a set of claims about one invented herd: litters of one to four whose members share a risk drawn from a
beta distribution, deaths that fall before or after one day and one week and have a cause, and what was written down
of them: delivery, dam, weight, sex, first hours, feeding, mothering-up, pens, weather, time. Some 150 to 250 claims in
13 or 14 families hold groups of the same newborns against others: nested (unfed by 2, 4, 6 and 12 h; chilled under 0,
-2, -4), overlapping (pen within place, the pairs of a watch list), sparse (six causes, five deliveries), and over all
families correlated by the deaths they share. Each has the p of `estimates.contrast.compare`, but for the sparse tails
(`skewed_p`). With several seasons the groups are held against each other over all of them (there is no true season).

First block, nothing differs: pages with anything clear, by the ledger and by three simpler rules. Second block, one
thing differs: pages that call it clear, pages with a clear claim that has nothing to do with it, and of the claims called
clear the mean share that have nothing to do with it. Third block: the p that a question asked beforehand may have, alone
on a page, to be called clear.
"""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from math import nan, sqrt

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.estimates.clusters import agreement
from neonatal_stats.estimates.many_groups import benjamini_hochberg, skewed_p
from neonatal_stats.estimates.two_by_two import TwoByTwo
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS, Verdict
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.ledger import decide
from neonatal_stats.season.settings import Settings

RNG_NUMBER = 20260712
MINIMUM = 10
Mask = NDArray[np.bool_]
LITTERS = (0.38, 0.46, 0.13, 0.03)
CAUSES = ("stillbirth", "starvation", "pneumonia", "diarrhoea", "trauma", "unknown")
EFFECTS = {"surgery": 3.0, "twins and triplets": 1.5, "unfed": 4.0, "season": 1.6, "pen": 3.0, "nothing": 1.0}


@dataclass
class Herd:
    """Newborns with what was written down of them, and what is asked of them so far."""

    rng: np.random.Generator
    litter: NDArray[np.int64]
    season: NDArray[np.int64]
    size: NDArray[np.int64]
    of: dict[str, NDArray[np.int64]] = field(default_factory=dict)
    died: Mask = field(default_factory=lambda: np.zeros(0, bool))
    day: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))
    cause: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))


OF_LITTER = {
    "parity": (0.25, 0.40, 0.35), "condition": (0.15, 0.70, 0.15), "breed": (0.5, 0.3, 0.2), "place": (0.3, 0.7),
    "pen": (0.3, 0.25, 0.2, 0.15, 0.1), "hour": (0.25,) * 4, "week": (0.15, 0.25, 0.3, 0.2, 0.1),
    "farm": (0.4, 0.3, 0.15, 0.15), "sire": (0.35, 0.3, 0.2, 0.15), "chill": (0.6, 0.15, 0.1, 0.1, 0.05),
}  # fmt: skip
OF_NEWBORN = {
    "delivery": (0.72, 0.13, 0.06, 0.03, 0.06), "weight": (0.2, 0.6, 0.2), "sex": (0.5, 0.5), "term": (0.94, 0.06),
    "breathing": (0.9, 0.1), "suck": (0.86, 0.14), "standing": (0.75, 0.17, 0.08), "meconium": (0.85, 0.15),
    "feed": (0.45, 0.25, 0.15, 0.09, 0.06), "amount": (0.7, 0.3), "source": (0.7, 0.2, 0.1),
    "person": (0.4, 0.3, 0.2, 0.1), "mothered": (0.9, 0.1), "handled": (0.8, 0.2),
}  # fmt: skip


def herd(rng: np.random.Generator, dams: int, seasons: int, effect: str, rho: float, risk: float) -> Herd:
    """A herd in which one thing, or nothing, goes with loss."""
    litters = dams * seasons
    sizes = rng.choice(np.arange(1, 5), p=LITTERS, size=litters)
    litter = np.repeat(np.arange(litters), sizes)
    one = Herd(rng, litter, np.repeat(np.arange(litters) // dams, sizes), sizes[litter])
    for name, shares in OF_LITTER.items():
        one.of[name] = rng.choice(len(shares), p=shares, size=litters)[litter]
    for name, shares in OF_NEWBORN.items():
        one.of[name] = rng.choice(len(shares), p=shares, size=len(litter))
    ratio = _ratios(one, effect)
    own = rng.beta(risk * (1 - rho) / rho, (1 - risk) * (1 - rho) / rho, litters)[litter]
    one.died = rng.random(len(litter)) < np.minimum(own * ratio, 0.95)
    one.day = rng.choice([0.0, 0.5, 3.0, 20.0], p=[0.3, 0.3, 0.25, 0.15], size=len(litter))
    one.cause = rng.choice(len(CAUSES), p=[0.3, 0.2, 0.15, 0.1, 0.05, 0.2], size=len(litter))
    return one


def _ratios(one: Herd, effect: str) -> NDArray[np.float64]:
    affected = {
        "surgery": one.of["delivery"] == 4,
        "twins and triplets": one.size == 2,
        "unfed": one.of["feed"] == 4,
        "season": one.season == one.season.max(),
        "pen": one.of["pen"] == 4,
    }.get(effect, np.zeros(len(one.litter), bool))
    ratio = np.where(affected, EFFECTS[effect], 1.0)
    return np.where((effect == "twins and triplets") & (one.size > 2), 2.2, ratio)


Question = tuple[str, str, str, Mask, Mask, Mask, str]
"""Family, line, what is asked, outcome, group, those it is held against, question asked beforehand."""


def questions(one: Herd) -> Iterator[Question]:
    """Everything that a page asks of the herd."""
    of, died, everyone = one.of, one.died, np.ones(len(one.litter), bool)
    alive = ~(died & (one.day == 0))
    day, week = died & (one.day < 1), died & (one.day < 7)
    late = alive & ~(died & (one.day < 1))
    single, surgery = one.size == 1, of["delivery"] == 4
    yield "litter size", "litter size", "several", died, ~single, single, "twins"
    for n in (2, 3, 4):
        yield "litter size", "litter size", f"of {n}", died, one.size == n, single, ""
    for n in (2, 3):
        yield "litter size", "litter size", f"first day, of {n}", day, one.size == n, single, ""
    order = np.arange(len(one.litter)) - np.searchsorted(one.litter, one.litter)
    for n in (1, 2):
        yield "litter size", "order", f"born {n}", died, order == n, order == 0, ""
    yield "delivery", "surgery", "surgery", died, surgery, ~surgery, "surgery"
    yield "delivery", "surgery", "surgery, day", day, surgery, ~surgery, ""
    yield "delivery", "assisted", "difficult", died, of["delivery"] >= 2, of["delivery"] < 2, ""
    for n in (1, 2, 3):
        yield "delivery", "assisted", f"delivery {n}", died, of["delivery"] == n, of["delivery"] == 0, ""
    yield "dam", "parity", "first", died, of["parity"] == 0, of["parity"] > 0, "first litter"
    yield "dam", "parity", "fourth", died, of["parity"] == 2, of["parity"] == 1, ""
    for name, line in (("condition", "condition"), ("breed", "breed"), ("sire", "sire")):
        for n in np.unique(of[name]):
            yield "dam", line, f"{line} {n}", died, of[name] == n, of[name] != n, ""
    for outcome, when in ((died, ""), (day, ", day"), (week, ", week")):
        for n in (0, 2):
            yield "weight", "weight", f"weight {n}{when}", outcome, of["weight"] == n, of["weight"] == 1, ""
    yield "weight", "term", "before term", died, of["term"] == 1, of["term"] == 0, ""
    for outcome, when in ((died, ""), (day, ", day"), (week, ", week")):
        yield "sex", "sex", f"male{when}", outcome, of["sex"] == 1, of["sex"] == 0, ""
    for name in ("breathing", "suck", "standing", "meconium"):
        for outcome, when in ((day, ", day"), (week, ", week"), (died, "")):
            yield "first hours", name, f"{name}{when}", outcome, alive & (of[name] > 0), alive & (of[name] == 0), ""
    for n, hours in ((1, 2), (2, 4), (3, 6), (4, 12)):
        for outcome, when in ((died, ""), (week, ", week")):
            asked = "fed late" if (hours == 12 and not when) else ""
            group, versus = late & (of["feed"] >= n), late & (of["feed"] < n)
            yield "feeding", "unfed", f"unfed by {hours} h{when}", outcome, group, versus, asked
    for name in ("amount", "source", "person"):
        for n in np.unique(of[name])[1:]:
            yield "feeding", name, f"{name} {n}", died, late & (of[name] == n), late & (of[name] == 0), ""
    yield from _mothering(one, alive, died)
    yield from _seasons(one, died, day, week)
    for n in range(4):
        yield "farm", "farm", f"farm {n}", died, of["farm"] == n, of["farm"] != n, ""
    for n in range(1, 5):
        for outcome, when in ((died, ""), (day, ", day")):
            yield "weather", "chill", f"chill {n}{when}", outcome, of["chill"] >= n, of["chill"] < n, ""
    yield "place", "place", "indoors", died, of["place"] == 0, of["place"] == 1, ""
    for outcome, when in ((died, ""), (week, ", week")):
        for n in range(5):
            yield "place", "pen", f"pen {n}{when}", outcome, of["pen"] == n, of["pen"] != n, ""
    for name in ("hour", "week"):
        for n in np.unique(of[name]):
            yield "time", name, f"{name} {n}", died, of[name] == n, of[name] != n, ""
    for n, cause in enumerate(CAUSES):
        of_cause = died & (one.cause == n)
        yield "cause", cause, f"{cause}, twins", of_cause, ~single, single, ""
        yield "cause", cause, f"{cause}, first", of_cause, of["parity"] == 0, of["parity"] > 0, ""
        yield "cause", cause, f"{cause}, surgery", of_cause, surgery, ~surgery, ""
        yield "cause", cause, f"{cause}, pen 4", of_cause, of["pen"] == 4, of["pen"] != 4, ""
    yield from _pairs(of, died, everyone)


def _mothering(one: Herd, alive: Mask, died: Mask) -> Iterator[Question]:
    failed, of, surgery = one.of["mothered"] == 1, one.of, one.of["delivery"] == 4
    yield "mothering", "surgery", "m surgery", failed, alive & surgery, alive & ~surgery, "mothering after surgery"
    groups = {
        "twins": one.size > 1, "first": of["parity"] == 0, "handled": of["handled"] == 1, "indoors": of["place"] == 0,
        "difficult": of["delivery"] >= 2, "light": of["weight"] == 0, "night": of["hour"] == 0,
    }  # fmt: skip
    for name, group in groups.items():
        yield "mothering", name, f"m {name}", failed, alive & group, alive & ~group, ""
    yield "mothering", "losses", "m losses", died, alive & failed, alive & ~failed, ""


def _seasons(one: Herd, died: Mask, day: Mask, week: Mask) -> Iterator[Question]:
    last = int(one.season.max())
    if not last:
        return
    now, before = one.season == last, one.season == last - 1
    yield "season", "season", "this season", died, now, before, "season"
    for outcome, when in ((day, ", day"), (week, ", week")):
        yield "season", "season", f"this season{when}", outcome, now, before, ""
    for n in range(last + 1):
        yield "season", "season", f"season {n}", died, one.season == n, one.season != n, ""
    for n, cause in enumerate(CAUSES):
        yield "season", "causes", f"season, {cause}", died & (one.cause == n), now, before, ""


PAIRED = {"parity": "dam", "weight": "weight", "pen": "place", "sex": "sex", "hour": "time", "breed": "dam"}


def _pairs(of: dict[str, NDArray[np.int64]], died: Mask, everyone: Mask) -> Iterator[Question]:
    names = list(PAIRED)
    for place, name in enumerate(names):
        for other in names[place + 1 :]:
            for n in np.unique(of[name])[:2]:
                for m in np.unique(of[other])[:2]:
                    group = (of[name] == n) & (of[other] == m)
                    yield PAIRED[name], f"{name} and {other}", f"{name} {n}, {other} {m}", died, group, everyone & ~group, ""


def claims_of_page(one: Herd) -> list[Claim]:
    """The herd's claims, each with the p that a page would give it."""
    asked = [row for row in questions(one) if row[4].any() and row[5].any()]
    starts = np.flatnonzero(np.diff(one.litter, prepend=-1))
    agree = {id(row[3]): agreement_of(one, row[3]) for row in asked}
    cells = np.array([_cells(row, starts, agree[id(row[3])]) for row in asked]).T
    a, n1, c, n0, z = cells
    blank = np.full(a.shape, nan)
    table = TwoByTwo(a, n1, c, n0, blank, blank, blank, blank, blank, z, True)
    with np.errstate(all="ignore"):
        p = skewed_p(table)
    few = (np.minimum(n1, n0) < MINIMUM) | (a + c < MINIMUM_EVENTS) | np.isnan(p)
    return [
        Claim(f"{family}/{what}", "page", family, line, "test", nan, nan, nan, float(p[i]), int(a[i]), int(n1[i]), int(c[i]),
              int(n0[i]), float(a[i] - n1[i] * c[i] / n0[i]), ("this",), question, not few[i])
        for i, (family, line, what, _, _, _, question) in enumerate(asked)
    ]  # fmt: skip


def agreement_of(one: Herd, outcome: Mask) -> float:
    """How much littermates agree in this outcome."""
    return agreement(outcome.astype(float), np.ones(len(outcome)), one.litter, int(one.litter[-1]) + 1)


def _cells(row: Question, starts: NDArray[np.int64], rho: float) -> tuple[float, ...]:
    """Events and newborns of group and others, and the score statistic with littermates exchangeable."""
    _, _, _, outcome, group, versus, _ = row
    exposed, others = (np.add.reduceat(mask.astype(float), starts) for mask in (group, versus))
    a, c = float((outcome & group).sum()), float((outcome & versus).sum())
    n1, n0 = float(exposed.sum()), float(others.sum())
    share, pooled = n1 / (n1 + n0), (a + c) / (n1 + n0)
    lean = ((exposed - share * (exposed + others)) ** 2).sum()
    alone = n1 * n0 / (n1 + n0)
    variance = pooled * (1 - pooled) * (alone + rho * (lean - alone))
    return a, n1, c, n0, (a - n1 * pooled) / sqrt(variance) if variance > 0 else nan

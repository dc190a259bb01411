"""How often does a page call something clear where nothing differs, and how often does it call what is there?

Run from the top of the project and keep what it prints:

    python -m tests.simulations.ledger | tee tests/simulations/ledger.txt

Each page is a set of claims about one invented herd: litters of one to four whose members share a risk drawn from a
beta distribution (correlation ``rho``), deaths that fall before or after one day and one week and have a cause, and
what was written down of them: delivery, dam, weight, sex, first hours, feeding, mothering-up, pens, weather, time. Some
190 claims in 13 or 14 families (of 40 dams, half of them have too little to say) hold groups of the same newborns
against others: nested (unfed by 2, 4, 6 and 12 h), overlapping (a pen, a place, the pairs of a watch list), sparse (six
causes, five deliveries), all correlated by the deaths they share. Each has the p of `estimates.contrast.compare`,
sparse tails allowed for as `measures.claims` does. The season is held against the one before it and, the swing
between the others allowed for (`estimates.seasons`), against all others.

First block, nothing differs: pages with anything clear, (a) each comparison by itself at 1 in 20, (b) by
Benjamini-Hochberg over all, (c) by the ledger without the allowance for sparse tails, (d) by the ledger. Second block,
one thing differs: pages on which it is called clear, by (b) and by the ledger, and on which its question asked
beforehand is; pages with something else called clear, and the mean share of that among all claims called clear. A claim
counts as "it" where it compares by what differs, or is of the same family. Third block: the p that is enough where
nothing else on the page differs (of the season for each of its two claims). Fourth block: a group of a tenth of the
newborns at the risk ratio that page one says would have been seen 8 times in 10. Standard errors of the simulation in
brackets.
"""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from math import nan, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.estimates.clusters import agreement
from neonatal_stats.estimates.contrast import p_values
from neonatal_stats.estimates.many_groups import benjamini_hochberg, skewed_like_counts
from neonatal_stats.estimates.planning import design_effect, ratio_seen
from neonatal_stats.estimates.proportion import wilson
from neonatal_stats.estimates.seasons import one_against_others
from neonatal_stats.estimates.standardisation import variance_under_one_risk
from neonatal_stats.estimates.two_by_two import TwoByTwo
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS, Verdict
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.ledger import decide
from neonatal_stats.season.settings import Settings
from tests.simulations.times import often

RNG_NUMBER = 20260712
SETTINGS = Settings()
MINIMUM = SETTINGS.minimum_group
Mask = NDArray[np.bool_]
LITTERS = (0.38, 0.46, 0.13, 0.03)
ALL_OTHERS = "this season, all others"
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


def herd(
    rng: np.random.Generator,
    dams: int,
    seasons: int,
    effect: str,
    rho: float,
    risk: float,
    group: float = 1.0,
) -> Herd:
    """A herd in which one thing, or nothing, goes with loss; ``group`` is the risk ratio of a marked tenth."""
    litters = dams * seasons
    sizes = rng.choice(np.arange(1, 5), p=LITTERS, size=litters)
    litter = np.repeat(np.arange(litters), sizes)
    one = Herd(rng, litter, np.repeat(np.arange(litters) // dams, sizes), sizes[litter])
    for name, shares in OF_LITTER.items():
        one.of[name] = rng.choice(len(shares), p=shares, size=litters)[litter]
    for name, shares in OF_NEWBORN.items():
        one.of[name] = rng.choice(len(shares), p=shares, size=len(litter))
    one.of["marked"] = (rng.permutation(len(litter)) < tenth(len(litter))).astype(np.int64)
    ratio = _ratios(one, effect) * np.where(one.of["marked"] == 1, group, 1.0)
    own = rng.beta(risk * (1 - rho) / rho, (1 - risk) * (1 - rho) / rho, litters)[litter]
    more = (
        (ratio - 1) * risk / (1 - risk)
    )  # so that the risk ratio is the one named, whatever the litters' spread
    one.died = (rng.random(len(litter)) < own) | (rng.random(len(litter)) < more)
    one.day = rng.choice([0.0, 0.5, 3.0, 20.0], p=[0.3, 0.3, 0.25, 0.15], size=len(litter))
    one.cause = rng.choice(len(CAUSES), p=[0.3, 0.2, 0.15, 0.1, 0.05, 0.2], size=len(litter))
    return one


def tenth(n: int) -> int:
    """A tenth of the newborns, and no fewer than a page compares."""
    return max(MINIMUM, round(n / 10))


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
            yield (
                "first hours",
                name,
                f"{name}{when}",
                outcome,
                alive & (of[name] > 0),
                alive & (of[name] == 0),
                "",
            )
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
    yield "place", "marked", "marked", died, of["marked"] == 1, of["marked"] == 0, ""
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
    yield (
        "mothering",
        "surgery",
        "m surgery",
        failed,
        alive & surgery,
        alive & ~surgery,
        "mothering after surgery",
    )
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
    yield "season", "season", ALL_OTHERS, died, now, ~now, "season"
    for outcome, when in ((day, ", day"), (week, ", week")):
        yield "season", "season", f"this season{when}", outcome, now, before, ""
    for n in range(last):
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
                    yield (
                        PAIRED[name],
                        f"{name} and {other}",
                        f"{name} {n}, {other} {m}",
                        died,
                        group,
                        everyone & ~group,
                        "",
                    )


def claims_of_page(one: Herd, *, plain: bool = False) -> list[Claim]:
    """The herd's claims, each with the p that a page would give it; ``plain``: sparse tails not allowed for."""
    asked = [row for row in questions(one) if row[4].any() and row[5].any()]
    starts = np.flatnonzero(np.diff(one.litter, prepend=-1))
    agree = {id(row[3]): agreement_of(one, row[3]) for row in asked}
    a, n1, c, n0, z = np.array([_cells(row, starts, agree[id(row[3])]) for row in asked]).T
    blank = np.full(a.shape, nan)
    with np.errstate(all="ignore"):
        p = p_values(TwoByTwo(a, n1, c, n0, *[blank] * 5, z, blank, blank, clustered=True))
        excess = a - n1 * c / n0
        swung = [row[2] == ALL_OTHERS for row in asked]
        p = np.where(swung, against_others(one) if any(swung) else nan, p)
        p = p if plain else skewed_like_counts(p, excess > 0, a, n1, c, n0)
    few = (np.minimum(n1, n0) < MINIMUM) | (a + c < MINIMUM_EVENTS) | np.isnan(p)
    counts = np.array([a, n1, c, n0]).astype(int).T.tolist()
    return [
        Claim(f"{row[0]}/{row[2]}", "page", row[0], row[1], "test", nan, nan, nan, float(p[i]), *counts[i],
              float(excess[i]), ("this",), row[6], not few[i])
        for i, row in enumerate(asked)
    ]  # fmt: skip


def against_others(one: Herd) -> float:
    """The p of the last season against all others, their swing allowed for; the pair alone where there is one other."""
    seasons = int(one.season.max()) + 1
    n, lost = np.bincount(one.season), np.bincount(one.season, one.died)
    variance = variance_under_one_risk(
        one.died, one.season, np.zeros_like(one.season), [1.0], cluster=one.litter
    )
    low, high = wilson(lost, n, level=SETTINGS.level)
    return one_against_others(lost / n, low, high, variance, seasons - 1, level=SETTINGS.level).difference.p


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


def by_ledger(claims: Sequence[Claim]) -> list[Claim]:
    """What the ledger calls clear."""
    return [entry.claim for entry in decide(claims, SETTINGS).entries if entry.verdict is Verdict.CLEAR]


def over_all(claims: Sequence[Claim]) -> list[Claim]:
    """What Benjamini-Hochberg over all comparisons calls clear."""
    tried = [claim for claim in claims if claim.sayable]
    q = benjamini_hochberg([claim.p for claim in tried])
    return [claim for claim, one in zip(tried, q, strict=True) if one <= SETTINGS.false_discovery_share]


def null_page(job: tuple[int, int, int, float, float]) -> tuple[float, ...]:
    """Claims decided; anything clear by (a) to (d)."""
    stream, dams, seasons, rho, risk = job
    made = herd(np.random.default_rng([RNG_NUMBER, 0, stream]), dams, seasons, "nothing", rho, risk)
    claims, plain = claims_of_page(made), claims_of_page(made, plain=True)
    tried = [claim for claim in plain if claim.sayable]
    found = (any(claim.p < 0.05 for claim in tried), over_all(plain), by_ledger(plain), by_ledger(claims))
    return len(tried), *(float(bool(one)) for one in found)


CONCERNS = {
    "surgery": ("delivery", "surgery"), "twins and triplets": ("litter size", "twins"), "unfed": ("feeding", "unfed"),
    "season": ("season", "season"), "pen": ("place", "pen"),
}  # fmt: skip
ASKED_BY = {
    "surgery": "surgery",
    "twins and triplets": "twins",
    "unfed": "fed late",
    "season": "season",
    "pen": "",
}


def true_page(job: tuple[int, int, int, str]) -> tuple[float, ...]:
    """It stands out by (b), by the ledger; its question is clear; something else is; its share of all called clear."""
    stream, dams, seasons, effect = job
    made = herd(np.random.default_rng([RNG_NUMBER, 1, stream]), dams, seasons, effect, 0.15, 0.10)
    claims = claims_of_page(made)
    family, word = CONCERNS[effect]

    def of_it(called: Sequence[Claim]) -> list[Claim]:
        return [claim for claim in called if claim.family == family or word in claim.key]

    plain, called = of_it(over_all(claims)), by_ledger(claims)
    it = of_it(called)
    answered = any(claim.asked == ASKED_BY[effect] != "" for claim in it)
    other = len(called) - len(it)
    return float(bool(plain)), float(bool(it)), float(answered), float(other > 0), other / max(len(called), 1)


def seen_page(job: tuple[int, int, int, float]) -> tuple[float, ...]:
    """The ratio that would be seen 8 times in 10, and whether it was; NaN where nothing could be."""
    stream, dams, seasons, risk = job
    rng = np.random.default_rng([RNG_NUMBER, 2, stream])
    made = herd(rng, dams, seasons, "nothing", 0.15, risk)
    p = decide(claims_of_page(made), SETTINGS).typical
    if np.isnan(p):
        return nan, nan
    n = len(made.litter)
    effect = design_effect(np.bincount(made.litter), agreement_of(made, made.died))
    ratio = ratio_seen(tenth(n), n - tenth(n), risk, design_effect=effect, power=0.8, p=p)
    if np.isnan(ratio) or ratio * risk > 0.9:
        return nan, nan
    again = claims_of_page(herd(rng, dams, seasons, "nothing", 0.15, risk, ratio))
    return ratio, float(next(claim.p for claim in again if claim.key == "place/marked") <= p)


NULL = [
    (40, 1, 0.15, 0.12),
    (350, 1, 0.15, 0.12),
    (350, 4, 0.15, 0.12),
    (350, 1, 0.3, 0.2),
    (350, 4, 0.02, 0.06),
]
TRUE = [(350, 4, effect) for effect in CONCERNS] + [
    (350, 1, effect) for effect in ("surgery", "unfed", "pen")
]
SEEN = [(40, 1, 0.12), (350, 1, 0.12), (350, 4, 0.12), (350, 1, 0.06)]


def main() -> None:
    """Print the four blocks."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--pages", type=int, default=often(1000))
    pages = parser.parse_args().pages
    print(
        f"random generator number {RNG_NUMBER}; {datetime.date.today()}; {SETTINGS.false_discovery_share:.0%} allowed\n"
    )
    with ProcessPoolExecutor() as pool:

        def worked(page: Callable[[Any], tuple[float, ...]], jobs: Sequence[Any]) -> NDArray[np.float64]:
            return np.array(list(pool.map(page, jobs, chunksize=20)))

        print("Nothing differs: pages with anything clear")
        print("dams x seasons   rho  risk  pages  claims  (a) each   (b) over all  (c) plain p   (d) ledger")
        for line, (dams, seasons, rho, risk) in enumerate(NULL):
            found = worked(null_page, [(10_000 * line + i, dams, seasons, rho, risk) for i in range(pages)])
            shown = "  ".join(share(found[:, i]) for i in range(1, 5))
            print(
                f"{dams:4d} x {seasons}  {rho:10.2f}  {risk:.2f}  {pages:5d}  {found[:, 0].mean():6.0f}  {shown}",
                flush=True,
            )
        some = max(pages // 3, 1)
        print("\nOne thing differs (risk of the rest 0.10)")
        print("dams x seasons  what                ratio  pages  (b) finds it  ledger finds  its question"
              "  something else  share of else")  # fmt: skip
        for line, (dams, seasons, effect) in enumerate(TRUE):
            found = worked(true_page, [(10_000 * line + i, dams, seasons, effect) for i in range(some)])
            shown = "  ".join(share(found[:, i]) for i in range(5))
            print(
                f"{dams:4d} x {seasons}  {effect:>24s}  {EFFECTS[effect]:5.1f}  {some:5d}  {shown}",
                flush=True,
            )
        print_alone()
        print("\nA tenth of the newborns at the ratio that would be seen 8 times in 10")
        print("dams x seasons  risk  pages  ratio  seen")
        for line, (dams, seasons, risk) in enumerate(SEEN):
            found = worked(seen_page, [(10_000 * line + i, dams, seasons, risk) for i in range(some)])
            found = found[~np.isnan(found[:, 0])]
            if not len(found):
                print(
                    f"{dams:4d} x {seasons}  {risk:11.2f}  none: not even a tenth of which nearly all were lost"
                )
                continue
            ratio, seen = np.median(found[:, 0]), share(found[:, 1])
            print(f"{dams:4d} x {seasons}  {risk:11.2f}  {len(found):5d}  {ratio:5.1f}  {seen}", flush=True)


def print_alone() -> None:
    """The third block, of one page of each size."""
    print(
        "\nThe p that is enough where nothing else on the page differs (found by looking: the middle of its lines)"
    )
    print("dams x seasons  surgery  season   twins  found by looking")
    for dams, seasons in ((40, 1), (350, 1), (350, 4)):
        made = herd(np.random.default_rng([RNG_NUMBER, 3]), dams, seasons, "nothing", 0.15, 0.12)
        ledger = decide(claims_of_page(made), SETTINGS)
        asked = {entry.claim.asked: entry.alone for entry in ledger.entries}
        shown = "  ".join(f"{asked.get(name, nan):6.4f}" for name in ("surgery", "season", "twins"))
        print(f"{dams:4d} x {seasons}  {shown:>30s}  {ledger.typical:16.5f}", flush=True)


def share(found: NDArray[np.float64]) -> str:
    """A mean of yes and no (or of shares) in percent, and its standard error."""
    if not len(found):
        return "      -      "
    return f"{found.mean():6.1%} ({100 * found.std() / sqrt(len(found)):.1f})"


if __name__ == "__main__":
    main()

"""How often does an outbreak stand where there is none, and is one found where it is? Prints one table; not a test.

Run from the top of the project and keep what it prints (some minutes):

    python -m tests.simulations.outbreak | tee tests/simulations/outbreak.txt

The chapter alone, over invented seasons. Of two demo kinds (`neonatal_stats/demo`), drawn anew, in which weather and
everything else leaves the calendar alone; of the hill flock with its weather, which truly kills in bad spells; of the
demo kind with an outbreak; of the farms of `tests/chapters/sick_pens.py`; and of the page's own flock
(`page_flock`), whose outbreak goes on to the season's end from the day by which half are born.

Clear is p under 0.0013, what a family needs on a page on which nothing else differs. For each kind the share of seasons
with p under 0.05 and 0.01, clear, clear and of the place where it is (or clear and of all places), and of those the
share whose first day lies within four days of the true one, and whose interval holds it.
"""

from __future__ import annotations

import datetime
import sys
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters import outbreak
from neonatal_stats.chapters.counted.outbreak import Cluster
from neonatal_stats.demo import truth
from neonatal_stats.demo.scenario import Draws, Plan, plan_of
from neonatal_stats.demo.seen import written_births
from neonatal_stats.measures.on_the_calendar import EVERYWHERE
from neonatal_stats.season.model import Season, in_focus
from tests.chapters.build import season
from tests.chapters.sick_pens import START, Farm, farm_season
from tests.simulations.page_cells import CELLS
from tests.simulations.times import often

RNG_NUMBER = 20260713
CLEAR = 0.0013
WITHIN_D = 4
KEPT = (
    "farm", "season", "species", "newborn_id", "dam_id", "born_at", "born_on", "litter_size", "dam_parity", "group",
    "born_alive", "died", "died_at", "last_alive_at", "found_dead_at", "cause", "left_at", "last_seen_at",
)  # fmt: skip
Made = Callable[[int], Season]


def demo_season(plan: Plan, number: int) -> Season:
    """The last season of a demo plan, with draws of its own; as its keeper writes it, without faults."""
    draws = Draws(RNG_NUMBER, plan["position"], number)
    name = plan["seasons"][-1]
    dams = truth.dams_by_season({**plan, "seasons": [name]}, draws)[0]
    weather = truth.hourly_weather(plan, name, draws)
    born = truth.with_first_hours(truth.newborns(dams, name, plan, draws), plan, draws)
    born = truth.with_deaths(born, weather, plan, draws)
    gathered = truth.first_moment(plan, name) + pd.Timedelta(days=plan["gathered_after_d"])
    born = born.assign(left_h=np.inf, gathered=gathered)
    page = written_births(truth.Truth(plan["enterprise"], name, born, weather), plan, draws)
    page = page[[column for column in KEPT if column in page]]
    rows: list[dict[str, Any]] = [
        {str(name): cell for name, cell in row.items() if pd.notna(cell)} for row in page.to_dict("records")
    ]
    return season([{"born_at": None, **row} if "born_on" in row else row for row in rows])


def demo_kind(enterprise: str, **effects: float) -> Made:
    """Seasons of a demo kind with some of its effects set otherwise."""
    plan = plan_of(enterprise)
    plan = {**plan, "effects": plan["effects"] | effects}
    return lambda number: demo_season(plan, number)


def farm_kind(farm: Farm) -> Made:
    """Seasons of an invented farm."""
    return lambda number: farm_season(farm, number)


def page_kind(cell: str) -> Made:
    """The last season of a cell of the page's proof."""

    def made(number: int) -> Season:
        seasons = CELLS[cell].season(number)
        return in_focus(seasons, seasons.under_review)

    return made


def kinds() -> Iterator[tuple[str, Made, str, pd.Timestamp | None, int]]:
    """Name, how a season is made, the place where it is, its first day, how many seasons."""
    calm = {"hazard_per_100_chill": 1.0}
    yield "hill flock, weather harmless", demo_kind("hill_sheep", **calm), "", None, 200
    yield "goat herd", demo_kind("dairy_goats"), "", None, 200
    yield "suckler herd", demo_kind("suckler_cows"), "", None, 100
    yield "hill flock, weather kills", demo_kind("hill_sheep"), EVERYWHERE, None, 100
    yield "a farm, 350 dams", farm_kind(Farm()), "", None, 100
    yield "Bank always twice as bad", farm_kind(Farm(worse=2.0)), "", None, 100
    yield "Bank always three times as bad", farm_kind(Farm(worse=3.0)), "", None, 100
    always = Farm(sick=0.4, sick_days=(0, 60))  # about 8 in 100 by ten days of age, whenever born
    yield "Croft always six times the infection", farm_kind(always), "", None, 100
    bad_week = START + pd.Timedelta(days=10)
    yield "six days four times as bad, everywhere", farm_kind(Farm(spell=4.0)), EVERYWHERE, bad_week, 100
    week_two = START + pd.Timedelta(days=7)
    yield "30 % in week two, Croft", farm_kind(Farm(sick=0.30)), "Croft", week_two, 100
    yield "20 % in week two, Croft", farm_kind(Farm(sick=0.20)), "Croft", week_two, 100
    yield "30 % in week two, 150 dams", farm_kind(Farm(sick=0.30, dams=150)), "Croft", week_two, 100
    vale = demo_kind("vale_sheep")
    yield "demo flock with an outbreak", vale, "Long Pen", pd.Timestamp("2026-03-18"), 100
    yield "page flock, 30 % from day 14 on", page_kind("outbreak"), "Croft", pd.Timestamp("2026-04-16"), 100


def line(name: str, made: Made, place: str, onset: pd.Timestamp | None, seasons: int) -> str:
    """One line of the table."""
    found = [outbreak.answer(made(number)) for number in range(seasons)]
    clusters = [one.cluster for one in found]
    p = np.array([outbreak.claims(one)[0].decided_by if one.cluster else 1.0 for one in found])
    right = [one for one, own in zip(clusters, p, strict=True) if one and own < CLEAR and one.place == place]
    shares = [
        (p < 0.05).mean(),
        (p < 0.01).mean(),
        (p < CLEAR).mean(),
        *([len(right) / seasons] if place else []),
    ]
    told = "  ".join(f"{share:6.1%}" for share in shares)
    return f"{name:40s} {seasons:7d}  {told}  {_dated(right, onset)}".rstrip()


def _dated(right: list[Cluster], onset: pd.Timestamp | None) -> str:
    if onset is None or not right:
        return ""
    near = np.mean([abs((one.onset - onset).days) <= WITHIN_D for one in right])
    held = np.mean([one.onset_low <= onset <= one.onset_high for one in right])
    width = np.median([(one.onset_high - one.onset_low).days for one in right])
    return f"{near:8.1%}  {held:8.1%}  {width:6.0f}"


def main() -> None:
    """Print the table."""
    print(f"random generator number {RNG_NUMBER}; {datetime.date.today()}; clear: p under {CLEAR}\n")
    print(f"{'':40s} seasons    0.05    0.01   clear  right    in {WITHIN_D} days  interval  days wide")
    for name, made, place, onset, seasons in kinds():
        if len(sys.argv) < 2 or sys.argv[1] in name:
            print(line(name, made, place, onset, often(seasons, least=1)), flush=True)


if __name__ == "__main__":
    main()

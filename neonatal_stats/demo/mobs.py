"""An invented flock counted by the mob: what is true of it, and the book with a line a mob and season."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

import numpy as np
import pandas as pd
from scipy.special import expit, logit

from neonatal_stats.demo.scenario import Array, Draws, Plan

BETTER_AUTUMN = "2026"


def mobs_text(name: str = "mobs.toml") -> str:
    """The scenario file of the flock as it stands, or its README ("mobs.txt")."""
    return files("neonatal_stats.demo").joinpath(name).read_text(encoding="utf-8")


@cache
def mobs_plan() -> Plan:
    """The scenario of the flock as nested tables."""
    told: Plan = tomllib.loads(mobs_text())
    return told


def mobs_pages() -> pd.DataFrame:
    """The book: one row a mob and season, with the tidy columns of mobs."""
    plan = mobs_plan()
    rows = [
        _row(plan, season, name, Draws(plan["generator_number"], int(season), place))
        for season in plan["seasons"]
        for place, name in enumerate(plan["mobs"])
    ]
    return pd.DataFrame(rows)


def mobs_settings() -> str:
    """The settings that go with it."""
    plan = mobs_plan()
    lines = ["# Invented like the flock.", f"price = {plan['price']}", f'currency = "{plan["currency"]}"']
    return "\n".join([*lines, f'region = "{plan["region"]}"', ""])


def _row(plan: Plan, season: str, name: str, draws: Draws) -> dict[str, object]:
    """A mob's year, ewe by ewe and lamb by lamb, of which only the counts are written down."""
    mob = plan["mobs"][name]
    ewes = int(mob["ewes"] * (0.9 + 0.2 * draws.uniform(1)[0]))
    dry = int(draws.yes(plan["dry_share"], ewes).sum())
    carry = "more_twins" if mob["carry"] == "mixed" and season == BETTER_AUTUMN else mob["carry"]
    size = draws.pick([1, 2, 3], plan["shares"][carry], ewes - dry).astype(int)
    counts = _lambs(plan, season, size, draws)
    dates = {name: f"{season}-{plan[name]}" for name in ("joined_on", "scanned_on", "marked_on", "weaned_on")}
    scanned = {
        f"scanned_{word}": int((size == n).sum()) for n, word in enumerate(("single", "twin", "triplet"), 1)
    }
    found: dict[str, object] = {
        "farm": plan["farm"], "season": season, "species": plan["species"], "mob": name,
        "joined_on": dates["joined_on"], "joined": ewes, "scanned_on": dates["scanned_on"], "scanned_dry": dry,
        **scanned, "born": counts["born"], "born_dead": counts["born_dead"], "marked_on": dates["marked_on"],
        "marked": counts["marked"], "weaned_on": dates["weaned_on"], "weaned": counts["weaned"],
        "dams_died": int(draws.yes(plan["ewes_die"], ewes).sum()),
    }  # fmt: skip
    return found


def _lambs(plan: Plan, season: str, size: Array, draws: Draws) -> dict[str, int]:
    """How many were born, born dead, there at marking and at weaning."""
    litter = np.repeat(np.arange(len(size)), size)
    of = size[litter] - 1
    lost = {step: np.asarray(shares)[of] for step, shares in plan["lost"].items()}
    wet = plan["wet_spring"]
    own = plan["mob_sd"] * draws.normal(1)[0] + wet["log_odds"] * (season == wet["season"])
    shared = plan["litter_sd"] * draws.normal(len(size))[litter]
    n = len(litter)
    born = ~draws.yes(lost["before_birth"], n)
    alive = born & ~draws.yes(lost["born_dead"], n)
    marked = alive & ~draws.yes(expit(logit(lost["to_marking"]) + own + shared), n)
    weaned = marked & ~draws.yes(lost["to_weaning"], n)
    numbers = {
        "born": born.sum(),
        "born_dead": (born & ~alive).sum(),
        "marked": marked.sum(),
        "weaned": weaned.sum(),
    }
    return {name: int(one) for name, one in numbers.items()}

"""The invented lists: the book of a flock counted by the mob, and those of a practice and its laboratory.

Of the mobs it is said what is true of them, a line a mob and season. The laboratory has bloods and colostrum of a dairy
herd without any births, and the carcasses and treatments of the lowland flock.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

import numpy as np
import pandas as pd
from scipy.special import expit, logit

from neonatal_stats.demo.scenario import Array, Draws, Plan, scenario

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
        _mob(plan, season, name, Draws(plan["generator_number"], int(season), place))
        for season in plan["seasons"]
        for place, name in enumerate(plan["mobs"])
    ]
    return pd.DataFrame(rows)


def mobs_settings() -> str:
    """The settings that go with it."""
    plan = mobs_plan()
    lines = ["# Invented like the flock.", f"price = {plan['price']}", f'currency = "{plan["currency"]}"']
    return "\n".join([*lines, f'region = "{plan["region"]}"', ""])


def _mob(plan: Plan, season: str, name: str, draws: Draws) -> dict[str, object]:
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


FOLDER = "laboratory"
HERD, COWS, CALVES = "Demo Dairy", 46, 44
README = """# Invented lists of a practice and its laboratory

Every farm, animal, sample and carcass in this folder is invented. It is written by `neonatal-stats demo DIR` with the
other demo records; two runs write the same bytes.

`parlour_samples.csv` and `parlour_colostrum.csv`: a dairy herd whose vet bled 44 calves, by the day alone, and whose
keeper tested the colostrum of 46 cows. No births are on record, so there are no losses to review. Powder and late
milkings are the weaker ones.

    neonatal-stats review parlour_samples.csv parlour_colostrum.csv --out bloods

`vale_examinations.csv` and `vale_treatments.csv`: carcasses opened and treatments written down in the lowland flock of
`../outbreak`, half of whose losses were opened. What was written down as cold was often infection. Whoever was treated
was mostly in danger already; no treatment has any effect here.

    neonatal-stats review ../outbreak/vale_sheep_2026.csv vale_examinations.csv vale_treatments.csv --out examined
"""


def laboratory_pages(vale: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """The four lists by their path; ``vale`` is the written births of the lowland flock."""
    draws = Draws(scenario()["generator_number"], 97)
    colostrum, samples = _dairy(draws)
    return {
        f"{FOLDER}/parlour_samples.csv": samples,
        f"{FOLDER}/parlour_colostrum.csv": colostrum,
        f"{FOLDER}/vale_examinations.csv": _examinations(vale, draws),
        f"{FOLDER}/vale_treatments.csv": _treatments(vale, draws),
    }


def _dairy(draws: Draws) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Colostrum of each cow, and the blood of the calves that drank it."""
    cow = np.arange(COWS)
    born = pd.Timestamp("2026-02-02 04:00") + pd.to_timedelta(
        np.floor(cow * 26 + 20 * draws.uniform(COWS)), "h"
    )
    after_h = np.round(
        draws.pick((1.0, 3.0, 8.0, 13.0), (5, 4, 2, 1), COWS).astype(float) + draws.uniform(COWS), 1
    )
    parity = draws.pick((1, 2, 3, 4, 5), (3, 3, 2, 1, 1), COWS).astype(int)
    brix = np.round(24.5 + 0.6 * (parity - 2) - 0.55 * after_h + 2.6 * draws.normal(COWS), 1)
    fed = draws.pick(("dam", "stored", "powder"), (6, 2, 2), COWS)
    bled = pd.Series(born).dt.normalize() + pd.to_timedelta(
        draws.pick((1, 2, 3, 5, 9), (2, 4, 4, 2, 1), COWS), "D"
    )
    protein = 5.75 + 0.05 * (brix - 22) - 0.5 * (fed == "powder") + 0.45 * draws.normal(COWS)
    names = [f"P{412 + 3 * one}" for one in cow]
    calves = [f"{one:04d}" for one in 2101 + cow]
    colostrum = pd.DataFrame(
        {"dam_id": names, "farm": HERD, "species": "cattle", "dam_parity": parity, "milked_after_h": after_h,
         "source": "dam", "brix_pct": brix, "newborn_id": np.where(fed == "dam", calves, "")}
    )  # fmt: skip
    samples = pd.DataFrame(
        {"newborn_id": calves, "sampled_at": bled.dt.strftime("%Y-%m-%d"),
         "total_protein_g_per_dl": np.round(protein, 1), "farm": HERD, "source": fed, "species": "cattle",
         "dam_id": names, "dam_parity": parity, "born_on": pd.Series(born).dt.strftime("%Y-%m-%d")}
    )  # fmt: skip
    return colostrum, samples.head(CALVES)


SIGNS = ("autolysed", "breathed", "walked", "fed", "fat_reserves")


def _examinations(vale: pd.DataFrame, draws: Draws) -> pd.DataFrame:
    """Half of the lost with a tag, opened the day after they were found; one in ten of the born dead had lived."""
    lost = vale[(vale["died"] == "yes") & vale["newborn_id"].notna()].reset_index(drop=True)
    lost = lost[draws.yes(0.55, len(lost))].reset_index(drop=True)
    n = len(lost)
    still = (lost["born_alive"] == "no").to_numpy() & ~draws.yes(0.1, n)
    decayed = still & draws.yes(0.25, n)
    walked = ~still & draws.yes(0.75, n)
    fed = walked & draws.yes(0.7, n)
    cause = lost["cause"].to_numpy(dtype=object)
    cold = cause == "starvation-mismothering-exposure"
    found = np.where(still, np.where(decayed, "infection", "birth injury or difficult birth"), cause)
    found = np.where(cold & fed, "infection", found)
    found = np.where(draws.yes(0.15, n), "unknown", found)
    sent = (found == "infection") & draws.yes(0.8, n)
    agent = np.where(
        decayed, "Chlamydia abortus", draws.pick(("Escherichia coli", "Clostridium perfringens"), (3, 1), n)
    )
    positive = sent & draws.yes(0.75, n)
    day = pd.to_datetime(lost["found_dead_at"].fillna(lost["died_at"]).fillna(lost["born_at"])).dt.normalize()
    return pd.DataFrame(
        {
            "newborn_id": lost["newborn_id"],
            "dam_id": lost["dam_id"],
            "farm": lost["farm"],
            "examined_at": (day + pd.Timedelta(days=1)).dt.strftime("%Y-%m-%d"),
            "autolysed": np.where(decayed, "yes", "no"),
            "breathed": np.where(still, "no", "yes"),
            "walked": np.where(walked, "yes", "no"),
            "fed": np.where(fed, "yes", "no"),
            "fat_reserves": np.where(still, "whole", np.where(fed, "partly used", "used up")),
            "cause": found,
            "cause_basis": "post-mortem",
            "laboratory": np.where(positive, "agent found", np.where(sent, "nothing found", "not sent")),
            "agent": np.where(positive, agent, ""),
            "person": "vet",
        }
    )


def _treatments(vale: pd.DataFrame, draws: Draws) -> pd.DataFrame:
    """Navel care of most, warming and energy of the cold ones, antibiotics of the ill, and the dams' vaccine before."""
    alive = vale[(vale["born_alive"] == "yes") & vale["newborn_id"].notna()].reset_index(drop=True)
    n = len(alive)
    born, cold = pd.to_datetime(alive["born_at"]), alive["warmed"] == "yes"
    age = pd.Series(np.where(draws.yes(0.5, n), 2.0, 7.0))
    taken = alive["rectal_temperature_c"].where(
        alive["rectal_temperature_c"].notna(), np.round(35.0 + 3 * draws.uniform(n), 1)
    )
    energy = cold & draws.yes(0.7, n)
    order = np.where(draws.yes(0.75, n), -0.5, 0.5)
    ill = (alive["cause"] == "infection").to_numpy() & draws.yes(0.5, n) | draws.yes(0.02, n)
    parts = [
        _rows(alive, draws.yes(0.85, n), born + pd.Timedelta(minutes=30), "navel care"),
        _rows(alive, cold, born + _h(age), "warmed", taken),
        _rows(alive, energy, born + _h(age + order), "energy", taken),
        _rows(alive, ill, born + pd.Timedelta(hours=20), "antibiotic"),
    ]
    dams = vale.drop_duplicates("dam_id").dropna(subset=["dam_id"]).reset_index(drop=True)
    given = dams[draws.yes(0.9, len(dams))]
    vaccine = pd.DataFrame({"dam_id": given["dam_id"], "farm": given["farm"], "given_at": "2026-02-10",
                            "treatment": "vaccine of the dam"})  # fmt: skip
    table = pd.concat([*parts, vaccine], ignore_index=True)
    names = ["newborn_id", "dam_id", "farm", "given_at", "treatment", "rectal_temperature_c"]
    return table[names].sort_values(["given_at", "newborn_id", "dam_id", "treatment"], ignore_index=True)


def _h(hours: pd.Series) -> pd.Series:
    return pd.to_timedelta(hours.to_numpy(), "h").to_series(index=hours.index)


def _rows(
    alive: pd.DataFrame,
    which: np.ndarray | pd.Series,
    at: pd.Series,
    what: str,
    taken: pd.Series | None = None,
) -> pd.DataFrame:
    chosen = np.asarray(which, dtype=bool)
    kept = alive[chosen]
    return pd.DataFrame(
        {
            "newborn_id": kept["newborn_id"],
            "dam_id": kept["dam_id"],
            "farm": kept["farm"],
            "given_at": at[chosen].dt.strftime("%Y-%m-%d %H:%M"),
            "treatment": what,
            "rectal_temperature_c": np.nan if taken is None else taken[chosen],
        }
    )

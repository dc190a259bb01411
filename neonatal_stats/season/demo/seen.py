"""The truth as a keeper writes it down: deaths found at rounds, heaped times, items not seen."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.clock import at_age, death_as_seen, elapsed_as_written, heaped_moment
from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.identities import dam_names, newborn_names
from neonatal_stats.season.demo.scenario import Plan
from neonatal_stats.season.demo.truth import Truth
from neonatal_stats.vocabulary.columns import BIRTHS

HIDDEN = ("_litter", "_death_h", "_fed_h", "_stood_h", "_meconium_h", "_alive_to_h")
MOTHERING_JUDGED_AT_H = 12.0
HARD_TO_START = ("stimulated; breath given", "stimulated; oxygen", "airway cleared; stimulated; drug")


def written_births(truth: Truth, plan: Plan, draws: Draws) -> pd.DataFrame:
    """The births table as the farm keeps it, in order of birth; `HIDDEN` columns are for the next steps."""
    births = _as_known(truth.births, draws)
    page = pd.DataFrame({"farm": plan["farm"], "season": truth.season}, index=births.index)
    page = page.assign(
        species=plan["species"],
        newborn_id=newborn_names(births, plan, draws),
        dam_id=dam_names(births["number"], plan),
        sire_id="S" + births["sire"].astype(str).str.zfill(2),
        breed=births["breed"],
        litter_id="L" + truth.season[-2:] + "-" + (births["litter"] + 1).astype(str).str.zfill(3),
        born_at=heaped_moment(births["born"], draws),
        born_on=pd.Series(pd.NaT, index=births.index, dtype="datetime64[ns]"),
        birth_order=births["birth_order"],
        sex=np.where(draws.yes(0.004, len(births)), "unknown", births["sex"]),
        birth_weight_kg=births["weight_kg"].round(1),
        born_alive=_yes_no(~births["stillborn"]),
        _litter=births["litter"],
    )
    _write_dam_and_birth(page, births)
    _write_fate(page, births, plan, draws)
    _write_first_hours(page, births, plan, draws)
    _write_mothering(page, births, plan, draws)
    return _with_gaps(page, births, plan, draws)


def _as_known(births: pd.DataFrame, draws: Draws) -> pd.DataFrame:
    """The truth up to where watching ended: sold, lost sight of, or gathered; later deaths are not known."""
    n = len(births)
    gathered = births["gathered"] + pd.Timedelta(hours=9)
    gathered_h = (gathered - births["born"]).dt.total_seconds() / 3600
    lost_sight_h = np.where(draws.yes(0.015, n), np.round(24 * (10 + 20 * draws.uniform(n))), np.inf)
    last_seen_h = np.minimum(gathered_h, lost_sight_h)
    watched_h = np.minimum(last_seen_h, births["left_h"])
    known = births["death_h"] <= watched_h
    return births.assign(
        death_h=births["death_h"].where(known, np.inf),
        cause=births["cause"].where(known),
        left_h=births["left_h"].where(~known & (births["left_h"] <= last_seen_h), np.inf),
        last_seen_h=pd.Series(last_seen_h).where(~known & (births["left_h"] > last_seen_h), np.inf),
    )


def _yes_no(truth: pd.Series) -> np.ndarray:
    return np.where(truth, "yes", "no").astype(object)


def _write_dam_and_birth(page: pd.DataFrame, births: pd.DataFrame) -> None:
    page["litter_size"] = births["litter_size"]
    page["gestation_d"] = births["gestation_d"].astype(int)
    page["premature"] = _yes_no(births["premature"])
    page["delivery"] = births["delivery"]
    page["dam_parity"] = births["parity"]
    page["dam_age_y"] = births["age_y"]
    page["dam_condition"] = births["condition"]
    page["birth_place"] = np.where(births["outdoors"], "outdoors", "indoors")
    page["group"] = births["group"]


def _write_fate(page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws) -> None:
    seen = death_as_seen(births, page["born_at"], plan, draws)
    left_at = at_age(page["born_at"], births["left_h"]).dt.floor("h")
    dead = np.isfinite(births["death_h"])
    left = np.isfinite(births["left_h"])
    n = len(births)
    page["died"] = _yes_no(dead)
    for name in ("died_at", "last_alive_at", "found_dead_at"):
        page[name] = seen[name]
    page["_death_h"] = seen["age_h"]
    page["cause"] = births["cause"]
    basis = draws.pick(
        ["keeper's opinion", "vet's opinion", "post-mortem", "none"], [0.55, 0.15, 0.12, 0.18], n
    )
    page["cause_basis"] = pd.Series(basis).where(dead)
    page["left_at"] = left_at
    reason = draws.pick(["sold", "moved", "lent", "other"], [0.7, 0.2, 0.05, 0.05], n)
    page["left_reason"] = pd.Series(reason).where(left)
    page["last_seen_at"] = at_age(page["born_at"], births["last_seen_h"]).dt.round("h")


def _write_first_hours(page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws) -> None:
    alive = ~births["stillborn"]
    n = len(births)
    page["breathing_after_s"] = births["breathing_s"].round().where(alive)
    page["resuscitation"] = _resuscitation(births, draws)
    unchecked = draws.yes(plan["not_checked_share"], n)
    page["suck_reflex"] = births["suck_reflex"].mask(unchecked, "not checked").where(alive)
    for name in ("stood", "fed", "meconium"):
        hours, text = elapsed_as_written(births[f"{name}_h"], page, births, draws)
        page[f"_{name}_h"] = hours
        page[f"{name}_after_min"] = text
    _alive_when_last_seen_to(page)
    page["handled"] = pd.Series(_yes_no(births["handled"])).where(alive)
    temperature = births["temperature_c"].round(1)
    page["rectal_temperature_c"] = temperature.where(alive & (births["death_h"] > 1))
    page["warmed"] = pd.Series(_yes_no(temperature < 37.8)).where(alive)


def _alive_when_last_seen_to(page: pd.DataFrame) -> None:
    """A newborn seen to feed was alive then: last_alive_at is never earlier; _alive_to_h is the sure age."""
    did = at_age(page["born_at"], page[["_stood_h", "_fed_h", "_meconium_h"]].max(axis=1))
    page["last_alive_at"] = page["last_alive_at"].mask(did > page["last_alive_at"], did)
    sure = page["died_at"].fillna(page["last_alive_at"])
    page["_alive_to_h"] = ((sure - page["born_at"]).dt.total_seconds() / 3600).fillna(page["_death_h"])


def _resuscitation(births: pd.DataFrame, draws: Draws) -> pd.Series:
    seconds, n = births["breathing_s"], len(births)
    done = pd.Series(draws.pick(HARD_TO_START, [0.5, 0.3, 0.2], n))
    done = done.mask(seconds < 110, "airway cleared; stimulated").mask(seconds < 60, "airway cleared")
    return done.mask(seconds < 35, "none").where(~births["stillborn"])


def _write_mothering(page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws) -> None:
    n = len(births)
    kept_apart = plan["effects"]["not_mothered_share"] == 0
    judged = (births["death_h"] > MOTHERING_JUDGED_AT_H) & (not kept_apart)
    verdict = np.where(births["not_mothered"], "no", "yes")
    page["mothered_up"] = pd.Series(np.where(judged, verdict, "not judged")).where(~births["stillborn"])
    after_failure = draws.pick(["fostered", "artificial", "dam"], [0.4, 0.4, 0.2], n)
    spare = (births["birth_order"] > 2) & draws.yes(0.3, n)
    rearing = np.select([births["not_mothered"], spare], [after_failure, "artificial"], "dam")
    rearing = np.where(kept_apart, "artificial", rearing)
    page["rearing"] = pd.Series(rearing).where(births["death_h"] > 24)


def _with_gaps(page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    n = len(page)
    for name, share in plan["missing"].items():
        page[name] = page[name].mask(draws.yes(share, n))
    if "weight_missing_more_if_dead" in plan:
        unweighed = draws.yes(plan["weight_missing_more_if_dead"], n) & np.isfinite(births["death_h"])
        page["birth_weight_kg"] = page["birth_weight_kg"].mask(unweighed)
    day_only = draws.yes(plan.get("born_day_only_share", 0.0), n)
    page["born_on"] = page["born_at"].dt.normalize().where(day_only)
    for name in ("stood_after_min", "fed_after_min", "meconium_after_min"):
        page[name] = page[name].mask(day_only & page[name].astype(str).str.contains(":"))
    page["born_at"] = page["born_at"].mask(day_only)
    recorded = [column.name for column in BIRTHS if column.name not in plan["not_recorded"]]
    return page[[*recorded, *[name for name in HIDDEN if name in page]]]

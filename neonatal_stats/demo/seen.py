"""What was seen of the truth: times heaped and rounded, deaths between two rounds, the book closed early."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.demo.scenario import Draws, Plan, scenario
from neonatal_stats.demo.truth import Truth
from neonatal_stats.vocabulary.columns import BIRTHS

LATER_ROUND = (8,)
CLOCK_TIME_SHARE = 0.2
LONGEST_CLOCK_TIME_H = 23.0
NO_TAG_IF_STILLBORN = 0.5
TEST_TAG_PREFIX = "999"  # the country part that ISO 11784 leaves to test transponders
HIDDEN = ("_litter", "_death_h", "_fed_h", "_stood_h", "_meconium_h", "_alive_to_h")
MOTHERING_JUDGED_AT_H = 12.0
HARD_TO_START = ("stimulated; breath given", "stimulated; oxygen", "airway cleared; stimulated; drug")
FEEDS_AT_MOST = 4
HOURS_BETWEEN = 3.5
SHARE_OF_WEIGHT = {"sheep": 0.042, "goat": 0.045, "cattle": 0.055}
SOURCES = ("dam", "tubed from dam", "stored", "another dam", "powder")
WEAK_SHARES = (0.1, 0.5, 0.2, 0.1, 0.1)
STRONG_SHARES = (0.5, 0.1, 0.2, 0.1, 0.1)
PEOPLE = ("keeper 1", "keeper 2", "student")
PEOPLE_SHARES = (0.5, 0.35, 0.15)
OUT_OF_WINDOW_SHARE = 0.06
AFTER_BIRTH = ("stood", "fed", "meconium")


def at_age(born: pd.Series, age_h: pd.Series) -> pd.Series:
    """The moment of an age; missing where the age is not finite."""
    return pd.Series(born + whole_minutes(age_h * 60))


def whole_minutes(minutes: pd.Series) -> pd.Series:
    """Lengths of time, rounded to the minute; missing where they are not finite.

    Made from whole numbers: pandas leaves chance values in memory where a fraction is missing, and numpy warns of them.
    """
    known = np.isfinite(minutes)
    lengths = minutes.where(known, 0.0).round().astype("int64").to_numpy().astype("timedelta64[m]")
    return pd.Series(lengths.astype("timedelta64[ns]"), index=minutes.index).where(known)


def heaped_moment(moment: pd.Series, draws: Draws) -> pd.Series:
    """Moments as people write them: mostly to 5 minutes, often to the quarter hour, sometimes to the hour."""
    minutes = draws.pick([1, 5, 15, 30, 60], [0.1, 0.4, 0.25, 0.15, 0.1], len(moment)).astype(int)
    return heaped(moment, minutes)


def heaped(moment: pd.Series, minutes: np.ndarray) -> pd.Series:
    """Moments cut down to whole multiples of the given minutes."""
    day = moment.dt.normalize()
    since = (moment - day).dt.total_seconds() // 60
    return pd.Series(day + whole_minutes((since // minutes) * minutes))


def death_as_seen(births: pd.DataFrame, born_at: pd.Series, plan: Plan, draws: Draws) -> pd.DataFrame:
    """Columns died_at, last_alive_at, found_dead_at, and age_h when known or found (inf for survivors).

    Deaths after the first week are found at the day's one round.
    """
    truly = at_age(births["born"], births["death_h"])
    n = len(births)
    share = np.where(births["death_h"] < 24, plan["died_seen_share"], 0.1)
    live_born_death = ~births["stillborn"] & truly.notna()
    seen = live_born_death & draws.yes(share, n)
    found = live_born_death & ~seen
    died_at = heaped_moment(truly.fillna(born_at), draws)
    before, after = _round_before(truly, plan["rounds"]), _round_after(truly, plan["rounds"])
    late = births["death_h"] > 168
    before = before.mask(late, _round_before(truly, LATER_ROUND))
    after = after.mask(late, _round_after(truly, LATER_ROUND))
    frame = pd.DataFrame(
        {
            "died_at": died_at.where(died_at > born_at, born_at).where(seen),
            "last_alive_at": before.where(before > born_at, born_at).where(found),
            "found_dead_at": after.where(found),
        }
    )
    known = frame["died_at"].fillna(frame["found_dead_at"])
    age = (known - born_at).dt.total_seconds() / 3600
    return frame.assign(age_h=age.where(live_born_death, births["death_h"]))


def _round_before(moment: pd.Series, hours: Sequence[int]) -> pd.Series:
    rounds = _rounds_near(moment, hours)
    return rounds.where(rounds.le(moment, axis=0)).max(axis=1)


def _round_after(moment: pd.Series, hours: Sequence[int]) -> pd.Series:
    rounds = _rounds_near(moment, hours)
    return rounds.where(rounds.gt(moment, axis=0)).min(axis=1)


def _rounds_near(moment: pd.Series, hours: Sequence[int]) -> pd.DataFrame:
    """The rounds of the day before, the day itself and the day after, one column each."""
    day = moment.dt.normalize()
    rounds = [day + pd.Timedelta(days=shift, hours=hour) for shift in (-1, 0, 1) for hour in hours]
    return pd.DataFrame(dict(enumerate(rounds)))


def elapsed_as_written(
    hours: pd.Series, page: pd.DataFrame, births: pd.DataFrame, draws: Draws
) -> tuple[pd.Series, pd.Series]:
    """Age in hours as rounded (NaN where death came first), and the text: minutes, a time, "not by"."""
    alive = ~births["stillborn"]
    minutes = _rounded_minutes(hours, page["_death_h"].clip(upper=births["death_h"]), draws)
    happened = alive & (hours < births["death_h"]) & (minutes > 0)
    minutes = minutes.where(happened)
    text = minutes.map("{:.0f}".format, na_action="ignore").astype(object)
    as_clock = draws.yes(CLOCK_TIME_SHARE, len(hours)) & (minutes / 60 < LONGEST_CLOCK_TIME_H)
    text = text.mask(as_clock, at_age(page["born_at"], minutes / 60).dt.strftime("%H:%M"))
    watched_h = page["_death_h"].clip(upper=LONGEST_CLOCK_TIME_H)
    never = alive & ~happened & (watched_h * 60 >= 1)
    not_by = "not by " + at_age(page["born_at"], watched_h).dt.strftime("%H:%M")
    return minutes / 60, text.mask(never, not_by)


def _rounded_minutes(hours: pd.Series, latest_h: pd.Series, draws: Draws) -> pd.Series:
    minutes = hours * 60
    step = pd.Series(np.select([minutes < 60, minutes < 240], [5, 15], 30), index=hours.index)
    step = step.mask(draws.yes(0.3, len(hours)), 1)
    rounded = ((minutes / step).round() * step).clip(lower=step)
    return pd.Series(np.minimum(rounded, np.floor(latest_h * 60)))


def dam_names(number: pd.Series, plan: Plan) -> pd.Series:
    """The dams' identities as text."""
    if plan["species"] == "sheep":
        return number.astype(str).str.zfill(6)
    if plan["species"] == "goat":
        return TEST_TAG_PREFIX + number.astype(str).str.zfill(12)
    return "C" + number.astype(str).str.zfill(4)


def newborn_names(births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.Series:
    """The newborns' identities as text, in order of birth; half of the stillborn were given none."""
    year = births["season"].str[-2:]
    serial = pd.Series(range(1, len(births) + 1)).astype(str)
    if plan["species"] == "sheep":
        names = "0" + year + serial.str.zfill(4)
    elif plan["species"] == "goat":
        names = TEST_TAG_PREFIX + "0000" + year + serial.str.zfill(6)
    else:
        names = year + "-" + serial.str.zfill(3)
    return names.mask(births["stillborn"] & draws.yes(NO_TAG_IF_STILLBORN, len(births)))


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
    recorded = [
        column.name for column in BIRTHS if column.name in page and column.name not in plan["not_recorded"]
    ]
    return page[[*recorded, *[name for name in HIDDEN if name in page]]]


def written_feeds(page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    """One row per feed, in order of time, with the columns of the feeds table."""
    feeds = [_nth_feed(0, page, births, plan, draws, chosen=_fed_by_hand(births, plan, draws))]
    for nth in range(1, FEEDS_AT_MOST):
        again = page["newborn_id"].isin(feeds[-1]["newborn_id"]) & draws.yes(0.75, len(page))
        feeds.append(_nth_feed(nth, page, births, plan, draws, chosen=again))
    table = pd.concat(feeds, ignore_index=True)
    return table.sort_values(["fed_at", "newborn_id"], ignore_index=True)


def _fed_by_hand(births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.Series:
    needs_it = (births["suck_reflex"] != "strong") | births["not_mothered"]
    share = np.where(needs_it, max(0.65, plan["feeds_seen"]), plan["feeds_seen"])
    return pd.Series(draws.yes(share, len(births)), index=births.index)


def _nth_feed(
    nth: int, page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws, chosen: pd.Series
) -> pd.DataFrame:
    n = len(page)
    later = nth * HOURS_BETWEEN * (0.8 + 0.4 * draws.uniform(n)) if nth else 0.0
    age_h = page["_fed_h"] + later
    table = pd.DataFrame(
        {
            "newborn_id": page["newborn_id"],
            "fed_at": at_age(page["born_at"], age_h),
            "volume_ml": _volumes(births, plan, draws),
            "source": _sources(births, draws),
        }
    )
    table = table.assign(**_quality(table["source"], draws), person=draws.pick(PEOPLE, PEOPLE_SHARES, n))
    lived = (age_h <= page["_alive_to_h"]) & page["newborn_id"].notna() & table["fed_at"].notna()
    return table[lived & chosen]


def _volumes(births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.Series:
    grams = births["weight_kg"] * 1000 * SHARE_OF_WEIGHT[plan["species"]]
    step = 250 if plan["species"] == "cattle" else 10
    steps = (grams * np.exp(0.3 * draws.normal(len(births))) / step).round().clip(lower=1)
    return (steps * step).astype(int)


def _sources(births: pd.DataFrame, draws: Draws) -> np.ndarray:
    n = len(births)
    to_weak, to_strong = draws.pick(SOURCES, WEAK_SHARES, n), draws.pick(SOURCES, STRONG_SHARES, n)
    return np.where(births["suck_reflex"] != "strong", to_weak, to_strong)


def _quality(source: pd.Series, draws: Draws) -> dict[str, pd.Series]:
    """Brix of four feeds in ten, IgG of three in ten of those."""
    n = len(source)
    brix = (23.5 + 3.5 * pd.Series(draws.normal(n))).mask(source == "powder", 20.0).round(1)
    igg = (3.6 * brix - 20 + 8 * draws.normal(n)).round().clip(lower=5)
    tested = draws.yes(0.4, n)
    return {"brix_pct": brix.where(tested), "igg_g_per_l": igg.where(tested & draws.yes(0.3, n))}


def written_samples(page: pd.DataFrame, births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.DataFrame:
    """One row per sample, in order of time: newborn_id, sampled_at, and what this farm has measured."""
    n = len(page)
    out = draws.yes(OUT_OF_WINDOW_SHARE, n)
    age_h = np.where(out, np.where(draws.yes(0.5, n), 10.0, 240.0), 25 + 22 * draws.uniform(n))
    igg = _serum_igg(births, plan, draws)
    table = pd.DataFrame(
        {
            "newborn_id": page["newborn_id"],
            "sampled_at": at_age(page["born_at"], pd.Series(age_h)).dt.round("15min"),
            "igg_g_per_l": np.round(igg, 1),
            "total_protein_g_per_dl": np.round(4.4 + 0.072 * igg + 0.25 * draws.normal(n), 1),
            "brix_pct": np.round(7.25 + 0.087 * igg + 0.35 * draws.normal(n), 1),
        }
    )
    in_time = age_h + 0.25 < page["_alive_to_h"]
    can_be = in_time & page["newborn_id"].notna() & page["_fed_h"].notna()
    lottery = pd.Series(draws.uniform(n)).where(can_be).rank()
    chosen = table[lottery <= plan["samples"]].sort_values(["sampled_at", "newborn_id"], ignore_index=True)
    return pd.DataFrame(chosen[["newborn_id", "sampled_at", *plan["sampled"]]])


def _serum_igg(births: pd.DataFrame, plan: Plan, draws: Draws) -> np.ndarray:
    transfer = scenario()["passive_transfer"]
    at_birth = transfer["igg_g_per_l"][plan["species"]]
    by_delay = 0.5 ** (births["fed_h"].to_numpy() / transfer["half_h"])
    return np.asarray(at_birth * by_delay * np.exp(transfer["log_sd"] * draws.normal(len(births))))


def closed_early(page: pd.DataFrame, closed_on: pd.Timestamp) -> pd.DataFrame:
    """The births written by then, with later deaths, departures, feeds and sightings not yet known."""
    page = page[page["born_at"] <= closed_on].reset_index(drop=True)
    died = page["died_at"].fillna(page["found_dead_at"])
    page = _unwritten(
        page, died > closed_on, ["died_at", "last_alive_at", "found_dead_at", "cause", "cause_basis"]
    )
    page.loc[died > closed_on, "died"] = "no"
    page = _unwritten(page, page["left_at"] > closed_on, ["left_at", "left_reason"])
    alive = (page["died"] == "no") & page["left_at"].isna()
    still_watched = page["last_seen_at"].isna() | (page["last_seen_at"] > closed_on)
    page.loc[alive & still_watched, "last_seen_at"] = closed_on
    for name in AFTER_BIRTH:
        later = at_age(page["born_at"], page[f"_{name}_h"]) > closed_on
        unseen_yet = later | (page[f"_{name}_h"].isna() & (died > closed_on))
        page = _unwritten(page, unseen_yet, [f"{name}_after_min", f"_{name}_h"])
    return page


def _unwritten(page: pd.DataFrame, rows: pd.Series, names: list[str]) -> pd.DataFrame:
    held = [name for name in names if name in page]
    return page.assign(**{name: page[name].mask(rows) for name in held})

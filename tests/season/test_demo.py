"""The demo is invented, the same bytes every time, and its planted truths are there to be found."""

import tomllib
from collections import Counter
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from statsmodels.duration.hazard_regression import PHReg

from neonatal_stats.demo import clean_truth, write_demo
from neonatal_stats.demo.scenario import scenario
from neonatal_stats.demo.seen import whole_minutes
from neonatal_stats.demo.truth import chill_kj_per_m2_h
from neonatal_stats.demo.write import BIRTH_FAULTS, FEED_FAULTS
from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.factors import KEPT_TO_GROUP
from neonatal_stats.vocabulary.species import BY_SPECIES

KEPT = Path(__file__).parents[2] / "data" / "demo"
FOLLOW_UP_H = 42 * 24


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    write_demo(folder)
    return folder


@pytest.fixture(scope="module")
def truth():
    return {
        name: pd.concat([season.births for season in clean_truth(name)], ignore_index=True)
        for name in scenario()["enterprises"]
    }


@pytest.fixture(scope="module")
def planted():
    return tomllib.loads((KEPT / "truth.toml").read_text(encoding="utf-8"))


@pytest.mark.slow
def test_the_files_kept_with_the_project_are_what_the_generator_writes(written):
    names = sorted(str(path.relative_to(written)) for path in written.rglob("*.*"))
    assert names == sorted(str(path.relative_to(KEPT)) for path in KEPT.rglob("*.*"))
    assert [name for name in names if (written / name).read_bytes() != (KEPT / name).read_bytes()] == []


@pytest.mark.slow
def test_two_runs_write_the_same_bytes(written, tmp_path):
    paths = write_demo(tmp_path)
    assert all(path.read_bytes() == (written / path.relative_to(tmp_path)).read_bytes() for path in paths)


def test_the_readme_says_first_that_all_is_invented():
    assert (KEPT / "README.md").read_text(encoding="utf-8").startswith("# Demo records (invented)")


def records_files():
    return sorted(path for path in KEPT.rglob("*.csv") if not path.stem.startswith("plan_"))


def births_files():
    return sorted(path for path in records_files() if table_of(path) == "births")


def table_of(path):
    return next((table for table in TABLES if path.stem.endswith(table)), "births")


@pytest.mark.parametrize("path", records_files(), ids=lambda path: path.stem)
def test_every_file_has_only_tidy_columns_in_their_order(path):
    names = [column.name for column in TABLES[table_of(path)]]
    held = list(pd.read_csv(path, dtype=str, nrows=1))
    assert held == [name for name in names if name in held]


def test_every_births_column_is_used_by_some_enterprise():
    pages = [pd.read_csv(path, dtype=str) for path in births_files()]
    used = {name for page in pages for name in page if page[name].notna().any()}
    instead_of_a_time = {"age_at_death_h", "age_at_death_d"}
    farms_own = {entry.name for entry in KEPT_TO_GROUP}
    assert used == {column.name for column in TABLES["births"]} - instead_of_a_time - farms_own - {"remarks"}


def test_the_flocks_are_of_the_sizes_that_the_readme_gives(truth):
    counts = {name: births.groupby("season").size().tolist() for name, births in truth.items()}
    assert all(550 < n < 700 for n in counts["hill_sheep"])
    assert all(280 < n < 330 for n in counts["dairy_goats"])
    assert all(230 < n < 270 for n in counts["suckler_cows"])


def test_ages_in_the_truth_are_possible(truth):
    for births in truth.values():
        assert (births["death_h"] >= 0).all()
        assert (births.loc[births["stillborn"], "death_h"] == 0).all()
        assert (births["stood_h"] < births["fed_h"]).all()
        low, high = BY_SPECIES[{"S": "sheep", "D": "goat", "C": "cattle"}[_kind(births)]]["birth_weight_kg"]
        assert births["weight_kg"].between(low, high).all()


def _kind(births):
    return {"hill": "S", "dairy": "D", "suckler": "C"}[births["breed"].iloc[0].split()[0]]


def person_time(births):
    """Rows of (start, stop, died, unfed, fed late) for each newborn born alive, cut at its first feed."""
    alive = births[~births["stillborn"]].reset_index(drop=True)
    end = alive["death_h"].clip(upper=FOLLOW_UP_H)
    died = alive["death_h"] < FOLLOW_UP_H
    known = _covariates(alive)
    cut = np.minimum(alive["fed_h"], end)
    unfed = known.assign(id=alive.index, start=0.0, stop=cut, died=died & (cut == end), unfed=1.0, late=0.0)
    late = (alive["fed_h"] > 8).astype(float)
    fed = known.assign(id=alive.index, start=cut, stop=end, died=died, unfed=0.0, late=late)[cut < end]
    return pd.concat([unfed, fed], ignore_index=True)


def _covariates(births):
    return pd.DataFrame(
        {
            "twin": births["birth_type"] == "twin",
            "triplet": births["birth_type"].isin(["triplet", "four or more"]),
            "weak": births["suck_reflex"] == "weak",
            "absent": births["suck_reflex"] == "absent",
            "caesarean": births["delivery"] == "caesarean",
            "other difficult": births["difficult"] & (births["delivery"] != "caesarean"),
            "male": births["sex"] == "male",
        }
    ).astype(float)


def hazard_ratios(births, drop=()):
    """Cox with the feed as a time-dependent covariate, by statsmodels (Efron's ties, entry at the row's start)."""
    rows = person_time(births)
    known = rows.drop(columns=["id", "start", "stop", "died", *drop])
    model = PHReg(rows["stop"], known, status=rows["died"], entry=rows["start"], ties="efron").fit()
    low, high = np.exp(model.conf_int()).T
    return pd.DataFrame({"ratio": np.exp(model.params), "low": low, "high": high}, index=known.columns)


@pytest.fixture(scope="module")
def sheep_hazards(truth):
    return hazard_ratios(truth["hill_sheep"])


def test_late_colostrum_is_found_harmful_in_the_sheep_and_the_planted_ratios_are_covered(sheep_hazards):
    found = sheep_hazards
    effects = scenario()["enterprises"]["hill_sheep"]["effects"]
    assert found.loc["unfed", "low"] > 2
    assert found.loc["unfed", "low"] < effects["hazard_unfed"] < found.loc["unfed", "high"]
    assert found.loc["late", "low"] < effects["hazard_fed_after_8_h"] < found.loc["late", "high"]


def test_in_every_sheep_season_the_unfed_die_faster_than_the_fed_of_the_same_ages(truth):
    """Deaths over newborn-hours between 1 and 16 h of age, unfed against fed."""
    for _, births in truth["hill_sheep"].groupby("season"):
        rows = person_time(births)
        hours = (rows["stop"].clip(upper=16) - rows["start"].clip(lower=1)).clip(lower=0)
        deaths = rows["died"] & rows["stop"].between(1, 16)
        rate = deaths.groupby(rows["unfed"]).sum() / hours.groupby(rows["unfed"]).sum()
        assert rate[1.0] > 2.5 * rate[0.0]


def test_late_colostrum_is_harmless_in_the_goats_though_the_naive_comparison_looks_harmful(truth):
    goats = truth["dairy_goats"]
    unfed = hazard_ratios(goats, drop=["late"]).loc["unfed"]
    assert unfed["low"] < 1 < unfed["high"]
    alive = goats[~goats["stillborn"]]
    fed_by_8_h = alive["fed_h"] < np.minimum(alive["death_h"], 8)
    died = alive["death_h"] < FOLLOW_UP_H
    assert died[~fed_by_8_h].mean() > 3 * died[fed_by_8_h].mean()


def test_the_harm_in_the_cows_is_too_few_deaths_to_show(truth):
    cows = truth["suckler_cows"]
    died = ~cows["stillborn"] & (cows["death_h"] < FOLLOW_UP_H)
    assert (died & ~cows["fed"]).sum() < 5


@pytest.mark.parametrize(
    ("term", "planted_ratio"), [("twin", 1.7), ("triplet", 2.6), ("caesarean", 3.0), ("weak", 2.5)]
)
def test_the_planted_hazards_of_the_sheep_are_covered(sheep_hazards, term, planted_ratio):
    row = sheep_hazards.loc[term]
    assert scenario()["enterprises"]["hill_sheep"]["effects"]["hazard"][term] == planted_ratio
    assert row["low"] < planted_ratio < row["high"]


def test_total_loss_is_worse_in_twins_triplets_and_caesareans(truth):
    sheep = truth["hill_sheep"]
    lost = (sheep["death_h"] < FOLLOW_UP_H).groupby(sheep["birth_type"]).mean()
    assert lost["single"] < lost["twin"] < lost["triplet"]
    surgery = sheep["delivery"] == "caesarean"
    assert (sheep["death_h"] < FOLLOW_UP_H)[surgery].mean() > 1.5 * (sheep["death_h"] < FOLLOW_UP_H)[
        ~surgery
    ].mean()


def test_first_time_dams_fail_more_at_mothering_up_by_the_planted_odds(truth):
    """Woolf's interval of the odds ratio, worked from the four counts."""
    sheep = truth["hill_sheep"]
    counts = pd.crosstab(sheep["first_litter"], sheep["not_mothered"]).to_numpy()
    log_odds = np.log(counts[1, 1] * counts[0, 0] / (counts[1, 0] * counts[0, 1]))
    half = 1.96 * np.sqrt((1 / counts).sum())
    assert log_odds - half < np.log(4) < log_odds + half


def test_one_sheep_season_had_bad_weather_and_paid_for_it_out_of_doors(truth):
    chill = {s.season: (chill_kj_per_m2_h(s.weather) > 1000).mean() for s in clean_truth("hill_sheep")}
    assert chill["2024"] > 3 * max(chill[year] for year in ("2023", "2025", "2026"))
    sheep = truth["hill_sheep"][~truth["hill_sheep"]["stillborn"]]
    early = (sheep["death_h"] < 72).groupby([sheep["season"], sheep["outdoors"]]).mean()
    assert early["2024", True] > 1.3 * max(early[year, True] for year in ("2023", "2025", "2026"))


def test_the_season_of_more_twins_differs_in_mix_and_not_in_rate(truth):
    sheep = truth["hill_sheep"]
    multiples = (sheep["litter_size"] > 1).groupby(sheep["season"]).mean()
    assert multiples.idxmax() == "2025"
    alive = sheep[~sheep["stillborn"] & sheep["season"].isin(["2023", "2025"])].reset_index(drop=True)
    known = _covariates(alive)[["twin", "triplet"]].assign(later=(alive["season"] == "2025").astype(float))
    stop, died = alive["death_h"].clip(upper=FOLLOW_UP_H), alive["death_h"] < FOLLOW_UP_H
    low, high = PHReg(stop, known, status=died).fit().conf_int()[-1]
    assert low < 0 < high


def test_littermates_share_their_luck(truth):
    """Pairs of twins in which both died, against what two lambs taken at random would give: risk squared."""
    twins = truth["hill_sheep"][truth["hill_sheep"]["litter_size"] == 2]
    died = (twins["death_h"] < FOLLOW_UP_H).groupby([twins["season"], twins["litter"]]).sum()
    risk = died.sum() / (2 * len(died))
    assert (died == 2).mean() > 1.2 * risk**2


@pytest.mark.slow
def test_serum_igg_halves_for_every_nine_hours_of_delay(written, truth):
    """The slope of log IgG on age at first feed, by least squares, is minus ln 2 / 9 within its error."""
    samples = pd.read_csv(written / "dairy_goats_samples.csv", dtype={"newborn_id": str}).set_index(
        "newborn_id"
    )
    births = pd.read_csv(written / "dairy_goats.csv", dtype={"newborn_id": str}).set_index("newborn_id")
    minutes = pd.to_numeric(births["fed_after_min"], errors="coerce")
    both = samples.join(minutes[~minutes.index.duplicated()].rename("minutes")).dropna(subset=["minutes"])
    x, y = both["minutes"] / 60, np.log(both["igg_g_per_l"])
    slope, covariance = np.polyfit(x, y, 1, cov=True)
    assert abs(slope[0] + np.log(2) / 9) < 2.5 * np.sqrt(covariance[0, 0])


def test_the_last_sheep_season_is_closed_while_the_last_lambs_are_watched():
    page = pd.read_csv(KEPT / "hill_sheep_2026.csv", dtype=str)
    closed = pd.Timestamp(scenario()["enterprises"]["hill_sheep"]["closed_on"])
    for name in ("born_at", "died_at", "found_dead_at", "left_at", "last_seen_at"):
        assert pd.to_datetime(page[name].dropna(), format="mixed").max() <= closed
    still = page["last_seen_at"] == closed.strftime("%Y-%m-%d %H:%M")
    watched_d = (closed - pd.to_datetime(page.loc[still, "born_at"], format="mixed")).dt.days
    assert (watched_d < 42).mean() > 0.9
    assert watched_d.min() < 4


def test_every_kind_of_fault_is_planted_and_listed_where_it_stands(planted):
    listed = Counter(fault["fault"] for fault in planted["planted_fault"])
    assert set(listed) == {*BIRTH_FAULTS, *FEED_FAULTS, "row_written_twice"}
    for fault in planted["planted_fault"]:
        page = pd.read_csv(KEPT / fault["file"], dtype=str, keep_default_na=False)
        cell = page[fault["column"]].iloc[fault["row"] - 2]
        assert cell == fault["now"] or pd.Timestamp(cell) == pd.Timestamp(fault["now"])


def test_faults_are_rare_enough_for_the_review_to_mean_something(planted):
    in_births = [fault for fault in planted["planted_fault"] if fault["file"] == "hill_sheep_2024.csv"]
    rows = len(pd.read_csv(KEPT / "hill_sheep_2024.csv"))
    assert len(in_births) / rows < 0.05
    assert len({fault["row"] for fault in in_births}) == len(in_births)


def clean_rows(path, planted):
    """The rows of a births file that carry no fault, times as times."""
    page = pd.read_csv(path, dtype=str)
    spoilt = [fault["row"] - 2 for fault in planted["planted_fault"] if fault["file"] == path.name]
    page = page.drop(index=spoilt)
    for name in (
        "born_at",
        "born_on",
        "died_at",
        "last_alive_at",
        "found_dead_at",
        "left_at",
        "last_seen_at",
    ):
        if name in page:
            page[name] = pd.to_datetime(page[name])
    return page


@pytest.mark.parametrize("path", births_files(), ids=lambda path: path.stem)
def test_rows_without_a_fault_do_not_contradict_themselves(path, planted):
    page = clean_rows(path, planted)
    dead, stillborn = page["died"] == "yes", page["born_alive"] == "no"
    assert set(page["died"]) == {"yes", "no"}
    assert not (page[["died_at", "found_dead_at", "cause"]].notna().any(axis=1) & ~dead).any()
    assert not (page[["left_at", "last_seen_at"]].notna().any(axis=1) & dead).any()
    assert (page["cause"] == "stillbirth").eq(stillborn).all()
    assert not page.loc[stillborn, ["stood_after_min", "fed_after_min", "suck_reflex"]].notna().any().any()
    assert not (page["died_at"] < page["born_at"]).any()
    assert not (page["last_alive_at"] < page["born_at"]).any()
    assert (page["last_alive_at"] < page["found_dead_at"]).eq(page["found_dead_at"].notna()).all()
    minutes = pd.to_numeric(page["fed_after_min"], errors="coerce")
    known = page["died_at"].fillna(page["last_alive_at"])
    assert not (page["born_at"] + whole_minutes(minutes) > known).any()


def test_the_outbreak_is_in_its_pen_and_its_days_and_nowhere_else():
    # worked from the written rows: three in ten of those at risk on all of eight days, fewer of those there for less
    page = pd.read_csv(KEPT / "outbreak" / "vale_sheep_2026.csv", dtype=str)
    told = tomllib.loads((KEPT / "outbreak" / "truth.toml").read_text(encoding="utf-8"))["vale_sheep"][
        "outbreak"
    ]
    died = pd.to_datetime(page["died_at"].fillna(page["found_dead_at"]))
    inside = (page["cause"] == told["cause"]) & died.between("2026-03-18", "2026-03-27")
    by_pen = page.loc[inside, "group"].value_counts()
    assert by_pen.idxmax() == told["group"]
    assert by_pen.max() >= 10
    assert by_pen.drop(told["group"]).sum() <= 3

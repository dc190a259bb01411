"""Seasons from the birth dates: runs, names, slips of the year, undated rows, their order and the one under review."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from neonatal_stats.report.review import build
from neonatal_stats.season.following.seasons import NOT_RECORDED, far_off, in_time, natural, run_labels
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import Settings

pytestmark = [pytest.mark.slow, pytest.mark.quickly(3)]


def days(start: str, n: int, step: float = 1) -> list[str]:
    """The days of n births, one a step."""
    first = date.fromisoformat(start)
    return [(first + timedelta(days=int(place * step))).isoformat() for place in range(n)]


def read(
    folder: Path, born: Sequence[str], name: str = "births.csv", more: str = "", **chosen: object
) -> Season:
    """A season of one newborn a dam, by the days of birth; every fifth died."""
    return read_season(book(folder, born, name, more), settings=Settings(**chosen))  # type: ignore[arg-type]


def book(folder: Path, born: Sequence[str], name: str = "births.csv", more: str = "") -> Path:
    heading, _, value = more.partition("=")
    rows = [
        f"{place},D{place},{day},{'yes' if place % 5 == 0 else 'no'}" + (f",{value}" if more else "")
        for place, day in enumerate(born)
    ]
    path = folder / name
    path.write_text(
        "\n".join([f"newborn_id,dam_id,born_on,died{',' + heading if more else ''}", *rows]) + "\n", "utf-8"
    )
    return path


def names(season: Season) -> list[str]:
    return (
        season.births.sort_values("newborn_id", key=lambda ids: ids.astype(int))["season"]
        .astype(str)
        .tolist()
    )


ONE_SEASON = {
    "spring": ("2026-03-20", 40, "2026"),
    "August to October": ("2025-08-05", 80, "2025"),
    "over New Year, most in January": ("2025-12-20", 40, "2026"),
    "over New Year, most in December": ("2025-12-01", 40, "2025"),
    "late August into September": ("2025-08-20", 40, "2025"),
    "October to January": ("2025-10-10", 100, "2025"),
    "half a year": ("2026-01-10", 180, "2026"),
}


@pytest.mark.parametrize("kind", ONE_SEASON)
def test_a_run_of_births_is_one_season_whatever_its_months(kind: str, tmp_path: Path) -> None:
    start, n, year = ONE_SEASON[kind]
    season = read(tmp_path, days(start, n))
    assert season.seasons == (year,)
    assert season.under_review == year


SEVERAL = {
    "two springs": ((("2025-03-20", 30), ("2026-03-18", 30)), ("2025", "2026")),
    "three over New Year": ((("2022-12-15", 40), ("2023-12-17", 40), ("2024-12-16", 40)), ("2023", "2024", "2025")),
    "spring and autumn": ((("2026-02-20", 30), ("2026-09-10", 30)), ("2026-02", "2026-09")),
    "three in two years": (
        (("2025-01-10", 30), ("2025-09-10", 30), ("2026-05-10", 30)),
        ("2025-01", "2025-09", "2026"),
    ),
    "southern, three": ((("2023-08-10", 60), ("2024-08-06", 60), ("2025-08-08", 60)), ("2023", "2024", "2025")),
}  # fmt: skip


@pytest.mark.parametrize("kind", SEVERAL)
def test_a_gap_before_the_next_begins_a_season(kind: str, tmp_path: Path) -> None:
    runs, expected = SEVERAL[kind]
    season = read(tmp_path, [day for start, n in runs for day in days(start, n)])
    assert season.seasons == expected
    assert season.births["season"].value_counts().to_dict() == {
        name: n for name, (_, n) in zip(expected, runs, strict=True)
    }
    assert season.under_review == expected[-1]


def test_names_over_new_year_follow_one_rule_for_all_runs(tmp_path: Path) -> None:
    # the first run has most of its births in January, the second in December; together most are in December
    first, second = days("2024-12-22", 30), days("2025-12-01", 40)
    assert read(tmp_path, [*first, *second]).seasons == ("2024", "2025")


def test_stragglers_stay_with_their_season(tmp_path: Path) -> None:
    season = read(tmp_path, [*days("2026-03-01", 30), "2026-06-25", "2026-07-20"])
    assert season.seasons == ("2026",)
    assert season.problems.empty or not season.problems["problem"].str.contains("far from").any()


def test_births_all_year_round_are_cut_where_fewest_are_born(tmp_path: Path) -> None:
    busy = [
        day for day in days("2023-07-01", 3 * 365) if day[5:7] not in ("06", "07") or int(day[8:]) % 6 == 0
    ]
    season = read(tmp_path, busy)
    starts = season.births.groupby("season", observed=True)["born"].min()
    assert len(starts) == 3
    assert {moment.month for moment in starts[1:]} <= {6, 7}


def test_births_spread_evenly_make_calendar_years(tmp_path: Path) -> None:
    season = read(tmp_path, days("2024-01-01", 730, 1))
    assert season.seasons == ("2024", "2025")


def test_a_first_month_in_the_settings_rules(tmp_path: Path) -> None:
    born = [*days("2025-08-20", 30)]
    assert read(tmp_path, born, season_first_month=9).seasons == ("2025", "2026")
    assert read(tmp_path, born).seasons == ("2025",)


def test_farms_that_give_birth_at_other_times_share_one_rule(tmp_path: Path) -> None:
    early = book(tmp_path, days("2025-12-10", 20), "a.csv", "farm=early")
    late = book(tmp_path, days("2026-01-05", 40), "b.csv", "farm=late")
    assert read_season([early, late]).seasons == ("2026",)


@pytest.mark.slow
def test_farms_all_the_year_are_told_apart_farm_by_farm(tmp_path: Path) -> None:
    paths = []
    for month in range(1, 13):
        born = [*days(f"2024-{month:02d}-05", 28), *days(f"2025-{month:02d}-05", 28)]
        paths.append(book(tmp_path, born, f"{month}.csv", f"farm=F{month}"))
    season = read_season(paths)
    assert season.seasons == ("2024", "2025")
    assert season.births.groupby("farm", observed=True)["season"].nunique().eq(2).all()


WRITTEN = {
    "Year 9 and 10": ("Year 9", "Year 10"),
    "words that sort the other way": ("snowy", "dry"),
    "split years": ("24/25", "25/26"),
    "short years": ("'25", "'26"),
}


@pytest.mark.parametrize("kind", WRITTEN)
def test_written_names_stand_in_the_order_of_their_births(kind: str, tmp_path: Path) -> None:
    first, second = WRITTEN[kind]
    one = book(tmp_path, days("2025-03-20", 20), "a.csv", f"season={first}")
    other = book(tmp_path, days("2026-03-20", 20), "b.csv", f"season={second}")
    season = read_season([other, one])
    assert season.seasons == (first, second)
    assert season.under_review == second
    assert list(season.births["season"].cat.categories) == [first, second]


def test_written_seasons_without_dates_stand_in_their_natural_order(tmp_path: Path) -> None:
    path = tmp_path / "b.csv"
    rows = [f"Year {year},D{dam},{'yes' if dam else 'no'}" for year in (9, 10, 8) for dam in range(12)]
    path.write_text("season,dam_id,died\n" + "\n".join(rows) + "\n", "utf-8")
    season = read_season(path)
    assert season.seasons == ("Year 8", "Year 9", "Year 10")
    assert season.under_review == "Year 10"


def test_a_written_name_is_lent_to_the_rest_of_its_run(tmp_path: Path) -> None:
    path = tmp_path / "b.csv"
    rows = [
        f"{'Spring' if place % 3 == 0 else ''},D{place},{day},no"
        for place, day in enumerate(days("2026-03-20", 30))
    ]
    path.write_text("season,dam_id,born_on,died\n" + "\n".join(rows) + "\n", "utf-8")
    assert read_season(path).seasons == ("Spring",)


def test_one_written_name_at_births_a_year_apart_is_told_apart_by_the_dates(tmp_path: Path) -> None:
    season = read(tmp_path, [*days("2025-03-20", 20), *days("2026-03-20", 20)], more="season=2026")
    assert season.seasons == ("2025", "2026")
    assert season.problems["problem"].str.contains("their dates tell them apart").any()


SLIPS = {"2062": 1, "1990": 1, "2025": 3, "2027": 2, "2002": 1}


@pytest.mark.parametrize("year", SLIPS)
def test_a_slip_of_the_year_is_asked_about_and_becomes_no_season(year: str, tmp_path: Path) -> None:
    born = days("2026-03-20", 70, 0.5)
    slips = range(20, 20 + SLIPS[year])
    season = read(tmp_path, [f"{year}{day[4:]}" if place in slips else day for place, day in enumerate(born)])
    assert season.seasons == ("2026",)
    assert len(season.births) == 70
    asked = season.problems[season.problems["problem"].str.contains("far from the dates of all other births")]
    assert asked["row"].tolist() == [place + 2 for place in slips]
    assert set(asked["ended"]) == {"set to missing"}
    assert season.births["born"].isna().sum() == len(slips)


def test_a_lone_birth_eleven_months_off_is_asked_about(tmp_path: Path) -> None:
    season = read(tmp_path, [*days("2026-03-20", 40, 0.7), "2025-04-20"])
    assert season.seasons == ("2026",)
    assert season.problems["problem"].str.contains("far from").sum() == 1


def test_a_far_date_with_a_season_of_its_own_is_believed(tmp_path: Path) -> None:
    path = tmp_path / "b.csv"
    rows = [f"2026,D{place},{day},no" for place, day in enumerate(days("2026-03-20", 60))]
    path.write_text(
        "season,dam_id,born_on,died\n" + "\n".join([*rows, "2024,X,2024-04-01,no"]) + "\n", "utf-8"
    )
    assert read_season(path).seasons == ("2024", "2026")


def test_small_herds_of_few_births_a_year_keep_their_years(tmp_path: Path) -> None:
    season = read(tmp_path, ["2023-03-01", "2024-03-03", "2024-03-04", "2025-03-02", "2026-03-05"])
    assert season.seasons == ("2023", "2024", "2025", "2026")


def test_undated_rows_go_with_the_only_season_of_their_file(tmp_path: Path) -> None:
    born = ["" if place in (3, 9) else day for place, day in enumerate(days("2026-03-20", 30))]
    season = read(tmp_path, born)
    assert season.seasons == ("2026",)
    noted = season.problems[season.problems["column"] == "season"]
    assert noted["row"].tolist() == [5, 11]


def test_undated_rows_of_two_seasons_belong_to_none_and_to_no_headline(tmp_path: Path) -> None:
    born = [*days("2025-03-20", 20), *days("2026-03-20", 20), *[""] * 15]
    season = read(tmp_path, born)
    assert season.seasons == (NOT_RECORDED, "2025", "2026")
    assert season.under_review == "2026"
    assert season.compared == ("2025", "2026")
    assert len(season.births) == 55
    assert season.problems["problem"].str.contains("belongs to no season").sum() == 15


def test_a_file_of_one_season_takes_its_undated_rows_though_others_hold_more(tmp_path: Path) -> None:
    one = book(tmp_path, [*days("2025-03-20", 20), ""], "a.csv")
    other = book(tmp_path, days("2026-03-20", 20), "b.csv")
    season = read_season([one, other])
    assert season.births["season"].value_counts().to_dict() == {"2025": 21, "2026": 20}


def test_the_season_under_review_holds_enough_births(tmp_path: Path) -> None:
    season = read(tmp_path, [*days("2025-03-20", 200, 0.2), *days("2026-01-02", 12, 0.1)])
    assert season.seasons == ("2025", "2026")
    assert season.under_review == "2026"
    few = season.with_settings(minimum_group=20)
    assert few.under_review == "2025"
    assert few.compared == ("2025", "2026")


def test_the_review_takes_the_season_under_review(tmp_path: Path) -> None:
    born = [*days("2025-03-20", 60, 0.5), *days("2026-01-02", 6, 0.8)]
    season = read(tmp_path, born)
    assert season.seasons == ("2025", "2026")
    assert build(season).focus == "2025"


def test_a_farm_left_blank_is_the_only_farm_of_its_file(tmp_path: Path) -> None:
    path = tmp_path / "b.csv"
    rows = [
        f"{'Hill' if place == 0 else ''},D{place},{day},no"
        for place, day in enumerate(days("2026-03-20", 12))
    ]
    path.write_text("farm,dam_id,born_on,died\n" + "\n".join(rows) + "\n", "utf-8")
    assert read_season(path).farms == ("Hill",)


def test_natural_order_counts_numbers() -> None:
    assert sorted(["Year 10", "Year 9", "Year 2"], key=natural) == ["Year 2", "Year 9", "Year 10"]


def test_seasons_without_a_date_come_first_where_names_do_not_tell() -> None:
    season = pd.Series(["b", "a", "c"])
    born = pd.to_datetime(pd.Series(["2025-01-01", "2026-01-01", None]))
    assert in_time(season, born) == ["c", "b", "a"]


DATES = st.lists(st.integers(0, 4000), min_size=1, max_size=60)


@settings(max_examples=200, deadline=None)
@given(DATES, st.integers(-2000, 2000))
def test_shifting_all_dates_changes_no_run_shorter_than_a_year(offsets: list[int], shift: int) -> None:
    day = np.array([10_000 + offset % 350 for offset in offsets], dtype=np.int64)
    one = np.zeros(len(day), dtype=np.int64)
    assert run_labels(day, one).tolist() == run_labels(day + shift, one).tolist()


@pytest.mark.slow
@settings(max_examples=200, deadline=None)
@given(DATES, st.randoms(use_true_random=False))
def test_reordering_rows_changes_no_run_and_no_slip(offsets: list[int], random: object) -> None:
    day = np.array(offsets, dtype=np.int64) + 15_000
    order = np.array(sorted(range(len(day)), key=lambda _: random.random()))  # type: ignore[attr-defined]
    one = np.zeros(len(day), dtype=np.int64)
    runs, shuffled = run_labels(day, one), run_labels(day[order], one)
    assert (runs[order][:, None] == runs[order][None, :]).tolist() == (
        (shuffled[:, None] == shuffled[None, :]).tolist()
    )
    assert far_off(day, one)[order].tolist() == far_off(day[order], one).tolist()


@pytest.mark.slow
@settings(max_examples=200, deadline=None)
@given(DATES)
def test_runs_lie_in_the_order_of_the_dates(offsets: list[int]) -> None:
    day = np.sort(np.array(offsets, dtype=np.int64)) + 15_000
    runs = run_labels(day, np.zeros(len(day), dtype=np.int64))
    assert len(np.unique(runs)) == 1 + int((np.diff(runs) != 0).sum())
    apart = np.diff(day) > 150
    assert (np.diff(runs)[apart] != 0).all()


@pytest.mark.slow
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.integers(0, 60), min_size=12, max_size=40),
    st.integers(0, 2),
    st.randoms(use_true_random=False),
)
def test_half_a_year_and_another_order_change_only_the_names(
    tmp_path: Path, offsets: list[int], seasons: int, random: object
) -> None:
    born = [
        date(2023 + year, 3, 1) + timedelta(days=offset) for year in range(seasons + 1) for offset in offsets
    ]
    shifted = [day + timedelta(days=184) for day in born]
    rows = list(enumerate(shifted))
    random.shuffle(rows)  # type: ignore[attr-defined]
    one = read(tmp_path, [day.isoformat() for day in born])
    path = tmp_path / "shifted.csv"
    lines = [f"{place},D{place},{day},{'yes' if place % 5 == 0 else 'no'}" for place, day in rows]
    path.write_text("newborn_id,dam_id,born_on,died\n" + "\n".join(lines) + "\n", "utf-8")
    other = read_season(path)
    codes = [pd.factorize(pd.Series(names(season)))[0].tolist() for season in (one, other)]
    assert codes[0] == codes[1]
    assert len(one.seasons) == len(other.seasons) == seasons + 1


def test_undated_births_stand_in_no_comparison_of_seasons(tmp_path: Path) -> None:
    from neonatal_stats.chapters import years

    season = read(tmp_path, [*days("2025-03-20", 20), *days("2026-03-20", 20), *[""] * 15])
    result = years.answer(season)
    assert result.seasons["season"].tolist() == ["2025", "2026"]
    assert (result.counted.n, result.counted.total) == (40, 55)


def test_a_slip_by_decades_is_asked_about_in_a_small_file_too(tmp_path: Path) -> None:
    season = read(tmp_path, ["2026-03-20", "2026-03-22", "2026-03-25", "2062-03-26", "2026-03-28"])
    assert season.seasons == ("2026",)
    assert len(season.births) == 5

"""What was planted in the invented hill flock is found by the chapters that compare, and what was not is not.

Planted (data/demo/truth.toml): twins and triplets, weak and absent suck reflex, caesareans and hard births lose more;
2024 had nine days of bad weather; 2025 had more twins and triplets. Breed, sire, pen and time of day do nothing.
"""

from __future__ import annotations

from dataclasses import replace

from neonatal_stats import Season
from neonatal_stats.chapters import groups, planning, weather, years
from neonatal_stats.chapters.counted.years_side_by_side import Split
from neonatal_stats.vocabulary.factors import FACTORS


def test_planted_groups_are_on_the_watch_list(hill_season: Season) -> None:
    watch = groups.answer(hill_season).watch
    listed = set(zip(watch["factor"], watch["group"], strict=True))
    planted = {("several", "twin or more"), ("suck_class", "weak or absent"), ("born_by", "born by surgery")}
    assert planted <= listed
    assert not {"breed", "sire_id", "group", "time_of_birth"} & set(watch["factor"])


def test_the_bad_year_is_rate_and_not_mix(hill_season: Season) -> None:
    asked = replace(hill_season, settings=replace(hill_season.settings, compare=("2023", "2024")))
    assert years.answer(asked).split is Split.RATE


def test_the_early_end_of_the_last_season_shortens_the_comparison(hill_season: Season) -> None:
    result = years.answer(hill_season)
    assert (result.window.name, result.window.shortened) == ("7 d", True)
    first, second = years.sentences(result)[:2]
    assert "were watched to the end of follow-up or to their death" in first.text
    assert "compared up to 7 d" in second.text


def test_chill_goes_with_loss(hill_season: Season) -> None:
    # planted: 1.7 times the hazard for each 100 kJ/m2/h over 900 (data/demo/truth.toml), within every season
    row = weather.answer(hill_season).against.set_index(["seasons", "hours"]).loc[("all", 24)]
    assert row["low"] > 1


def test_planning_names_what_could_be_won(hill_season: Season) -> None:
    result = planning.answer(hill_season)
    found = set(result.avoidable["factor"])
    # only what management can change is a saving: litter size, surgery and a weak suck reflex are not
    assert found
    assert found <= {entry.name for entry in FACTORS if entry.changeable}
    assert result.repeat.dams > 300
    assert (result.avoidable["saved_low"] > 0).all()

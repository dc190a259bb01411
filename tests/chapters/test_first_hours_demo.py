"""What was planted in the invented herds comes out of the chapters: harm where it was planted, none where it
was not.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats.chapters import colostrum, first_hours, mothering
from neonatal_stats.chapters.colostrum import Colostrum
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.words import Verdict
from tests.report.test_numbers import numbers, settings_numbers, table_numbers

pytestmark = pytest.mark.slow  # three herds are read and answered whole
DEMO = Path(__file__).parents[2] / "data" / "demo"


@pytest.fixture(scope="module")
def sheep(hill_season: Season) -> Colostrum:
    return colostrum.answer(hill_season)


@pytest.fixture(scope="module")
def goats() -> Colostrum:
    return colostrum.answer(read_season(sorted(DEMO.glob("dairy_goats*.csv"))))


@pytest.fixture(scope="module")
def cows() -> Colostrum:
    return colostrum.answer(read_season(sorted(DEMO.glob("suckler_cows*.csv"))))


def hourly(result: Colostrum) -> pd.Series:
    assert result.effect is not None
    return result.effect.hourly[result.effect.hourly["adjusted"].astype(bool)].iloc[0]


def test_late_colostrum_is_harmful_in_the_sheep(sheep: Colostrum) -> None:
    # planted: six times the hazard while unfed, and three times ever after a feed later than 8 h (data/demo/truth.toml)
    row = hourly(sheep)
    assert row["low"] <= 6.0 <= row["high"]
    (asked,) = [claim for claim in colostrum.claims(sheep) if claim.asked]
    assert (asked.asked, asked.period) == ("fed late", ("2023", "2024", "2025", "2026"))
    (said,) = [one for one in colostrum.sentences(sheep) if one.claim == asked.key]
    assert said.verdict is Verdict.CLEAR


def test_where_deaths_between_rounds_fell_decides_over_the_hours(sheep: Colostrum) -> None:
    # placed when last seen alive the ratio is 1.3, found dead 9.2: nothing is clear hour by hour
    (said,) = [one for one in colostrum.sentences(sheep) if one.claim.startswith("colostrum/as it happens")]
    assert said.verdict is Verdict.NO_CLEAR
    assert "but the records do not settle it" in said.text


def test_late_colostrum_is_harmless_in_the_goats(goats: Colostrum) -> None:
    # planted: hazard 1.0; weak kids feed late and weak kids die early, so that simply comparing looks harmful
    row = hourly(goats)
    assert row["low"] <= 1.0 <= row["high"]
    assert row["verdict"] is Verdict.NO_CLEAR
    assert goats.effect is not None
    assert goats.effect.simply["low"].iloc[0] > 2
    said = [sentence.text for sentence in colostrum.sentences(goats)]
    assert any("No clear difference in dying" in text for text in said)
    assert any("because they died, not the other way round" in text for text in said)


def test_one_season_of_cows_is_too_few_to_say(cows: Colostrum) -> None:
    # planted: three times the hazard, but with too few deaths to show it
    assert hourly(cows)["verdict"] is Verdict.TOO_FEW
    assert any("cannot be judged here" in sentence.text for sentence in colostrum.sentences(cows))


@pytest.mark.parametrize("herd", ["sheep", "goats", "cows"])
def test_serum_igg_falls_with_a_later_first_feed(herd: str, request: pytest.FixtureRequest) -> None:
    # planted: serum IgG halves for every nine hours by which the first feed is later
    result: Colostrum = request.getfixturevalue(herd)
    curve = result.transfer[0].curve.set_index("fed_h")["value"]
    assert curve.loc[8.0] < 0.9 * curve.loc[2.0]


def test_first_time_dams_fail_more(hill_season: Season) -> None:
    # planted: four times the odds of failing at mothering-up
    result = mothering.answer(hill_season)
    row = result.groups.set_index(["factor", "group"]).loc[("parity_class", "first litter")]
    assert row["low"] > 1
    assert row["low"] <= 4.5
    assert row["q"] < 0.01


def test_weak_lambs_are_lost_more(hill_season: Season) -> None:
    # planted: weak 2.5 times and absent 5 times the hazard
    row = first_hours.answer(hill_season).predictors.set_index("check").loc["suck"]
    assert row["low"] > 1


@pytest.mark.parametrize("herd", ["sheep", "goats", "cows"])
def test_every_number_said_of_the_herds_stands_in_a_table(herd: str, request: pytest.FixtureRequest) -> None:
    result: Colostrum = request.getfixturevalue(herd)
    known = settings_numbers(result.settings).union(
        *(table_numbers(table) for table in colostrum.tables(result)), *map(numbers, result.effect_period)
    )
    lost = [(numbers(s.text) - known, s.text) for s in colostrum.sentences(result) if numbers(s.text) - known]
    assert lost == []

"""Settings made in Python are checked like those of a file; a setting changed on a loaded season acts or is refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.following.follow import checked, kind_of
from neonatal_stats.season.model import Season, in_focus
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import Expected, Marks, Settings, read_settings
from neonatal_stats.season.toml_file import WrongSetting

WRONG: dict[str, tuple[Any, str, str]] = {
    "season_first_month": (14, "14", 'a whole number from 1 to 12 belongs here, found "14".'),
    "price": (-5, "-5", 'a number from 0 to 1e+07 belongs here, found "-5".'),
    "cluster": ("herd", '"herd"', '"herd" is not accepted; use one of litter, dam, farm.'),
    "level": (2, "2", 'a share between 0 and 1, such as 0.95, belongs here, found "2".'),
    "language": ("xx", '"xx"', '"xx" is not among the languages; use one of en, de.'),
    "follow_up_d": ("42", '"42"', 'a number from 1 to 366 belongs here, found "42".'),
    "day_first": (1, "1", 'true or false belongs here, found "1".'),
    "time_zone": ("Mars", '"Mars"', '"Mars" is no time zone; write one such as "Europe/London".'),
    "minimum_group": (2.5, "2.5", 'a whole number from 1 to 10,000 belongs here, found "2.5".'),
    "currency": (7, "7", 'text in quotation marks belongs here, found "7".'),
    "compare": (
        ["2026"],
        '["2026"]',
        'two seasons such as ["2025", "2026"] belongs here, found "[\'2026\']".',
    ),
    "standard_mix": (
        ["colour"],
        '["colour"]',
        '"colour" is not accepted; use one of birth_type, born_by, delivery',
    ),
    "spelling": ("Welsh", '"Welsh"', '"Welsh" is not accepted; use one of british, american.'),
    "causes": (["fox"], '["fox"]', 'the list must hold "stillbirth" and "unknown"'),
    "false_discovery_share": (
        True,
        "true",
        'a share between 0 and 1, such as 0.95, belongs here, found "True".',
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_setting_says_the_same_from_python_and_from_a_file(name: str, tmp_path: Path) -> None:
    value, as_toml, sentence = WRONG[name]
    with pytest.raises(WrongSetting) as made:
        Settings(**{name: value})
    assert str(made.value).startswith(f"settings, {name}: {sentence}")
    path = tmp_path / "mine.toml"
    path.write_text(f"{name} = {as_toml}\n", encoding="utf-8")
    with pytest.raises(CannotRead) as read:
        read_settings(path)
    assert str(read.value).startswith(f"mine.toml, {name}: {sentence}")


def test_a_wrong_setting_is_a_value_error_too() -> None:
    with pytest.raises(ValueError, match="season_first_month"):
        Settings(season_first_month=0)


def test_marks_and_expected_are_checked_when_made() -> None:
    with pytest.raises(
        WrongSetting, match='marks, fed_h: a number from 0 to 100000 belongs here, found "soon"'
    ):
        Marks(fed_h="soon")  # type: ignore[arg-type]
    with pytest.raises(WrongSetting, match="expected, dams_scanned: a whole number from 0"):
        Expected(season="2026", dams_scanned=-1)
    with pytest.raises(WrongSetting, match="ranges, birth_weight_kg: a pair such as"):
        Settings(ranges={"birth_weight_kg": (9, 1)})
    with pytest.raises(
        WrongSetting, match='cause_words: "scours" is said to mean "infecton", which is no cause'
    ):
        Settings(cause_words={"scours": "infecton"})


def test_values_are_brought_into_their_usual_form() -> None:
    made = Settings(
        windows_h={"7 d": 168, "24 h": 24}, marks=Marks(colostrum_h=(12, 4)), follow_up_d=np.int64(7)
    )
    assert list(made.windows_h) == ["24 h", "7 d"]
    assert made.marks.colostrum_h == (4.0, 12.0)
    assert (made.follow_up_d, type(made.follow_up_d)) == (7.0, float)
    assert Settings(expected=[Expected(season="2026")]) == Settings(expected=(Expected(season="2026"),))  # type: ignore[arg-type]


LINES = """
newborn_id,dam_id,born_at,died,died_at
1,A,2026-04-13 10:00,no,
2,A,2026-04-13 10:20,yes,2026-04-18 10:19
3,B,2026-04-13 22:30,yes,2026-04-14 02:30
4,B,2027-04-13 22:30,no,
5,C,2027-04-14 22:30,yes,2027-06-01 10:00
"""


@pytest.fixture
def season(tmp_path: Path) -> Season:
    path = tmp_path / "births.csv"
    path.write_text(LINES.strip() + "\n", encoding="utf-8")
    return read_season(path)


def test_a_longer_follow_up_sees_the_later_death(season: Season) -> None:
    # worked by hand: the last lamb died on its day 47, after the usual 42 days
    assert season.births["lost"].sum() == 2
    longer = season.with_settings(follow_up_d=60)
    assert longer.births["lost"].sum() == 3
    assert longer.births.set_index("newborn_id").loc["5", "age_h"] == 47 * 24 + 11
    assert longer.with_settings(follow_up_d=42).births.equals(season.births[longer.births.columns])


def test_a_shorter_follow_up_ends_watching_earlier(season: Season) -> None:
    shorter = season.with_settings(follow_up_d=2, windows_h={"48 h": 48})
    assert shorter.births["age_h"].max() == 48
    assert shorter.births["lost"].sum() == 1
    assert [name for name in shorter.births if name.startswith("lost_by_")] == ["lost_by_48_h"]


def test_another_cluster_acts(season: Season) -> None:
    by_dam = season.with_settings(cluster="dam").births
    assert by_dam["cluster"].tolist() == by_dam["dam"].tolist()
    assert season.births["cluster"].tolist() == season.births["litter"].tolist()


def test_settings_that_shape_nothing_act_at_once(season: Season) -> None:
    assert season.with_settings(level=0.9).settings.level == 0.9
    assert replace(season, settings=replace(season.settings, minimum_group=3)).settings.minimum_group == 3


@pytest.mark.parametrize("change", [{"follow_up_d": 7}, {"cluster": "farm"}, {"windows_h": {"48 h": 48}}])
def test_a_copied_season_with_other_settings_is_refused(season: Season, change: dict[str, Any]) -> None:
    with pytest.raises(
        WrongSetting, match=f"settings, {next(iter(change))}: the births of this season were made with"
    ):
        replace(season, settings=replace(season.settings, **change))


@pytest.mark.parametrize(
    "change",
    [{"season_first_month": 9}, {"time_zone": "Europe/London"}, {"ranges": {"birth_weight_kg": (1, 9)}}],
)
def test_settings_that_say_how_records_are_read_are_refused(season: Season, change: dict[str, Any]) -> None:
    with pytest.raises(WrongSetting, match="it says how records are read; read them again"):
        season.with_settings(**change)


def test_an_unknown_setting_is_refused_with_the_nearest(season: Season) -> None:
    with pytest.raises(WrongSetting, match="'follow_up_days' is no setting; did you mean"):
        season.with_settings(follow_up_days=3)


def test_one_season_in_focus_can_be_followed_anew(season: Season) -> None:
    focus = in_focus(season, "2026").with_settings(follow_up_d=3)
    assert len(focus.births) == 3
    assert focus.births["lost"].sum() == 1


def test_births_have_the_kinds_that_are_agreed(season: Season) -> None:
    assert checked(season.births) is season.births
    assert {name for name in season.births if not kind_of(str(name))} == set()
    wrong = season.births.assign(lost=season.births["lost"].astype(object), age_h="5")
    with pytest.raises(
        TypeError, match=r"age_h is (object|str) and should be a number; lost is object and should be a flag"
    ) as e:
        checked(wrong)
    assert "age_h" in str(e.value)


def test_every_demo_column_is_in_the_schema(hill_season: Season) -> None:
    assert isinstance(checked(hill_season.births), pd.DataFrame)
    assert {name for name in hill_season.births if not kind_of(str(name))} == set()


@pytest.mark.parametrize("windows", [{"24 h": 48}, {"7 d": 24}, {"2 weeks": 168}, {"1,5 Tage": 24}])
def test_a_window_whose_name_says_another_age_is_refused(windows: dict[str, float]) -> None:
    with pytest.raises(WrongSetting, match=r"the name says .* hours and the number"):
        Settings(windows_h=windows)


@pytest.mark.parametrize("windows", [{"36 h": 36}, {"1.5 d": 36}, {"weaning": 1008}, {"first 3 checks": 20}])
def test_a_window_whose_name_agrees_or_says_no_age_is_taken(windows: dict[str, float]) -> None:
    assert Settings(windows_h=windows).windows_h == windows


def farms(*names: str) -> pd.DataFrame:
    """Twenty lambs in ten litters on each farm, two of them lost."""
    one = {"season": "2026", "species": "sheep", "dam_id": [f"E{n // 2}" for n in range(20)]}
    one |= {"died": [n in (3, 8) for n in range(20)]}
    return pd.concat([pd.DataFrame(one).assign(farm=name) for name in names])


def test_one_farm_set_as_the_cluster_leaves_the_litters() -> None:
    alone = read_season(farms("Brook"), settings={"cluster": "farm"})
    assert alone.births["cluster"].equals(alone.births["litter"])
    assert "one farm stands in the records" in " ".join(alone.problems["problem"])
    two = read_season(farms("Brook", "Dale"), settings={"cluster": "farm"})
    assert two.births["cluster"].equals(two.births["farm_code"])
    assert "cluster on the litter" not in " ".join(two.problems["problem"])


def test_an_own_farm_that_is_none_is_asked_about() -> None:
    asked = read_season(farms("Brook", "Dale"), settings={"own_farm": "Brok"}).problems
    (line,) = asked[asked["problem"].str.contains("own farm")].to_dict("records")
    assert '"Brok"' in line["problem"]
    assert line["ended"] == "asked"
    for names, own in ((("Brook", "Dale"), "Brook"), (("Brook",), "Brok"), (("Brook", "Dale"), "")):
        fine = read_season(farms(*names), settings={"own_farm": own}).problems
        assert not fine["problem"].str.contains("own farm").any()

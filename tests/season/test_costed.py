"""Actions with a cost: what a settings file may say of them, and the one sentence where it may not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from neonatal_stats.season.actions import CostedAction
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.settings import Settings, WrongSetting, read_settings
from neonatal_stats.vocabulary.factors import ACTIONABLE, BY_NAME
from tests.conftest import DEMO

WINDOWS = ", ".join(Settings().windows_h)

LAMBER: dict[str, Any] = {"what": "a night lamber", "cost": 1800, "spares": [0.2, 0.5]}


def test_a_file_and_python_give_the_same(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(
        '[[action]]\nwhat = "a night lamber"\ncost = 1800\nspares = [0.2, 0.5]\nfactor = "night"\n'
        'level = "by night"\nwindow = "7 d"\nweeks = 3\n'
    )
    (read,) = read_settings(path).action
    assert read == CostedAction("a night lamber", 1800.0, (0.2, 0.5), "", "night", "by night", "7 d", 3)
    assert Settings(action=(read,)).action == (read,)  # checked again, and the same
    assert Settings(action=[LAMBER]).action == (CostedAction("a night lamber", 1800.0, (0.2, 0.5)),)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"cost": -1}, 'cost: a number from 0 to 1,000,000,000 belongs here, found "-1".'),
        ({"cost": True}, 'cost: a number from 0 to 1,000,000,000 belongs here, found "True".'),
        (
            {"spares": 0.3},
            "spares: a range such as [0.2, 0.5], shares from 0 to 1 with the lower first, belongs here",
        ),
        (
            {"spares": [0.5, 0.2]},
            "spares: a range such as [0.2, 0.5], shares from 0 to 1 with the lower first, belongs",
        ),
        (
            {"spares": [20, 50]},
            "spares: a range such as [0.2, 0.5], shares from 0 to 1 with the lower first, belongs",
        ),
        (
            {"spares": [0, 0]},
            "spares: a range such as [0.2, 0.5], shares from 0 to 1 with the lower first, belongs",
        ),
        ({"what": " "}, "what: it is empty; write in a few words what would be done."),
        ({"what": 3}, 'what: text in quotation marks belongs here, found "3".'),
        ({"window": "8 d"}, f'window: "8 d" is no window of this review; use one of {WINDOWS}.'),
        ({"weeks": 2.5}, 'weeks: a whole number of weeks belongs here, found "2.5".'),
        (
            {"factor": "birth_plce", "level": "x"},
            'factor: "birth_plce" is no factor; did you mean "birth_place"?',
        ),
        (
            {"factor": "night"},
            "level: which level of night is meant is missing; use one of by day, by night.",
        ),
        (
            {"factor": "night", "level": "night"},
            'level: "night" is no level of night; did you mean "by night"?',
        ),
        ({"level": "by night"}, "level: a level of no factor; name the factor, or leave the level out."),
        ({"factor": "group"}, "level: which level of group is meant is missing; name one of yours."),
    ],
)
def test_what_it_may_not_say(changed: dict[str, Any], sentence: str) -> None:
    with pytest.raises(WrongSetting) as told:
        Settings(action=[LAMBER | changed])  # type: ignore[arg-type]
    assert str(told.value).startswith(f"settings, action, entry 1, {sentence}")


def test_keys_are_checked_and_what_is_missing_is_named() -> None:
    with pytest.raises(WrongSetting, match=r'entry 1: "price" is no key here; use one of what, cost, spares'):
        Settings(action=[LAMBER | {"price": 3}])  # type: ignore[arg-type]
    with pytest.raises(WrongSetting, match=r'entry 1: "cost" is missing; an action needs what, cost, spares'):
        Settings(action=[{"what": "a night lamber", "spares": [0.1, 0.2]}])  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["birth_type", "several", "sex", "time_of_birth", "season", "person"])
def test_what_management_cannot_change_is_refused_with_the_reason(name: str) -> None:
    with pytest.raises(WrongSetting) as told:
        Settings(action=[LAMBER | {"factor": name, "level": "twin"}])  # type: ignore[arg-type]
    said = str(told.value)
    assert (
        f'"{name}" is nothing that management can change, so what its groups lose more is no saving' in said
    )
    assert said.count(". ") == 0
    assert "use one of parity_class" in said


def test_every_factor_that_an_action_may_name_is_called_changeable_in_the_registry() -> None:
    assert all(BY_NAME[name].changeable for name in ACTIONABLE)
    assert {"night", "birth_place", "group", "dam_condition"} <= set(ACTIONABLE)


def test_a_file_names_itself(tmp_path: Path) -> None:
    path = tmp_path / "ours.toml"
    path.write_text('[[action]]\nwhat = "straw"\ncost = 1\nspares = [2, 3]\n')
    with pytest.raises(CannotRead, match=r"ours\.toml, action, entry 1, spares: a range such as"):
        read_settings(path)


def test_the_demo_weighs_an_invented_night_lamber() -> None:
    first = read_settings(DEMO / "settings.toml").action[0]
    assert (first.what, first.source) == ("a night lamber for three weeks", "invented")

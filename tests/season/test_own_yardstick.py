"""Figures of the reader's own are checked value by value, and that the values go together."""

from __future__ import annotations

from typing import Any

import pytest

from neonatal_stats.season.settings import Reference, Settings
from neonatal_stats.season.toml_file import WrongSetting

MINE: dict[str, Any] = {
    "species": "sheep",
    "outcome": "lost",
    "window_h": 168,
    "middle": 0.1,
    "n": 9,
    "definition": "lost by a week",
    "source": "flocks of the practice",
}

WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "another species": (
        {"species": "ship"},
        'species: "ship" is not accepted; use one of sheep, goat, cattle',
    ),
    "no window of a loss": (
        {"window_h": None},
        "a loss needs window_h, the age in hours by which it is counted.",
    ),
    "one end": ({"low": 0.05}, "low and high belong together; write both or neither."),
    "no figure": ({"middle": None}, "a figure is missing; write middle, or low and high"),
    "ends of what": (
        {"low": 0.05, "high": 0.2},
        "low and high need spread, and spread needs them; it is one of years",
    ),
    "spread of nothing": ({"spread": "herds"}, "low and high need spread, and spread needs them"),
    "out of order": (
        {"low": 0.2, "high": 0.3, "spread": "herds"},
        "low, middle and high must stand in that order.",
    ),
    "interval alone": (
        {"middle": None, "low": 0.1, "high": 0.3, "spread": "interval"},
        "the interval of a figure needs its middle.",
    ),
    "nothing counted": ({"n": 0}, 'n: a whole number from 1 to 10,000,000,000 belongs here, found "0".'),
    "no definition": ({"definition": " "}, 'definition: text that is not empty belongs here, found " ".'),
    "percent": ({"middle": 12}, 'middle: a number from 0 to 1 belongs here, found "12".'),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_reference_says_what_is_wrong_with_which(name: str) -> None:
    change, sentence = WRONG[name]
    with pytest.raises(WrongSetting) as listed:
        Settings(reference=[MINE | change])  # type: ignore[arg-type]
    assert str(listed.value).startswith("settings, reference, entry 1")
    assert sentence in str(listed.value)
    with pytest.raises(WrongSetting) as made:
        Reference(**(MINE | change))
    assert sentence in str(made.value)


def test_a_reference_made_in_python_is_the_one_given_as_keys() -> None:
    assert Settings(reference=(Reference(**MINE),)) == Settings(reference=[MINE])  # type: ignore[arg-type]


def test_a_target_is_of_a_window_that_the_settings_have() -> None:
    assert Settings(windows_h={"3 d": 72}, targets={"lost by 3 d": 0.1}).targets == {"lost by 3 d": 0.1}
    with pytest.raises(
        WrongSetting,
        match=r'no share "lost by 7 d" \(the windows of \[windows_h\] are 3 d\); did you mean "lost by 3 d"',
    ):
        Settings(windows_h={"3 d": 72}, targets={"lost by 7 d": 0.1})

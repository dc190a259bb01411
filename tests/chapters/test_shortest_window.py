"""Seasons are compared over the shortest window where nobody was watched through any."""

from __future__ import annotations

from typing import Any

import pytest

from neonatal_stats.chapters import years
from neonatal_stats.season.toml_file import WrongSetting
from tests.chapters.build import season


def _season(name: str) -> list[dict[str, Any]]:
    """Four lost at 1 h; sixteen sold at 2 h."""
    common = {"season": name, "born_at": f"{name}-03-02 06:00", "born_alive": "yes"}
    lost = [{"dam_id": f"l{n}", "died": "yes", "died_after_h": 1} for n in range(4)]
    sold = [{"dam_id": f"s{n}", "died": "no", "left_after_h": 2} for n in range(16)]
    return [common | row for row in (*lost, *sold)]


def test_the_shortest_window_is_taken_and_called_shortened() -> None:
    window = years.answer(season([*_season("2025"), *_season("2026")])).window
    assert (window.name, window.column, window.end_h) == ("24 h", "lost_by_24_h", 24.0)
    assert window.shortened


def test_settings_without_a_window_are_refused_when_they_are_made() -> None:
    with pytest.raises(WrongSetting, match="settings, windows_h: at least one window"):
        season(_season("2026"), windows_h={})

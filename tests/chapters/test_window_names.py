"""A window of loss is one line of the settings and has one name on the page: an age at which it ends is called so."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

import pytest

from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import build
from neonatal_stats.season.model import Season
from tests.chapters.build import season
from tests.chapters.flock import flock_rows
from tests.chapters.twelve import FEEDS, ROWS, SAMPLES, rows

TWO_DAYS = {"24 h": 24.0, "48 h": 48.0}
OTHERWISE = re.compile("(?<![0-9.])2[\u00a0 ]d\\b")


def _twelve() -> Season:
    return season(ROWS, feeds=rows(FEEDS), samples=rows(SAMPLES), windows_h=TWO_DAYS)


def _flock() -> Season:
    return season(flock_rows(), windows_h=TWO_DAYS)


@pytest.mark.slow
@pytest.mark.parametrize("records", [_twelve, _flock])
def test_a_window_of_two_days_is_called_as_in_the_settings(records: Callable[[], Season]) -> None:
    review = build(records(), made_on=date(2026, 7, 1))
    page = page_html(review) + keeper_html(review)
    assert "48 h" in page
    assert "48\u00a0h" in page
    assert OTHERWISE.findall(page) == []

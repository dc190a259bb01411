"""How numbers are printed: here alone, and never as more than they are."""

from __future__ import annotations

import math
from datetime import date

import pytest

from neonatal_stats.tables import Printer

printing = Printer()
NAN = math.nan
SPACE, THIN = "\u00a0", "\u202f"


@pytest.mark.parametrize(
    ("printed", "expected"),
    [
        (printing.count(12345), f"12{THIN}345"),
        (printing.count(NAN), "–"),
        (printing.number(-0.04), "0.0"),
        (printing.number(2.345, 2), "2.35"),
        (printing.number(-1234.5), f"−1{THIN}234.5"),
        (printing.number(-0.4, 0), "0"),
        (printing.percent(0.1234), f"12.3{SPACE}%"),
        (printing.percent_range(0.09, 0.142), f"9.0 to 14.2{SPACE}%"),
        (printing.percent_range(NAN, 0.142), "–"),
        (printing.points(0.0312), "+3.1"),
        (printing.points(-0.0312), "−3.1"),
        (printing.points(-0.0002), "0.0"),
        (printing.ratio(2.345), "2.35"),
        (printing.ratio(12.34), "12.3"),
        (printing.ratio_range(1.2, 3.4), "1.20 to 3.40"),
        (printing.ratio_range(1.2, NAN), "at least 1.20"),
        (printing.ratio_range(NAN, 3.4), "at most 3.40"),
        (printing.ratio_range(NAN, NAN), "–"),
        (printing.p_value(0.0004), "under 0.001"),
        (printing.p_value(0.0432), "0.043"),
        (printing.p_value(0.432), "0.43"),
        (printing.age(6.9), f"6{SPACE}h"),
        (printing.age(47.9), f"47{SPACE}h"),
        (printing.age(877), f"36{SPACE}d"),
        (printing.age_span(0, 12), f"0 to 12{SPACE}h"),
        (printing.age_span(24, 72), f"24{SPACE}h to 3{SPACE}d"),
        (printing.age_span(72, 168), f"3 to 7{SPACE}d"),
        (printing.day(date(2026, 3, 1)), f"1{SPACE}Mar"),
        (printing.day(date(2026, 12, 31)), f"31{SPACE}Dec"),
        (printing.date(date(2026, 3, 1)), f"1{SPACE}Mar{SPACE}2026"),
    ],
)
def test_printed(printed: str, expected: str) -> None:
    assert printed == expected


@pytest.mark.parametrize("n", [1, 7, 19])
def test_small_groups_are_counts(n: int) -> None:
    assert printing.share_of(1, n, 0.01, 0.5) == f"1 of {n}"
    assert printing.counts(1, n) == f"1 of {n}"


def test_large_groups_have_share_and_interval() -> None:
    assert printing.share_of(68, 600, 0.09, 0.142) == f"68 of 600 (11.3{SPACE}%, 9.0 to 14.2{SPACE}%)"
    assert printing.counts(68, 600) == f"68 of 600 (11.3{SPACE}%)"

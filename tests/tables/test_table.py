"""A table keeps raw numbers, prints them once, and lets no farm text become markup."""

from __future__ import annotations

import math

import pandas as pd

from neonatal_stats.tables import Printer, Table, columns, printed

FRAME = pd.DataFrame(
    {
        "who": ["<b>twin</b>", "all"],
        "share": [0.25, math.nan],
        "low": [0.1, math.nan],
        "high": [0.4, math.nan],
    }
)


def _table(kind: str = "share") -> Table:
    declared = (
        columns.text("who", "Group"),
        columns.share("share", "Share"),
        columns.interval("low", "high", "95 % interval", kind),
    )
    return Table("t", "Shares & more", FRAME, declared, note="A < B", printer=Printer())


def test_printed_cells() -> None:
    assert printed(_table()).to_numpy().tolist() == [
        ["<b>twin</b>", "25.0\u00a0%", "10.0 to 40.0\u00a0%"],
        ["all", "–", "–"],
    ]


def test_intervals_of_other_kinds() -> None:
    assert printed(_table("ratio"))["95 % interval"].tolist() == ["0.10 to 0.40", "–"]
    assert printed(_table("number"))["95 % interval"].tolist() == ["0.1 to 0.4", "–"]


def test_raw_numbers_are_untouched() -> None:
    assert _table().frame["share"].iloc[0] == 0.25


def test_html_escapes_and_ties_headings() -> None:
    html = _table().html()
    assert "<b>" not in html
    assert "&lt;b&gt;twin" in html
    assert "Shares &amp; more" in html
    assert "A &lt; B" in html
    assert html.count('scope="col"') == 3
    assert html.count('scope="row"') == 2


def test_headings_start_with_a_capital_but_a_sign_keeps_its_case() -> None:
    declared = (columns.count("n", "lambs born"), columns.p("p", "p"))
    table = Table("t", "lambs and ewes", pd.DataFrame({"n": [3], "p": [0.2]}), declared, printer=Printer())
    html = table.html()
    assert "Lambs and ewes" in html
    assert "Lambs born" in html
    assert ">p<" in html

"""The documentation builds as a site, without a warning and without anything from a network."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from docs.make_site import ROOT, linked, make_site, names_of

pytestmark = pytest.mark.filterwarnings("ignore")  # the builder's own


def test_links_lead_within_the_site_or_are_told_as_names() -> None:
    told = linked(
        "[jobs](docs/python.md#x) [licence](LICENSE) [far](https://example.org) ![a](docs/gallery/a.png)",
        ROOT,
    )
    assert told == "[jobs](python.md#x) `licence` [far](https://example.org) ![a](gallery/a.png)"


@pytest.mark.slow
def test_the_site_is_built_whole(tmp_path: Path) -> None:
    pytest.importorskip("sphinx")
    pytest.importorskip("myst_parser")
    make_site(tmp_path / "site")
    for address in ("neonatal_stats", "neonatal_stats.analysis", "neonatal_stats.estimates"):
        page = (tmp_path / "site" / f"{address}.html").read_text(encoding="utf-8")
        lacking = [name for name in names_of(address) if f'.{name}"' not in page]
        assert lacking == []
    assert "born_at" in (tmp_path / "site" / "columns.html").read_text(encoding="utf-8")
    for path in (tmp_path / "site").rglob("*.html"):
        fetched = re.findall(
            r'<(?:script|img|link)[^>]+(?:src|href)="(?:https?:)?//[^"]+"', path.read_text(encoding="utf-8")
        )
        assert fetched == [], path.name

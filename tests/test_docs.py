"""Files kept in docs are what the code writes today."""

from __future__ import annotations

from pathlib import Path

from docs.make_shed import shed_page
from neonatal_stats.season.blank import write_table_schemas

DOCS = Path(__file__).parents[1] / "docs"


def test_table_schemas_are_those_of_the_vocabulary(tmp_path: Path) -> None:
    written = write_table_schemas(tmp_path)
    assert {path.name for path in written} == {path.name for path in (DOCS / "schema").iterdir()}
    for path in written:
        kept = (DOCS / "schema" / path.name).read_text(encoding="utf-8")
        assert path.read_text(encoding="utf-8") == kept, f"write it anew: see DEVELOPERS.md, {path.name}"


def test_the_fields_and_codes_of_the_shed_sheet_are_those_of_the_vocabulary() -> None:
    kept = (DOCS / "shed.md").read_text(encoding="utf-8")
    assert shed_page() == kept, "write it anew: python -m docs.make_shed"

"""Files kept in docs are what the code writes today."""

from __future__ import annotations

from pathlib import Path

from neonatal_stats.season.blank import write_table_schemas

DOCS = Path(__file__).parents[1] / "docs"


def test_table_schemas_are_those_of_the_vocabulary(tmp_path: Path) -> None:
    written = write_table_schemas(tmp_path)
    assert {path.name for path in written} == {path.name for path in (DOCS / "schema").iterdir()}
    for path in written:
        kept = (DOCS / "schema" / path.name).read_text(encoding="utf-8")
        assert path.read_text(encoding="utf-8") == kept, f"write it anew: see DEVELOPERS.md, {path.name}"

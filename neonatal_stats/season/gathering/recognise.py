"""Which table a sheet holds: said by the map, by its columns, or by its own name."""

from __future__ import annotations

from collections.abc import Iterable

from neonatal_stats.season.gathering.counted import MEANT
from neonatal_stats.season.gathering.wide import numbered
from neonatal_stats.season.grid import RawTable
from neonatal_stats.season.mapping.records_map import RecordsMap, plain_heading
from neonatal_stats.vocabulary.columns import TABLES

OPENED_BY: dict[str, frozenset[str]] = {
    "births": frozenset(
        [
            "dam_id",
            "litter_id",
            "born_at",
            "born_on",
            "born_alive",
            "died",
            "died_at",
            "found_dead_at",
            "delivery",
            "mothered_up",
            "cause",
            "birth_weight_kg",
            "litter_size",
        ]
    ),
    "feeds": frozenset(("fed_at", "volume_ml", "source")),
    "samples": frozenset(("sampled_at", "igg_g_per_l", "total_protein_g_per_dl", "brix_pct")),
    "weather": frozenset(("temperature_c", "wind_m_per_s", "rain_mm")),
}


def known_heading(records_map: RecordsMap, heading: str) -> bool:
    """True where a heading means a column of some table, numbered or counted ones included."""
    births = records_map.of("births")
    if any(records_map.of(table).column_of(table, heading) is not None for table in TABLES):
        return True
    return plain_heading(heading) in MEANT or numbered(heading, births) is not None


def table_of_sheet(raw: RawTable, records_map: RecordsMap) -> str:
    """The table that a sheet holds, or "" where none of its headings opens one."""
    for name in (raw.sheet, raw.file, raw.file.rpartition(".")[0]):
        if name and (said := records_map.tables.get(plain_heading(name))) is not None:
            return said
    if raw.table:
        return raw.table
    scores = {table: _score(table, raw.columns, records_map) for table in TABLES}
    most = max(scores.values())
    if most == 0:
        return ""
    best = [table for table, score in scores.items() if score == most]
    named = [table for table in best if table.rstrip("s") in (raw.sheet + raw.file).casefold()]
    return (named or best)[0]


def _score(table: str, headings: Iterable[str], records_map: RecordsMap) -> int:
    own = records_map.of(table)
    meant = {own.column_of(table, heading) for heading in headings} - {None, ""}
    opened = meant & OPENED_BY[table]
    needs = {"feeds": "newborn_id", "samples": "newborn_id", "weather": "at"}.get(table)
    if not opened or (needs and needs not in meant):
        return 0
    return len(meant)

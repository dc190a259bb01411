"""Which table does a sheet hold? By the map, by its headings, and of samples and colostrum by their results."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Set

import numpy as np

from neonatal_stats.season.cells.fates import AGES
from neonatal_stats.season.finding import CannotRead, say
from neonatal_stats.season.gathering.litters import numbered
from neonatal_stats.season.gathering.mob_sheets import parts_of_counts
from neonatal_stats.season.grid import RawTable, Remark
from neonatal_stats.season.records_map import RecordsMap, TableMap, plain_heading
from neonatal_stats.vocabulary.columns import ALIKE, LISTS, TABLES
from neonatal_stats.vocabulary.farm_words import count_meant
from neonatal_stats.vocabulary.shed import is_shed_heading
from neonatal_stats.vocabulary.spelling import words

OPENED_BY: dict[str, frozenset[str]] = {
    "births": words("""dam_id litter_id born_at born_on born_alive died died_at found_dead_at delivery mothered_up cause
        birth_weight_kg litter_size born_dead alive_now died_on age_at_death age_at_death_h age_at_death_d"""),
    "feeds": frozenset(("fed_at", "volume_ml", "source")),
    "samples": frozenset(("sampled_at", "igg_g_per_l", "total_protein_g_per_dl", "brix_pct")),
    "weather": frozenset(("temperature_c", "wind_m_per_s", "rain_mm")),
    "colostrum": frozenset(("milked_at", "milked_after_h", "brix_pct", "igg_g_per_l")),
    "examinations": words("""examined_at autolysed breathed walked fat_reserves cord finding agent laboratory
        keeper_cause"""),
    "treatments": frozenset(("given_at", "treatment", "product")),
    "mobs": words(
        "joined scanned scanned_dry scanned_single scanned_twin scanned_triplet foetuses marked weaned"
    ),
}
NEEDS: dict[str, tuple[frozenset[str], ...]] = {
    "feeds": (frozenset(("newborn_id",)),),
    "samples": (frozenset(("newborn_id",)),),
    "weather": (frozenset(("at",)),),
    "colostrum": (frozenset(("dam_id", "milked_at", "milked_after_h")),),
    "examinations": (frozenset(("newborn_id", "dam_id", "examined_at", "died_at")),),
    "treatments": (frozenset(("newborn_id", "dam_id")), frozenset(("treatment", "product"))),
}
"""Of each of these groups a sheet must have one, to be taken for the table."""
TELLS_OF_BIRTHS = words("died born_alive last_seen_at birth_weight_kg mothered_up left_at")
"""Columns that only births have: beside them, what another table shares with births speaks for births."""
OF_THE_LIVING = words(
    "born_alive died alive_now born_dead left_at last_seen_at mothered_up rearing suck_reflex"
)
"""What a book of births says of newborns and a list of opened carcasses does not."""
NEARLY_ALL = 0.8
FEWEST_OF_A_MOB = 2
"""Columns that count a mob at some stage, from which a sheet that names no single animal is one of mobs."""
DAMS = ("dam_id", "litter_id")
NAMED = frozenset((*DAMS, "newborn_id"))
OUTCOMES = ("died", "died_at", "found_dead_at", "born_alive", "cause")
TOLD = frozenset((*OUTCOMES[:-1], *AGES, "died_on", "age_at_death", "born_dead", "alive_now"))
PERCENT = re.compile(r"%|\b(?:pct|per ?cent|percentage|prozent)\b", re.IGNORECASE)
RESULTS: dict[str, tuple[str, ...]] = {
    "samples": ("total_protein_g_per_dl", "igg_g_per_l", "brix_pct", "turbidity"),
    "colostrum": ("brix_pct", "igg_g_per_l"),
}
"""What a row of each list is written down for."""
MOST_BRIX_OF_SERUM, MOST_MEDIAN, FEWEST = 14.0, 12.0, 5
"""Serum reads 6 to 12 % Brix or 4 to 9 g/dl, colostrum mostly 15 to 35 % Brix (common practice)."""
WITHOUT_RESULT = Remark(
    "",
    say("no column of this list holds a result that can be read, so nothing of it is counted"),
    say("say in the map under [columns] which heading holds the result, and in which unit"),
    "asked",
)


def known_heading(records_map: RecordsMap, heading: str) -> bool:
    """True where a heading means a column of some table, numbered or counted ones included."""
    births = records_map.of("births")
    if any(records_map.of(table).column_of(table, heading) is not None for table in TABLES):
        return True
    if count_meant(heading) not in (None, ALIKE) or numbered(heading, births) is not None:
        return True
    return is_shed_heading(heading)


def _named_in_map(raw: RawTable, records_map: RecordsMap) -> str | None:
    """What the map says that a sheet or file holds; "" where it leaves it out, None where it says nothing."""
    own = raw.file.rpartition("/")[2]
    for name in (raw.sheet, raw.file, own, own.rpartition(".")[0]):
        if name and (said := records_map.tables.get(plain_heading(name))) is not None:
            return said
    return None


def left_out_by_map(raw: RawTable, records_map: RecordsMap) -> bool:
    """True for a sheet that the map leaves out."""
    return _named_in_map(raw, records_map) == ""


def table_of_sheet(raw: RawTable, records_map: RecordsMap) -> str:
    """The table that a sheet holds, or "" where none of its headings opens one."""
    if (said := _named_in_map(raw, records_map)) is not None:
        return said
    if raw.table or raw.meant:
        return raw.table or raw.meant
    scores = {table: _score(table, raw.columns, records_map) for table in TABLES}
    if scores["examinations"] and of_carcasses(raw, records_map):
        scores["births"] = 0
    most = max(scores.values())
    if most == 0:
        return ""
    best = [table for table, score in scores.items() if score == most]
    named = [table for table in best if table.rstrip("s") in (raw.sheet + raw.file).casefold()]
    return (named or best)[0]


def of_carcasses(raw: RawTable, records_map: RecordsMap) -> bool:
    """True where nearly every row has a day on which a carcass was opened, and nothing is said of the living."""
    births, examined = records_map.of("births"), records_map.of("examinations")
    if OF_THE_LIVING & {births.column_of("births", heading) for heading in raw.columns}:
        return False
    days = [c for h, c in raw.columns.items() if examined.column_of("examinations", h) == "examined_at"]
    return any(len(cells.codes) > 0 and cells.filled.mean() >= NEARLY_ALL for cells in days)


def _score(table: str, headings: Collection[str], records_map: RecordsMap) -> int:
    own = records_map.of(table)
    meant = {own.column_of(table, heading) for heading in headings} - {None, ""}
    if table == "mobs":
        meant |= set(parts_of_counts(headings, own))
    opened = meant & OPENED_BY[table]
    if not opened or not all(meant & needed for needed in NEEDS.get(table, ())):
        return 0
    births = records_map.of("births")
    if table in LISTS and TELLS_OF_BIRTHS & {births.column_of("births", heading) for heading in headings}:
        return len(meant - {column.name for column in TABLES["births"]})
    if table == "mobs" and (not counts_a_mob(meant) or names_an_animal(headings, records_map)):
        return 0
    return len(meant)


def counts_a_mob(meant: Set[str | None]) -> bool:
    """True for enough columns that count a mob; beside its name, the born and the dams that died count too."""
    counted = meant & OPENED_BY["mobs"]
    if "mob" in meant and counted:
        counted = counted | (meant & {"born", "born_dead", "dams_died"})
    return len(counted) >= FEWEST_OF_A_MOB


def names_an_animal(headings: Iterable[str], records_map: RecordsMap) -> bool:
    """True where a heading names a single dam or newborn: such a sheet is none of mobs."""
    births = records_map.of("births")
    meant = {births.column_of("births", heading) for heading in headings}
    return bool(meant & {"dam_id", "newborn_id"})


def is_percentage(heading: str) -> bool:
    """Does a heading say that its numbers are percentages, which are no counts?"""
    return PERCENT.search(heading) is not None


def of_serum(raw: RawTable, own: TableMap) -> str:
    """The heading over values that would be of colostrum and are those of serum, of newborns without their dams.

    "" where there is none.
    """
    meant = {heading: own.column_of("colostrum", heading) for heading in raw.columns}
    if "dam_id" in meant.values() or "newborn_id" not in meant.values():
        return ""
    for heading, name in meant.items():
        if name == "brix_pct":
            cells = raw.columns[heading].by_row(_number, np.nan, float)
            known = cells[np.isfinite(cells)]
            if len(known) >= FEWEST and known.max() <= MOST_BRIX_OF_SERUM and np.median(known) <= MOST_MEDIAN:
                return heading
    return ""


def _number(cell: object) -> float:
    try:
        return float(str(cell).replace(",", ".").rstrip("% "))
    except ValueError:
        return np.nan


def must_be_colostrum(raw: RawTable, own: TableMap) -> None:
    """Refuse a list of colostrum whose values are those of serum. Raises `CannotRead`."""
    if heading := of_serum(raw, own):
        name = raw.sheet or raw.file
        raise CannotRead(
            f'{raw.place}: the values under "{heading}" are those of serum, not of colostrum, and no dam is named; say '
            f'in the map under [tables] "{name}" = "samples", and under [samples.columns] whether "{heading}" is '
            "brix_pct (serum Brix) or total_protein_g_per_dl."
        )

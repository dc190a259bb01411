"""The tidy Parquet of a scheme: one file of births a farm and season, written farm by farm and read as one table."""

from __future__ import annotations

import io
import os
from pathlib import Path
from urllib.parse import quote

import ibis

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.following.clocks import MOMENTS
from neonatal_stats.season.model import Season
from neonatal_stats.season.tidy import typed_frame
from neonatal_stats.vocabulary.columns import BIRTHS

TIDY = frozenset(column.name for column in BIRTHS)
READ = (
    TIDY
    | {f"{name}_is_day" for name in MOMENTS}
    | {f"{c.name}_not_by" for c in BIRTHS if c.kind == "elapsed"}
)
"""What is read of the births; what follows from them is derived anew."""
NEEDED = ("farm", "season", "species")
KINDS = {
    "text": ("is_string", "text"),
    "term": ("is_string", "text"),
    "terms": ("is_string", "text"),
    "moment": ("is_timestamp", "a date and time without a zone"),
    "date": ("is_temporal", "a date"),
    "number": ("is_numeric", "a number"),
    "integer": ("is_numeric", "a number"),
    "elapsed": ("is_numeric", "a number"),
    "yes_no": ("is_boolean", "true or false"),
}
"""How the engine's kind of a column is asked for, and what it should be, by the vocabulary's kind."""


def write_births(season: Season, folder: str | Path) -> list[Path]:
    """Write the births as ``farm=.../season=.../births.parquet`` below a folder, typed as tidy tables are.

    A farm's season that stands there already is replaced; a file takes its name only when it is complete. Names of
    farms and seasons are written in the folders' names with what a path may not hold as %XX, and as they are in the
    columns, which alone are read.
    """
    births = typed_frame(season, "births")
    written = []
    for (farm, name), rows in births.groupby(["farm", "season"], sort=True):
        place = Path(folder, f"farm={quote(str(farm), safe='')}", f"season={quote(str(name), safe='')}")
        place.mkdir(parents=True, exist_ok=True)
        data = io.BytesIO()
        rows.to_parquet(data, index=False, engine="pyarrow")
        part = place / ".births.parquet.part"
        part.write_bytes(data.getvalue())
        os.replace(part, place / "births.parquet")
        written.append(place / "births.parquet")
    return written


def embedded(
    *, threads: int | None = None, memory: str | None = None, spill: str | Path | None = None
) -> ibis.BaseBackend:
    """The embedded engine, DuckDB: ``memory`` such as "2GB" at most, what does not fit goes to the folder ``spill``."""
    chosen = {
        "threads": threads,
        "memory_limit": memory,
        "temp_directory": None if spill is None else str(spill),
    }
    return ibis.duckdb.connect(**{name: value for name, value in chosen.items() if value is not None})


def births_of(engine: ibis.BaseBackend, folder: str | Path) -> ibis.Table:
    """The births below a folder (`write_births`), or of one Parquet file, as a table of the engine.

    Returns
    -------
    One row a newborn: the tidy columns that any of the files has, missing where a file lacks them.

    Raises
    ------
    CannotRead
        Where no such file is there, and for a column of another kind than the vocabulary's.
    """
    place = Path(folder)
    files = [place] if place.is_file() else sorted(place.glob("farm=*/season=*/*.parquet"))
    if not files:
        raise CannotRead(
            f"{folder}: it holds no births as Parquet; write them, farm by farm, with neonatal_stats.scheme.records"
            ".write_births, as farm=.../season=.../births.parquet."
        )
    births = engine.read_parquet([str(file) for file in files], union_by_name=True, hive_partitioning=False)
    return checked(births.select(*(name for name in births.columns if name in READ)), str(folder))


def checked(births: ibis.Table, place: str) -> ibis.Table:
    """The table itself. Raises `CannotRead` for a column that lacks, or is of another kind than the vocabulary's."""
    lacking = [name for name in NEEDED if name not in births.columns]
    if lacking:
        raise CannotRead(
            f"{place}: the births have no column {', '.join(lacking)}; write them with tidy --parquet."
        )
    for column in BIRTHS:
        if column.name in births.columns:
            asked, meant = KINDS[column.kind]
            found = births.schema()[column.name]
            zoned = found.is_timestamp() and found.timezone is not None
            if not getattr(found, asked)() or zoned:
                raise CannotRead(
                    f"{place}: the column {column.name} of the births holds {found}, and should hold {meant}; write "
                    "it with tidy --parquet, which types every column."
                )
    return births

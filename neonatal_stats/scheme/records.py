"""The tidy Parquet of a scheme: one file of births a farm and season, written farm by farm and read as one table."""

from __future__ import annotations

import io
import os
from collections.abc import Collection
from pathlib import Path
from urllib.parse import quote

import ibis

from neonatal_stats.scheme.engines import in_short, is_spark
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.following.ages import MOMENTS
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


def files_of(place: str | Path) -> list[Path]:
    """The files of births at a place: one file, or all births*.parquet below a folder, else all *.parquet of its
    folders farm=.../season=....

    Raises
    ------
    CannotRead : where there are none.
    """
    place = Path(place)
    if not place.exists():
        raise CannotRead(f"{place}: there is no such folder.")
    files = [place] if place.is_file() else sorted(place.rglob(NAMED))
    files = files or sorted(place.glob("farm=*/season=*/*.parquet"))
    if not files:
        raise CannotRead(
            f"{place}: it holds no births as Parquet; write them, farm by farm, with neonatal-stats tidy --parquet, "
            "each farm into a folder of its own below this one."
        )
    return files


NAMED = "births*.parquet"


def births_of(engine: ibis.BaseBackend, place: str | Path, more: Collection[str] = ()) -> ibis.Table:
    """The births at a place (`files_of`) as a table of the engine.

    Parameters
    ----------
    more : further columns of words, to group by.

    Returns
    -------
    One row a newborn: the tidy columns that any of the files has, missing where a file lacks them.

    Raises
    ------
    CannotRead
        Where no such file is there or one cannot be read, and for a column that lacks, or is of another kind than the
        vocabulary's.
    """
    files = files_of(place)
    try:
        births = _read(engine, Path(place), files)
        wrong = what_is_wrong(births.schema())
    except Exception as error:
        wrong = in_short(error)
    if wrong:
        raise CannotRead(_at_fault(files) or f"{place}: {wrong}")
    return births.select(*(name for name in births.columns if name in READ or name in more))


def _read(engine: ibis.BaseBackend, place: Path, files: list[Path]) -> ibis.Table:
    if not is_spark(engine):
        return engine.read_parquet([str(file) for file in files], union_by_name=True, hive_partitioning=False)
    named = NAMED if any(file.match(NAMED) for file in files) else "*.parquet"
    whole = {} if place.is_file() else {"recursiveFileLookup": True, "pathGlobFilter": named}
    return engine.read_parquet(str(place.resolve()), mergeSchema=True, **whole)


def what_is_wrong(schema: ibis.Schema) -> str:
    """What a table of births lacks, or holds of another kind than the vocabulary's, in a sentence; "" where nothing."""
    lacking = [name for name in NEEDED if name not in schema]
    if lacking:
        return (
            f"the births have no column {', '.join(lacking)}; write them with neonatal-stats tidy --parquet."
        )
    for column in BIRTHS:
        if column.name in schema:
            asked, meant = KINDS[column.kind]
            found = schema[column.name]
            zoned = found.is_timestamp() and found.timezone is not None
            if not (getattr(found, asked)() or found.is_null()) or zoned:
                return (
                    f"the column {column.name} of the births holds {found}, and should hold {meant}; write it with "
                    "neonatal-stats tidy --parquet, which types every column."
                )
    return ""


def _at_fault(files: list[Path]) -> str:
    """The first file that is no Parquet or has something wrong by itself, with what it is."""
    from pyarrow import ArrowException
    from pyarrow.parquet import read_schema

    for file in files:
        try:
            wrong = what_is_wrong(ibis.Schema.from_pyarrow(read_schema(file)))
        except (ArrowException, OSError) as error:
            wrong = f"it cannot be read as Parquet: {in_short(error)}"
        if wrong:
            return f"{file}: {wrong}"
    return ""


def without_farm_or_season(place: str | Path) -> CannotRead:
    """What to say of births of which some have no farm, season or species, which the engine found."""
    lacking = f"some births have no {', '.join(NEEDED[:-1])} or {NEEDED[-1]}"
    return CannotRead(
        _at_fault(files_of(place)) or f"{place}: {lacking}; write them with neonatal-stats tidy --parquet."
    )

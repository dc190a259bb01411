"""`check`: what was read, what was not used, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from neonatal_stats.cli.telling import spelled_out

if TYPE_CHECKING:
    import pandas as pd

    from neonatal_stats.cli.telling import Tell
    from neonatal_stats.season.ledger import Matter, Source
    from neonatal_stats.season.model import Season

ROWS_SHOWN, VALUES_SHOWN = 8, 4
ENDINGS = ("set aside", "set to missing", "no record", "asked", "noted")


def run_check(
    records: list[Path],
    settings_file: Path | None,
    map_file: Path | None,
    list_to: Path | None,
    tell: Tell = lambda found: None,
) -> None:
    """Print the balance and the problems; exit 1 unless every record was used whole and nothing waits for an answer."""
    from neonatal_stats.cli.telling import of_check
    from neonatal_stats.report.folder import writable
    from neonatal_stats.season.read import read_season

    if list_to is not None:
        writable(list_to)
    season = read_season(spelled_out(records), settings=settings_file, map=map_file)
    for line in _report(season):
        print(line)
    if list_to is not None:
        _write_list(season.problems, list_to)
        print(f"The whole list, a line a problem, is in {list_to}")
    tell(of_check(season))
    if not season.all_well:
        raise SystemExit(1)
    print("All well: every record was used.")


def _report(season: Season) -> Iterator[str]:
    for source in season.sources:
        yield _lines(source)
    for balance in season.balances:
        yield (
            f"{balance.table}: {balance.rows_read} rows read = {balance.used} used + "
            f"{balance.used_with_missing} used with a field missing + {balance.set_aside} set aside + "
            f"{balance.no_record} no record"
        )
    yield from open_outcomes(season)
    from neonatal_stats.season.ledger import matters

    for ending in ENDINGS:
        alike = matters(season.problems, ending)
        if alike:
            yield f"\n{ending.capitalize()}:"
        yield from map(_line, alike)


def _lines(source: Source) -> str:
    """Where the lines of one file or sheet are: "lambs.csv: 43 lines = 40 of records + 1 headings + 2 blank"."""
    parts = {
        "of records": source.records,
        "no record": source.no_record,
        "left out": source.left_out,
        "headings": source.headings,
        "titles": source.titles,
        "blank": source.blank,
        "NOT ACCOUNTED FOR": source.unaccounted,
    }
    shown = " + ".join(f"{n} {what}" for what, n in parts.items() if n)
    unit = "messages" if source.file.casefold().endswith(".json") else "rows" if source.sheet else "lines"
    place = source.file + (f", sheet {source.sheet}" if source.sheet else "")
    return f"{place}: {source.lines} {unit} = {shown or 'nothing'}"


def open_outcomes(season: Season) -> Iterator[str]:
    """How many births have an outcome that is not written or cannot be read, by farm and season."""
    for row in season.undecided.to_dict("records"):
        unwritten, unread = int(row["not_written"]), int(row["not_readable"])
        yield (
            f"{printable(str(row['farm']))}, {row['season']}: the outcome of {unwritten + unread:,} of "
            f"{int(row['born']):,} births is open ({unwritten:,} not written, {unread:,} not readable)"
        )


def _found(counts: tuple[tuple[str, int], ...]) -> str:
    """The distinct cells with their counts, the most frequent first; control characters never reach the terminal."""
    shown = [f'"{printable(value)}"' + (f" ({n:,})" if n > 1 else "") for value, n in counts[:VALUES_SHOWN]]
    more = [f"and {len(counts) - VALUES_SHOWN:,} more"] if len(counts) > VALUES_SHOWN else []
    return ", ".join([*shown, *more])


def printable(text: str) -> str:
    """Text whose control characters are replaced, so that a terminal does nothing but print it."""
    return "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in text)


def _line(matter: Matter) -> str:
    rows, found = matter.rows, _found(matter.found)
    place = (matter.file or "All files") + (f", sheet {matter.sheet}" if matter.sheet else "")
    if rows:
        more = f" and {len(rows) - ROWS_SHOWN} more" if len(rows) > ROWS_SHOWN else ""
        place += f", row{'s' if len(rows) > 1 else ''} {', '.join(rows[:ROWS_SHOWN])}{more}"
    if matter.column:
        place += f", column {matter.column}"
    stop = "" if matter.problem.endswith("?") else "."
    cells = f"\n    Found: {found}." if found else ""
    return (
        f"  {printable(f'{place}: {matter.problem}{stop}')}{cells}\n    To mend: {printable(matter.remedy)}."
    )


def _write_list(problems: pd.DataFrame, list_to: Path) -> None:
    from neonatal_stats.tables.table import harmless

    harmless(problems).to_csv(list_to, index=False, lineterminator="\n")

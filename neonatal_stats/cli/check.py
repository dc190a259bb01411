"""`check`: what was read, what was not used, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from neonatal_stats.cli.records import spelled_out

if TYPE_CHECKING:
    import pandas as pd

    from neonatal_stats.season.model import Season, Source

ROWS_SHOWN = 8
SAME = ["ended", "file", "sheet", "column", "problem", "remedy"]
NO_ROW = ("", "<NA>", "nan", "None")
ENDINGS = ("set aside", "set to missing", "no record", "asked", "noted")


def run_check(
    records: list[Path], settings_file: Path | None, map_file: Path | None, list_to: Path | None
) -> None:
    """Print the balance and the problems; exit 1 where rows were set aside or fields set to missing."""
    from neonatal_stats.season.read import read_season

    season = read_season(spelled_out(records), settings=settings_file, map=map_file)
    for line in _report(season):
        print(line)
    if list_to is not None:
        _write_list(season.problems, list_to)
        print(f"The whole list, a line a problem, is in {list_to}")
    if _is_amiss(season):
        raise SystemExit(1)
    print("All well: every row was used.")


def _is_amiss(season: Season) -> bool:
    """True where a row or a field was not used, something is asked, or a line of a file is not accounted for."""
    return (
        any(balance.used < balance.rows_read for balance in season.balances)
        or bool((season.problems["ended"] == "asked").any())
        or any(source.unaccounted for source in season.sources)
    )


def _report(season: Season) -> Iterator[str]:
    for source in season.sources:
        yield _lines(source)
    for balance in season.balances:
        yield (
            f"{balance.table}: {balance.rows_read} rows read = {balance.used} used + "
            f"{balance.used_with_missing} used with a field missing + {balance.set_aside} set aside + "
            f"{balance.no_record} no record"
        )
    for ending in ENDINGS:
        alike = season.problems[season.problems["ended"] == ending]
        if len(alike):
            yield f"\n{ending.capitalize()}:"
        for keys, rows in alike.groupby(SAME[1:], sort=False, dropna=False):
            yield _line(
                [str(key) for key in keys], [str(row) for row in rows["row"] if str(row) not in NO_ROW]
            )


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


def _line(keys: list[str], rows: list[str]) -> str:
    file, sheet, column, problem, remedy = keys
    place = (file or "All files") + (f", sheet {sheet}" if sheet else "")
    if rows:
        more = f" and {len(rows) - ROWS_SHOWN} more" if len(rows) > ROWS_SHOWN else ""
        place += f", row{'s' if len(rows) > 1 else ''} {', '.join(rows[:ROWS_SHOWN])}{more}"
    if column:
        place += f", column {column}"
    stop = "" if problem.endswith("?") else "."
    return f"  {place}: {problem}{stop}\n    To mend: {remedy}."


def _write_list(problems: pd.DataFrame, list_to: Path) -> None:
    from neonatal_stats.report.loose import harmless

    harmless(problems).to_csv(list_to, index=False, lineterminator="\n")

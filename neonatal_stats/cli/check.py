"""`check`: what was read, what was not used, and what to do about it."""

from __future__ import annotations

from pathlib import Path

from neonatal_stats.cli.records import spelled_out

SHOWN = 40


def run_check(records: list[Path], settings_file: Path | None, map_file: Path | None, list_to: Path | None) -> None:
    """Print the balance and the problems; exit 1 where rows were set aside or fields set to missing."""
    from neonatal_stats.season.read import read_season

    season = read_season(spelled_out(records), settings=settings_file, map=map_file)
    for balance in season.balances:
        print(
            f"{balance.table}: {balance.rows_read} rows read = {balance.used} used + "
            f"{balance.used_with_missing} used with a field missing + {balance.set_aside} set aside"
        )
    lines = [_line(row) for row in season.problems.to_dict("records")]
    for line in lines[:SHOWN]:
        print(line)
    if len(lines) > SHOWN:
        print(f"... and {len(lines) - SHOWN} more; add --list problems.csv for the whole list")
    if list_to is not None:
        _write_list(season.problems, list_to)
    if any(balance.used_with_missing or balance.set_aside for balance in season.balances):
        raise SystemExit(1)
    print("All well: every row was used.")


def _line(row: dict[str, object]) -> str:
    sheet = f", sheet {row['sheet']}" if row["sheet"] else ""
    place = f", row {row['row']}" if str(row["row"]) not in ("", "<NA>", "nan", "None") else ""
    column = f", column {row['column']}" if row["column"] else ""
    return f"{row['file']}{sheet}{place}{column}: {row['problem']} {row['remedy']} [{row['ended']}]"


def _write_list(problems: object, list_to: Path) -> None:
    from neonatal_stats.report.loose import harmless

    harmless(problems).to_csv(list_to, index=False, lineterminator="\n")  # type: ignore[arg-type]

"""The commands. Each imports what it needs when it runs, so that help and errors do not wait for it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from neonatal_stats.vocabulary.terms import SPECIES

app = typer.Typer(
    name="neonatal-stats",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)

Records = Annotated[
    list[Path],
    typer.Argument(help="Files with births (and feeds, samples, weather): CSV, XLSX, ODS, Parquet, JSON."),
]
SettingsFile = Annotated[Path | None, typer.Option("--settings", help="Settings file (TOML).")]
MapFile = Annotated[
    Path | None, typer.Option("--map", help="Map of the file's own headings and words (TOML).")
]
PlanFile = Annotated[
    Path | None, typer.Option("--plan", help="The plan that was agreed (CSV, XLSX or TOML), to follow up.")
]
Force = Annotated[bool, typer.Option("--force", help="Replace the folder of an earlier output.")]
Out = Annotated[Path, typer.Option("-o", "--out", help="The folder to write; it must not exist yet.")]

Quiet = Annotated[
    bool, typer.Option("--quiet", "-q", help="Say nothing but errors; the exit code tells how it went.")
]
Json = Annotated[
    bool, typer.Option("--json", help="One JSON object on standard output and nothing else there.")
]


def _version(wanted: bool) -> None:
    if wanted:
        from neonatal_stats import __version__

        print(f"neonatal-stats {__version__}")
        raise typer.Exit


@app.callback()
def whole(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and end.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """The season review of newborn loss in sheep, goats, cattle and other farm animals: records to page."""


@app.command()
def review(
    records: Records,
    out: Out,
    settings: SettingsFile = None,
    map: MapFile = None,
    plan: PlanFile = None,
    season: Annotated[
        str | None,
        typer.Option("--season", help="The season under review; by default the latest with enough births."),
    ] = None,
    compare: Annotated[
        tuple[str, str] | None,
        typer.Option("--compare", help="The two seasons to compare, earlier one first."),
    ] = None,
    only: Annotated[
        str | None,
        typer.Option("--only", help="Write only these, with commas: headline,tables,workbook,page,figures."),
    ] = None,
    pdf: Annotated[
        bool,
        typer.Option(
            "--pdf", help="Also print keeper.pdf, review-short.pdf and review-full.pdf, with a browser."
        ),
    ] = False,
    as_of: Annotated[
        str | None,
        typer.Option("--as-of", help="A season in progress: what was known on this day, such as 2026-04-20."),
    ] = None,
    force: Force = False,
    quiet: Quiet = False,
    json: Json = False,
) -> None:
    """Read the records and write the review: page, keeper's summary, workbook, tables and figures."""
    from neonatal_stats.cli.review import run_review
    from neonatal_stats.cli.telling import told

    with told("review", as_json=json, quiet=quiet) as tell:
        run_review(
            records,
            out,
            settings,
            map,
            season,
            compare,
            force,
            only,
            pdf,
            as_of,
            plan,
            quiet=quiet,
            tell=tell,
        )


@app.command("plan")
def blank_plan(
    records: Records,
    out: Annotated[Path, typer.Option("-o", "--out", help="The plan to write: plan.csv or plan.xlsx.")],
    settings: SettingsFile = None,
    map: MapFile = None,
    season: Annotated[
        str | None,
        typer.Option(
            "--season", help="The season whose values stand in it; by default the latest with enough births."
        ),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace an existing file.")] = False,
) -> None:
    """Write a blank plan for next season: every measure with its value of this one, and how to fill it in."""
    from neonatal_stats.cli.files import run_plan

    run_plan(records, out, settings, map, season, force)


@app.command()
def check(
    records: Records,
    settings: SettingsFile = None,
    map: MapFile = None,
    list_to: Annotated[
        Path | None, typer.Option("--list", help="Also write the whole list of problems to this CSV file.")
    ] = None,
    quiet: Quiet = False,
    json: Json = False,
) -> None:
    """Read the records and say what was used, what was set to missing and what was set aside, and why.

    Exit code 0: all well. 1: read, but some rows were set aside or fields set to missing. 2: cannot be read.
    """
    from neonatal_stats.cli.check import run_check
    from neonatal_stats.cli.telling import told

    with told("check", as_json=json, quiet=quiet) as tell:
        run_check(records, settings, map, list_to, tell)


@app.command()
def demo(
    directory: Annotated[Path, typer.Argument(help="The folder to write; it must not exist yet.")],
    force: Force = False,
) -> None:
    """Write the invented demo records: a hill flock over four seasons, a goat herd and a suckler herd."""
    from neonatal_stats.cli.files import run_demo

    run_demo(directory, force)


@app.command("map")
def draft_map(
    records: Records,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", help="The map file to write (TOML); without it the map is printed."),
    ] = None,
    map: Annotated[
        Path | None,
        typer.Option("--map", help="A map to go on from: its lines stay, what is open or new is drafted."),
    ] = None,
    ask: Annotated[bool, typer.Option("--ask", help="Ask about each open place, on a terminal.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace an existing map.")] = False,
) -> None:
    """Draft a map of a file's own headings and words, with what is unsure left open for you to fill in."""
    from neonatal_stats.cli.files import run_map

    run_map(records, out, map, ask, force)


@app.command()
def desk(
    folder: Annotated[
        Path,
        typer.Argument(
            help="The folder that holds a folder for each farm: its records, and if it has them its own "
            "settings.toml, map.toml and plan (plan.csv, plan.xlsx or plan.toml)."
        ),
    ],
    out: Out,
    settings: Annotated[
        Path | None,
        typer.Option(
            "--settings",
            help="Settings (TOML) of the desk, and of farms without their own; else settings.toml in the folder.",
        ),
    ] = None,
    map: Annotated[
        Path | None,
        typer.Option("--map", help="Map (TOML) for farms without their own; else map.toml in the folder."),
    ] = None,
    season: Annotated[
        str | None,
        typer.Option("--season", help="The season to compare; by default the one that most farms have."),
    ] = None,
    only: Annotated[
        str | None,
        typer.Option(
            "--only",
            help="What each farm's folder holds, with commas: headline,tables,workbook,page,figures; by default "
            "headline,page.",
        ),
    ] = None,
    at_once: Annotated[
        int | None,
        typer.Option("--at-once", min=1, help="Farms worked side by side; by default one a processor."),
    ] = None,
    anew: Annotated[
        bool, typer.Option("--anew", help="Read every farm again, also those that have not changed.")
    ] = False,
    force: Annotated[
        bool,
        typer.Option(
            "--force", help="Renew the desk of that name; farms that have not changed are not read again."
        ),
    ] = False,
    quiet: Quiet = False,
    json: Json = False,
) -> None:
    """Review many farms and lay them on one desk: where a visit may buy most, and a folder to send to each keeper.

    Exit code 0: all well. 1: a farm could not be read, or something is to be known of its outcomes. 2: none was read.
    """
    from neonatal_stats.cli.desk import run_desk
    from neonatal_stats.cli.telling import told

    with told("desk", as_json=json, quiet=quiet) as tell:
        run_desk(folder, out, settings, map, season, only, at_once, anew, force, quiet=quiet, tell=tell)


@app.command()
def scheme(
    dataset: Annotated[
        Path,
        typer.Argument(
            help="The folder that holds the births of all farms as Parquet, as tidy --parquet writes them: every "
            "births*.parquet below it, or all files of farm=.../season=...."
        ),
    ],
    out: Out,
    settings: SettingsFile = None,
    engine: Annotated[
        str,
        typer.Option(
            "--engine",
            help="duckdb, in this process; or the address of an Apache Spark: local[2], spark://host:7077, yarn.",
        ),
    ] = "duckdb",
    season: Annotated[
        str | None, typer.Option("--season", help="The season under review; by default the latest.")
    ] = None,
    by: Annotated[
        list[str] | None,
        typer.Option("--by", help="A further column of words to group newborns by; once for each."),
    ] = None,
    smallest_cell: Annotated[
        int,
        typer.Option(
            "--smallest-cell",
            min=2,
            help="Counts of 1 to this less one are left out of the tables to publish, and can't be worked out.",
        ),
    ] = 5,
    memory: Annotated[
        str | None,
        typer.Option(
            "--memory", help="What the engine takes at most, such as 4GB; by default 2GB (of Spark its own)."
        ),
    ] = None,
    threads: Annotated[
        int | None, typer.Option("--threads", min=1, help="Processors to use at most; by default all.")
    ] = None,
    force: Force = False,
    quiet: Quiet = False,
    json: Json = False,
) -> None:
    """Review the season of a whole scheme on an engine: page, workbook, tables, and counts that may be published.

    A run that was killed goes on where it stood when it is started again.
    """
    from neonatal_stats.cli.scheme import run_scheme
    from neonatal_stats.cli.telling import told

    with told("scheme", as_json=json, quiet=quiet) as tell:
        run_scheme(
            dataset,
            out,
            settings,
            engine,
            season,
            by or [],
            smallest_cell,
            memory,
            threads,
            force,
            quiet=quiet,
            tell=tell,
        )


@app.command()
def sheet(
    out: Annotated[
        Path, typer.Option("-o", "--out", help="The workbook to write (.xlsx), or .html for a shed page.")
    ],
    species: Annotated[
        str | None,
        typer.Option(
            "--species",
            help=f"{', '.join(SPECIES)}; by default that of the review that asks, else sheep.",
        ),
    ] = None,
    language: Annotated[
        str, typer.Option("--language", help="Of headings, codes and notes: en or de.")
    ] = "en",
    fields: Annotated[
        str | None,
        typer.Option("--fields", help="Columns of births instead of the usual ones, with commas."),
    ] = None,
    asked: Annotated[
        Path | None,
        typer.Option("--asked", help="The folder of a review; what it asks to be recorded next is added."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace an existing file.")] = False,
) -> None:
    """Write a blank sheet for the shed, a line a litter and slips for the dead: .xlsx, or .html to print on A4."""
    from neonatal_stats.cli.files import run_sheet

    run_sheet(out, species, language, fields, asked, force)


@app.command()
def tidy(
    records: Records,
    out: Out,
    settings: SettingsFile = None,
    map: MapFile = None,
    parquet: Annotated[
        bool,
        typer.Option("--parquet", help="Write the tables as Parquet, with typed columns, instead of CSV."),
    ] = False,
    force: Force = False,
) -> None:
    """Write the tidy tables that the review would use, what follows from them, a codebook and the set-aside list."""
    from neonatal_stats.cli.files import run_tidy

    run_tidy(records, out, settings, map, parquet, force)


@app.command()
def notebooks(
    directory: Annotated[Path, typer.Argument(help="The folder to write; it must not exist yet.")],
    records: Annotated[
        list[Path], typer.Option("--records", help="Your records: one file or several after one another.")
    ],
    more: Annotated[list[Path] | None, typer.Argument(hidden=True)] = None,
    settings: SettingsFile = None,
    map: MapFile = None,
    plan: PlanFile = None,
    force: Force = False,
) -> None:
    """Copy the notebooks, set to your own records, ready to open in Jupyter."""
    from neonatal_stats.cli.files import run_notebooks

    run_notebooks(directory, [*records, *(more or [])], settings, map, plan, force)


def main() -> None:
    """Run the command line; what cannot be read ends in one sentence and exit code 2."""
    from neonatal_stats.cli.telling import one_sentence

    with one_sentence():
        app(prog_name="neonatal-stats")

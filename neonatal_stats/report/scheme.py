"""A scheme's season as it goes out: page, workbook, tables, numbers, and the counts that may be published."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from typing import Any

import pandas as pd
import xlsxwriter

from neonatal_stats.chapters import scheme as chapter
from neonatal_stats.chapters.counted.scheme import Scheme, decided
from neonatal_stats.chapters.protocol import Part
from neonatal_stats.measures.small_cells import count_tables
from neonatal_stats.report.page import counted_line, drawn, environment, style, table_html
from neonatal_stats.report.review import version
from neonatal_stats.report.workbook_sheet import Sheet, cells_of
from neonatal_stats.report.write import plain, write_json
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.table import harmless
from neonatal_stats.words import Method, Voice, joined, voice_of

SCHEMA = "neonatal_stats scheme 1"
SCHEME_HTML, SCHEME_XLSX = "scheme.html", "scheme.xlsx"
COUNTS = "counts"
STYLES = ("page.css", "first_page.css", "desk.css")


@dataclass(frozen=True)
class Spent:
    """What one question cost: passes over the data, newborns seen in them, seconds; ``again`` where an earlier run had
    answered it."""

    name: str
    passes: int
    rows: int
    seconds: float
    again: bool


@dataclass(frozen=True, eq=False)
class AtScheme:
    """Everything on the page: what was counted, the parts told of it, what it cost, and the counts to publish."""

    found: Scheme
    parts: tuple[Part, ...]
    method: Method
    spent: tuple[Spent, ...]
    counts: Mapping[str, pd.DataFrame]
    smallest: int
    engine: str
    made_on: date

    @property
    def voice(self) -> Voice:
        """The voice of the page."""
        return voice_of(self.found)

    @cached_property
    def tables(self) -> tuple[Table, ...]:
        """Every table, in reading order; what the questions cost last."""
        return (*(table for part in self.parts for table in part.tables), _cost_table(self))


def at_scheme(
    found: Scheme,
    told: Mapping[str, pd.DataFrame],
    settings: Settings,
    spent: Sequence[Spent],
    *,
    smallest: int,
    engine: str,
) -> AtScheme:
    """Tell what was counted.

    Parameters
    ----------
    told : the answers of the engine by question, from which the counts to publish are made.
    smallest : a count of 1 to this less one is not published.
    engine : by what it was counted, as it was asked for.
    """
    counts = dict(count_tables(told, settings, season=found.season, end_h=found.end_h, smallest=smallest))
    return AtScheme(
        found,
        chapter.parts(found),
        chapter.method(found),
        tuple(spent),
        counts,
        smallest,
        engine,
        date.today(),
    )


def title(page: AtScheme) -> str:
    """The page's title: the season, and how many farms."""
    farms = len(set(page.found.this["farm"]))
    return page.voice.say(
        "{Birthing} {season}: {n} farms of a scheme", season=page.found.season, n=page.voice.count(farms)
    )


def byline(page: AtScheme) -> str:
    """What was read, by how many passes, and when the page was made."""
    voice = page.voice
    return voice.say(
        "{n} {newborns} in all records read, seasons {seasons}; {passes} passes over them. Page made on {day}.",
        n=voice.count(page.found.overview["newborns"].sum()),
        seasons=", ".join(page.found.every_season),
        passes=voice.count(sum(one.passes for one in page.spent)),
        day=voice.date(page.made_on),
    )


def scheme_html(page: AtScheme) -> str:
    """The page."""
    voice = page.voice
    made = voice.say("Made with neonatal_stats {version} from the records alone.", version=version())
    return (
        environment()
        .get_template("scheme.html.j2")
        .render(
            page=page,
            voice=voice,
            say=voice.say,
            title=title(page),
            byline=byline(page),
            css=style(title(page), page.tables, STYLES),
            left=chapter.left_to_the_farm(page.found),
            published=_published(page),
            cost=_cost_table(page),
            footer=joined((byline(page), made)),
            svg=drawn,
            table_html=lambda table: table_html(table, voice),
            counted=counted_line(page.found.counted, voice),
        )
    )


def _published(page: AtScheme) -> str:
    """What the folder of counts holds, and what it leaves out."""
    voice = page.voice
    hidden = sum(int(frame["newborns"].isna().sum()) for frame in page.counts.values())
    return voice.say(
        "The folder counts holds {tables} tables of {newborns} by group and outcome that may be published: counts of 1 "
        "to {most} are left out, and with them what would give them away, {hidden} in all. This page, its workbook and "
        "its tables hold small counts and the names of farms, and are for the scheme itself.",
        tables=voice.count(len(page.counts)),
        most=voice.count(page.smallest - 1),
        hidden=voice.count(hidden),
    )


def _cost_table(page: AtScheme) -> Table:
    """What each question cost."""
    voice = page.voice
    say = voice.say
    frame = pd.DataFrame(
        [(one.name, one.passes, one.rows, one.seconds, "again" if one.again else "") for one in page.spent],
        columns=["question", "passes", "rows", "seconds", "again"],
    ).assign(kept=[say("by an earlier run") if one.again else "" for one in page.spent])
    declared = (
        columns.text("question", say("Question")),
        columns.count("passes", say("Passes")),
        columns.count("rows", say("{Newborns} seen")),
        columns.number("seconds", say("Seconds")),
        columns.text("kept", say("Answered"), raw="again"),
    )
    title = say("What each question cost")
    return Table("scheme-cost", title, frame, declared, on_page=len(frame), printer=voice)


def write_scheme(page: AtScheme, out: Path, *, progress: Callable[[str], None] = lambda stage: None) -> None:
    """Write all into a folder: `scheme.html`, `scheme.xlsx`, `tables/`, `counts/`, `codebook.csv`, `headline.json`."""
    progress("Drawing the page of the scheme")
    (out / SCHEME_HTML).write_text(scheme_html(page), encoding="utf-8")
    _write_workbook(page, out / SCHEME_XLSX)
    progress("Writing the tables and the counts")
    (out / "tables").mkdir()
    for table in page.tables:
        harmless(table.raw()).to_csv(out / "tables" / f"{table.name}.csv", index=False, lineterminator="\n")
    pd.concat([table.codebook() for table in page.tables]).to_csv(
        out / "codebook.csv", index=False, lineterminator="\n"
    )
    (out / COUNTS).mkdir()
    for name, frame in page.counts.items():
        frame.to_parquet(out / COUNTS / f"{_file_name(name)}.parquet", index=False, engine="pyarrow")
    write_json(scheme_headline(page), out)


def _file_name(name: str) -> str:
    """A name of a column as a file may bear it.

    >>> _file_name("vet's area/2")
    'vet_s_area_2'
    """
    return "".join(one if one.isalnum() or one in "_-" else "_" for one in name)


def _write_workbook(page: AtScheme, path: Path) -> None:
    """The answer in short on the first sheet, then a sheet for each table."""
    voice = page.voice
    options = {"strings_to_formulas": False, "strings_to_urls": False, "nan_inf_to_errors": False}
    with xlsxwriter.Workbook(str(path), options) as book:
        created = datetime.combine(page.made_on, datetime.min.time())
        book.set_properties({"title": title(page), "created": created})
        first = Sheet(book, voice.say("At a glance"), [], (60, 40))
        line = first.text(0, title(page), "title")
        for part in page.parts:
            line = first.text(line, part.title, "heading")
            for sentence in part.sentences:
                line = first.text(line, sentence.text)
        first.text(line + 1, byline(page))
        first.finish(pages=1)
        for table in page.tables:
            cells = cells_of(table, voice)
            sheet = Sheet(book, table.name.removeprefix("scheme-")[:31], [cells])
            sheet.titled(0, cells)
            sheet.finish()


RATES = ("events", "n", "share", "low", "high")


def scheme_headline(page: AtScheme) -> dict[str, Any]:
    """The numbers for other programs; described by `scheme.schema.json` in this package."""
    found = page.found
    this = found.this
    return {
        "schema": SCHEMA,
        "version": version(),
        "made_on": page.made_on.isoformat(),
        "engine": page.engine,
        "season": found.season,
        "seasons": list(found.every_season),
        "first_born": _day(this["first_born"].min()),
        "last_born": _day(this["last_born"].max()),
        "species": sorted(set(this["species"])),
        "farms": len(set(this["farm"])),
        **{
            name: int(this[name].sum())
            for name in ("newborns", "litters", "born_dead", "undated", "left_early")
        },
        "cluster": found.cluster,
        "end_h": plain(found.end_h),
        "windows": [{"window": str(row["window"]), **_numbers(row)} for row in _rows(found.of_all_born)],
        "causes": [{"cause": str(row["cause"]), **_numbers(row)} for row in _rows(found.by_cause)],
        "by_season": [{"season": str(row["season"]), **_numbers(row)} for row in _rows(found.seasons)],
        "groups": _groups(decided(found, found.groups)),
        "asked": _asked(found),
        "farms_compared": _farms(found),
        "looked": {
            "comparisons": found.ledger.looked,
            "clear": found.ledger.clear,
            "false_discovery_share": found.settings.false_discovery_share,
        },
        "smallest_cell": page.smallest,
        "counts": [f"{COUNTS}/{_file_name(name)}.parquet" for name in page.counts],
        "cost": [_cost(one) for one in page.spent],
    }


def _asked(found: Scheme) -> dict[str, Any]:
    """What was asked of some newborns only, by its name: all of these together, and their groups."""
    return {
        name: {
            "whole": _numbers(_rows(one.whole)[0]),
            "unknown": one.unknown,
            "groups": _groups(decided(found, one.groups)),
        }
        for name, one in found.asked.items()
    }


def _cost(one: Spent) -> dict[str, Any]:
    """What one question cost the engine."""
    return {
        "question": one.name,
        "passes": one.passes,
        "newborns_seen": one.rows,
        "seconds": one.seconds,
        "again": one.again,
    }


def _rows(frame: pd.DataFrame) -> list[dict[Any, Any]]:
    return frame.to_dict("records")


def _numbers(row: Mapping[Any, Any]) -> dict[str, Any]:
    return {name: plain(float(row[name])) for name in RATES}


def _day(moment: Any) -> str | None:
    return None if pd.isna(moment) else moment.date().isoformat()


def _groups(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Each group with its share and, where it was held against another, their risk ratio and what it allows to say."""
    return [
        {
            "factor": row["factor"],
            "group": row["group"],
            **{name: plain(float(row[name])) for name in ("events", "n", "share")},
            "low": plain(float(row["share_low"])),
            "high": plain(float(row["share_high"])),
            "against": row["versus"] if isinstance(row["versus"], str) else None,
            "risk_ratio": plain(float(row["estimate"])),
            "risk_ratio_low": plain(float(row["low"])),
            "risk_ratio_high": plain(float(row["high"])),
            "p": plain(float(row["p"])),
            "verdict": row["verdict"].value if row["verdict"] else None,
        }
        for row in _rows(frame)
    ]


def _farms(found: Scheme) -> dict[str, Any] | None:
    """How far the farms spread, and the letters of those that lost more than the others lead one to expect."""
    if found.farms is None:
        return None
    return {
        "compared": len(found.farms.farms),
        "too_few": found.farms.few,
        "not_watched": found.farms.unwatched,
        "window": found.farms.window.name,
        "spread": found.farms.spread,
        "named": [str(one) for one in found.farms.named["letter"]] if len(found.farms.named) else [],
    }

"""`review`: from records to the page on the table.

With `--as-of` a season in progress, or a review of what was known by a day; records that stop early get both pages.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from neonatal_stats.cli.check import open_outcomes, printable
from neonatal_stats.cli.telling import spelled_out, stages

if TYPE_CHECKING:
    from neonatal_stats.cli.telling import Tell
    from neonatal_stats.drawing.beside import Hand
    from neonatal_stats.report.progress import Running
    from neonatal_stats.report.review import Review
    from neonatal_stats.season.model import Season


def run_review(
    records: list[Path],
    out: Path,
    settings_file: Path | None,
    map_file: Path | None,
    focus: str | None,
    compare: tuple[str, str] | None,
    force: bool,
    only: str | None = None,
    pdf: bool = False,
    as_of: str | None = None,
    plan_file: Path | None = None,
    quiet: bool = False,
    tell: Tell = lambda found: None,
) -> None:
    """Read, review, write, print; say where the page is; exit 1 where something touches the outcomes."""
    from neonatal_stats.report.folder import ready

    parts, day = parts_named(only), day_named(as_of, pdf, compare)
    program = _printer(parts) if pdf else None
    ready(out, force=force)
    gc.disable()  # a review keeps all it makes to the end: looking for rubbish would take a tenth of its time
    with stages(quiet=quiet) as stage, _hand(() if day else parts) as hand, _copied_when_written_to():
        stage("Reading the records")
        from neonatal_stats.season.read import read_season

        season = read_season(spelled_out(records), settings=settings_file, map=map_file, plan=plan_file)
        season = _compared(season, focus, compare)
        if day is not None:
            season, found = season_on(season, day, focus, parts)
            if found is not None:
                _said_of(season, written(found, out, force, stage, parts), tell)
                return
        from neonatal_stats.report.pdf import write_pdfs
        from neonatal_stats.report.review import build
        from neonatal_stats.report.write import write_review

        review = build(season, focus=focus, progress=stage, drawn_by=hand.draw, parts=parts)
        ended = day is not None or bool(season.alone)
        early = early_page(review) if "page" in parts and not ended else None
        page = write_review(review, out, force=force, progress=stage, parts=parts, also=early or nothing_more)
        if program is not None:
            stage("Printing the three editions")
            write_pdfs(out, program)
    if early is not None:
        print(RECORDS_STOP)
    _said_of(season, page, tell)


def _said_of(season: Season, page: Path, tell: Tell) -> None:
    """How much was read and where the page is; what touches the outcomes, with exit code 1."""
    from neonatal_stats.cli.telling import of_review

    aside = sum(balance.set_aside for balance in season.balances)
    mobs = [_count(len(season.mobs), "mob")] if len(season.mobs) else []
    lists = [f"{len(getattr(season, table)):,} rows of {table}" for table in season.alone if table != "mobs"]
    held = [*mobs, *lists]
    births = [_count(len(season.births), "birth")] if len(season.births) or not held else []
    where = f"Open {page}" if page.is_file() else f"Written to {page}"
    print(f"{' and '.join([*births, *held])} reviewed, {_count(aside, 'row')} set aside. {where}")
    said = [*open_outcomes(season), *map(printable, season.outcome_remarks)]
    tell(of_review(season, page, said))
    if said:
        print("To be known before the numbers are used:", *said, sep="\n  ")
        raise SystemExit(1)


def parts_named(only: str | None, usual: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The parts named after --only, the usual ones (or all) where nothing was named; a word that is none is refused."""
    from neonatal_stats.report.folder import PARTS
    from neonatal_stats.season.finding import CannotRead

    if only is None:
        return usual or PARTS
    named = tuple(part.strip() for part in only.split(",") if part.strip())
    for part in named or ("",):
        if part not in PARTS:
            raise CannotRead(f"--only: there is no part {part!r}; name some of {', '.join(PARTS)}")
    return named


def _printer(parts: tuple[str, ...]) -> Path:
    """The browser that prints the page; refused before any work where there is none, or no page to print."""
    from neonatal_stats.report.pdf import browser
    from neonatal_stats.season.finding import CannotRead

    if "page" not in parts:
        raise CannotRead("--pdf prints the page: name page in --only as well")
    return browser()


@contextmanager
def _copied_when_written_to() -> Iterator[None]:
    """A frame made from another shares its cells until one of the two is written to: what pandas does from 3 on."""
    import pandas as pd

    if int(pd.__version__.split(".")[0]) >= 3:
        yield
        return
    with pd.option_context("mode.copy_on_write", True):
        yield


class _NoHand:
    """Stands in where nothing is drawn."""

    def draw(self, figures: object) -> None:
        """Nothing to draw."""


@contextmanager
def _hand(parts: tuple[str, ...]) -> Iterator[Hand | _NoHand]:
    """The second process that draws, where something is drawn; headline, tables and workbook need none."""
    if not {"page", "figures"} & set(parts):
        yield _NoHand()
        return
    from neonatal_stats.drawing.beside import second_hand

    with second_hand() as hand:
        yield hand


def _compared(season: Season, focus: str | None, compare: tuple[str, str] | None) -> Season:
    """The season with the pair to compare in its settings; seasons that the records do not hold are refused."""
    from neonatal_stats.season.finding import CannotRead

    for name in (focus, *(compare or ())):
        if name is not None and name not in season.seasons:
            held = ", ".join(season.seasons)
            raise CannotRead(f"--season/--compare: no records of {name!r}; the records hold {held}")
    if compare is None:
        return season
    if compare[0] == compare[1]:
        raise CannotRead(f"--compare: a season cannot be compared with itself ({compare[0]}); name two")
    return replace(season, settings=replace(season.settings, compare=compare))


def _count(n: int, of: str) -> str:
    return f"{n:,} {of}{'' if n == 1 else 's'}"


RECORDS_STOP = (
    "These records stop before most newborns were watched through the early windows: "
    "progress.html says what is known."
)


def day_named(as_of: str | None, pdf: bool, compare: tuple[str, str] | None) -> date | None:
    """The day after --as-of; what is no day, and what it cannot be combined with, is refused before any work."""
    from neonatal_stats.season.finding import CannotRead

    if as_of is None:
        return None
    try:
        day = date.fromisoformat(as_of)
    except ValueError:
        raise CannotRead(
            f"--as-of: {as_of!r} is no day of the calendar; write year, month and day, such as 2026-04-20"
        ) from None
    if pdf or compare:
        other = "--pdf prints the review" if pdf else "--compare holds finished seasons against each other"
        raise CannotRead(
            f"--as-of: {other}, and a season in progress has a page of its own; leave one of them out"
        )
    return day


def season_on(
    season: Season, day: date, focus: str | None, parts: tuple[str, ...]
) -> tuple[Season, Running | None]:
    """The records as they were known on a day, and the season that was then in progress; None where none was.

    Where none was, it is said why an ordinary review follows.
    """
    import pandas as pd

    from neonatal_stats.chapters.counted.progress import season_in_progress
    from neonatal_stats.report.progress import running
    from neonatal_stats.season.finding import CannotRead

    first = season.births["born"].min()
    if pd.isna(first):
        raise CannotRead("--as-of: no birth has a date, so what was known on a day cannot be told")
    if first.date() > day:
        raise CannotRead(
            f"--as-of: nothing was born by {day}; the first birth of these records was on {first:%Y-%m-%d}"
        )
    known = season.known_by(pd.Timestamp(day))
    name = season_in_progress(known, focus)
    if name:
        return known, running(known, name, parts=parts)
    if focus is not None and focus not in known.seasons:
        raise CannotRead(f"--as-of: nothing of season {focus} was born by {day}")
    print(
        f"On {day} no newborn of {focus or known.under_review} was under watch any more: the season was over, so "
        "this is its review."
    )
    return known, None


def written(
    found: Running, out: Path, force: bool, stage: Callable[[str], None], parts: tuple[str, ...]
) -> Path:
    """Write the folder of a season in progress."""
    from neonatal_stats.report.progress import write_progress

    return write_progress(found, out, force=force, progress=stage, parts=parts)


def early_page(review: Review) -> Callable[[Path], None] | None:
    """What writes the page of a season in progress beside a review whose records plainly stop early, else None."""
    from neonatal_stats.report.progress import running_early, write_page

    found = running_early(review.season, review.focus, made_on=review.made_on)
    return None if found is None else lambda folder: write_page(found, folder)


def nothing_more(folder: Path) -> None:
    """Nothing stands beside the review."""

"""`review --as-of`: a season in progress, or a review of what was known by a day; and records that stop early."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from neonatal_stats.report.progress import Running
    from neonatal_stats.report.review import Review
    from neonatal_stats.season.model import Season

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

    from neonatal_stats.measures.progress import season_in_progress
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
    """What writes the page of a season in progress beside a review whose records plainly stop early; None "
    "elsewhere."""
    from neonatal_stats.report.progress import running_early, write_page

    found = running_early(review.season, review.focus, made_on=review.made_on)
    return None if found is None else lambda folder: write_page(found, folder)


def nothing_more(folder: Path) -> None:
    """Nothing stands beside the review."""

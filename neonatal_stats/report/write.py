"""Everything that goes out, in one folder, whole or not at all."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from neonatal_stats.report.folder import written_whole
from neonatal_stats.report.loose import write_figures, write_headline, write_tables
from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import Review
from neonatal_stats.report.workbook import write_workbook

PAGE, KEEPER, WORKBOOK = "review.html", "keeper.html", "review.xlsx"


def write_review(
    review: Review, out: Path, *, force: bool = False, progress: Callable[[str], None] = lambda stage: None
) -> Path:
    """Write page, keeper's summary, workbook, tables, figures, set-aside list and headline numbers.

    Parameters
    ----------
    out : the folder; made whole in a temporary folder and then moved to its place.
    force : replace the folder of an earlier review.
    progress : told each stage before it starts.

    Returns
    -------
    The path of the page.
    """
    say = review.voice.say
    with written_whole(out, force=force) as folder:
        progress(say("Drawing the page"))
        (folder / PAGE).write_text(page_html(review), encoding="utf-8")
        (folder / KEEPER).write_text(keeper_html(review), encoding="utf-8")
        progress(say("Filling the workbook"))
        write_workbook(review, folder / WORKBOOK)
        progress(say("Saving tables and figures"))
        write_tables(review, folder)
        write_figures(review, folder)
        write_headline(review, folder)
    return Path(out) / PAGE

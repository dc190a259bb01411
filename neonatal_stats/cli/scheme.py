"""`scheme`: the records of many farms, asked of an engine question by question, and the page over all of them."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from neonatal_stats.cli.telling import stages

if TYPE_CHECKING:
    from neonatal_stats.cli.telling import Tell
    from neonatal_stats.report.scheme import AtScheme
    from neonatal_stats.scheme.asking import Answers, Kept
    from neonatal_stats.season.settings import Settings

MARK = "scheme.html"


def run_scheme(
    dataset: Path,
    out: Path,
    settings_file: Path | None,
    engine_address: str,
    season: str | None,
    more: Sequence[str],
    smallest: int,
    memory: str | None,
    threads: int | None,
    force: bool,
    quiet: bool = False,
    tell: Tell = lambda found: None,
) -> None:
    """Ask every question, count, write; say where the page is.

    The answers are kept beside the output until it stands, so that a run that was killed goes on where it stood.
    """
    from neonatal_stats.report.folder import ready, written_whole
    from neonatal_stats.season.settings import Settings, read_settings

    ready(out, force=force, mark=MARK)
    _not_within(dataset, out)
    settings = read_settings(settings_file) if settings_file else Settings()
    from neonatal_stats.scheme.asking import SPILL, ask, kept_beside, remove_kept
    from neonatal_stats.scheme.engines import engine_at
    from neonatal_stats.scheme.records import births_of, files_of

    kept = kept_beside(out, files_of(dataset), settings, season, tuple(more))
    with stages(quiet=quiet) as stage:
        stage("Going on with the answers of an earlier run" if kept.answered() else "Asking the engine")
        engine = engine_at(engine_address, threads=threads, memory=memory, spill=kept.folder / SPILL)
        births = births_of(engine, dataset, more)
        with _kept_if_answered(kept, out):
            answers = ask(
                engine,
                births,
                settings,
                place=dataset,
                season=season or "",
                more=more,
                kept=kept,
                memory=memory,
                progress=stage,
            )
        stage("Counting")
        from neonatal_stats.report.scheme import scheme_headline, write_scheme

        page = _page_of(answers, settings, smallest, engine_address)
        with written_whole(out, force=force, mark=MARK) as fresh:
            write_scheme(page, fresh, progress=stage)
    remove_kept(out)
    passes, newborns = sum(one.passes for one in page.spent), int(answers.overview["newborns"].sum())
    print(f"{newborns:,} newborns in {passes} passes. Open {Path(out) / MARK}")
    tell(_told(out, scheme_headline(page)))


def _page_of(answers: Answers, settings: Settings, smallest: int, engine: str) -> AtScheme:
    """What was answered, counted and laid out with what the asking cost."""
    from neonatal_stats.chapters.counted.scheme import answer
    from neonatal_stats.report.scheme import Spent, at_scheme
    from neonatal_stats.scheme.asking import seasons_in

    found = answer(
        answers.overview,
        answers.histories,
        settings,
        season=answers.season,
        seasons=seasons_in(answers.overview),
        cluster=answers.cluster,
    )
    spent = [Spent(one.name, one.passes, one.rows, one.seconds, one.again) for one in answers.costs]
    return at_scheme(found, answers.histories, settings, spent, smallest=smallest, engine=engine)


@contextmanager
def _kept_if_answered(kept: Kept, out: Path) -> Iterator[None]:
    """The folder in which answers are kept, and to which an engine may move what does not fit; where a run ends before
    anything was answered, it leaves none."""
    from neonatal_stats.scheme.asking import remove_kept

    kept.folder.mkdir(parents=True, exist_ok=True)
    try:
        yield
    finally:
        if not kept.answered():
            remove_kept(out)


def _not_within(dataset: Path, out: Path) -> None:
    """An output inside the data set would be looked through as its births the next time."""
    from neonatal_stats.season.finding import CannotRead

    inside, whole = Path(os.path.realpath(out)), Path(os.path.realpath(dataset))
    if inside == whole or whole in inside.parents:
        raise CannotRead(f"--out {out}: it lies within the data set; name a folder elsewhere.")


def _told(out: Path, headline: dict[str, Any]) -> dict[str, Any]:
    """What was written where, and the numbers."""
    files = sorted(path.relative_to(out).as_posix() for path in Path(out).rglob("*") if path.is_file())
    return {
        "exit_code": 0,
        "folder": str(Path(out).resolve()),
        "page": str((Path(out) / MARK).resolve()),
        "files": files,
        "headline": headline,
    }

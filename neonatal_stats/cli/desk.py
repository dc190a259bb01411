"""`desk`: many farms, each reviewed by itself and side by side, and the adviser's page over all of them."""

from __future__ import annotations

import os
from collections.abc import Callable, Generator, Sequence
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from neonatal_stats.cli.check import printable
from neonatal_stats.cli.review import parts_named
from neonatal_stats.cli.telling import stages

if TYPE_CHECKING:
    from neonatal_stats.cli.telling import Tell
    from neonatal_stats.report.desk_farm import Done, FarmFiles, Wanted

USUAL = ("headline", "page")
"""What a farm's folder holds unless more is asked for: a review with its workbook takes a sixth longer."""
MARK = "desk.html"
ENDED = "the program was ended from outside while it worked at these records (too little memory?)"


def run_desk(
    folder: Path,
    out: Path,
    settings_file: Path | None,
    map_file: Path | None,
    season: str | None,
    only: str | None,
    at_once: int | None,
    anew: bool,
    force: bool,
    quiet: bool = False,
    tell: Tell = lambda found: None,
) -> None:
    """Read and review every farm, then the desk; say where the page is; exit 1 where something is to be known."""
    from neonatal_stats.report.desk_farm import Wanted, beside_the_farms, farms_in
    from neonatal_stats.report.folder import ready, written_whole
    from neonatal_stats.season.settings import Settings, read_settings

    parts = parts_named(only, USUAL)
    ready(out, force=force, mark=MARK)
    farms = farms_in(folder, settings_file, map_file)
    _not_within(folder, out)
    own = settings_file or _desk_settings(folder)
    wanted = Wanted(read_settings(own) if own else Settings(), season or "", parts)
    earlier = None if anew else Path(out) / "farms"
    with stages(quiet=quiet) as stage, written_whole(out, force=force, mark=MARK) as fresh:
        (fresh / "farms").mkdir()
        done = _all_done(farms, wanted, earlier, fresh / "farms", at_once, stage)
        _some_read(done)
        from neonatal_stats.report.desk import at_desk, desk_headline, to_tell, write_desk

        found = at_desk(
            fresh / "farms", done, wanted.settings, season=wanted.season, beside=beside_the_farms(folder)
        )
        write_desk(found, fresh, progress=stage)
    _said(done, out)
    said = [printable(line) for line in to_tell(found)]
    tell(_told(out, said, desk_headline(found)))
    if said:
        print("To be known before the numbers are used:", *said, sep="\n  ")
        raise SystemExit(1)


def _not_within(folder: Path, out: Path) -> None:
    """A desk inside the folder of the farms would be a farm itself the next time."""
    from neonatal_stats.season.finding import CannotRead

    if Path(os.path.abspath(out)).parent == Path(os.path.abspath(folder)):
        raise CannotRead(f"--out {out}: it lies among the farms' folders; name a folder elsewhere")


def _desk_settings(folder: Path) -> Path | None:
    from neonatal_stats.report.desk_farm import SETTINGS_TOML

    path = folder / SETTINGS_TOML
    return path if path.is_file() else None


def _some_read(done: Sequence[Done]) -> None:
    """Where no farm at all could be read there is no desk."""
    from neonatal_stats.season.finding import CannotRead

    if all(one.failed for one in done):
        why = "; ".join(f"{one.name}: {one.failed}" for one in done[:3])
        more = f"; and {len(done) - 3} more" if len(done) > 3 else ""
        raise CannotRead(f"desk: none of {len(done)} farms could be read. {why}{more}")


def _all_done(
    farms: Sequence[FarmFiles],
    wanted: Wanted,
    earlier: Path | None,
    out: Path,
    at_once: int | None,
    stage: Callable[[str], None],
) -> list[Done]:
    """Every farm in the order of the names: taken over where nothing changed, else read by one of several processes."""
    from neonatal_stats.report.desk_farm import take_over

    done: dict[str, Done] = {}
    if earlier is not None:
        taken = (take_over(farm, wanted, earlier, out) for farm in farms)
        done = {one.name: one for one in taken if one is not None}
    if done:
        stage(f"{len(done)} of {len(farms)} farms have not changed")
    left = [farm for farm in farms if farm.name not in done]
    with closing(_worked(left, wanted, out, at_once or _processors())) as worked:
        for one in worked:
            done[one.name] = one
            what = f"not read: {one.failed}" if one.failed else "reviewed"
            stage(printable(f"{one.name} {what} ({len(done)} of {len(farms)})"))
    return [done[farm.name] for farm in farms]


def _processors() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _worked(farms: Sequence[FarmFiles], wanted: Wanted, out: Path, at_once: int) -> Generator[Done]:
    """Each farm as it is done; one whose process was ended from outside is tried once more, with no other beside it."""
    from neonatal_stats.drawing.beside import side_by_side
    from neonatal_stats.report.desk_farm import review_farm

    task = partial(review_farm, wanted=wanted, out=out)
    again: list[FarmFiles] = []
    with closing(side_by_side(task, farms, at_once)) as worked:
        for farm, done in worked:
            if done is None:
                again.append(farm)
            else:
                yield done
    for farm in again:
        with closing(side_by_side(task, [farm], 1)) as worked:
            for _, done in worked:
                yield done or _ended(farm, wanted, out)


def _ended(farm: FarmFiles, wanted: Wanted, out: Path) -> Done:
    from neonatal_stats.report.desk_farm import not_read

    return not_read(farm, ENDED, wanted, out)


def _said(done: Sequence[Done], out: Path) -> None:
    read = [one for one in done if not one.failed]
    again = sum(one.again for one in read)
    kept = f" ({again} unchanged)" if again else ""
    births = sum(one.births for one in read)
    print(f"{len(read)} of {len(done)} farms with {births:,} births reviewed{kept}. Open {Path(out) / MARK}")


def _told(out: Path, to_know: list[str], headline: dict[str, object]) -> dict[str, object]:
    """What was written where, what must be known, and the desk's numbers."""
    files = sorted(path.relative_to(out).as_posix() for path in Path(out).rglob("*") if path.is_file())
    return {
        "exit_code": 1 if to_know else 0,
        "folder": str(Path(out).resolve()),
        "page": str((Path(out) / MARK).resolve()),
        "files": files,
        "to_know": to_know,
        "headline": headline,
    }

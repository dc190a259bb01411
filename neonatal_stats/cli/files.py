"""The commands that write files for a person to fill in, edit or open elsewhere.

What a drafted map leaves open is asked on a terminal, one place after the other, where that is wished.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

import neonatal_stats
from neonatal_stats.cli.check import printable
from neonatal_stats.cli.telling import NoTerminal, spelled_out

if TYPE_CHECKING:
    from neonatal_stats.season.map.draft_map import Draft
    from neonatal_stats.season.map.map_text import Line


def run_demo(directory: Path, force: bool) -> None:
    """Write the demo records into a folder of their own."""
    from neonatal_stats.demo import write_demo
    from neonatal_stats.report.folder import written_whole

    with written_whole(directory, force=force, mark="truth.toml") as folder:
        write_demo(folder)
    print(f"Invented demo records written to {directory}; its README.md says what is planted in them")


def run_map(records: list[Path], out: Path | None, old: Path | None, ask: bool, force: bool) -> None:
    """Write a drafted map, or print it; say what is left open, and ask about it on a terminal where that is wanted."""
    from neonatal_stats.season.map.draft_map import drafted
    from neonatal_stats.season.records_map import stops
    from neonatal_stats.season.toml_file import text_of

    if ask and not can_ask():
        raise NoTerminal(
            "map --ask: there is no terminal to ask on; leave --ask away and fill in the map by hand."
        )
    if out is not None:
        _new_file(out, force)
    known, name = (text_of(old), old.name) if old is not None else ("", "map.toml")
    draft = drafted(spelled_out(records), known, name)
    if ask:
        draft = asked(draft, lambda text: drafted(spelled_out(records), text, name))
    if out is None:
        print(draft.text, end="")
        return
    out.write_text(draft.text, encoding="utf-8")
    places = f"{len(draft.open)} place{'' if len(draft.open) == 1 else 's'}"
    for line in draft.open:
        needed = " (needed)" if stops(line.section, line.said) else ""
        print(f"  [{line.section}] {printable(line.said)}: {printable(line.beside) or 'open'}{needed}")
    if draft.left_out:
        print(f"  left out: {', '.join(printable(heading) for heading in draft.left_out)}")
    must = sum(stops(line.section, line.said) for line in draft.open)
    end = "Look it over, then"
    if must:
        end = "Fill them in, then" if must == len(draft.open) else f"Fill in the {must} marked (needed), then"
    elif draft.open:
        end = "They may stay open: what is open counts as not recorded. Then"
    print(f"{out} written; {places} left open. {end}: neonatal-stats check FILES --map {out}")


def run_sheet(
    out: Path, species: str | None, language: str, fields: str | None, asked: Path | None, force: bool
) -> None:
    """Write a blank workbook or a page to print, with the fields that were chosen or asked for."""
    from neonatal_stats.report.blank_sheet import write_sheet

    _new_file(out, force)
    chosen = tuple(name.strip() for name in fields.split(",") if name.strip()) if fields else ()
    sheet = write_sheet(out, species or "", language=language, fields=chosen, asked=asked)
    newborns = sheet.lines * sheet.slots
    print(
        f"{out} written for {sheet.species}: {len(sheet.fields)} fields, {sheet.lines} lines and up to {newborns} "
        "newborns to a side of A4, and slips for the dead; the filled workbook reads back with no map"
    )
    if sheet.left_out:
        print(f"  asked for, and not on the sheet: {', '.join(sheet.left_out)}")


def run_plan(
    records: list[Path],
    out: Path,
    settings_file: Path | None,
    map_file: Path | None,
    focus: str | None,
    force: bool,
) -> None:
    """Write a blank plan with the measures of the list and their values of one season."""
    from neonatal_stats.report.blank_plan import must_be_a_plan, write_plan
    from neonatal_stats.season.read import read_season

    must_be_a_plan(out)
    _new_file(out, force)
    season = read_season(spelled_out(records), settings=settings_file, map=map_file)
    n = write_plan(out, season, focus)
    print(
        f"{out} written, {n} measures. Fill it in, then next season: neonatal-stats review FILES --plan {out}"
    )


def run_tidy(
    records: list[Path],
    out: Path,
    settings_file: Path | None,
    map_file: Path | None,
    parquet: bool,
    force: bool,
) -> None:
    """Write the tidy tables, their codebook and the set-aside list."""
    from neonatal_stats.report.folder import ready, written_whole
    from neonatal_stats.season.files.opened import needs_parquet
    from neonatal_stats.season.read import read_season
    from neonatal_stats.season.tidy import write_tidy

    ready(out, force=force, mark="set-aside.csv")
    if parquet:
        needs_parquet("--parquet")
    season = read_season(spelled_out(records), settings=settings_file, map=map_file)
    with written_whole(out, force=force, mark="set-aside.csv") as folder:
        write_tidy(season, folder, parquet=parquet)
    print(f"Tidy tables, codebook.csv and set-aside.csv written to {out}")


def run_notebooks(
    directory: Path,
    records: list[Path],
    settings: Path | None,
    map_file: Path | None,
    plan: Path | None,
    force: bool,
) -> None:
    """Copy the notebooks, set to the given records; the folder is named first, since files may follow one another."""
    from neonatal_stats.report.folder import written_whole
    from neonatal_stats.season.finding import CannotRead
    from neonatal_stats.season.read import read_season

    if directory.is_file():
        raise CannotRead(
            f"notebooks: {directory} is a file; name the folder first: notebooks DIR --records FILES..."
        )
    files = [path.resolve() for path in spelled_out(records)]
    own_settings, words, agreed = (path and path.resolve() for path in (settings, map_file, plan))
    for path in (*files, own_settings, words, agreed):
        if path is not None and not path.exists():
            raise CannotRead(f"notebooks: {path}: there is no such file; check the name and the folder.")
    read_season(files, settings=own_settings, map=words, plan=agreed)
    with written_whole(directory, force=force, mark="season_review.ipynb") as folder:
        names = write_notebooks(folder, files, settings=own_settings, words=words, plan=agreed)
    print(f"{', '.join(names)} written to {directory}; open them with: jupyter lab {directory}")


FIRST_CELL = "records = ["
"""How the cell begins that names the records."""


def notebook_sources() -> tuple[Path, ...]:
    """The notebooks that come with the package: inside it once installed, beside it in a checkout."""
    package = Path(neonatal_stats.__file__).parent
    for folder in (package / "notebooks", package.parent / "notebooks"):
        found = tuple(sorted(folder.glob("*.ipynb")))
        if found:
            return found
    return ()


def write_notebooks(
    folder: Path,
    records: Sequence[Path],
    *,
    settings: Path | None = None,
    words: Path | None = None,
    plan: Path | None = None,
) -> tuple[str, ...]:
    """Copy every notebook into `folder`, its first cell naming the files; the names written.

    Parameters
    ----------
    records : the files with births (and feeds, samples, weather).
    settings, words, plan : files of settings, of a map of headings and words, and of the plan that was agreed, or None.
    """
    named = {"settings": settings, "words": words, "plan": plan}
    lines = ["records = [", *(f"    {str(path)!r}," for path in records), "]"]
    lines += [f"{name} = {None if path is None else str(path)!r}" for name, path in named.items()]
    for source in notebook_sources():
        notebook = json.loads(source.read_text(encoding="utf-8"))
        _point_to(notebook, [*(f"{line}\n" for line in lines[:-1]), lines[-1]])
        text = json.dumps(notebook, indent=1, ensure_ascii=False) + "\n"
        (folder / source.name).write_text(text, encoding="utf-8")
    return tuple(source.name for source in notebook_sources())


def _point_to(notebook: dict[str, list[dict[str, object]]], lines: list[str]) -> None:
    """Replace the first cell that sets `records` by one that names the user's files."""
    for cell in notebook["cells"]:
        if cell["cell_type"] == "code" and "".join(cell["source"]).lstrip().startswith(FIRST_CELL):  # type: ignore[arg-type]
            cell["source"] = lines
            return


def _new_file(out: Path, force: bool) -> None:
    from neonatal_stats.report.folder import FolderExists, writable

    if os.path.exists(out) and not force:
        raise FolderExists(
            f"{out} already exists; name another file, or add --force (in Python force=True) to replace it"
        )
    writable(out)
    out.parent.mkdir(parents=True, exist_ok=True)


HOW = "Write what is meant; Enter leaves it open, - leaves it out, . ends the questions.\n"


def can_ask() -> bool:
    """True where a person sits at both ends."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def asked(draft: Draft, anew: Callable[[str], Draft], ask: Callable[[str], str] = input) -> Draft:
    """The draft with a person's answers; what an answered heading brings up (its words) is asked next.

    ``anew`` drafts again from a map's text, ``ask`` prints a question and gives the answer.
    """
    seen: set[tuple[str, str]] = set()
    print(HOW)
    while new := [line for line in draft.open if (line.section, line.said) not in seen]:
        for line in new:
            seen.add((line.section, line.said))
            answer = _answer(line, ask)
            if answer == ".":
                return draft
            if answer is not None:
                draft = _with_answer(draft, line, answer)
        draft = anew(draft.text)
    return draft


def _answer(line: Line, ask: Callable[[str], str]) -> str | None:
    """What a person says that a line means; None to leave it open, "." to end."""
    allowed = allowed_in(line)
    while True:
        try:
            said = ask(f"[{line.section}] {printable(line.said)} ({printable(line.beside)}): ").strip()
        except EOFError:
            return "."
        if said in ("", "."):
            return said or None
        if said == "-":
            return ""
        if not allowed or said in allowed:
            return said
        near = get_close_matches(said, allowed, n=3, cutoff=0.5)
        print(f"  not accepted; {'perhaps ' if near else 'one of '}{', '.join(near or offered_in(line))}")


def allowed_in(line: Line) -> tuple[str, ...]:
    """What may be written in a line: columns, words or units."""
    from neonatal_stats.season.records_map import meanings_of

    return meanings_of(line.section, line.said)


def offered_in(line: Line) -> tuple[str, ...]:
    """What is offered for a line: of an outcome only words that nobody takes for their opposite."""
    from neonatal_stats.season.records_map import DEAD_BY

    allowed = allowed_in(line)
    told = line.section.rpartition(".")[2] in DEAD_BY and ".words." in f".{line.section}"
    return tuple(word for word in allowed if word not in ("yes", "no")) if told else allowed


def _with_answer(draft: Draft, line: Line, answer: str) -> Draft:
    from dataclasses import replace

    from neonatal_stats.season.map.map_text import answered

    return replace(draft, text=answered(draft.text, replace(line, meant=answer, beside="")))

"""A plan from a file: CSV or other delimited text, a sheet of a workbook, or `[[plan]]` in a TOML file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from os import PathLike
from pathlib import Path

from neonatal_stats.season.actions import Action, action, entries, text_of
from neonatal_stats.season.files.opened import listed, open_all
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.grid import Grid
from neonatal_stats.season.settings import Settings
from neonatal_stats.season.toml_file import check_keys, load_toml, nearest, quoted, several
from neonatal_stats.vocabulary.plan import PLAN, PlanMeasure, is_plan, plan_column, plan_measures

NOTE = "#"
"""A row whose first cell begins with it is a note on how to fill in, and no action."""
OFFERED = ("season", "measure", "from")
"""What a blank plan holds already: a row with nothing else is a measure that no action was written for."""
HEADINGS_WITHIN = 20
Cells = dict[str, object]


@dataclass(frozen=True)
class Plan:
    """The actions of a file, in order, and the measures that it offers and that no action was written for."""

    actions: tuple[Action, ...]
    unused: tuple[str, ...] = ()


def agreed(settings: Settings, path: str | PathLike[str]) -> Settings:
    """The settings with the plan of a file; one without an action, and a second plan in the settings, are refused."""
    name = Path(path).name
    if settings.plan:
        raise CannotRead(f"{name}: the settings hold a plan too ([[plan]]); keep one of the two")
    plan = read_plan(path, settings)
    if not plan.actions:
        raise CannotRead(f"{name}: it holds no action; write what was agreed in the column action")
    return replace(settings, plan=plan.actions)


def read_plan(path: str | PathLike[str], settings: Settings | None = None) -> Plan:
    """Read a plan.

    Parameters
    ----------
    path : a text file or workbook with headings as `vocabulary.plan.PLAN` names them or as farms write them, one action
        a row; or a TOML file with ``[[plan]]``.
    settings : names the windows and causes of loss that a measure may speak of.

    Raises
    ------
    CannotRead : one sentence with file, row and column: what was found, what belongs there.
    """
    path, chosen = Path(path), settings or Settings()
    known = plan_measures(chosen.windows_h, chosen.causes)
    if path.suffix.casefold() == ".toml":
        return _of_toml(path, known)
    if path.is_file() and not path.read_bytes().strip():
        raise CannotRead(f"{path.name}: it is empty; neonatal-stats plan writes a blank plan.")
    grid = _sheet(path.name, open_all(listed(path), "", {}).grids)
    return _of_grid(grid, known)


def _of_toml(path: Path, known: tuple[PlanMeasure, ...]) -> Plan:
    found = load_toml(path)
    check_keys(path.name, found, ("plan",))
    return Plan(entries(f"{path.name}, plan", several(f"{path.name}, plan", found.get("plan", [])), known))


def _sheet(name: str, grids: list[Grid]) -> Grid:
    """The sheet with the plan: the one whose headings say so; of several the one that is named so."""
    filled = [grid for grid in grids if grid.height]
    found = [grid for grid in filled if _headings(grid) is not None]
    named = [grid for grid in found if grid.sheet.casefold() in ("plan", "maßnahmen")]
    if len(named or found) == 1:
        return (named or found)[0]
    if found:
        sheets = ", ".join(quoted(grid.sheet) for grid in found)
        raise CannotRead(f"{name}: several sheets hold a plan ({sheets}); call the one that is meant plan.")
    heads = ", ".join(quoted(text_of(column[0])) for grid in filled[:1] for column in grid.columns[:6])
    raise CannotRead(
        f"{name}: no headings of a plan were found (the first row holds {heads or 'nothing'}); the columns are "
        f"{', '.join(column.name.replace('_', ' ') for column in PLAN)}, and neonatal-stats plan writes a blank one."
    )


def _headings(grid: Grid) -> int | None:
    """The row of the headings, counted from 0; None where there is none."""
    if grid.headed:
        return None
    rows = range(min(HEADINGS_WITHIN, grid.height))
    return next((row for row in rows if is_plan(text_of(column[row]) for column in grid.columns)), None)


def _of_grid(grid: Grid, known: tuple[PlanMeasure, ...]) -> Plan:
    for place, problem, remedy in grid.aside:
        if _is_note(grid, place):
            continue
        raise CannotRead(f"{grid.place}, row {_number(grid, place)}: {problem}; {remedy}.")
    top = _headings(grid)
    assert top is not None
    columns = _columns(grid, top)
    headings = {name: heading for heading, name in columns.values()}
    actions, unused = [], []
    for row, cells in _rows(grid, top, columns):
        if any(cells[name] is not None for name in cells if name not in OFFERED):
            start = f"{grid.place}, row {_number(grid, row)}, column "
            actions.append(action(cells, partial(_where, start, headings), known))
        elif cells.get("measure") is not None:
            unused.append(text_of(cells["measure"]))
    return Plan(tuple(actions), tuple(unused))


def _where(start: str, headings: Mapping[str, str], name: str) -> str:
    """A cell's place, its column named as the file names it."""
    return start + headings.get(name, name.replace("_", " "))


def _number(grid: Grid, row: int) -> int:
    """What a row is called in its file."""
    return int(grid.numbers[row]) if len(grid.numbers) else row + 1


def _columns(grid: Grid, top: int) -> dict[int, tuple[str, str]]:
    """Of each column that is used its heading as written and the plan's name for it; others that hold anything, and
    two of one meaning, are refused."""
    found: dict[int, tuple[str, str]] = {}
    for place, cells in enumerate(grid.columns):
        heading, name = text_of(cells[top]), plan_column(text_of(cells[top]))
        below = [cell for row, cell in enumerate(cells[top + 1 :], start=top + 1) if not _is_note(grid, row)]
        if name is None and any(text_of(cell) for cell in below):
            names = [column.name.replace("_", " ") for column in PLAN]
            row = _number(grid, top)
            raise CannotRead(
                f"{grid.place}, row {row}: the heading {quoted(heading)} means nothing in a plan"
                f"{nearest(heading, names)}"
            )
        if name in {other for _, other in found.values()}:
            first = next(head for head, other in found.values() if other == name)
            raise CannotRead(
                f"{grid.place}, row {_number(grid, top)}: the headings {quoted(first)} and {quoted(heading)} mean the "
                "same; keep one of the two columns."
            )
        if name is not None:
            found[place] = heading, name
    return found


def _is_note(grid: Grid, row: int) -> bool:
    """Whether the first cell that is filled in a row begins a note."""
    texts = (text_of(column[row]) for column in grid.columns)
    return next((text for text in texts if text), "").startswith(NOTE)


def _rows(grid: Grid, top: int, columns: dict[int, tuple[str, str]]) -> Iterator[tuple[int, Cells]]:
    """The rows below the headings that hold anything and are no notes, with their cells by the plan's columns."""
    for row in range(top + 1, grid.height):
        cells = {name: grid.columns[place][row] for place, (_, name) in columns.items()}
        cells = {name: cell if text_of(cell) else None for name, cell in cells.items()}
        if any(cell is not None for cell in cells.values()) and not _is_note(grid, row):
            yield row, cells

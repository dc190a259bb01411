"""Cells merged over several rows of a sheet: each of the rows holds what stands in the block."""

from __future__ import annotations

from collections.abc import Sequence

from neonatal_stats.season.finding import say
from neonatal_stats.season.grid import Grid, Remark


def below_headings(grid: Grid, below: int) -> tuple[list[Sequence[object]], tuple[Remark, ...]]:
    """The columns from that row on; blocks merged downwards fill those of their rows that hold anything else."""
    blocks = [block for block in grid.merged if block[0] >= below and block[2] > block[0]]
    columns: list[Sequence[object]] = [column[below:] for column in grid.columns]
    filled = 0
    if blocks:
        lists = [list(column) for column in columns]
        holds = [any(cell not in (None, "") for cell in cells) for cells in zip(*lists, strict=True)]
        for top, left, bottom, _ in blocks:
            own = lists[left]
            for row in range(top + 1 - below, min(bottom + 1 - below, len(own))):
                if own[row] in (None, "") and holds[row]:
                    own[row] = own[top - below]
                    filled += 1
        columns = list(lists)
    if not filled:
        return columns, ()
    problem = say(
        "{n} cells that are merged over several rows were read for each of their rows", n=f"{filled:,}"
    )
    return columns, (Remark("", problem, say("nothing need be done")),)

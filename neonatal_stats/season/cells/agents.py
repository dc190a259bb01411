"""The cells of a column of agents parted: agents, and words for samples: awaited, showing none, not sent."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from neonatal_stats.season.cells.parsed import plain, tells
from neonatal_stats.season.finding import Finding, say, term, where
from neonatal_stats.season.grid import RawColumn, Remark, objects
from neonatal_stats.vocabulary.agents import AWAITED, FOUND, NAMED, NOT_SENT, NOTHING, UNKNOWN, agent_said
from neonatal_stats.vocabulary.terms import LABORATORY


def said_of(cell: object, own: Mapping[str, str]) -> str | None:
    """What a cell says, as the map has it, else by its words; None where it may say several things.

    What the map calls an agent found is one by that name.
    """
    if cell is None:
        return UNKNOWN
    if (meant := own.get(plain(cell))) is not None:
        return NAMED if meant == FOUND else meant
    text = str(cell)
    return agent_said(text) if tells(cell) or any(sign.isalpha() for sign in text) else UNKNOWN


def names_agents(cells: RawColumn) -> bool:
    """True where a cell names an agent, as one under "laboratory result" may."""
    return any(said_of(cell, {}) == NAMED for cell in cells.distinct[cells.uses > 0])


def named_beside(frame: dict[str, object], cells: RawColumn) -> None:
    """Agents that stand under the laboratory's result, where the map calls them found and no other column names one."""
    found = np.asarray(frame["laboratory"], dtype=object) == FOUND
    named = cells.rows_of(lambda cell: said_of(cell, {}) == NAMED) & found
    text = cells.spread(
        objects([None if c is None else " ".join(str(c).split()) for c in cells.distinct]), None
    )
    agent = pd.Series(frame.get("agent", np.full(len(named), None, dtype=object)), dtype=object)
    frame["agent"] = agent.where(agent.notna() | ~named, text).to_numpy()


def part_agents(
    frame: dict[str, object], cells: RawColumn, own: Mapping[str, str]
) -> tuple[list[Finding], list[Remark]]:
    """Take from the agents what names none; what it says of the samples is kept where nothing else says it."""
    said = objects([said_of(cell, own) for cell in cells.distinct])
    by_row = cells.spread(said, UNKNOWN)
    named = by_row == NAMED
    agent = pd.Series(np.asarray(frame["agent"], dtype=object))
    frame["agent"] = agent.where(named, None).to_numpy()
    samples = pd.Series(by_row, dtype=object).where(np.isin(by_row, LABORATORY), None).to_numpy()
    written = pd.Series(frame.get("laboratory", np.full(len(by_row), None, dtype=object)), dtype=object)
    frame["laboratory"] = written.where(written.notna(), samples).to_numpy()
    counts = {word: int((by_row == word).sum()) for word in LABORATORY}
    findings = [*_against(written, samples, cells), *_unclear(by_row, cells)]
    return findings, [_told(counts)] if any(counts.values()) else []


def _told(counts: Mapping[str, int]) -> Remark:
    problem = say(
        "cells of this column that name no agent: nothing found {nothing}, awaited {awaited}, not sent {not_sent}, "
        "found without a name {found}",
        nothing=f"{counts[NOTHING]:,}",
        awaited=f"{counts[AWAITED]:,}",
        not_sent=f"{counts[NOT_SENT]:,}",
        found=f"{counts[FOUND]:,}",
    )
    remedy = say("nothing need be done; a column laboratory keeps the two apart")
    return Remark("agent", problem, remedy)


def _unclear(by_row: np.ndarray, cells: RawColumn) -> list[Finding]:
    at = where(np.array([word is None for word in by_row], dtype=bool))
    problem = say(
        "this may name an agent or say that none was found, is awaited or was not sent; it was not counted"
    )
    remedy = say(
        "say in the map under [examinations.words.{column}] which of {words} is meant; an agent found keeps its name",
        column=term("agent"),
        words=", ".join(LABORATORY),
    )
    return [Finding(at, "agent", cells.at(at), problem, remedy, "set to missing")] if len(at) else []


def _against(written: pd.Series, samples: np.ndarray, cells: RawColumn) -> list[Finding]:
    """The agent's column and the laboratory's say different things of one carcass."""
    other = pd.Series(samples, dtype=object)
    at = where((written.notna() & other.notna() & (written != other)).to_numpy())
    problem = say(
        "the column of agents says something else of the samples than the laboratory's; the laboratory's was used"
    )
    remedy = say("look up the report of the laboratory")
    return [Finding(at, "agent", cells.at(at), problem, remedy, "asked")] if len(at) else []

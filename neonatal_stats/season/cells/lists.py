"""Cells that only lists hold: agents parted from words for samples (awaited, none found, not sent), and which treatment
a product is, where no column says so; rows that name no single newborn.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.parsed import lexicon, plain, tells
from neonatal_stats.season.finding import NO_NEED, Finding, say, term, where
from neonatal_stats.season.grid import RawColumn, Remark, objects
from neonatal_stats.vocabulary.agents import AWAITED, FOUND, NAMED, NOT_SENT, NOTHING, UNKNOWN, agent_said
from neonatal_stats.vocabulary.columns import column
from neonatal_stats.vocabulary.farm_words import animals_and_groups, is_identity
from neonatal_stats.vocabulary.spelling import bare_words
from neonatal_stats.vocabulary.terms import LABORATORY

TREATMENT = column("treatments", "treatment")


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
    text = cells.by_row(lambda cell: None if cell is None else " ".join(str(cell).split()), None)
    agent = pd.Series(frame.get("agent", np.full(len(named), None, dtype=object)), dtype=object)
    frame["agent"] = agent.where(agent.notna() | ~named, text).to_numpy()


def part_agents(
    frame: dict[str, object], cells: RawColumn, own: Mapping[str, str]
) -> tuple[list[Finding], list[Remark]]:
    """Take from the agents what names none; what it says of the samples is kept where nothing else says it."""
    by_row = cells.by_row(lambda cell: said_of(cell, own), UNKNOWN)
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


def treatments_of(cells: RawColumn, own: Mapping[str, str]) -> list[str | None]:
    """Which treatment each distinct cell of a column of products is; "" for none or a blank, None where none says."""
    known = {**lexicon(TREATMENT, TREATMENT.words, {}), **{plain(word): meant for word, meant in own.items()}}
    return ["" if not tells(cell) else known.get(plain(cell)) for cell in cells.distinct]


def part_treatments(
    frame: dict[str, object], chosen: Mapping[str, RawColumn], own: Mapping[str, str]
) -> list[Finding]:
    """Fill the treatment from the product where no column says it, and say which rows say none or name no newborn."""
    findings: list[Finding] = []
    if "product" in chosen:
        findings += _by_product(frame, chosen["product"], own)
    if "newborn_id" in chosen:
        cells = chosen["newborn_id"]
        at = where(cells.rows_of(names_no_newborn))
        problem = say("this names a dam or a group, and no single newborn; it was counted as no newborn's")
        remedy = say("write one row a newborn, and the dam in a column of her own")
        findings.append(
            Finding(at, "newborn_id", cells.at(at), problem, remedy, "set to missing", about="outcome")
        )
    return findings


def _by_product(
    frame: dict[str, object], cells: RawColumn, own: Mapping[str, str]
) -> tuple[Finding, Finding]:
    """Fill the treatment from its product: by the product's word, else by the other rows of the same product."""
    spread = cells.spread(objects(treatments_of(cells, own)), "")
    kinds = pd.Series([kind or None for kind in spread], dtype=object)
    written = pd.Series(frame.get("treatment", np.full(len(kinds), None, dtype=object)), dtype=object)
    told = written.where(written.notna(), kinds)
    left_out = cells.rows_of(lambda cell: own.get(plain(cell)) == "")
    shown = _shown_elsewhere(written, cells).where(told.isna() & ~left_out)
    told = told.where(told.notna(), shown)
    problem = say("its treatment is not written; that of the other rows of this product was taken")
    at = where(shown.notna())
    taken = Finding(at, "product", cells.at(at), problem, NO_NEED, "noted")
    if told.notna().any() or "treatment" in frame:
        frame["treatment"] = told.astype(object).where(told.notna(), None).to_numpy()
    given = pd.Series(frame["product"], dtype=object).notna() & told.isna()
    at = where(given.to_numpy() & ~left_out)
    return taken, _no_treatment(at, cells, any_written=bool(written.notna().any()))


def _no_treatment(at: NDArray[np.int64], cells: RawColumn, any_written: bool) -> Finding:
    """Products of unknown treatment; beside treatments that are written they are counted as not said."""
    remedy = say(
        "say in the map under [treatments.words.product] which of {words} it is",
        words=", ".join(TREATMENT.words),
    )
    if any_written:
        problem = say("no word says which treatment this product is; it is counted as a treatment not said")
        return Finding(at, "product", cells.at(at), problem, remedy, "noted")
    problem = say("no word says which treatment this product is")
    return Finding(at, "product", cells.at(at), problem, remedy, "asked", about="outcome")


def _shown_elsewhere(written: pd.Series, cells: RawColumn) -> pd.Series:
    """The treatment that all rows of a product name which name one, laid over every row of that product."""
    product = pd.Series(cells.by_row(plain, None), dtype=object)
    both = pd.DataFrame({"product": product, "treatment": written}).dropna()
    alike = both.groupby("product")["treatment"].agg(["nunique", "first"])
    return product.map(alike.loc[alike["nunique"] == 1, "first"]).astype(object)


def names_no_newborn(cell: object) -> bool:
    """True for a dam or a group by its word: "Ewe 12", "Pen 3 all", "alle Lämmer".

    >>> [names_no_newborn(cell) for cell in ("Ewe 0", "Pen 3 all", "all lambs", "L12", "Lamb 7", "0301")]
    [True, True, True, False, False, False]
    """
    dams, groups = animals_and_groups()
    spoken = bare_words(str(cell)).split()
    said = {way for word in spoken for way in (word, word.removesuffix("s"))}
    return bool(said & (dams | groups)) and not is_identity(str(cell))

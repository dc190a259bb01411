"""Lists of treatments: which treatment a product is, where no column says so, and rows that name no single newborn."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from neonatal_stats.season.cells.parsed import lexicon, plain, tells
from neonatal_stats.season.finding import Finding, say, where
from neonatal_stats.season.grid import RawColumn, objects
from neonatal_stats.vocabulary.columns import column
from neonatal_stats.vocabulary.farm_words import animals_and_groups, is_identity
from neonatal_stats.vocabulary.spelling import bare_words

TREATMENT = column("treatments", "treatment")


def treatments_of(cells: RawColumn, own: Mapping[str, str]) -> list[str | None]:
    """Which treatment each distinct cell of a column of products is; "" for none or a blank, None where none says."""
    known = {**lexicon(TREATMENT, TREATMENT.words, {}), **{plain(word): meant for word, meant in own.items()}}
    return ["" if not tells(cell) else known.get(plain(cell)) for cell in cells.distinct]


def part_treatments(
    frame: dict[str, object], chosen: Mapping[str, RawColumn], own: Mapping[str, str]
) -> list[Finding]:
    """Fill the treatment from the product where no column says it, and say which rows say none or name no newborn."""
    findings = []
    if "product" in chosen:
        cells = chosen["product"]
        spread = cells.spread(objects(treatments_of(cells, own)), "")
        kinds = pd.Series([kind or None for kind in spread], dtype=object)
        written = pd.Series(frame.get("treatment", np.full(len(kinds), None, dtype=object)), dtype=object)
        told = written.where(written.notna(), kinds)
        left_out = cells.rows_of(lambda cell: own.get(plain(cell)) == "")
        shown = _shown_elsewhere(written, cells).where(told.isna() & ~left_out)
        told = told.where(told.notna(), shown)
        problem = say("its treatment is not written; that of the other rows of this product was taken")
        at = where(shown.notna())
        findings.append(Finding(at, "product", cells.at(at), problem, say("nothing need be done"), "noted"))
        if told.notna().any() or "treatment" in frame:
            frame["treatment"] = told.astype(object).where(told.notna(), None).to_numpy()
        given = pd.Series(frame["product"], dtype=object).notna() & told.isna()
        problem = say("no word says which treatment this product is")
        remedy = say(
            "say in the map under [treatments.words.product] which of {words} it is",
            words=", ".join(TREATMENT.words),
        )
        at = where(given.to_numpy() & ~left_out)
        if written.notna().any():
            problem = say(
                "no word says which treatment this product is; it is counted as a treatment not said"
            )
            findings.append(Finding(at, "product", cells.at(at), problem, remedy, "noted"))
        else:
            findings.append(Finding(at, "product", cells.at(at), problem, remedy, "asked", about="outcome"))
    if "newborn_id" in chosen:
        cells = chosen["newborn_id"]
        at = where(cells.rows_of(names_no_newborn))
        problem = say("this names a dam or a group, and no single newborn; it was counted as no newborn's")
        remedy = say("write one row a newborn, and the dam in a column of her own")
        findings.append(
            Finding(at, "newborn_id", cells.at(at), problem, remedy, "set to missing", about="outcome")
        )
    return findings


def _shown_elsewhere(written: pd.Series, cells: RawColumn) -> pd.Series:
    """The treatment that all rows of a product name which name one, laid over every row of that product."""
    product = pd.Series(cells.spread(objects([plain(cell) for cell in cells.distinct]), None), dtype=object)
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

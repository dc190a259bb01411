"""What goes out, in one folder, whole or not at all: page, workbook, loose tables and figures, headline."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Collection
from pathlib import Path
from typing import Any

import pandas as pd

from neonatal_stats.chapters.protocol import Headline, Kept
from neonatal_stats.measures.claims import Claim
from neonatal_stats.report.first_page import Answer, Standing, first_page
from neonatal_stats.report.folder import (
    FIGURES,
    KEEPER_HTML,
    PAGE,
    PAGE_HTML,
    PARTS,
    TABLES,
    WORKBOOK,
    written_whole,
)
from neonatal_stats.report.how_bad import main_loss
from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import Review, version
from neonatal_stats.report.workbook import write_workbook
from neonatal_stats.tables.table import codebook, harmless
from neonatal_stats.words import Verdict, joined
from neonatal_stats.words.problems import said_in

SCHEMA = "neonatal_stats headline 3"
WORKBOOK_XLSX = "review.xlsx"


def write_review(
    review: Review,
    out: Path,
    *,
    force: bool = False,
    progress: Callable[[str], None] = lambda stage: None,
    parts: Collection[str] = PARTS,
    also: Callable[[Path], None] = lambda folder: None,
) -> Path:
    """Write page, keeper's summary (where there are births), workbook, tables, figures, set-aside list and headline.

    Parameters
    ----------
    out : the folder; made whole in a temporary folder and then moved to its place.
    force : replace the folder of an earlier review.
    progress : told each stage before it starts.
    parts : which of `folder.PARTS` to write, of a review built with them; the headline numbers always are, since the
        folder is known by them.
    also : writes what else belongs into the folder, before it is moved to its place.

    Returns
    -------
    The path of the page; of the folder where no page was written.
    """
    say = review.voice.say
    with written_whole(out, force=force) as folder:
        if TABLES in parts:
            progress(say("Saving the tables"))
            write_tables(review, folder)
        if {PAGE, FIGURES} & set(parts):
            progress(say("Drawing the figures"))
            for figure in review.figures:
                figure.svg()  # waits for whoever draws it
        if PAGE in parts:
            progress(say("Drawing the page"))
            (folder / PAGE_HTML).write_text(page_html(review), encoding="utf-8")
            if main_loss(review) is not None:
                (folder / KEEPER_HTML).write_text(keeper_html(review), encoding="utf-8")
        if WORKBOOK in parts:
            progress(say("Filling the workbook"))
            write_workbook(review, folder / WORKBOOK_XLSX)
        if FIGURES in parts:
            write_figures(review, folder)
        also(folder)
        write_headline(review, folder)
    return Path(out) / PAGE_HTML if PAGE in parts else Path(out)


def write_tables(review: Review, folder: Path) -> None:
    """`tables/<name>.csv`: raw numbers, shares 0 to 1, farm text that a spreadsheet would run made harmless.

    Beside the tables of the page stand the curves of its figures, step by step. `codebook.csv` has a line for each
    column of each of them, and of `set-aside.csv`, which lists what was set aside or noted.
    """
    (folder / "tables").mkdir()
    tables = (*review.tables, *review.curves)
    for table in tables:
        _csv(table.raw(), folder / "tables" / f"{table.name}.csv")
    problems = said_in(review.voice, review.season.problems)
    _csv(problems, folder / "set-aside.csv")
    _csv(pd.concat([codebook(tables), _codebook_of(problems)], ignore_index=True), folder / "codebook.csv")


def _codebook_of(problems: pd.DataFrame) -> pd.DataFrame:
    """The lines of the codebook for the set-aside list."""
    names = [str(name) for name in problems]
    return pd.DataFrame(
        {"table": "set-aside", "name": names, "heading": names, "kind": "text", "unit": "", "end": ""}
    )


def _csv(frame: pd.DataFrame, path: Path) -> None:
    harmless(frame).to_csv(path, index=False, lineterminator="\n")


def write_figures(review: Review, folder: Path) -> None:
    """`figures/<name>.svg` and `.png`."""
    (folder / "figures").mkdir()
    for figure in review.figures:
        (folder / "figures" / f"{figure.name}.svg").write_text(figure.svg(), encoding="utf-8")
        (folder / "figures" / f"{figure.name}.png").write_bytes(figure.png())


def write_headline(review: Review, folder: Path) -> None:
    """`headline.json`, described by `headline.schema.json` in this package."""
    write_json(headline(review), folder)


def write_json(told: dict[str, Any], folder: Path) -> None:
    """The headline numbers as they were put together."""
    text = json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False)
    (folder / "headline.json").write_text(text + "\n", encoding="utf-8")


def headline(review: Review) -> dict[str, Any]:
    """The headline numbers for other programs."""
    top = first_page(review)
    return {
        **about(review),
        "yardstick": [_beside(row) for shares, _ in review.beside for row in shares.to_dict("records")],
        "asked": {answer.key: _answer(answer) for answer in top.asked},
        "stands_out": [_standing(point) for point in top.stand_out],
        "looked": {
            "comparisons": review.ledger.looked,
            "clear": review.ledger.clear,
            "clear_by_chance": review.ledger.by_chance,
            "false_discovery_share": review.ledger.share,
        },
        "record_next": _record_next(review),
        **({"plan": [_kept(one) for one in review.kept]} if review.season.settings.plan else {}),
        "chapters": {section.name: "answered" if section.open else "closed" for section in review.sections},
    }


def _record_next(review: Review) -> list[str]:
    """The columns that the chapters ask to be recorded next season, in reading order."""
    asked = (one for section in review.sections for one in section.sentences if one.role == "record next")
    return list(dict.fromkeys(name for one in asked for name in one.columns))


def about(review: Review) -> dict[str, Any]:
    """What was read, when, up to which day, and the headline numbers."""
    known = review.season.known_until
    return {
        "schema": SCHEMA,
        "version": version(),
        "made_on": review.made_on.isoformat(),
        **({} if known is None else {"as_of": known.date().isoformat()}),
        "season": review.focus,
        "seasons": list(review.season.seasons),
        "species": review.season.species,
        "records": [vars(balance) for balance in review.season.balances],
        "sources": [vars(source) for source in review.season.sources],
        "numbers": {line.key: _share(line) for line in review.headlines},
    }


BAND_TEXTS = ("key", "outcome", "of", "kind", "verdict", "against")
BAND_NUMBERS = (
    "window_h", "events", "n", "share", "low", "high", "band_low", "band_high", "single_low", "single_high",
    "studies", "from_h", "to_h", "target",
)  # fmt: skip


def _beside(row: dict[Any, Any]) -> dict[str, Any]:
    """A share that has a band or a target; null where there is none."""
    return {name: row[name] or None for name in BAND_TEXTS} | {
        name: plain(row[name]) for name in BAND_NUMBERS
    }


def _answer(answer: Answer) -> dict[str, Any]:
    """A question asked beforehand: what was decided, and its numbers where a chapter could ask it."""
    numbers = (
        _numbers(answer.claim) if answer.claim else dict.fromkeys(NUMBERS) | {"period": [], "against": []}
    )
    verdict = answer.verdict.value if answer.verdict else "not recorded"
    return {"verdict": verdict, **numbers, "text": answer.text, "anchor": answer.anchor}


def _kept(one: Kept) -> dict[str, Any]:
    """An action of the plan: what became of its measure, and the numbers that say so where there are any."""
    change = None
    if one.change is not None:
        change = dict(zip(("estimate", "low", "high", "p", "p_holm"), map(plain, one.change), strict=True))
    return {
        "action": one.action,
        "done": one.done or "not recorded",
        "measure": one.measure,
        "season": one.season,
        "against": one.against,
        "target": plain(one.target),
        "before": one.before and _share(one.before),
        "after": one.after and _share(one.after),
        "change": change,
        "verdict": one.outcome.value,
        "text": one.text,
    }


def _share(line: Headline) -> dict[str, Any]:
    """A share with its counts and interval."""
    return {part: plain(getattr(line, part)) for part in ("events", "n", "share", "low", "high")}


def _standing(point: Standing) -> dict[str, Any]:
    claim = point.claim
    told = {
        "chapter": claim.chapter,
        "family": claim.family,
        "claim": claim.key,
        "verdict": Verdict.CLEAR.value,
    }
    return {
        **told,
        **_numbers(claim),
        "text": joined(filter(None, (point.text, point.beside))),
        "anchor": point.anchor,
    }


NUMBERS = ("measure", "estimate", "low", "high", "events", "n", "events_versus", "n_versus")


def _numbers(claim: Claim) -> dict[str, Any]:
    found = {name: getattr(claim, name) for name in NUMBERS}
    told = {name: one if isinstance(one, str) else plain(one) for name, one in found.items()}
    return {**told, "period": list(claim.period), "against": list(claim.against)}


def plain(value: float) -> float | int | None:
    """A number as JSON holds it: null where it is not known, whole where it is."""
    if math.isnan(value):
        return None
    return int(value) if float(value).is_integer() and abs(value) > 1 else float(value)

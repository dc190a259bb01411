"""The tables of the proof, each figure with its Monte Carlo standard error and held against its bound."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping

import numpy as np
import pandas as pd

from tests.simulations.page_book import FIRST_YEAR
from tests.simulations.page_cells import CELLS, NULL, PLANTED, RNG_NUMBER, Cell
from tests.simulations.page_flock import OUTBREAK_DAY, SICK_PEN
from tests.simulations.page_read import ANSWERED, BOUNDS, LIMITS, STANDS_OUT

Kept = Mapping[str, pd.DataFrame]
TOP, ANYWHERE, HOLDS = 0.10, 0.15, 0.95
NOT_MIX = re.compile(r"not (?:by |from )?(?:the |another )?mix|rate, not mix", re.IGNORECASE)
BY_MIX = re.compile(r"mix, not rate|both mix and rate|by (?:the|another) mix|the mix", re.IGNORECASE)
NO_MIX = re.compile(r"(?:the )?mix of births shows no clear difference", re.IGNORECASE)
FAMILIES = {"surgery": "delivery", "twins": "litter size", "fed late": "feeding", "season": "season"}
BESIDE = {"fed late": ("first hours",)}
"""Families of the questions, and others in which what is planted must show too."""
DATE = re.compile(
    r"(?P<d>\d{1,2})(?:\.(?P<m>\d{1,2})\.|\W+(?P<name>Mar|Apr|May|Jun))|\d{4}-(?P<m2>\d\d)-(?P<d2>\d\d)"
)
MONTHS = {"Mar": 3, "Apr": 4, "May": 5, "Jun": 6}
ONSET_WITHIN_D = (-3, 7)


def tables(kept: Kept) -> str:
    """All tables as one text; a cell without reviews is left out and named at the end."""
    there = {name: rows for name, rows in kept.items() if (rows["what"] == "page").any()}
    parts = [
        f"random number generator {RNG_NUMBER}; figures are shares of reviews (Monte Carlo standard error)",
        *_nothing_differs(there),
        *_what_spoke(there),
        *_planted(there),
        *_hazard_ratios(there),
        *_sizes(there),
        *_seconds(there),
    ]
    missing = [name for name in kept if name not in there]
    return "\n".join([*parts, *([f"\nnot run: {', '.join(missing)}"] if missing else []), ""])


def share(x: int, n: int) -> str:
    """A share with its standard error; where none or all, the error at half a review."""
    p = min(max(x, 0.5), n - 0.5) / n
    return f"{x / n:6.1%} ({np.sqrt(p * (1 - p) / n):.1%})"


def _held(x: int, n: int, bound: float, at_most: bool = True) -> str:
    """Is the bound kept, missed, or is either within two standard errors?"""
    error = 2 * np.sqrt(bound * (1 - bound) / n)
    over = (x / n - bound) * (1 if at_most else -1)
    return "kept" if over <= 0 else "open" if over <= error else "MISSED"


def reviews(rows: pd.DataFrame) -> int:
    """How many were made."""
    return int((rows["what"] == "page").sum())


def clear(rows: pd.DataFrame, *, top: bool = False, but_the_year: bool = False) -> pd.DataFrame:
    """What is called clear, on page one only where ``top``; without what is said of the season as such."""
    found = rows[rows["what"] == "clear"]
    if top:
        found = found[found["page_one"].isin((STANDS_OUT, ANSWERED))]
    return found[found["family"] != "season"] if but_the_year else found


def _with(found: pd.DataFrame) -> int:
    return int(found["review"].nunique())


def _nothing_differs(kept: Kept) -> Iterator[str]:
    yield f"\nNothing differs (bounds {TOP:.0%} and {ANYWHERE:.0%})"
    yield f"{'':36s} reviews  clear on page one          clear anywhere             failed"
    for cell in (cell for cell in NULL if cell.name in kept):
        rows, n = kept[cell.name], reviews(kept[cell.name])
        top, anywhere = (_with(clear(rows, top=on_top, but_the_year=cell.year)) for on_top in (True, False))
        label = cell.says + (" (besides it)" if cell.year else "")
        told = "    ".join(
            f"{share(x, n):15s} {_held(x, n, bound):7s}" for x, bound in ((top, TOP), (anywhere, ANYWHERE))
        )
        yield f"{label:36s} {n:7d}  {told}    {int((rows['what'] == 'failed').sum())}"


def _what_spoke(kept: Kept) -> Iterator[str]:
    """Where the clear sentences of the null seasons came from."""
    yield "\nNothing differs: reviews with something clear, by chapter and family, in all cells without a bad year"
    cells = [cell for cell in NULL if cell.name in kept and not cell.year and cell.name != "farms-differ"]
    if not cells:
        return
    n = sum(reviews(kept[cell.name]) for cell in cells)
    found = pd.concat([clear(kept[cell.name]).assign(cell=cell.name) for cell in cells])
    found = found.astype({"family": object, "chapter": object}).fillna({"family": "", "chapter": ""})
    each = found.drop_duplicates(["cell", "review", "chapter", "family"])
    counted = each.groupby(["chapter", "family"]).size()
    for (chapter, family), x in counted.sort_values(ascending=False).items():
        yield f"  {chapter:12s} {family:14s} {share(int(x), n)}"


def _planted(kept: Kept) -> Iterator[str]:
    yield "\nPlanted, 4 seasons x 350 dams"
    yield f"{'':62s} {'must be':>8s}  reviews"
    for cell in (*PLANTED, CELLS["bad-year"]):
        if cell.name not in kept:
            continue
        for label, needed, of, x in _measures(cell, kept[cell.name]):
            held = _held(x, of, needed, at_most=False) if needed and of else ""
            must = f"{needed:.0%}" if needed else ""
            yield f"{f'{cell.name}: {label}':62s} {must:>8s}  {of:7d}  {share(x, of) if of else '-':15s} {held}"


Measure = tuple[str, float, int, int]
"""A label, the share needed (0: none is), the reviews it is a share of, and in how many it was so."""


def _measures(cell: Cell, rows: pd.DataFrame) -> Iterator[Measure]:
    n = reviews(rows)
    measures: dict[str, Callable[[pd.DataFrame, int], Iterator[Measure]]] = {
        "surgery": lambda rows, n: _answered(rows, n, "surgery", 0.90),
        "twins": _twins,
        "unfed": _unfed,
        "mix": _mix_year,
        "outbreak": _outbreak,
        "": _bad_year,
    }
    return measures[cell.planted](rows, n)


def _answered(rows: pd.DataFrame, n: int, question: str, needed: float) -> Iterator[Measure]:
    yield "answered 'higher' on page one", needed, n, len(higher(rows, question))
    family = FAMILIES[question]
    found = clear(rows)
    found = found[(found["family"] == family) & found["higher"].astype(str).eq("True")]
    top = found[found["page_one"] == STANDS_OUT]
    yield f"something of {family} stands out, higher", 0.0, n, _with(top)
    yield f"something of {family} clear anywhere, higher", 0.0, n, _with(found)
    others = clear(rows)
    others = others[~others["family"].isin((family, *BESIDE.get(question, ())))]
    yield "something else clear anywhere", 0.0, n, _with(others)


def _unfed(rows: pd.DataFrame, n: int) -> Iterator[Measure]:
    """Two questions share the page: who was fed late (weighed at the mark), and the hazard while unfed."""
    found = clear(rows)
    found = found[(found["family"] == FAMILIES["fed late"]) & found["higher"].astype(str).eq("True")]
    top = set(found.loc[found["page_one"] == STANDS_OUT, "review"].astype(int))
    yield "higher on page one, answered or standing out", 0.80, n, len(top | higher(rows, "fed late"))
    yield from _answered(rows, n, "fed late", 0.0)


def higher(rows: pd.DataFrame, question: str) -> set[int]:
    """The reviews whose page one answers a question asked beforehand with "higher"."""
    found = rows[(rows["what"] == "asked") & (rows["asked"] == question) & (rows["verdict"] == "clear")]
    return set(found.loc[found["higher"].astype(str).eq("True"), "review"].astype(int))


def _twins(rows: pd.DataFrame, n: int) -> Iterator[Measure]:
    yield from _answered(rows, n, "twins", 0.90)
    found = rows[(rows["page_one"] == STANDS_OUT) & (rows["family"] == "litter size")]
    lines = found.groupby("review").size()
    yield "as one line, where it stands out", 0.90, len(lines), int((lines == 1).sum())


def _bad_year(rows: pd.DataFrame, n: int) -> Iterator[Measure]:
    up = higher(rows, "season")
    yield "higher on page one", 0.90, n, len(up)
    yield "words 'not the mix' on page one", 0.70, n, len(up & _words(rows, "page one", NOT_MIX))
    yield "words 'not the mix' in the chapter", 0.0, n, len(_words(rows, "years", NOT_MIX))


def _mix_year(rows: pd.DataFrame, n: int) -> Iterator[Measure]:
    up = higher(rows, "season")
    yield (
        "'the mix' beside it, where higher is said",
        0.90,
        len(up),
        len(up & _words(rows, "page one", BY_MIX)),
    )
    yield "higher on page one", 0.0, n, len(up)
    yield "words 'the mix' in the chapter", 0.0, n, len(_words(rows, "years", BY_MIX))


def _words(rows: pd.DataFrame, where: str, pattern: re.Pattern[str]) -> set[int]:
    """The reviews whose page one (or chapter of seasons) has these words; "not the mix" does not say "the mix"."""
    found = rows[(rows["what"] == "words") & (rows["key"] == where)]
    text = found["text"].fillna("").astype(str)
    if pattern is BY_MIX:
        text = text.str.replace(NOT_MIX, "", regex=True).str.replace(NO_MIX, "", regex=True)
    return set(found.loc[text.str.contains(pattern), "review"].astype(int))


def _outbreak(rows: pd.DataFrame, n: int) -> Iterator[Measure]:
    found = clear(rows)
    pens = found[(found["text"].fillna("") + found["key"].fillna("")).str.contains(SICK_PEN)]
    pen = set(pens.loc[pens["page_one"] == STANDS_OUT, "review"].astype(int))
    page = rows[(rows["what"] == "words") & (rows["key"] == "page one")]
    onset = set(page.loc[page["text"].fillna("").map(_onset_said), "review"].astype(int))
    yield "pen and onset on page one", 0.90, n, len(pen & onset)
    yield "pen on page one", 0.0, n, len(pen)
    yield "pen anywhere", 0.0, n, _with(pens)


def _onset_said(text: str) -> bool:
    """Does the text name a day near the one from which the pen was infected?"""
    onset = pd.Timestamp(f"{FIRST_YEAR}-04-02") + pd.Timedelta(days=OUTBREAK_DAY)
    for found in DATE.finditer(text):
        day = int(found["d2"] or found["d"])
        month = int(found["m2"] or found["m"] or MONTHS[found["name"]])
        if 1 <= month <= 12 and 1 <= day <= 30:
            apart = (pd.Timestamp(year=FIRST_YEAR, month=month, day=min(day, 28)) - onset).days
            if ONSET_WITHIN_D[0] <= apart <= ONSET_WITHIN_D[1]:
                return True
    return False


def _hazard_ratios(kept: Kept) -> Iterator[str]:
    yield (
        "\nHazard ratio of the unfed, four seasons together (must be, where the truth is 1: median 0.95 to 1.05, or "
        f"bounds that hold it in {HOLDS:.0%})"
    )
    yield f"{'':28s} truth  {'':16s} reviews   median  (error)   interval or bounds hold the truth"
    for name, rows in kept.items():
        truth = CELLS[name].plan.unfed
        found = rows[(rows["what"] == "unfed") & rows["estimate"].notna()]
        for key, one in found.groupby("key"):
            logs = np.log(one["estimate"])
            error = 1.2533 * logs.std() / np.sqrt(len(one)) * np.exp(logs.median())
            low, high = one["low"].fillna(0.0), one["high"].fillna(np.inf)
            holds = int(((low <= truth) & (high >= truth)).sum())
            held = (
                _held(holds, len(one), HOLDS, at_most=False) if truth == 1 and key in (BOUNDS, LIMITS) else ""
            )
            median = f"{np.exp(logs.median()):6.2f}  ({error:.2f})"
            told = f"{name:28s} {truth:5.1f}  {key:16s} {len(one):7d}   {median}    {share(holds, len(one))}"
            yield f"{told} {held}".rstrip()


def _sizes(kept: Kept) -> Iterator[str]:
    """Single tests under 0.05 where nothing differs, before the ledger, by family; and those with an empty group."""
    cells = [
        kept[cell.name]
        for cell in NULL
        if cell.name in kept and not cell.year and cell.name != "farms-differ"
    ]
    found = pd.concat([rows[rows["what"] == "size"] for rows in cells]) if cells else pd.DataFrame()
    if found.empty:
        return
    yield "\nNothing differs: single tests under 0.05, all and those with a group without losses"
    for family, one in found.groupby("family"):
        yield f"  {family:14s} {_rate(one, 'events', 'n')}   empty {_rate(one, 'events_versus', 'n_versus')}"
    empty = kept.get("empty")
    if empty is not None:
        one = empty[empty["what"] == "size"]
        yield f"  of cell empty  {_rate(one, 'events', 'n')}   empty {_rate(one, 'events_versus', 'n_versus')}"


def _rate(found: pd.DataFrame, events: str, of: str) -> str:
    x, n = float(found[events].sum()), float(found[of].sum())
    return f"{x / n:6.1%} of {n:8.0f}" if n else f"{'-':>6s} of {n:8.0f}"


def _seconds(kept: Kept) -> Iterator[str]:
    pages: Iterable[tuple[str, pd.DataFrame]] = (
        (name, rows[rows["what"] == "page"]) for name, rows in kept.items()
    )
    yield "\nSeconds of processor time a review, newborns and losses (means)"
    for name, page in pages:
        seconds, born, lost = (float(page[column].mean()) for column in ("estimate", "n", "events"))
        yield f"  {name:20s} {seconds:5.2f} s  {born:6.0f} born {lost:6.0f} lost"

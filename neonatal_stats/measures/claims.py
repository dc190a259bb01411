"""What a page could assert: one claim a comparison, gathered from the contrast frames of all chapters.

A claim has no words. `measures.ledger` decides over the claims of a whole page at once; a chapter's sentences, tables
and figures look the verdict of a row up by the row's ``key``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import repeat
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.many_groups import skewed_like_counts
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS, Verdict
from neonatal_stats.measures.contrasts import NULL
from neonatal_stats.season.settings import Settings

QUESTIONS = ("surgery", "twins", "first litter", "fed late", "mothering after surgery", "season")
"""The questions that vet and keeper always ask, in the order in which they are answered on page one."""

FAMILIES = (
    "litter size", "delivery", "dam", "weight", "sex", "first hours", "feeding", "season", "farm", "weather", "place",
    "cause", "time", "mothering", "outbreak",
)  # fmt: skip
"""What claims are about; a family is decided on as a whole before its members are."""

_FAMILY_OF = {
    "several": "litter size", "birth_type": "litter size", "sex_mix": "litter size", "birth_order": "litter size",
    "born_by": "delivery", "difficulty": "delivery", "delivery": "delivery",
    "parity_class": "dam", "first_litter": "dam", "dam_condition": "dam", "breed": "dam", "sire_id": "dam",
    "weight_class": "weight", "premature": "weight", "sex": "sex",
    "suck_class": "first hours", "handled": "mothering", "source": "feeding", "person": "feeding",
    "birth_place": "place", "group": "place", "time_of_birth": "time", "season": "season",
}  # fmt: skip


def family_of_factor(factor: str) -> str:
    """The family of claims that a grouping column belongs to; a column that only a farm keeps is about a place.

    >>> family_of_factor("birth_type"), family_of_factor("pen")
    ('litter size', 'place')
    """
    return _FAMILY_OF.get(factor, "place")


_LINE_OF = {
    "several": "litter size", "birth_type": "litter size", "delivery": "delivery", "born_by": "delivery",
    "difficulty": "delivery", "first_litter": "litters of the dam", "parity_class": "litters of the dam",
}  # fmt: skip


def line_of_factor(factor: str) -> str:
    """The line of claims that a grouping column belongs to: factors nested in one another share one.

    >>> line_of_factor("born_by"), line_of_factor("sex")
    ('delivery', 'sex')
    """
    return _LINE_OF.get(factor, factor)


COUNTS = ("events", "n", "events_versus", "n_versus")
CELLS = ("measure", *COUNTS, "estimate", "low", "high")
"""The columns of a contrast frame that a claim takes as they are."""


@dataclass(frozen=True)
class Claim:
    """One comparison that a sentence could assert.

    Parameters
    ----------
    key : names it on the whole page, "birth_type/born_by/born by surgery".
    chapter : the name of the chapter that says it.
    family : one of `FAMILIES`.
    line : claims of one nested set share a line (twins, triplets, twins and more): the clearest speaks for all.
    measure : what ``estimate``, ``low`` and ``high`` are in, a key of `contrasts.NULL`; "test" for a test of several
        groups at once, which has none of the three.
    p : two-sided, and valid where a group is sparse or empty of deaths (`claims_of` sees to it).
    events, n, events_versus, n_versus : losses and newborns of the group and of those it is held against.
    excess : losses more (below 0: fewer) than the others' risk would have given, to rank by.
    period : the seasons it speaks of, by name; several only where it is stratified by season or holds one against
        others, this one last.
    against : of ``period`` the seasons that the last is held against; none where no season is held against another.
    asked : which of `QUESTIONS` it answers; "" where it was found by looking.
    sayable : False where there is too little to say anything.
    weakest : the largest p over the stated range of a choice that the records cannot settle (where deaths between
        two checks fall, blank feeds); NaN where nothing of the kind matters.
    about : what is compared, as the group columns of the contrast frame name it and last "versus", each with its
        value; empty for a test.
    """

    key: str
    chapter: str
    family: str
    line: str
    measure: str
    estimate: float
    low: float
    high: float
    p: float
    events: int
    n: int
    events_versus: int
    n_versus: int
    excess: float
    period: tuple[str, ...]
    asked: str = ""
    sayable: bool = True
    weakest: float = math.nan
    against: tuple[str, ...] = ()
    about: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        if self.family not in FAMILIES:
            raise ValueError(f"family: {self.family!r} is none of {', '.join(FAMILIES)}")
        if self.asked and self.asked not in QUESTIONS:
            raise ValueError(f"asked: {self.asked!r} is none of {', '.join(QUESTIONS)}")

    @property
    def decided_by(self) -> float:
        """The p that decides: the weakest reading where the records leave a choice open."""
        return self.p if math.isnan(self.weakest) else max(self.p, self.weakest)


def keyed(frame: pd.DataFrame, chapter: str, topic: str = "") -> pd.DataFrame:
    """A contrast frame with the column ``key`` last: chapter, topic and the group columns, "colostrum/6 h/unfed".

    Parameters
    ----------
    topic : tells the frames of one chapter apart; "" where the group columns do that.
    """
    groups = list(frame.columns[: list(frame.columns).index("versus")])
    start = "/".join(part for part in (chapter, topic) if part)
    named = zip(*(frame[name] for name in groups), strict=True) if groups else [()] * len(frame)
    keys = ["/".join([start, *map(str, row)]) for row in named]
    return frame.assign(key=pd.Series(keys, index=frame.index, dtype=object))


def weakest_p(estimates: Sequence[float], p: Sequence[float], null: float) -> float:
    """The largest p of the readings of one comparison, its answer first; 1 where one points the other way, or has none.

    >>> weakest_p([1.8, 1.2], [0.01, 0.40], null=1.0), weakest_p([1.8, 0.9], [0.01, 0.03], null=1.0)
    (0.4, 1.0)
    """
    over = [math.isnan(estimate) or estimate > null for estimate in estimates]
    known = [1.0 if math.isnan(one) or way is not over[0] else one for one, way in zip(p, over, strict=True)]
    return float(max(known))


def over_readings(answer: pd.DataFrame, others: Iterable[pd.DataFrame]) -> pd.DataFrame:
    """A keyed contrast frame with what the other readings of its rows say, by key: weakest, lowest, highest.

    Parameters
    ----------
    others : keyed contrast frames of what the records leave open, each with the rows that it changes.

    Returns
    -------
    ``weakest`` as in `Claim`, NaN where no reading changes the row; ``lowest`` and ``highest`` estimate of them all.
    """
    read: dict[str, list[tuple[float, float]]] = {key: [] for key in answer["key"]}
    for frame in (answer, *others):
        for key, estimate, p in zip(frame["key"], frame["estimate"], frame["p"], strict=True):
            read.setdefault(key, []).append((float(estimate), float(p)))
    rows = [_open(read[key], measure) for key, measure in zip(answer["key"], answer["measure"], strict=True)]
    found = pd.DataFrame(rows, columns=["weakest", "lowest", "highest"], index=answer.index, dtype=float)
    return answer.join(found)


def _open(readings: Sequence[tuple[float, float]], measure: object) -> tuple[float, float, float]:
    """The largest p where there are several readings, the lowest and the highest estimate; NaN where there is none."""
    estimates, p = zip(*readings, strict=True)
    known = [one for one in estimates if not math.isnan(one)] or [math.nan]
    several = len(readings) > 1 and isinstance(measure, str)
    weakest = weakest_p(estimates, p, NULL[str(measure)]) if several else math.nan
    return weakest, min(known), max(known)


def claims_of(
    frame: pd.DataFrame,
    *,
    chapter: str,
    family: str | pd.Series,
    line: str | pd.Series,
    period: tuple[str, ...],
    settings: Settings,
    asked: Mapping[str, str] | None = None,
    weakest: pd.Series | None = None,
    against: tuple[str, ...] = (),
) -> tuple[Claim, ...]:
    """The rows of a contrast frame that hold a group against another, as claims.

    Parameters
    ----------
    frame : a contrast frame with ``key`` (`keyed`); a column ``excess`` is taken where it has one, else it is counted.
    family, line : one for all rows, or one a row.
    asked : the key of a row to the question of `QUESTIONS` that it answers.
    weakest : one a row; see `Claim`.
    against : see `Claim`; the same for all rows.

    Returns
    -------
    p is the frame's own, made no smaller than the skewness of the counts allows (`many_groups.skewed_like_counts`): a
    page looks at so many sparse groups that the far tails decide. Not sayable are claims with a group under the setting
    minimum_group, under 5 events in both groups together, no interval or no p.
    """
    held = frame[np.array([isinstance(one, str) for one in frame["versus"]], dtype=bool)]
    counts = [held[name].to_numpy(float) for name in COUNTS]
    excess = held["excess"].to_numpy(float) if "excess" in held else _beyond_the_others(*counts)
    columns: dict[str, Iterable[Any]] = {
        **{name: held[name].tolist() for name in ("key", *CELLS)},
        "p": skewed_like_counts(held["p"], excess > 0, *counts).tolist(),
        "excess": excess.tolist(),
        "family": repeat(family) if isinstance(family, str) else family.loc[held.index],
        "line": repeat(line) if isinstance(line, str) else line.loc[held.index],
        "weakest": repeat(math.nan) if weakest is None else weakest.loc[held.index],
    }
    named = list(frame.columns[: list(frame.columns).index("versus") + 1])
    groups = zip(*(map(str, held[name]) for name in named), strict=True)
    made = []
    for about, *row in zip(groups, *columns.values(), strict=False):
        cells = dict(zip(columns, row, strict=True))
        question = (asked or {}).get(cells["key"], "")
        whom = tuple(zip(named, about, strict=True))
        made.append(_claim(cells, chapter, period, settings, asked=question, against=against, about=whom))
    return tuple(made)


def _beyond_the_others(events: Any, n: Any, events_versus: Any, n_versus: Any) -> NDArray[np.float64]:
    """Events more than the risk of the others would have given; NaN where there are no others."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(events - n * events_versus / n_versus, dtype=float)


def claim_of_counts(
    key: str,
    line: str,
    p: float,
    counts: Sequence[float],
    *,
    chapter: str,
    family: str,
    period: tuple[str, ...],
    settings: Settings,
) -> Claim:
    """A test that has no interval, as a claim of measure "test".

    Parameters
    ----------
    counts : events, n, events_versus, n_versus: what is asked about, and what it is held against.
    """
    events, n, events_versus, n_versus = (int(one) for one in counts)
    few = min(n, n_versus) < settings.minimum_group or events + events_versus < MINIMUM_EVENTS
    excess = events - n * events_versus / n_versus if n_versus else math.nan
    return Claim(
        key, chapter, family, line, "test", math.nan, math.nan, math.nan, float(p),
        events, n, events_versus, n_versus, excess, period, sayable=not (few or math.isnan(p)),
    )  # fmt: skip


def _claim(
    row: Mapping[str, Any],
    chapter: str,
    period: tuple[str, ...],
    settings: Settings,
    *,
    asked: str,
    against: tuple[str, ...],
    about: tuple[tuple[str, str], ...],
) -> Claim:
    events, n, events_versus, n_versus = (int(row[name]) for name in COUNTS)
    low, high, p = (float(row[name]) for name in ("low", "high", "p"))
    few = min(n, n_versus) < settings.minimum_group or events + events_versus < MINIMUM_EVENTS
    return Claim(
        key=str(row["key"]),
        chapter=chapter,
        family=str(row["family"]),
        line=str(row["line"]),
        measure=str(row["measure"]),
        estimate=float(row["estimate"]),
        low=low,
        high=high,
        p=p,
        events=events,
        n=n,
        events_versus=events_versus,
        n_versus=n_versus,
        excess=float(row["excess"]),
        period=period,
        asked=asked,
        sayable=not (few or (math.isnan(low) and math.isnan(high)) or math.isnan(p)),
        weakest=float(row["weakest"]),
        against=against,
        about=about,
    )


def claim_of_test(
    p: float,
    *,
    key: str,
    family: str,
    line: str,
    events: int,
    n: int,
    excess: float,
    period: tuple[str, ...],
    sayable: bool,
) -> Claim:
    """A test of several groups at once as a claim; the chapter is the first part of its key.

    Parameters
    ----------
    events, n : losses and newborns of all groups together.
    excess : losses more than if every group had had the lowest risk among them.
    sayable : False where groups or losses are too few; a test without p never is.
    """
    nan = math.nan
    return Claim(
        key=key,
        chapter=key.split("/")[0],
        family=family,
        line=line,
        measure="test",
        estimate=nan,
        low=nan,
        high=nan,
        p=p,
        events=events,
        n=n,
        events_versus=0,
        n_versus=0,
        excess=excess,
        period=period,
        sayable=sayable and not math.isnan(p),
    )


def judged(frame: pd.DataFrame, verdicts: Mapping[str, Verdict]) -> pd.DataFrame:
    """A keyed contrast frame with the ledger's verdicts as its ``verdict``; rows that are no claim keep theirs."""
    found = [verdicts.get(str(key), old) for key, old in zip(frame["key"], frame["verdict"], strict=True)]
    return frame.assign(verdict=pd.Series(found, index=frame.index, dtype=object))

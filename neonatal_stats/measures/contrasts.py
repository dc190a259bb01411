"""This group against that one: one frame for every comparison of the review, with its verdict in it.

    groups..., versus, measure, events, n, events_versus, n_versus, estimate, low, high, p, q, verdict

The group columns come first (a column of the births, or factor and group) and hold the vocabulary's own words, never
printed ones; what a chapter needs besides stands after the verdict. The verdict is made here, once, by
`estimates.verdict.judge`, and only said elsewhere; it is never called a cause.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.curve_tests import gray_test, logrank
from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.estimates.results import Estimate, Test
from neonatal_stats.estimates.risk_tests import clustered_test
from neonatal_stats.estimates.two_by_two import conditional_odds_ratio
from neonatal_stats.estimates.verdict import Verdict, judge
from neonatal_stats.measures.rates import Alike, grouped, rates, standing_for
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.factors import BY_NAME

CONTRAST = (
    "versus", "measure", "events", "n", "events_versus", "n_versus", "estimate", "low", "high", "p", "q", "verdict",
)  # fmt: skip
"""The columns of a contrast frame after its group columns.

``versus`` is the group held against, "the rest" where that is all others; missing in a row that only shows a group.
``measure`` is a key of `NULL`; ``estimate``, ``low`` and ``high`` are in it. ``q`` is p allowing for how many were
tried, missing where one or few were. ``verdict`` is a `Verdict`, None where nothing was held against the group.
"""
TEXT = ("versus", "measure", "verdict")

NULL: Mapping[str, float] = {
    "risk ratio": 1.0,
    "odds ratio": 1.0,
    "hazard ratio": 1.0,
    "risk difference": 0.0,
    "standardised difference": 0.0,
}
"""Every measure, and its value where the groups do not differ."""

REST = "the rest"


def contrasts(
    births: pd.DataFrame,
    by: str,
    *,
    versus: str | None,
    outcome: str,
    settings: Settings,
    measure: str = "risk ratio",
    many: bool = False,
    cluster: str = "cluster",
    alike: Alike | None = None,
) -> pd.DataFrame:
    """Every other level of a column held against the level `versus`, or each level against all others together.

    Parameters
    ----------
    births : with `by` (an ordered categorical), `outcome` and `cluster`.
    versus : a level, or None for the rest.
    outcome : a yes-no column; newborns where it is missing are not counted.
    measure : "risk ratio", "risk difference" or "odds ratio".
    many : allow for how many levels were tried (q of Benjamini & Hochberg 1995).
    alike : the columns that say how many newborns and clusters a row stands for; one each without it.

    Returns
    -------
    `by`, the columns of `CONTRAST`, note; one row a level that occurs, none where there is nothing to hold it against.
    Method: `estimates.contrast.compare`, littermates allowed for.
    """
    rows = _levels_against(births, by, versus, outcome, measure, settings.level, cluster, alike)
    return contrast_rows(rows, (by,), settings=settings, many=many, extra=("note",))


def _levels_against(
    births: pd.DataFrame,
    by: str,
    versus: str | None,
    outcome: str,
    measure: str,
    level: float,
    cluster: str,
    alike: Alike | None = None,
) -> Iterator[dict[str, object]]:
    """The cells of each level that occurs against `versus`, where there is something to hold it against."""
    known = births[list(dict.fromkeys([by, outcome, cluster, *(alike.names if alike else ())]))]
    known = known[known[outcome].notna() & known[by].notna()]
    code, levels = known[by].cat.codes.to_numpy(), known[by].cat.categories
    present = np.unique(code)
    if len(present) < 2 or (versus is not None and versus not in levels[present]):
        return
    others = None if versus is None else levels.get_loc(versus)
    for one in present:
        if one != others:
            both = np.isin(code, present if others is None else [one, others])
            exposed = code[both] == one
            held = held_against(known[both], exposed, outcome, measure, level, cluster, alike=alike)
            yield {by: levels[one], "versus": REST if versus is None else versus, **held}


def held_against(
    births: pd.DataFrame,
    exposed: Any,
    outcome: str,
    measure: str,
    level: float,
    cluster: str = "cluster",
    weight: Any = None,
    alike: Alike | None = None,
) -> dict[str, object]:
    """The exposed newborns against the others, as the cells of a contrast row, measure to p, and the estimate's note.

    Counted: all of `births`; `outcome` is known of each, and both groups have somebody in them. With a ``weight``
    (`measures.windows.watched_weight`) the estimate is of the weighted newborns, the counts of those there; with
    ``alike``, both are of all newborns that the rows stand for.
    """
    event, group = births[outcome].to_numpy(dtype=bool), np.asarray(exposed, dtype=bool)
    litters = births[cluster].to_numpy()
    times = {"weight": weight} | standing_for(births, alike)
    found = compare(event, group, cluster=litters, measure=measure.replace(" ", "_"), level=level, **times)
    counts = counts_of(event, group, times["weight"] * times["repeats"] if alike else None)
    cells = exact_where_empty(counts, cells_of(found), measure, level)
    return {"measure": measure, **counts, **cells, "note": found.note}


def exact_where_empty(
    counts: Mapping[str, int], cells: dict[str, float], measure: str, level: float
) -> dict[str, float]:
    """The cells, no stronger than Fisher's exact test where a group has no event; large-sample limits may be.

    Where the exact limit of the odds ratio reaches 1, it stands in place of the limit of the ratio, from which it is
    then the farther away. 5 of 114 against 0 of 96: p 0.064, not the 0.045 of its mid-P.
    """
    empty = min(counts["events"], counts["events_versus"]) == 0 < counts["events"] + counts["events_versus"]
    if not empty or measure not in ("risk ratio", "odds ratio") or math.isnan(cells["p"]):
        return cells
    table = (counts["events"], counts["n"], counts["events_versus"], counts["n_versus"])
    exact = conditional_odds_ratio(*table, level=level, use_mid_p=False)
    low, high = cells["low"], cells["high"]
    low = min(low, exact.low) if exact.low <= 1 else low
    high = max(high, exact.high) if exact.high >= 1 else high
    return cells | {"low": low, "high": high, "p": max(cells["p"], exact.p)}


def counts_of(event: Any, exposed: Any, newborns: Any = None) -> dict[str, int]:
    """Events and newborns of the exposed and of the others, each row one newborn or as many as are said."""
    event, exposed = np.asarray(event, dtype=bool), np.asarray(exposed, dtype=bool)
    each = np.ones(len(event), dtype=np.int64) if newborns is None else np.asarray(newborns)
    return {
        "events": int(each[event & exposed].sum()),
        "n": int(each[exposed].sum()),
        "events_versus": int(each[event & ~exposed].sum()),
        "n_versus": int(each[~exposed].sum()),
    }


def cells_of(found: Estimate) -> dict[str, float]:
    """An estimate as the cells of a contrast row: estimate, low, high, p."""
    return {"estimate": found.estimate, "low": found.low, "high": found.high, "p": found.p}


def contrast_rows(
    rows: Iterable[Mapping[str, object]],
    groups: Sequence[str],
    *,
    settings: Settings,
    many: bool = False,
    extra: Sequence[str] = (),
) -> pd.DataFrame:
    """A contrast frame from rows worked out elsewhere (hazard ratios, rows of a model, parts of a change).

    Parameters
    ----------
    rows : each with the group columns and the columns of `CONTRAST` up to p; q where it is already known.
    groups : the group columns, in order.
    many : allow for how many rows were tried; without it, q is taken from the rows, missing where they have none.
    extra : further columns, which stand after the verdict.
    """
    frame = pd.DataFrame(list(rows), columns=[*groups, *CONTRAST, *extra])
    if frame.empty:
        frame = frame.astype({name: float for name in CONTRAST if name not in TEXT})
    return with_verdicts(frame, settings, many=many)


def with_verdicts(
    frame: pd.DataFrame, settings: Settings, *, many: bool = False, events: pd.Series | None = None
) -> pd.DataFrame:
    """The frame with its q and verdict; see `CONTRAST`.

    Parameters
    ----------
    frame : the columns of `CONTRAST` up to p; a q that it already has stands, unless ``many``.
    many : q by Benjamini & Hochberg (1995) over the rows that have a p.
    events : how many each row rests on, where that is not the events of both groups together.
    """
    q = frame["q"].to_numpy(float) if "q" in frame else np.full(len(frame), np.nan)
    if many:
        p = frame["p"].to_numpy(float)
        tried, q = ~np.isnan(p), np.full(len(frame), np.nan)
        if tried.any():
            q[tried] = benjamini_hochberg(p[tried])
    rests_on = frame["events"] + frame["events_versus"] if events is None else events
    columns = [frame[name] for name in ("versus", "measure", "low", "high", "p", "n", "n_versus")]
    rows = zip(*columns, q.tolist(), rests_on, strict=True)
    verdicts = [_verdict(row, settings) for row in rows]
    return frame.assign(q=q, verdict=pd.Series(verdicts, index=frame.index, dtype=object))


def _verdict(row: Sequence[Any], settings: Settings) -> Verdict | None:
    versus, measure, low, high, p, n, n_versus, q, events = row
    if not isinstance(versus, str):
        return None
    return judge(
        float(low),
        float(high),
        float(p),
        null=NULL[measure],
        events=int(events),
        smallest_group=int(min(n, n_versus)),
        minimum_group=settings.minimum_group,
        q=float(q),
        false_discovery_share=settings.false_discovery_share,
    )


SHOWN = ("share", "share_low", "share_high", "share_versus", "litters", "note")
"""What `by_factor` adds: the group's own share with its interval, that of those it is held against, its litters."""


def by_factor(
    births: pd.DataFrame,
    factors: Sequence[str],
    *,
    outcome: str,
    settings: Settings,
    alike: Alike | None = None,
) -> pd.DataFrame:
    """The groups of every factor, each with its share and its risk ratio against the factor's reference group.

    Parameters
    ----------
    births : with the factors (those not there are passed over), `outcome` and cluster.
    factors : columns; the reference of each is the one that `vocabulary.factors` names, else its largest group.
    outcome : a yes-no column; newborns where it is missing are not counted.
    alike : the columns that say how many newborns and clusters a row stands for; one each without it.

    Returns
    -------
    factor, group, the columns of `CONTRAST`, those of `SHOWN`: one row a group, in the groups' own order, of factors
    with at least two groups. The reference, and groups under the setting minimum_group, are shown and not compared.
    q is over all comparisons of the frame.

    Method
    ------
    Wilson interval at n / design effect; clustered risk ratio; Benjamini & Hochberg (1995).
    """
    parts = [_of_factor(births, factor, outcome, settings, alike) for factor in factors]
    rows = [row for part in parts if len(part) > 1 for row in part]
    return contrast_rows(rows, ("factor", "group"), settings=settings, many=True, extra=SHOWN)


def _of_factor(
    births: pd.DataFrame,
    factor: str,
    outcome: str,
    settings: Settings,
    alike: Alike | None,
) -> list[dict[str, object]]:
    if factor not in births:
        return []
    known = births[list(dict.fromkeys([factor, outcome, "cluster", *(alike.names if alike else ())]))]
    known = known[known[factor].notna() & known[outcome].notna()]
    if known.empty:
        return []
    if not isinstance(known[factor].dtype, pd.CategoricalDtype):
        known = known.assign(**{factor: ordered(known[factor])})
    shares = rates(known, (factor,), outcome, level=settings.level, alike=alike)
    large = shares[shares["n"] >= settings.minimum_group]
    reference = _reference(large, factor)
    large_ones = known[known[factor].isin(list(large[factor]))] if reference else known.head(0)
    against = _levels_against(
        large_ones, factor, reference, outcome, "risk ratio", settings.level, "cluster", alike
    )
    held = {str(row[factor]): row for row in against}
    return [_group_row(factor, row, held.get(str(row[factor]), {})) for row in shares.to_dict("records")]


def _group_row(factor: str, rate: Mapping[Any, Any], held: Mapping[str, Any]) -> dict[str, object]:
    """One group: its share, and its contrast where it was held against the reference."""
    group = str(rate[factor])
    share = {
        "share": rate["share"], "share_low": rate["low"], "share_high": rate["high"], "litters": rate["litters"]
    }  # fmt: skip
    if not held:
        return {"factor": factor, "group": group, "events": rate["events"], "n": rate["n"], **share}
    share_versus = held["events_versus"] / held["n_versus"]
    return {**held, "factor": factor, "group": group, **share, "share_versus": share_versus}


def ordered(values: pd.Series) -> pd.Series:
    """A column as ordered categories: as they are, yes and no, or the farm's own words in the order of the alphabet."""
    if isinstance(values.dtype, pd.CategoricalDtype):
        return values
    text = values.map({True: "yes", False: "no"}) if values.dtype == "boolean" else values.astype(str)
    return pd.Series(pd.Categorical(text, sorted(text.unique()), ordered=True), index=values.index)


def _reference(large: pd.DataFrame, factor: str) -> str:
    """The reference of the factor, else the largest group; "" where fewer than two groups are large enough."""
    if len(large) < 2:
        return ""
    levels = large[factor].astype(str)
    given = BY_NAME[factor].reference if factor in BY_NAME else None
    if given in set(levels):
        return str(given)
    return str(levels.iloc[int(large["n"].to_numpy().argmax())])


def risk_differs(births: pd.DataFrame, by: Sequence[str], event: str) -> Test:
    """Chi-square test that the groups share one risk, adjusted for litters (Rao & Scott 1992)."""
    known = births.loc[births[event].notna(), list(dict.fromkeys((*by, event, "cluster")))]
    _, code = grouped(known, by)
    known, code = known[code >= 0], code[code >= 0]
    return clustered_test(known[event].to_numpy(bool), code, known["cluster"].to_numpy())


def survival_differs(births: pd.DataFrame, by: Sequence[str]) -> Test:
    """Log-rank test between groups, its variance clustered; only newborns with a known age count."""
    known, code, n_groups = _of_known_age(births, by, ("age_h", "died", "cluster"))
    age_h, died, clusters = (
        known["age_h"].to_numpy(float),
        known["died"].to_numpy(bool),
        known["cluster"].to_numpy(),
    )
    return logrank(age_h, died, code, cluster=clusters, n_groups=n_groups)


def cause_differs(births: pd.DataFrame, by: Sequence[str], cause: str) -> Test:
    """Gray's test between groups for one cause, the others competing, its variance clustered."""
    known, code, n_groups = _of_known_age(births, by, ("age_h", "died", "cause", "cluster"))
    number = list(known["cause"].cat.categories).index(cause) + 1
    outcome = np.where(known["died"].to_numpy(bool), known["cause"].cat.codes.to_numpy() + 1, 0)
    age_h, clusters = known["age_h"].to_numpy(float), known["cluster"].to_numpy()
    return gray_test(age_h, outcome, code, number, cluster=clusters, n_groups=n_groups)


def _of_known_age(
    births: pd.DataFrame, by: Sequence[str], asked: Sequence[str]
) -> tuple[pd.DataFrame, np.ndarray, int]:
    """The columns asked of newborns of a known age and group, the number of each one's group, and of how many."""
    known = births.loc[births["age_known"], list(dict.fromkeys((*by, *asked)))]
    groups, code = grouped(known, by)
    return known[code >= 0], code[code >= 0], len(groups)

"""Examined carcasses, counted: when they died by the signs, of what and on what basis, what the laboratory found, where
the keeper's word and the examination differ, and where the next examination would tell most.

The signs are common practice, after the scheme that McFarlane gave for lambs in the 1960s (from memory, unchecked):
lungs without air say that it never breathed, decay in the womb that it was dead before labour, worn soles that it
walked, milk that it fed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.measures.rates import Counted, rates
from neonatal_stats.measures.windows import when_lost
from neonatal_stats.season.following.ages import answered
from neonatal_stats.season.following.follow import by_place
from neonatal_stats.season.following.placing import NOBODY
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.terms import STILLBIRTH

BEFORE, BEFORE_OR_DURING, DURING, AFTER = (
    "before birth",
    "before or during birth",
    "during birth",
    "after birth",
)
TIMES = (BEFORE, BEFORE_OR_DURING, DURING, AFTER)
NOT_WALKED, NOT_FED, FED = "had breathed, not walked", "had walked, not fed", "had fed"
REACHED = (NOT_WALKED, NOT_FED, FED)
"""How far those that died after birth had come."""
AGES_H = (24.0, 168.0)
AGE_CLASSES = ("at or before birth", "first day", "2 to 7 days", "later")
POST_MORTEM, KEEPER = "post-mortem", "keeper's opinion"
UNKNOWN = "unknown"
NOT_KNOWN = "age not known"


@dataclass(frozen=True, eq=False)
class Examinations(Shown):
    """What the examinations of a season showed.

    ``when`` and ``far`` are ``rates`` frames (column time; column reached) of those whose signs tell; ``causes`` a
    ``rates`` frame by cause with the counts of each basis and ``with_agent``; ``agents`` counts by agent and age class;
    ``laboratory`` counts by result; ``differ`` counts by the keeper's word and the examination's, with ``agree`` a
    ``rates`` frame of one row; ``breathed`` of those written down as born dead and examined for it, who had breathed;
    ``found`` a ``rates`` frame: of the examined, and of all lost where there are births, who has a found cause, and how
    many of the lost were examined; ``where_next`` by the time of loss: lost, examined, found, unexplained.
    """

    when: pd.DataFrame
    far: pd.DataFrame
    causes: pd.DataFrame
    agents: pd.DataFrame
    laboratory: pd.DataFrame
    differ: pd.DataFrame
    agree: pd.DataFrame
    breathed: pd.DataFrame
    found: pd.DataFrame
    where_next: pd.DataFrame
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> Examinations:
    """Count the examinations of the season.

    Counted
    -------
    Every examination once (the last of a newborn that has several); those beside no birth too, except where all lost
    are counted, since they are none of these. The basis of a cause is post-mortem unless it says another.
    """
    births, level = season.births, season.settings.level
    rows = _each_once(season.examinations)
    rows = rows.assign(
        cluster=clusters(rows, births),
        time=time_of_death(rows),
        reached=how_far(rows),
        age=age_class(rows, _born_dead(rows, births)),
        event=with_cause(rows).astype("boolean"),
        keeper=_keepers_word(rows, births),
    )
    told = rows[rows["time"].notna()]
    after = told[(told["time"].astype(object) == AFTER) & told["reached"].notna()]
    return Examinations(
        when=_parts(told, "time", level),
        far=_parts(after, "reached", level),
        causes=_causes(rows, season.settings),
        agents=_agents(rows),
        laboratory=_laboratory(rows),
        differ=_differ(rows),
        agree=_agree(rows, level),
        breathed=_breathed(rows, births, level),
        found=_found(rows, births, level),
        where_next=_where_next(rows, births, season.settings),
        counted=Counted(len(rows), "carcasses examined"),
        settings=season.settings,
        species=season.species,
    )


def _born_dead(rows: pd.DataFrame, births: pd.DataFrame) -> pd.Series:
    """Whether the birth beside each examination says that it was born dead."""
    if births.empty:
        return pd.Series(False, index=rows.index)
    still = pd.Series(births["stillborn"].to_numpy(), index=births["newborn"].to_numpy())
    return rows["newborn"].map(still).eq(True)


def _each_once(examined: pd.DataFrame) -> pd.DataFrame:
    """The last examination of each newborn; those that name none are each their own."""
    order = examined.sort_values("examined_at", kind="stable") if "examined_at" in examined else examined
    again = order.duplicated("newborn", keep="last") & named_birth(order)
    return order[~again].sort_index().reset_index(drop=True)


def _keepers_word(rows: pd.DataFrame, births: pd.DataFrame) -> pd.Series:
    """What the keeper had thought: as the list says, else the cause of the birth's row that rests on no post-mortem."""
    nobody = pd.Series(None, index=rows.index, dtype=object)
    own = rows.get("keeper_cause", nobody).astype(object)
    if births.empty:
        return own
    cause = births["cause"].astype(object)
    if "cause_basis" in births:
        cause = cause.where(births["cause_basis"].astype(object) != POST_MORTEM)
    theirs = rows["newborn"].map(pd.Series(cause.to_numpy(), index=births["newborn"].to_numpy()))
    return own.where(own.notna(), theirs)


def _parts(rows: pd.DataFrame, by: str, level: float) -> pd.DataFrame:
    """A ``rates`` frame of the share that each class is of all rows; every class that occurs is a row."""
    found = []
    for name in rows[by].cat.categories if len(rows) else ():
        event = (rows[by].astype(object) == name).astype("boolean")
        if event.any():
            found.append(rates(rows.assign(event=event), (), "event", level=level).assign(**{by: name}))
    names = [by, "events", "n", "share", "low", "high", "litters"]
    return pd.concat(found, ignore_index=True)[names] if found else pd.DataFrame(columns=names)


def _causes(rows: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Each cause that the examinations gave, unknown where they gave none, with what it rests on: where neither a cause
    nor a basis is written, nothing is said of it.
    """
    nobody = pd.Series(None, index=rows.index, dtype=object)
    cause = rows.get("cause", nobody).astype(object)
    cause = cause.where(cause.notna(), UNKNOWN)
    kinds = pd.CategoricalDtype(list(settings.causes), ordered=True)
    made = rows.assign(cause=cause.astype(kinds))
    found = _parts(made, "cause", settings.level)
    basis = rows.get("cause_basis", nobody).astype(object)
    told = basis.notna() | rows.get("cause", nobody).notna()
    basis = basis.where(basis.notna(), POST_MORTEM)
    counts = {
        "post_mortem": told & (basis == POST_MORTEM),
        "opinion": told & (basis != POST_MORTEM),
        "with_agent": with_agent(rows),
    }
    for name, of in counts.items():
        found[name] = [int((of & (cause == one)).sum()) for one in found["cause"]]
    last = found["cause"].astype(str) == UNKNOWN
    order = found.assign(last=last).sort_values(["last", "events"], ascending=[True, False], kind="stable")
    return order.drop(columns="last").reset_index(drop=True)


def _agents(rows: pd.DataFrame) -> pd.DataFrame:
    """Counts of each agent by the age at death; the agent that was found most often first."""
    if "agent" not in rows or not rows["agent"].notna().any():
        return pd.DataFrame(columns=["agent", "n", *AGE_CLASSES, NOT_KNOWN])
    known = rows[rows["agent"].notna()]
    age = known["age"].astype(object).where(known["age"].notna(), NOT_KNOWN)
    counts = pd.crosstab(known["agent"].astype(str), age).reindex(
        columns=[*AGE_CLASSES, NOT_KNOWN], fill_value=0
    )
    counts.insert(0, "n", counts.sum(axis=1))
    return (
        counts.rename_axis("agent")
        .reset_index()
        .sort_values(["n", "agent"], ascending=[False, True], ignore_index=True)
    )


def _laboratory(rows: pd.DataFrame) -> pd.DataFrame:
    """Counts by what became of the samples sent; an agent without a word of it counts as found."""
    nobody = pd.Series(None, index=rows.index, dtype=object)
    result = rows.get("laboratory", nobody).astype(object)
    result = result.where(result.notna() | rows.get("agent", nobody).isna(), "agent found")
    counts = result.value_counts()
    return pd.DataFrame({"result": counts.index.astype(str), "n": counts.to_numpy()})


def _both(rows: pd.DataFrame) -> pd.DataFrame:
    """The examined of which both the keeper's word and the examination's are written down and say why."""
    if "cause" not in rows:
        return rows.head(0).assign(cause="")
    known = rows["keeper"].notna() & rows["cause"].notna()
    for name in ("keeper", "cause"):
        known &= rows[name].astype(object) != UNKNOWN
    return rows[known]


def _differ(rows: pd.DataFrame) -> pd.DataFrame:
    """Counts by the keeper's word and the examination's, the most frequent difference first."""
    both = _both(rows)
    if both.empty:
        return pd.DataFrame(columns=["keeper", "cause", "n", "same"])
    counts = (
        both.astype({"keeper": str, "cause": str})
        .groupby(["keeper", "cause"])
        .size()
        .rename("n")
        .reset_index()
    )
    counts["same"] = counts["keeper"] == counts["cause"]
    return counts.sort_values(
        ["same", "n", "keeper", "cause"], ascending=[True, False, True, True], ignore_index=True
    )


def _agree(rows: pd.DataFrame, level: float) -> pd.DataFrame:
    both = _both(rows)
    if both.empty:
        return pd.DataFrame()
    event = (both["keeper"].astype(str) == both["cause"].astype(str)).astype("boolean")
    return rates(both.assign(event=event), (), "event", level=level)


def _breathed(rows: pd.DataFrame, births: pd.DataFrame, level: float) -> pd.DataFrame:
    """Of those written down as born dead whose lungs were looked at, who had breathed."""
    said = (rows["keeper"].astype(object) == "stillbirth") | _born_dead(rows, births)
    known = rows[said & rows["time"].notna()]
    if known.empty:
        return pd.DataFrame()
    event = (known["time"].astype(object) == AFTER).astype("boolean")
    return rates(known.assign(event=event), (), "event", level=level)


OF_EXAMINED, OF_LOST, EXAMINED = (
    "cause found, of the examined",
    "cause found, of all lost",
    "examined, of all lost",
)


def _found(rows: pd.DataFrame, births: pd.DataFrame, level: float) -> pd.DataFrame:
    """Who has a found cause: of the examined; of all lost, where there are births; and who of these was examined."""
    parts = [rates(rows, (), "event", level=level).assign(what=OF_EXAMINED)] if len(rows) else []
    lost = births[births["lost"]] if len(births) else births
    if len(lost):
        by_newborn = rows[named_birth(rows)].set_index("newborn")["event"]
        explained = lost["newborn"].map(by_newborn)
        for what, event in ((EXAMINED, explained.notna()), (OF_LOST, explained.eq(True))):
            frame = lost[["cluster"]].assign(event=event.astype("boolean").fillna(False))
            parts.append(rates(frame, (), "event", level=level).assign(what=what))
    return pd.concat(parts, ignore_index=True)


def _where_next(rows: pd.DataFrame, births: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Losses by when they came: how many were examined, how many have a found cause, and how many have none.

    Without births the examined are all the losses that are known, by their age.
    """
    names = ["stage", "lost", "examined", "found", "unexplained"]
    if births.empty:
        stage: pd.Series = rows["age"].astype(object).where(rows["age"].notna(), NOT_KNOWN)
        stage, explained = (
            stage.astype(pd.CategoricalDtype([*AGE_CLASSES, NOT_KNOWN], ordered=True)),
            rows["event"],
        )
    else:
        lost = births[births["lost"]]
        by_newborn = rows[named_birth(rows)].set_index("newborn")["event"]
        stage = when_lost(births, settings)[births["lost"]]
        explained = lost["newborn"].map(by_newborn)
    frame = pd.DataFrame(
        {
            "stage": stage.to_numpy(),
            "lost": 1,
            "examined": explained.notna().to_numpy(),
            "found": explained.eq(True).to_numpy(dtype=bool, na_value=False),
        }
    ).astype({"stage": stage.dtype})
    counts = frame.groupby("stage", observed=True, sort=True).sum().astype(np.int64).reset_index()
    counts["stage"] = counts["stage"].astype(str)
    return counts.assign(unexplained=counts["lost"] - counts["found"])[names]


def time_of_death(examined: pd.DataFrame) -> pd.Series:
    """When each died, by the signs; missing where they do not tell.

    Counted
    -------
    Any sign of having breathed, walked or fed says after birth. Never breathed and decayed: before birth; never
    breathed and not decayed: during birth; never breathed, and nobody looked for decay: one of the two. Decay alone
    does not tell: a carcass decays after birth as well.

    Examples
    --------
    >>> signs = {"breathed": [False, False, True, None], "autolysed": [True, False, None, True]}
    >>> frame = pd.DataFrame(signs, dtype="boolean")
    >>> time_of_death(frame).tolist()
    ['before birth', 'during birth', 'after birth', nan]
    """
    after = np.any([answered(examined, sign, True) for sign in ("breathed", "walked", "fed")], axis=0)
    silent = answered(examined, "breathed", False)
    decayed, fresh = answered(examined, "autolysed", True), answered(examined, "autolysed", False)
    place = np.select([after, silent & decayed, silent & fresh, silent], [3, 0, 2, 1], -1)
    return by_place(place, TIMES).set_axis(examined.index)


def how_far(examined: pd.DataFrame) -> pd.Series:
    """How far one that died after birth had come; missing for the others, and where walking and milk do not tell."""
    after = time_of_death(examined).astype(object) == AFTER
    fed = answered(examined, "fed", True)
    walked = answered(examined, "walked", True) & answered(examined, "fed", False)
    still = answered(examined, "walked", False) & ~fed
    place = np.select([~after, fed, walked, still], [-1, 2, 1, 0], -1)
    return by_place(place, REACHED).set_axis(examined.index)


def age_class(examined: pd.DataFrame, stillborn: pd.Series) -> pd.Series:
    """The age at death in classes: by the signs, or where it was born dead; else by the records.

    Parameters
    ----------
    examined : with age_low_h and age_high_h.
    stillborn : True where the records say that it was born dead.

    Counted
    -------
    A class ends before its last hour, as the windows of loss do. Missing where two classes are possible.
    """
    low, high = (examined[name].to_numpy(float) for name in ("age_low_h", "age_high_h"))
    first, last = np.searchsorted(AGES_H, low, side="right"), np.searchsorted(AGES_H, high, side="left")
    known = ~np.isnan(low) & ((low == high) | (first == last))
    signs = time_of_death(examined).astype(object)
    unborn = signs.isin((BEFORE, BEFORE_OR_DURING, DURING)) | (stillborn & (signs != AFTER))
    place = np.where(unborn, 0, np.where(known, 1 + first, -1))
    return by_place(place, AGE_CLASSES).set_axis(examined.index)


def with_cause(examined: pd.DataFrame) -> pd.Series:
    """Whether the examination found why it died: a cause that is not unknown, and not stillbirth, which only says when;
    or an agent, be it only the laboratory's word that there was one.
    """
    nobody = pd.Series(None, index=examined.index, dtype=object)
    cause = examined.get("cause", nobody).astype(object)
    settled = cause.notna() & ~cause.isin(("unknown", STILLBIRTH))
    return settled | with_agent(examined)


def with_agent(examined: pd.DataFrame) -> pd.Series:
    """Whether the laboratory found an agent, named or not."""
    nobody = pd.Series(None, index=examined.index, dtype=object)
    found = examined.get("laboratory", nobody).astype(object).eq("agent found")
    return found | examined.get("agent", nobody).notna()


def clusters(examined: pd.DataFrame, births: pd.DataFrame) -> pd.Series:
    """The litters (or what else births cluster on) of the examined; one that belongs to none is its own."""
    own = pd.Series(np.arange(len(examined)), index=examined.index)
    if births.empty:
        return examined["litter"]
    by_newborn = births.set_index("newborn")["cluster"]
    by_litter = births.drop_duplicates("litter").set_index("litter")["cluster"]
    found = examined["newborn"].map(by_newborn)
    found = found.fillna(examined["litter"].map(by_litter))
    beyond = int(births["cluster"].max()) + 1
    return found.fillna(own + beyond).astype(np.int64)


def named_birth(examined: pd.DataFrame) -> pd.Series:
    """Whether an examination stands beside a newborn of the births."""
    return examined["newborn"] != NOBODY

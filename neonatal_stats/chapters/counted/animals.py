"""The animals behind the numbers: every loss, every dam with what chance alone would deal her, every sire."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.losses_by_dam import losses_per_dam
from neonatal_stats.estimates.many_groups import beta_binomial_shrink
from neonatal_stats.measures.on_the_calendar import PLACES
from neonatal_stats.measures.rates import Counted, too_small
from neonatal_stats.measures.risk_groups import flock_design_effect
from neonatal_stats.measures.windows import Window, compared_window, known_in
from neonatal_stats.season.model import Season, in_focus
from neonatal_stats.season.settings import Settings

LOSS_COLUMNS = ("newborn_id", "dam_id", "sire_id", *PLACES, "delivery", "cause", "cause_basis")
"""What the list of losses takes from the records as it was written."""


@dataclass(frozen=True, eq=False)
class Animals(Shown):
    """The three lists.

    ``losses`` one row a newborn lost in ``season``, in the order of birth: `LOSS_COLUMNS`, place (the first of
    `PLACES` that is written), born, born_precision, stillborn, age_h (missing where not known).
    ``dams`` one row a dam with an identity, over ``period``: dam_id, litters, born, lost, reared, seasons and
    seasons_lost (with a loss in the window), n, events and expected (newborns, losses and what chance would deal, in
    the window), p (chance of so many or more), such (dams that chance alone would bring as far), q (the share of
    chance among those as far), marked, again (lost in two seasons or more), judged and rejected newborns, deliveries
    known and assisted (litters).
    ``sires`` one row a sire with an identity: sire_id, litters, events, n, share, shrunken, low, high,
    difficulty_known, difficult, difficult_share, difficult_shrunken, weighed, weight_kg (mean), few (too few to say).
    ``born`` newborns of the season; ``lacking`` those of dam_id and sire_id that nobody wrote.
    """

    losses: pd.DataFrame
    dams: pd.DataFrame
    sires: pd.DataFrame
    born: int
    lacking: tuple[str, ...]
    season: str
    period: tuple[str, ...]
    window: Window
    counted: Counted
    settings: Settings
    species: str


def listed_farm(season: Season) -> str | None:
    """The farm whose animals are listed; None where there are several and none is said to be the reader's own.

    Farms side by side are shown as letters, and a list of animals would tell whose they are.
    """
    farms = season.farms
    if len(farms) < 2:
        return farms[0] if farms else ""
    return season.settings.own_farm if season.settings.own_farm in farms else None


def of_farm(births: pd.DataFrame, farm: str | None) -> pd.DataFrame:
    """The births of the farm that is listed."""
    return births[births["farm"].astype(str) == farm] if farm else births


def answer(season: Season) -> Animals:
    """List the losses of the season under review, and the dams and sires of all seasons read.

    Counted: newborns of the farm that is listed; what is held against chance are those of which it is known whether
    they were lost in the compared window.
    """
    whole, settings, farm = season.whole or season, season.settings, listed_farm(season.whole or season)
    focus = season if season.whole is not None else in_focus(season, season.under_review)
    births, here = of_farm(whole.births, farm), of_farm(focus.births, farm)
    window = compared_window(births, settings)
    elsewhere = len(whole.births) - len(births)
    return Animals(
        losses=losses_listed(here),
        dams=dams_listed(births, window, settings),
        sires=sires_listed(births, window, settings),
        born=len(here),
        lacking=tuple(name for name in ("dam_id", "sire_id") if not written(births, name)),
        season=", ".join(focus.seasons),
        period=whole.seasons,
        window=window,
        counted=Counted(len(births), left_out=(("of other farms", elsewhere),) if elsewhere else ()),
        settings=settings,
        species=season.species,
    )


def written(births: pd.DataFrame, name: str) -> bool:
    """Is anything written in this column?"""
    return name in births and bool(births[name].notna().any())


def losses_listed(births: pd.DataFrame) -> pd.DataFrame:
    """One row a newborn lost, in the order of birth; see `Animals`."""
    lost = births[births["lost"]]
    told = {name: lost[name].astype(object) if name in lost else None for name in LOSS_COLUMNS}
    frame = pd.DataFrame(told, index=lost.index, dtype=object)
    place = frame[PLACES[0]]
    for name in PLACES[1:]:
        place = place.where(place.notna(), frame[name])
    return frame.assign(
        place=place,
        born=lost["born"],
        born_precision=lost["born_precision"],
        stillborn=lost["stillborn"],
        age_h=lost["age_h"].where(lost["age_known"]),
    ).reset_index(drop=True)


DAM_COLUMNS = (
    "dam_id", "litters", "born", "lost", "reared", "seasons", "seasons_lost", "n", "events", "expected", "p", "such",
    "q", "marked", "again", "judged", "rejected", "deliveries", "assisted",
)  # fmt: skip


def dams_listed(births: pd.DataFrame, window: Window, settings: Settings) -> pd.DataFrame:
    """One row a dam: those marked first, then those that lost in two seasons or more, then by chance; see `Animals`.

    Marked is a dam whose q is at most the ``false_discovery_share``: where no dam differs from another, at most that
    share of lists marks any.
    """
    if not written(births, "dam_id"):
        return pd.DataFrame(columns=list(DAM_COLUMNS))
    own = births[births["dam_id"].notna()]
    frame = _histories(own).join(_beside_chance(known_in(own, window)))
    frame = frame.fillna({"n": 0, "events": 0, "seasons_lost": 0})
    frame = frame.assign(
        marked=frame["q"] <= settings.false_discovery_share,
        again=frame["seasons_lost"] > 1,
        more=frame["expected"] - frame["events"],
    )
    first = {"marked": False, "again": False, "p": True, "more": True, "dam_id": True}
    ordered = frame.sort_values(list(first), ascending=list(first.values()))
    return ordered[list(DAM_COLUMNS)].reset_index(drop=True)


def _histories(own: pd.DataFrame) -> pd.DataFrame:
    """What was written of each dam's births, by dam."""
    by = own.groupby("dam", sort=True)
    frame = pd.DataFrame(
        {
            "dam_id": by["dam_id"].first(),
            "litters": by["litter"].nunique(),
            "born": by.size(),
            "lost": by["lost"].sum(),
            "seasons": own["season"].astype(str).groupby(own["dam"]).nunique(),
        }
    )
    frame["reared"] = frame["born"] - frame["lost"]
    return frame.join(_accepted(own)).join(_helped(own))


def _beside_chance(known: pd.DataFrame) -> pd.DataFrame:
    """Losses in the window beside chance, by dam: the farm's own losses, season by season and litter size by size."""
    kind = known["birth_type"].cat.codes + 1 if "birth_type" in known else pd.Series(0, index=known.index)
    stratum = known.groupby([known["season"].astype(str), kind.to_numpy()]).ngroup()
    event = known["event"].to_numpy(int)
    found = losses_per_dam(event, known["dam"].to_numpy(), known["litter"].to_numpy(), stratum.to_numpy())
    lost_in = known.loc[known["event"], ["dam", "season"]].astype({"season": str}).drop_duplicates()
    told = {
        "events": found.observed,
        "expected": found.expected,
        "p": found.p,
        "such": found.such,
        "q": found.q,
    }
    frame = pd.DataFrame(told, index=pd.Index(found.group, name="dam"))
    return frame.assign(n=known.groupby("dam").size(), seasons_lost=lost_in.groupby("dam").size())


def _accepted(own: pd.DataFrame) -> pd.DataFrame:
    """Of the newborns born alive whose mothering-up was judged, how many were not accepted."""
    if "failed_mothering" not in own:
        return pd.DataFrame({"judged": 0, "rejected": 0}, index=own["dam"].unique())
    judged = own[~own["stillborn"] & own["failed_mothering"].notna()]
    by = judged["failed_mothering"].astype(bool).groupby(judged["dam"])
    counts = pd.DataFrame({"judged": by.size(), "rejected": by.sum()})
    return counts.reindex(own["dam"].unique(), fill_value=0)


def _helped(own: pd.DataFrame) -> pd.DataFrame:
    """Of the litters whose delivery was written, how many had a newborn that was not born unassisted."""
    if "delivery" not in own:
        return pd.DataFrame({"deliveries": 0, "assisted": 0}, index=own["dam"].unique())
    known = own[own["delivery"].notna()]
    helped = (known["delivery"].astype(object) != "unassisted").groupby([known["dam"], known["litter"]]).any()
    by = helped.groupby(level=0)
    counts = pd.DataFrame({"deliveries": by.size(), "assisted": by.sum()})
    return counts.reindex(own["dam"].unique(), fill_value=0)


SIRE_COLUMNS = (
    "sire_id", "litters", "events", "n", "share", "shrunken", "low", "high", "difficulty_known", "difficult",
    "difficult_share", "difficult_shrunken", "weighed", "weight_kg", "few",
)  # fmt: skip


OF_DIFFICULTY = {
    "n": "difficulty_known",
    "events": "difficult",
    "share": "difficult_share",
    "shrunken": "difficult_shrunken",
}


def sires_listed(births: pd.DataFrame, window: Window, settings: Settings) -> pd.DataFrame:
    """One row a sire, those with most newborns first; see `Animals`.

    Shares are drawn towards the common one by beta-binomial empirical Bayes, litters allowed for by the design effect;
    those of a sire with too few newborns, or too few litters, are missing.
    """
    if not written(births, "sire_id"):
        return pd.DataFrame(columns=list(SIRE_COLUMNS))
    own = births[births["sire_id"].notna()]
    known = known_in(own, window)
    frame = _drawn_in(known, known["event"], settings).reindex(sorted(own["sire_id"].unique()))
    hard = own[own["difficulty"].notna()] if "difficulty" in own else own.head(0)
    if len(hard):
        drawn = _drawn_in(hard, hard["difficulty"].astype(object) == "difficult", settings)
        frame = frame.join(drawn.rename(columns=OF_DIFFICULTY)[list(OF_DIFFICULTY.values())])
    weighed = own[own["birth_weight_kg"].notna()] if "birth_weight_kg" in own else own.head(0)
    if len(weighed):
        by = weighed["birth_weight_kg"].groupby(weighed["sire_id"])
        frame = frame.assign(weighed=by.size(), weight_kg=by.mean())
    frame = frame.rename_axis("sire_id").reset_index().reindex(columns=list(SIRE_COLUMNS))
    ordered = _enough(frame, settings.minimum_group).sort_values(
        ["few", "n", "sire_id"], ascending=[True, False, True]
    )
    return ordered.reset_index(drop=True)


def _enough(sires: pd.DataFrame, minimum: int) -> pd.DataFrame:
    """The sires with `few`, and without the shares and means of which there is too little to say."""
    counts = ["events", "n", "litters", "difficult", "difficulty_known", "weighed"]
    frame = sires.assign(**{name: sires[name].fillna(0).astype(int) for name in counts})
    frame["few"] = too_small(frame, minimum)
    frame.loc[frame["few"], ["share", "shrunken", "low", "high"]] = np.nan
    few_hard = frame["few"] | (frame["difficulty_known"] < minimum)
    frame.loc[few_hard, ["difficult_share", "difficult_shrunken"]] = np.nan
    frame.loc[frame["weighed"] < minimum, "weight_kg"] = np.nan
    return frame


def _drawn_in(known: pd.DataFrame, event: pd.Series, settings: Settings) -> pd.DataFrame:
    """How many of how many by sire, their share, and the share drawn in with its interval; litters beside them."""
    by = event.astype(int).groupby(known["sire_id"])
    frame = pd.DataFrame({"events": by.sum(), "n": by.size()})
    effect = flock_design_effect(event.to_numpy(bool), known["litter"].to_numpy()) if len(known) else 1.0
    found = beta_binomial_shrink(frame["events"], frame["n"], level=settings.level, design_effect=effect)
    return frame.assign(
        litters=known.groupby("sire_id")["litter"].nunique(),
        share=frame["events"] / frame["n"],
        shrunken=found.share,
        low=found.low,
        high=found.high,
    )

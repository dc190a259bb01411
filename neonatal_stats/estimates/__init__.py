"""Arithmetic on arrays: it knows no farm, no file and no plot.

Ages are hours since birth, outcomes are small whole numbers (0 left alive, 1.. the causes), clusters are
whole numbers that name the litter (or the farm). Every function that takes ``cluster`` takes newborns as
independent without it; ``weight`` says how many newborns a row stands for, so that counts made elsewhere give
the same numbers as rows. No confidence level is a default: say it.

``from neonatal_stats.estimates import kaplan_meier``: all that is offered is named in ``__all__``, one file a
method. A name's file is imported when the name is first asked for, so that a command that needs one formula
does not wait for all of them.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from neonatal_stats.estimates.chill import sheep_chill_index
    from neonatal_stats.estimates.contrast import compare, compare_counts
    from neonatal_stats.estimates.control_limits import (
        ControlChart,
        Expected,
        Funnel,
        funnel,
        p_chart,
        predicted,
    )
    from neonatal_stats.estimates.counts import EventTable, count_events
    from neonatal_stats.estimates.cox_regression import CoxFit, cox
    from neonatal_stats.estimates.curve_tests import gray_test, logrank
    from neonatal_stats.estimates.decomposition import MixAndRate, mix_and_rate
    from neonatal_stats.estimates.diagnostic import Screening, screening
    from neonatal_stats.estimates.emulated_trial import EmulatedTrial, fed_by_mark
    from neonatal_stats.estimates.incidence import Incidence, aalen_johansen
    from neonatal_stats.estimates.interval_censored import IntervalCensored, turnbull
    from neonatal_stats.estimates.intraclass import RepeatLosers, intraclass_correlation, repeat_losers
    from neonatal_stats.estimates.life_tables import LifeTable, life_table
    from neonatal_stats.estimates.many_groups import benjamini_hochberg
    from neonatal_stats.estimates.mean_survival import restricted_mean, restricted_mean_difference
    from neonatal_stats.estimates.planning import (
        design_effect,
        fall_seen,
        losses_avoidable,
        newborns_a_season,
        newborns_needed,
        ratio_seen,
        seasons_needed,
    )
    from neonatal_stats.estimates.proportion import Proportions, clopper_pearson, proportions, wilson
    from neonatal_stats.estimates.proportional_hazards import ProportionalHazards, proportional_hazards_test
    from neonatal_stats.estimates.results import Estimate, Test
    from neonatal_stats.estimates.risk_tests import clustered_test, cochran_armitage, line_through, risk_slope
    from neonatal_stats.estimates.seasons import AgainstOthers, one_against_others, swing
    from neonatal_stats.estimates.sensitivity import EValue, e_value
    from neonatal_stats.estimates.shrinkage import Prior, Shrunk, beta_binomial_prior, beta_binomial_shrink
    from neonatal_stats.estimates.smooth import SmoothMean, SmoothShare, smooth_mean, smooth_share
    from neonatal_stats.estimates.standardisation import (
        directly_standardised,
        expected_events,
        indirectly_standardised,
        variance_under_one_risk,
    )
    from neonatal_stats.estimates.stratified import mantel_haenszel
    from neonatal_stats.estimates.survival import Curve, kaplan_meier, survival_at
    from neonatal_stats.estimates.time_dependent import (
        LandmarkFit,
        SplitRows,
        fed_hazard_ratio,
        landmark,
        split_at_feed,
    )
    from neonatal_stats.estimates.two_by_two import conditional_odds_ratio, fisher, mid_p

_OFFERS = {
    "chill": "sheep_chill_index",
    "contrast": "compare compare_counts",
    "control_limits": "ControlChart Expected Funnel funnel p_chart predicted",
    "counts": "EventTable count_events",
    "cox_regression": "CoxFit cox",
    "curve_tests": "gray_test logrank",
    "decomposition": "MixAndRate mix_and_rate",
    "diagnostic": "Screening screening",
    "emulated_trial": "EmulatedTrial fed_by_mark",
    "incidence": "Incidence aalen_johansen",
    "interval_censored": "IntervalCensored turnbull",
    "intraclass": "RepeatLosers intraclass_correlation repeat_losers",
    "life_tables": "LifeTable life_table",
    "many_groups": "benjamini_hochberg",
    "mean_survival": "restricted_mean restricted_mean_difference",
    "planning": "design_effect fall_seen losses_avoidable newborns_a_season newborns_needed ratio_seen seasons_needed",
    "proportion": "Proportions clopper_pearson proportions wilson",
    "proportional_hazards": "ProportionalHazards proportional_hazards_test",
    "results": "Estimate Test",
    "risk_tests": "clustered_test cochran_armitage line_through risk_slope",
    "seasons": "AgainstOthers one_against_others swing",
    "sensitivity": "EValue e_value",
    "shrinkage": "Prior Shrunk beta_binomial_prior beta_binomial_shrink",
    "smooth": "SmoothMean SmoothShare smooth_mean smooth_share",
    "standardisation": "directly_standardised expected_events indirectly_standardised variance_under_one_risk",
    "stratified": "mantel_haenszel",
    "survival": "Curve kaplan_meier survival_at",
    "time_dependent": "LandmarkFit SplitRows fed_hazard_ratio landmark split_at_feed",
    "two_by_two": "conditional_odds_ratio fisher mid_p",
}
_FILE_OF = {name: file for file, names in _OFFERS.items() for name in names.split()}

# fmt: off
__all__ = [
    "AgainstOthers", "ControlChart", "CoxFit", "Curve", "EValue", "EmulatedTrial", "Estimate",
    "EventTable", "Expected", "Funnel", "Incidence", "IntervalCensored", "LandmarkFit", "LifeTable",
    "MixAndRate", "Prior", "ProportionalHazards", "Proportions", "RepeatLosers", "Screening", "Shrunk",
    "SmoothMean", "SmoothShare", "SplitRows", "Test", "aalen_johansen", "benjamini_hochberg",
    "beta_binomial_prior", "beta_binomial_shrink", "clopper_pearson", "clustered_test", "cochran_armitage",
    "compare", "compare_counts", "conditional_odds_ratio", "count_events", "cox", "design_effect",
    "directly_standardised", "e_value", "expected_events", "fall_seen", "fed_by_mark", "fed_hazard_ratio",
    "fisher", "funnel", "gray_test", "indirectly_standardised", "intraclass_correlation", "kaplan_meier",
    "landmark", "life_table", "line_through", "logrank", "losses_avoidable", "mantel_haenszel", "mid_p",
    "mix_and_rate", "newborns_a_season", "newborns_needed", "one_against_others", "p_chart", "predicted",
    "proportional_hazards_test", "proportions", "ratio_seen", "repeat_losers", "restricted_mean",
    "restricted_mean_difference", "risk_slope", "screening", "seasons_needed", "sheep_chill_index",
    "smooth_mean", "smooth_share", "split_at_feed", "survival_at", "swing", "turnbull",
    "variance_under_one_risk", "wilson",
]
# fmt: on


def __getattr__(name: str) -> object:
    if name not in _FILE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_FILE_OF[name]}"), name)


def __dir__() -> list[str]:
    return __all__

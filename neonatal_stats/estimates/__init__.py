"""Arithmetic on arrays: it knows no farm, no file and no plot.

``from neonatal_stats.estimates import kaplan_meier``: all that is offered is named in ``__all__``, one file a
method. A name's file is imported when the name is first asked for, so that a command that needs one formula
does not wait for all of them.

What many functions take, said here once; arrays have one entry a newborn, (n,):

event, died : 0 or 1. outcome : 0 left alive (sold, moved, lost sight of, record closed), 1 to C the cause of loss.
age_h : age at loss or at last being seen, in hours since birth; finite, not negative, ties and 0 welcome.
entry_h : age at which watching began; none, and 0, is from birth, hour 0 included.
exposed : 0 or 1. group, stratum : whole numbers from 0; ``n_groups`` says how many where the last may be empty.
cluster : whole numbers that name the litter (or the farm); newborns are independent without it. It may span groups.
weight : how many newborns a row stands for, so that counts made elsewhere give the same numbers as rows.
repeats : how many identical clusters the row's cluster stands for, whole: 1 000 is a thousand litters, no weight.
level : confidence level, such as 0.95. None is a default: say it.

A bad argument is a ValueError that names it and the first place where it is bad. Where there are few clusters every
interval, and every p that rests on a sum over them, has the correction of `clusters.FewClusters`.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from neonatal_stats.estimates.change_point import Rise, rise
    from neonatal_stats.estimates.contrast import compare, compare_counts
    from neonatal_stats.estimates.control_limits import (
        ControlChart,
        Funnel,
        RepeatLosers,
        funnel,
        intraclass_correlation,
        p_chart,
        repeat_losers,
    )
    from neonatal_stats.estimates.counts import EventTable, count_events
    from neonatal_stats.estimates.cox_regression import (
        CoxFit,
        ProportionalHazards,
        cox,
        proportional_hazards_test,
    )
    from neonatal_stats.estimates.curve_tests import gray_test, logrank
    from neonatal_stats.estimates.emulated_trial import EmulatedTrial, fed_by_mark
    from neonatal_stats.estimates.excess import (
        BeyondOthers,
        ShrunkenExcess,
        beyond_the_others,
        shrunken_excess,
    )
    from neonatal_stats.estimates.formulas import EValue, Screening, e_value, screening, sheep_chill_index
    from neonatal_stats.estimates.incidence import Incidence, aalen_johansen
    from neonatal_stats.estimates.interval_censored import IntervalCensored, turnbull
    from neonatal_stats.estimates.life_tables import LifeTable, life_table
    from neonatal_stats.estimates.losses_by_dam import LossesPerDam, losses_per_dam
    from neonatal_stats.estimates.many_groups import (
        Prior,
        Shrunk,
        benjamini_hochberg,
        beta_binomial_prior,
        beta_binomial_shrink,
        holm,
    )
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
    from neonatal_stats.estimates.recent_losses import (
        AgainstCurve,
        in_last_days,
        last_days_against_before,
        losses_against_curve,
    )
    from neonatal_stats.estimates.results import Estimate, Test
    from neonatal_stats.estimates.risk_tests import clustered_test, cochran_armitage, line_through, risk_slope
    from neonatal_stats.estimates.scan import Scan, calendar_scan
    from neonatal_stats.estimates.seasons import AgainstOthers, later_less_earlier, one_against_others, swing
    from neonatal_stats.estimates.smooth import SmoothMean, SmoothShare, smooth_mean, smooth_share
    from neonatal_stats.estimates.standardisation import (
        MixAndRate,
        directly_standardised,
        expected_events,
        indirectly_standardised,
        mix_and_rate,
        variance_under_one_risk,
    )
    from neonatal_stats.estimates.stratified import mantel_haenszel
    from neonatal_stats.estimates.survival import (
        Curve,
        kaplan_meier,
        restricted_mean,
        restricted_mean_difference,
        survival_at,
    )
    from neonatal_stats.estimates.time_dependent import (
        LandmarkFit,
        SplitRows,
        fed_hazard_ratio,
        landmark,
        split_at_feed,
    )
    from neonatal_stats.estimates.totals import ratio_of_totals
    from neonatal_stats.estimates.two_by_two import conditional_odds_ratio, fisher, mid_p

_OFFERS = {
    "formulas": "EValue Screening e_value screening sheep_chill_index",
    "change_point": "Rise rise",
    "contrast": "compare compare_counts",
    "control_limits": "ControlChart Funnel RepeatLosers funnel intraclass_correlation p_chart repeat_losers",
    "counts": "EventTable count_events",
    "cox_regression": "CoxFit ProportionalHazards cox proportional_hazards_test",
    "curve_tests": "gray_test logrank",
    "emulated_trial": "EmulatedTrial fed_by_mark",
    "excess": "BeyondOthers ShrunkenExcess beyond_the_others shrunken_excess",
    "incidence": "Incidence aalen_johansen",
    "interval_censored": "IntervalCensored turnbull",
    "life_tables": "LifeTable life_table",
    "losses_by_dam": "LossesPerDam losses_per_dam",
    "many_groups": "Prior Shrunk benjamini_hochberg beta_binomial_prior beta_binomial_shrink holm",
    "planning": "design_effect fall_seen losses_avoidable newborns_a_season newborns_needed ratio_seen seasons_needed",
    "proportion": "Proportions clopper_pearson proportions wilson",
    "recent_losses": "AgainstCurve in_last_days last_days_against_before losses_against_curve",
    "results": "Estimate Test",
    "risk_tests": "clustered_test cochran_armitage line_through risk_slope",
    "scan": "Scan calendar_scan",
    "seasons": "AgainstOthers later_less_earlier one_against_others swing",
    "smooth": "SmoothMean SmoothShare smooth_mean smooth_share",
    "standardisation": "MixAndRate directly_standardised expected_events indirectly_standardised mix_and_rate "
    "variance_under_one_risk",
    "stratified": "mantel_haenszel",
    "survival": "Curve kaplan_meier restricted_mean restricted_mean_difference survival_at",
    "time_dependent": "LandmarkFit SplitRows fed_hazard_ratio landmark split_at_feed",
    "totals": "ratio_of_totals",
    "two_by_two": "conditional_odds_ratio fisher mid_p",
}
_FILE_OF = {name: file for file, names in _OFFERS.items() for name in names.split()}

# fmt: off
__all__ = [
    "AgainstCurve", "AgainstOthers", "BeyondOthers", "ControlChart", "CoxFit", "Curve", "EValue",
    "EmulatedTrial", "Estimate", "EventTable", "Funnel", "Incidence",
    "IntervalCensored", "LandmarkFit", "LifeTable", "LossesPerDam", "MixAndRate", "Prior",
    "ProportionalHazards", "Proportions", "RepeatLosers", "Rise", "Scan", "Screening", "Shrunk",
    "ShrunkenExcess", "SmoothMean", "SmoothShare", "SplitRows", "Test", "aalen_johansen",
    "benjamini_hochberg", "beta_binomial_prior", "beta_binomial_shrink", "beyond_the_others",
    "calendar_scan", "clopper_pearson", "clustered_test", "cochran_armitage", "compare",
    "compare_counts", "conditional_odds_ratio", "count_events", "cox", "design_effect",
    "directly_standardised", "e_value", "expected_events", "fall_seen", "fed_by_mark",
    "fed_hazard_ratio", "fisher", "funnel", "gray_test", "holm", "in_last_days",
    "indirectly_standardised", "intraclass_correlation", "kaplan_meier", "landmark",
    "last_days_against_before", "later_less_earlier", "life_table", "line_through", "logrank",
    "losses_against_curve", "losses_avoidable", "losses_per_dam", "mantel_haenszel", "mid_p",
    "mix_and_rate", "newborns_a_season", "newborns_needed", "one_against_others", "p_chart",
    "proportional_hazards_test", "proportions", "ratio_of_totals", "ratio_seen", "repeat_losers",
    "restricted_mean", "restricted_mean_difference", "rise", "risk_slope", "screening",
    "seasons_needed", "sheep_chill_index", "shrunken_excess", "smooth_mean", "smooth_share",
    "split_at_feed", "survival_at", "swing", "turnbull", "variance_under_one_risk", "wilson",
]
# fmt: on


def __getattr__(name: str) -> object:
    if name not in _FILE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_FILE_OF[name]}"), name)


def __dir__() -> list[str]:
    return __all__

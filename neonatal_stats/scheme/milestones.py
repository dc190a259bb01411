"""Milestones of the first hours as the births' own columns tell them: `measures.milestones`, on an engine."""

from __future__ import annotations

from functools import reduce

import ibis

from neonatal_stats.measures.milestones import FEEDING, MECONIUM, SLACK_H, STANDING
from neonatal_stats.scheme.classes import column
from neonatal_stats.scheme.moments import later_of
from neonatal_stats.season.settings import Settings

FED = "fed_in_time"
"""Found the teat and fed by the mark of the settings; missing where nobody can tell, and of those born dead."""
MILESTONES = (FED,)


def with_milestones(births: ibis.Table, settings: Settings) -> ibis.Table:
    """Add `FED`: met, not met, or missing, as `measures.milestones.met` has it of the state when the mark is due."""
    due_h = settings.marks.fed_h
    fed, not_by = (_hours(births, name) for name in FEEDING)
    seen_to = due_h + SLACK_H
    late = _surely(fed > seen_to) | (~_gone(births, due_h) & _surely(not_by >= due_h - SLACK_H))
    met = ibis.cases((births.stillborn, None), (_surely(fed <= seen_to), True), (late, False))
    return births.mutate(**{FED: met})


def _surely(told: ibis.Value) -> ibis.Value:
    return told.fill_null(False)


def _hours(births: ibis.Table, name: str) -> ibis.Value:
    hours = column(births, name, "float64")
    return ibis.ifelse(hours >= 0, hours, ibis.null("float64"))


def _gone(births: ibis.Table, due_h: float) -> ibis.Value:
    """Dead before the mark, or not surely seen alive any more: not `measures.milestones.alive_at`."""
    dead = births.died & births.age_known
    seen = [births.age_low_h, *(_hours(births, after) for after, _ in (STANDING, FEEDING, MECONIUM))]
    last = reduce(later_of, seen)
    before = _surely(births.age_h < float(due_h // 1))
    unseen = _surely((last < births.age_h) & (last < due_h - SLACK_H))
    return births.stillborn | (dead & (before | unseen))

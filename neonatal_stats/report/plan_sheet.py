"""The workbook's sheet of the plan: what was agreed, in the columns of a plan's file, to be gone on with."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.report.review import Review
from neonatal_stats.season.actions import Action
from neonatal_stats.tables import Table, columns
from neonatal_stats.vocabulary.columns import heading_said
from neonatal_stats.vocabulary.plan import PLAN
from neonatal_stats.words.plan_words import measure_name, measure_of

SHEET = "plan"


def plan_table(review: Review) -> Table:
    """Every action of the plan as it was written; `season.plan.read_plan` reads the sheet back."""
    voice = review.voice
    rows = [_cells(review, action) for action in review.season.settings.plan]
    declared = [columns.text(column.name, voice.say(heading_said(column))) for column in PLAN]
    frame = pd.DataFrame(rows, columns=[column.name for column in PLAN], dtype=object)
    return Table(SHEET, voice.say("The plan"), frame, declared, printer=voice)


def _cells(review: Review, action: Action) -> dict[str, str]:
    voice, measure = review.voice, measure_of(review.season.settings, action.measure)
    plain = {name: getattr(action, name) for name in ("season", "action", "who", "by_when", "cost")}
    return {
        **plain,
        "done": voice.say(action.done) if action.done else "",
        "measure": measure_name(voice, measure) if measure else "",
        "from": action.stood.text if action.stood else "",
        "to": action.target.text if action.target else "",
    }

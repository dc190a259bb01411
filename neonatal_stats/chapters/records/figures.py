"""The picture of the records: how often each column was filled, for those lost and for the others."""

from __future__ import annotations

from neonatal_stats.chapters.records.result import Records
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_pairs
from neonatal_stats.tables import printing
from neonatal_stats.words.column_names import column_name


def figures(result: Records) -> tuple[Figure, ...]:
    """Only where some column known at birth was not filled for every newborn."""
    rows = result.by_outcome
    if len(rows):
        rows = rows[rows["events"] + rows["events_versus"] < rows["n"] + rows["n_versus"]]
    if rows.empty:
        return ()
    say = result.voice.say
    shown = rows.assign(
        label=[column_name(result.voice, str(name)) for name in rows["column"]],
        first=rows["events"] / rows["n"],
        second=rows["events_versus"] / rows["n_versus"],
    )
    told = "; ".join(
        f"{row['label']} {printing.percent(row['first'], 0)} / {printing.percent(row['second'], 0)}"
        for row in shown.to_dict("records")
    )
    return (
        draw_pairs(
            shown,
            names=(say("of those lost"), say("of the others")),
            name="records-outcome",
            title=say("What was written down at birth, for those lost and for the others"),
            alt=say("Share with a value, of those lost / of the others: {told}.", told=told),
            axis=say("with a value, % of {newborns}"),
        ),
    )

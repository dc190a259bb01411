"""The figures of mothering-up: failures by group, and litters kept whole, in part or left."""

from __future__ import annotations

from neonatal_stats.chapters.mothering.result import Mothering
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.tables import printing
from neonatal_stats.words.first_hours import factor_label
from neonatal_stats.words.labels import label


def figures(result: Mothering) -> tuple[Figure, ...]:
    """Failures by group, the whole season as a reference line."""
    if result.groups.empty:
        return ()
    say, voice = result.voice.say, result.voice
    whole = result.rates.iloc[0]
    names = [
        say("{what}: {level}", what=factor_label(voice, row["factor"]), level=label(voice, row["group"]))
        for row in result.groups.to_dict("records")
    ]
    frame = result.groups.assign(name=names)
    said = "; ".join(
        say("{what}, {share}", what=row["name"], share=printing.counts(row["events"], row["n"]))
        for row in frame.to_dict("records")
    )
    return (
        draw_rates(
            frame,
            "name",
            name="mothering-groups",
            title=say("Failures at mothering-up by group"),
            alt=say(
                "Share of {newborns} not accepted in each group with intervals; the dotted line is all of "
                "them, {share}. {list}.",
                share=printing.share_of(whole.events, whole.n, whole.low, whole.high),
                list=said,
            ),
            axis=say("not accepted, % of {newborns} judged"),
            reference=float(whole.share),
        ),
    )

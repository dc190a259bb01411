"""Weather in words: the chill that lambs met in their first hours."""

from __future__ import annotations

from neonatal_stats.tables import printing
from neonatal_stats.words.verdict import Verdict
from neonatal_stats.words.voice import Voice

COLD = (
    "{newborns} in the coldest fifth (a mean chill of {edge} kJ/m2/h and over in their first {hours} hours)"
)
MILD = "the others"
OUTDOORS = (
    "{n} {newborns} born alive outdoors had weather recorded over their first {hours} hours; {lost} of them "
    "were lost by {window}."
)
ALL = (
    "{n} {newborns} born alive had weather recorded over their first {hours} hours; {lost} of them were lost "
    "by {window}."
)

SMOOTH = {
    Verdict.CLEAR: "Chill and loss go together along the whole range: {first} lost at a chill of {low}, "
    "{last} at {high} (p {p}).",
    Verdict.LEANING: "Chill and loss lean together along the range, but chance is not ruled out: {first} "
    "lost at a chill of {low}, {last} at {high} (p {p}).",
    Verdict.NO_CLEAR: "Along the whole range loss does not clearly go with chill: {first} lost at a chill of "
    "{low}, {last} at {high} (p {p}).",
    Verdict.TOO_FEW: "Too few to say how loss goes with chill along the range.",
}


def class_label(voice: Voice, place: int, edges: tuple[float, ...]) -> str:
    """The chill class of that place among those cut at the edges: "under 1 000", "1 000 to 1 100"."""
    shown = [printing.count(edge) for edge in edges]
    if place == 0:
        return voice.say("under {cut}", cut=shown[0])
    if place == len(edges):
        return voice.say("{cut} and over", cut=shown[-1])
    return printing.span(shown[place - 1], shown[place])

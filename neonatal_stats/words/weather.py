"""Weather in words: the chill that lambs met in their first hours."""

from __future__ import annotations

from neonatal_stats.words.verdict import Verdict

COLD = "{newborns} that met a mean chill of {edge} and over in their first {hours} hours"
MILD = "those that met less"
OUTDOORS = (
    "{n} {newborns} born alive outdoors had weather recorded over their first {hours} hours; {lost} of "
    "them were lost "
    "by {window}."
)
ALL = (
    "{n} {newborns} born alive had weather recorded over their first {hours} hours; {lost} of them were "
    "lost by "
    "{window}."
)

SMOOTH = {
    Verdict.CLEAR: "Chill and loss go together along the whole range: {first} lost at a chill of {low}, "
    "{last} at {high} "
    "(p {p}).",
    Verdict.LEANING: "Chill and loss lean together along the range, but chance is not ruled out: {first} "
    "lost at a chill "
    "of {low}, {last} at {high} (p {p}).",
    Verdict.NO_CLEAR: "Along the whole range loss does not clearly go with chill: {first} lost at a chill "
    "of {low}, "
    "{last} at {high} (p {p}).",
    Verdict.TOO_FEW: "Too few to say how loss goes with chill along the range.",
}

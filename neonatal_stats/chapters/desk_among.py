"""One farm among the letters: what its keeper is told, own figures and of the others no more than all have together."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from typing import Any

from neonatal_stats.chapters.counted.desk import FEW, SEASON, WATCHED, Desk
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.limits import draw_funnel
from neonatal_stats.measures.farms import OUTER_LEVEL
from neonatal_stats.words import Sentence, joined, voice_of
from neonatal_stats.words.names import window_label

ALL = "{farms} farms with {n} {newborns} are compared, season {season}, lost by {window}: together {lost}."
ONE = (
    "Only one farm with {n} {newborns} can be compared, season {season}, so there is nothing to hold it against; lost "
    "by {window}: {lost}."
)
AMONG = {
    "named": "Your farm is {letter}: {counts}, {share} once the kinds of birth are allowed for. That is more than the "
    "other farms lead one to expect of it ({low} to {high}).",
    "outside": "Your farm is {letter}: {counts}, {share} once the kinds of birth are allowed for. The other farms lead "
    "one to expect {low} to {high}; but of so many farms compared at once one may lie outside by chance.",
    "within": "Your farm is {letter}: {counts}, {share} once the kinds of birth are allowed for. The other farms lead "
    "one to expect {low} to {high}: it is not told apart from them.",
}
ALONE = "Your farm is {letter}: {counts}, {share} once the kinds of birth are allowed for."
NOT_AMONG = "Your farm is not among those compared: {why}."
NOT_AMONG_WHY = {
    SEASON: "the season compared is {season}, and its own is {own}",
    WATCHED: "too few {newborns} were watched to {window}",
    FEW: "too few {newborns} are known",
}


def among_sentences(result: Desk, name: str) -> tuple[str, ...]:
    """What the keeper of a farm is told of it among the letters: own figures, and what all the farms lost together."""
    voice, row = voice_of(result), _row_of(result, name)
    if not row["compared"]:
        why = voice.say(
            NOT_AMONG_WHY[row["why"]], season=result.season, own=row["season"], window=window_of(result)
        )
        return (voice.say(NOT_AMONG, why=why),)
    known = row["other_low"] == row["other_low"]
    outside = not row["other_low"] <= row["standardised"] <= row["other_high"]
    where = "named" if row["named"] else "outside" if outside else "within"
    own = voice.say(
        AMONG[where] if known else ALONE,
        letter=row["letter"],
        counts=voice.counts(row["events"], row["n"]),
        share=voice.percent(row["standardised"]),
        low=voice.percent(row["other_low"]),
        high=voice.percent(row["other_high"]),
    )
    return (own, *(sentence.text for sentence in all_compared(result)))


def _row_of(result: Desk, name: str) -> dict[Hashable, Any]:
    return result.farms[result.farms["name"] == name].to_dict("records")[0]


def among_figures(result: Desk, name: str) -> tuple[Figure, ...]:
    """The farms by letter, one's own filled; a farm too small to be compared is not in it."""
    voice, found, row = voice_of(result), result.funnel, _row_of(result, name)
    if found is None or not row["compared"] or row["letter"] not in set(found.farms["letter"]):
        return ()
    say, own = voice.say, found.farms["letter"] == row["letter"]
    farms = found.farms.assign(own=own, outside=own & bool(row["named"]))
    return (
        draw_funnel(
            farms,
            found.line,
            found.centre,
            printer=voice,
            name="desk-among",
            title=say("Loss by farm against its number of {newborns}"),
            alt=joined(among_sentences(result, name)),
            axes_words=(
                say("{newborns} on the farm"),
                say("lost by {window}, %, mix allowed for", window=window_of(result)),
            ),
            words=(
                say("{level} limits", level=voice.percent(result.settings.level, 0)),
                say("{level} limits", level=voice.percent(OUTER_LEVEL)),
                say("your farm"),
                say("all farms"),
            ),
        ),
    )


def all_compared(result: Desk) -> Iterator[Sentence]:
    """How many farms are compared, and what they lost together."""
    voice, farms = voice_of(result), result.compared
    if len(farms):
        events, n = farms["events"].sum(), farms["n"].sum()
        yield Sentence(
            voice.say(
                ALL if len(farms) > 1 else ONE,
                farms=voice.count(len(farms)),
                n=voice.count(n),
                season=result.season,
                window=window_of(result),
                lost=voice.counts(events, n),
            )
        )


def window_of(result: Desk) -> str:
    """The window in which the farms are compared, in words."""
    return window_label(voice_of(result), result.window.name, result.window.end_h)

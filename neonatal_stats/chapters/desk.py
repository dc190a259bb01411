"""At which farm may a visit buy most, how is each doing what it can do, and how well does each keep its records?

It stands on a page of its own, the adviser's desk. What it calls clear is decided over all farms of the desk together,
and it asks one thing only: whether a farm lost more than farms like the others do.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from neonatal_stats.chapters.counted.desk import FEW, SEASON, WATCHED, Desk, Moved, OnDesk, answer, jointly
from neonatal_stats.chapters.desk_among import all_compared, among_figures, among_sentences, window_of
from neonatal_stats.chapters.desk_tables import tables
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_ranked
from neonatal_stats.measures.rates import each_row
from neonatal_stats.words import Method, Sentence, Voice, joined, voice_of
from neonatal_stats.words.farms_said import as_ranked, named_said, ranked_in_words
from neonatal_stats.words.names import factor_name

__all__ = [
    "Desk",
    "Moved",
    "OnDesk",
    "among_figures",
    "among_sentences",
    "answer",
    "figures",
    "jointly",
    "method",
    "sentences",
    "tables",
]

NAME = "desk"
TITLE = "The adviser's desk"
QUESTION = "At which farm may a visit buy most?"
MOST_DRAWN = 20
"""Farms that are drawn; all of them stand in the table."""

DRAWN = "The first {shown} are drawn; all of them stand in the table."
NO_SPECIES = (
    "The records of these farms name no species, or several, so they are held against each other alone; a map can say "
    'it once for a whole farm, under [fixed] species = "sheep".'
)
WHY = {
    SEASON: "Not compared, since their season is another: {farms}.",
    WATCHED: "Not compared, since fewer than nine in ten {newborns} were watched to {window}: {farms}.",
    FEW: "Not compared, since fewer than {minimum} {newborns} are known: {farms}.",
}


def sentences(result: Desk) -> tuple[Sentence, ...]:
    """Who is named, who is compared, who is not and why."""
    return (*_named(result), *all_compared(result), *_left(result))


def _named(result: Desk) -> Iterator[Sentence]:
    voice = voice_of(result)
    yield from named_said(voice, result.compared, "name", spread=result.spread)
    if len(result.compared) > MOST_DRAWN:
        yield Sentence(voice.say(DRAWN, shown=voice.count(MOST_DRAWN)))


def _left(result: Desk) -> Iterator[Sentence]:
    """The farms that were read and are not compared, by the reason."""
    voice = voice_of(result)
    if not result.species:
        yield Sentence(voice.say(NO_SPECIES), role="cannot say")
    for why, template in WHY.items():
        rows = result.farms[~result.farms["compared"] & (result.farms["why"] == why)]
        if len(rows):
            minimum = voice.count(result.settings.minimum_group)
            farms = ", ".join(_with_season(row, why) for row in each_row(rows))
            text = voice.say(template, farms=farms, minimum=minimum, window=window_of(result))
            yield Sentence(text, role="cannot say")


def _with_season(row: Any, why: str) -> str:
    return f"{row.name} ({row.season})" if why == SEASON else str(row.name)


def figures(result: Desk) -> tuple[Figure, ...]:
    """The farms in their order: how many newborns more, or fewer, than expected, drawn in for chance."""
    voice, farms = voice_of(result), result.compared
    if len(farms) < 2 or not farms["excess"].notna().any():
        return ()
    shown = farms.head(MOST_DRAWN)
    frame = as_ranked(voice, shown, "name")
    title = voice.say("{newborns} lost beyond those expected, drawn in for chance")
    return (
        draw_ranked(
            frame,
            printer=voice,
            name="desk-visits",
            title=title[:1].upper() + title[1:],
            alt=ranked_in_words(voice, shown, "name", len(farms)),
            axis=voice.say("{newborns} more (right) or fewer (left) than expected"),
            counts_heading=voice.say("lost"),
            words=(voice.say("more than the others lead one to expect"), voice.say("not told apart")),
        ),
    )


def method(result: Desk) -> Method:
    """How the farms were set side by side."""
    voice, say, settings = voice_of(result), voice_of(result).say, result.settings
    return Method(
        method=(
            say(
                "Expected is what the common risk of each of a farm's kinds of birth, over all farms, would have "
                "given, by as many columns as the farm itself records."
            ),
            say(
                "Farms are random effects: each farm's risk is drawn in towards that of all, the more the fewer "
                "{newborns} it has (divided by the design effect of its litters). The order is by the excess left."
            ),
            say(
                "A farm is named where it lost more than a prediction from the other farms: variance between farms on "
                "log odds by Paule and Mandel, chance on arcsine roots, Student's t. All farms of the desk are decided "
                "together: of those that so lie apart, above or below, at most {share} are expected to be chance "
                "(Benjamini and Hochberg).",
                share=voice.percent(settings.false_discovery_share, 0),
            ),
            say(
                "Of invented desks on which no farm was worse than farms are, at most 1 in 10 named one (by "
                "simulation)."
            ),
        ),
        settings=(
            say("Mix: {mix}.", mix=_mix(voice, result.mix)),
            say("Window: {window}.", window=window_of(result)),
            say("Smallest farm compared: {minimum} {newborns}.", minimum=voice.count(settings.minimum_group)),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say("The order is no ranking: where intervals overlap the farms are not told apart."),
            say("With fewer than about ten farms little is known of how far farms spread."),
            say("Farms that watch more closely find more of their dead."),
            say(
                "A farm that loses more than others is not thereby a badly kept one: land, breed and weather differ."
            ),
        ),
        sources=(
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
            say("Jones HE, Ohlssen DI, Spiegelhalter DJ (2008) J Clin Epidemiol 61:232-240."),
            say("Higgins JPT, Thompson SG, Spiegelhalter DJ (2009) J R Stat Soc A 172:137-159."),
            say("Goldstein H, Spiegelhalter DJ (1996) J R Stat Soc A 159:385-443."),
            say("Rao JNK, Scott AJ (1992) Biometrics 48:577-585."),
        ),
    )


def _mix(voice: Voice, mix: Mapping[str, Sequence[str]]) -> str:
    """The columns of the mix, and the farms that lack some of them."""
    every = list(dict.fromkeys(name for names in mix.values() for name in names))
    told = [
        voice.say("{column} (not {farms})", column=factor_name(voice, name), farms=", ".join(lacking))
        if (lacking := [farm for farm, names in mix.items() if name not in names])
        else factor_name(voice, name)
        for name in every
    ]
    return joined(told, ", ") or voice.say("none")

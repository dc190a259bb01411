"""Which farms lose more than their size, their births and the usual spread explain?"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.counted.farms import OUTER_LEVEL, Farms, answer
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.points import draw_funnel
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence, Verdict
from neonatal_stats.words.names import factor_name
from neonatal_stats.words.windows import window_label

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Farms",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]

NAME = "farms"
TITLE = "Farms side by side"
QUESTION = "Which farms lose more {newborns} than their size, their births and the usual spread allow?"

ALL = "{farms} farms with {n} {newborns} are compared, by letter; together they lost {lost}."
HIDDEN = "{hidden} farms with fewer than {minimum} {newborns} are not shown."
NONE_OUTSIDE = (
    "No farm lies outside the limits: at their sizes, with the mix of births allowed for, the farms are not "
    "told apart."
)
OUTSIDE = {
    True: "Farm {letter} lost more than its size and the usual spread between farms allow: {share} once the "
    "mix of births is allowed for, limits {low} to {high}.",
    False: "Farm {letter} lost less than its size and the usual spread between farms allow: {share} once the "
    "mix of births is allowed for, limits {low} to {high}.",
}
OWN = {
    True: "Your farm is {letter}: {counts}, {share} once the mix of births is allowed for, outside the "
    "limits {low} to {high}.",
    False: "Your farm is {letter}: {counts}, {share} once the mix of births is allowed for, within the "
    "limits {low} to {high}.",
}
SPREAD = {
    True: "The farms spread {phi} times as widely as chance alone would have it, and the limits are widened "
    "by that.",
    False: "The farms spread no more widely than chance alone would have it.",
}


def missing(season: Season) -> tuple[str, ...]:
    """Open where two farms or more have enough newborns to be shown."""
    say, settings = voice_of(season).say, season.settings
    sizes = season.births.groupby(season.births["farm"].astype(str)).size()
    if len(sizes) < 2:
        return (
            say(
                "Not answered: the records hold one farm. The records of several would be set side by side "
                "here."
            ),
        )
    if (sizes >= settings.minimum_group).sum() < 2:
        template = (
            "Not answered: fewer than two farms have {minimum} {newborns} or more, the fewest that are shown."
        )
        return (say(template, minimum=str(settings.minimum_group)),)
    return ()


def sentences(result: Farms) -> tuple[Sentence, ...]:
    """Who was compared, one's own farm, those outside, the spread, those not shown."""
    return (_all(result), *_own(result), *_outside(result), _spread(result), *_hidden(result))


def _all(result: Farms) -> Sentence:
    """How many farms are compared, and what they lost together; those too small to show are not in it."""
    farms = result.funnel.farms
    events, n = farms["events"].sum(), farms["n"].sum()
    counts = {"farms": printing.count(len(farms)), "n": printing.count(n), "lost": printing.counts(events, n)}
    return Sentence(voice_of(result).say(ALL, **counts))


def _own(result: Farms) -> Iterator[Sentence]:
    """One's own farm, where it is named and large enough to show."""
    farms = result.funnel.farms
    for row in each_row(farms[farms["own"].astype(bool)]):
        yield Sentence(
            voice_of(result).say(
                OWN[bool(row.outside)],
                letter=row.letter,
                counts=printing.counts(row.events, row.n),
                share=printing.percent(row.standardised),
                low=printing.percent(row.funnel_low),
                high=printing.percent(row.funnel_high),
            )
        )


def _outside(result: Farms) -> Iterator[Sentence]:
    """Each farm outside the limits; one's own has been spoken of."""
    say, farms = voice_of(result).say, result.funnel.farms
    outside = farms[farms["outside"].astype(bool)]
    if outside.empty:
        yield Sentence(say(NONE_OUTSIDE), Verdict.NO_CLEAR)
    for row in each_row(outside[~outside["own"].astype(bool)]):
        text = say(
            OUTSIDE[row.standardised > row.funnel_high],
            letter=row.letter,
            share=printing.percent(row.standardised),
            low=printing.percent(row.funnel_low),
            high=printing.percent(row.funnel_high),
        )
        yield Sentence(text, Verdict.CLEAR, max(row.events - row.expected, 0.0))


def _spread(result: Farms) -> Sentence:
    """How far the farms spread beyond chance."""
    spread = result.funnel.phi**0.5
    return Sentence(voice_of(result).say(SPREAD[spread > 1], phi=printing.ratio(spread)))


def _hidden(result: Farms) -> Iterator[Sentence]:
    """How many farms were too small to show."""
    if result.funnel.hidden:
        counts = {
            "hidden": printing.count(result.funnel.hidden),
            "minimum": printing.count(result.settings.minimum_group),
        }
        yield Sentence(voice_of(result).say(HIDDEN, **counts), role="cannot say")


def figures(result: Farms) -> tuple[Figure, ...]:
    """The funnel: each farm's loss, mix allowed for, against the limits at its size."""
    say, found = voice_of(result).say, result.funnel
    if found.farms.empty:
        return ()
    told = "; ".join(
        say("{letter} {share}", letter=row.letter, share=printing.percent(row.standardised))
        for row in each_row(found.farms)
    )
    window = window_label(result.window.name, result.window.end_h)
    return (
        draw_funnel(
            found.farms,
            found.line,
            found.centre,
            printer=voice_of(result),
            name="farms-funnel",
            title=say("Loss by farm against its number of {newborns}"),
            alt=say(
                "Each farm's share lost, mix allowed for, against the limits at its size: {told}.", told=told
            ),
            axes_words=(
                say("{newborns} on the farm"),
                say("lost by {window}, %, mix allowed for", window=window),
            ),
            words=(
                say("{level} limits", level=printing.percent(result.settings.level, 0)),
                say("{level} limits", level=printing.percent(OUTER_LEVEL)),
                say("your farm"),
            ),
        ),
    )


def tables(result: Farms) -> tuple[Table, ...]:
    """The farms, and how far they spread."""
    return (_farms_table(result), _spread_table(result))


def _farms_table(result: Farms) -> Table:
    """Each farm that is shown, as it was and with its mix allowed for."""
    voice, farms = voice_of(result), result.funnel.farms
    say = voice.say
    pairs = zip(farms["funnel_low"], farms["funnel_high"], strict=True)
    frame = farms.assign(
        limits=[
            say("{low} to {high}", low=printing.percent(low), high=printing.percent(high))
            for low, high in pairs
        ],
        expected=farms["expected"].round(1),
        flag=[say("outside") if out else "" for out in farms["outside"]],
        own=[say("your farm") if own else "" for own in farms["own"]],
    )
    headings = {
        "letter": say("Farm"),
        "own": say("Yours"),
        "events": say("Lost"),
        "n": say("{newborns}"),
        "share": say("Share"),
        "interval": interval_heading(voice, result.settings.level),
        "expected": say("Expected from its mix"),
        "standardised": say("Mix allowed for"),
        "limits": say("Limits at its size"),
        "flag": say("Limits"),
    }
    formats = {
        "events": "count",
        "n": "count",
        "share": "share",
        "expected": "number",
        "standardised": "share",
    }
    return Table("farms-funnel", say("Farms, by letter"), frame, headings, formats)


def _spread_table(result: Farms) -> Table:
    """How many are shown, how many not, and how far they spread beyond chance."""
    say, found = voice_of(result).say, result.funnel
    rows = [
        (say("farms shown"), printing.count(len(found.farms))),
        (say("{newborns} on them"), printing.count(found.farms["n"].sum())),
        (say("lost on them"), printing.counts(found.farms["events"].sum(), found.farms["n"].sum())),
        (say("farms too small to show"), printing.count(found.hidden)),
        (say("spread beyond chance, times"), printing.ratio(found.phi**0.5)),
        (say("correlation of {newborns} of one farm"), printing.ratio(result.agreement)),
    ]
    frame = pd.DataFrame(rows, columns=["what", "value"])
    headings = {"what": say("What"), "value": say("Value")}
    return Table("farms-spread", say("How far the farms spread"), frame, headings)


def method(result: Farms) -> Method:
    """How the farms were compared."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    mix = ", ".join(factor_name(voice, name) for name in result.mix.columns) or say("none")
    return Method(
        method=(
            say(
                "A farm's losses are set against those that the common risk of each of its kinds of birth "
                "would have given; observed over expected, times the common loss, is its loss with the mix "
                "allowed for."
            ),
            say(
                "Limits are those of a funnel plot at the farm's number of {newborns} divided by the design "
                "effect of its litters, widened by how far the farms spread beyond chance (measured with the "
                "outermost tenth drawn in)."
            ),
            say("Letters stand for names, in an order that the names do not give away."),
        ),
        settings=(
            say("Mix: {mix}.", mix=mix),
            say("Window: {window}.", window=window_label(result.window.name, result.window.end_h)),
            say("Smallest farm shown: {minimum} {newborns}.", minimum=printing.count(settings.minimum_group)),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say("Within the limits farms are not told apart: rank nothing from it."),
            say("With fewer than about ten farms little is known of how far farms spread."),
            say("Farms that watch more closely find more of their dead."),
        ),
        sources=(
            say("Spiegelhalter DJ (2005) Stat Med 24:1185-1202."),
            say("Ridout MS, Demetrio CGB, Firth D (1999) Biometrics 55:137-148."),
        ),
    )

"""Which farms lose more than their size, their births and the usual spread explain?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.farms import Farms, claims, key_of
from neonatal_stats.chapters.counted.farms import answer as count
from neonatal_stats.chapters.protocol import Verdicts, decided_within, heed, interval_heading
from neonatal_stats.drawing import Figure, draw_funnel
from neonatal_stats.measures.farms import FEWEST, OUTER_LEVEL
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.rates import each_row
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Method, Sentence, Verdict, joined, voice_of
from neonatal_stats.words.names import factor_name, season_names, window_label

NAME = "farms"
TITLE = "Farms side by side"
QUESTION = "Which farms lose more {newborns} than their size, their births and the usual spread allow?"

ALL = "{farms} farms with {n} {newborns} are compared, by letter; together they lost {lost}."
HIDDEN = "Farms not shown, having fewer than {minimum} {newborns} or giving one of those away: {hidden}."
NONE_OUTSIDE = (
    "No farm is clearly out of step with the others, at their sizes and with the mix of births allowed for."
)
FEW_FARMS = "Of fewer than four farms nobody can say how far farms differ by themselves, so none is called out of step."
OUTSIDE = {
    True: "In {period} farm {letter} lost more than the other farms lead one to expect of one of its size: {share} "
    "once the mix of births is allowed for, {low} to {high} expected.",
    False: "In {period} farm {letter} lost less than the other farms lead one to expect of one of its size: {share} "
    "once the mix of births is allowed for, {low} to {high} expected.",
}
LEANS = (
    "Farm {letter} lost more, {share} once the mix of births is allowed for, than the {low} to {high} that the others "
    "lead one to expect; chance is not ruled out, since of many farms one lies apart by chance."
)
OWN = {
    Verdict.CLEAR: "Your farm is {letter}: {counts}, {share} once the mix of births is allowed for, clearly out of "
    "step with what the others lead one to expect of it ({low} to {high}).",
    Verdict.LEANING: "Your farm is {letter}: {counts}, {share} once the mix of births is allowed for; the others lead "
    "one to expect {low} to {high}. It leans out of step with them, but chance is not ruled out.",
    Verdict.NO_CLEAR: "Your farm is {letter}: {counts}, {share} once the mix of births is allowed for, no clear "
    "difference from what the others lead one to expect of it ({low} to {high}).",
    Verdict.TOO_FEW: "Your farm is {letter}: {counts}, {share} once the mix of births is allowed for.",
}
SPREAD = {
    True: "The farms spread {phi} times as widely as chance alone would have it, and the limits of the funnel are "
    "widened by that.",
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


def answer(season: Season) -> Farms:
    """The farms side by side; `NotRecorded` where fewer than two could be shown."""
    heed(missing(season))
    return count(season)


def sentences(result: Farms, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """Who was compared, one's own farm, those out of step, the spread, those not shown."""
    farms = _decided(result, verdicts)
    return (
        _all(result),
        *_own(result, farms),
        *_outside(result, farms),
        _spread(result),
        *_hidden(result),
    )


def _decided(result: Farms, verdicts: Verdicts | None) -> pd.DataFrame:
    """The farms with the verdict of each, and whether it is clearly outside."""
    found, farms = settled(claims(result), result.settings, verdicts), result.funnel.farms
    verdict = [found.get(key_of(letter), Verdict.TOO_FEW) for letter in farms["letter"]]
    column = pd.Series(verdict, index=farms.index, dtype=object)
    return farms.assign(verdict=column, outside=(column == Verdict.CLEAR).astype(bool))


def _all(result: Farms) -> Sentence:
    """How many farms are compared, and what they lost together; those too small to show are not in it."""
    voice, farms = voice_of(result), result.funnel.farms
    events, n = farms["events"].sum(), farms["n"].sum()
    text = voice.say(ALL, farms=voice.count(len(farms)), n=voice.count(n), lost=voice.counts(events, n))
    return Sentence(text)


def _own(result: Farms, farms: pd.DataFrame) -> Iterator[Sentence]:
    """One's own farm, where it is named and large enough to show."""
    voice = voice_of(result)
    for row in each_row(farms[farms["own"]]):
        counts = voice.counts(row.events, row.n)
        text = voice.say(OWN[row.verdict], counts=counts, **_against_limits(result, row))
        yield Sentence(text, row.verdict, max(row.events - row.expected, 0.0), claim=key_of(row.letter))


def _outside(result: Farms, farms: pd.DataFrame) -> Iterator[Sentence]:
    """Each farm clearly out of step with the others; one's own has been spoken of."""
    say = voice_of(result).say
    outside = farms[farms["outside"]]
    if len(farms) < FEWEST:
        yield Sentence(say(FEW_FARMS), Verdict.TOO_FEW)
    elif outside.empty:
        yield Sentence(say(NONE_OUTSIDE), Verdict.NO_CLEAR)
    leaning = farms[(farms["verdict"] == Verdict.LEANING) & ~farms["own"] & farms["more"]]
    for row in each_row(leaning):
        text = say(LEANS, **_against_limits(result, row))
        yield Sentence(text, Verdict.LEANING, row.events - row.expected, claim=key_of(row.letter))
    for row in each_row(outside[~outside["own"]]):
        period = season_names(voice_of(result), result.period, result.period)
        text = say(OUTSIDE[row.more], period=period, **_against_limits(result, row))
        yield Sentence(text, Verdict.CLEAR, max(row.events - row.expected, 0.0), claim=key_of(row.letter))


def _against_limits(result: Farms, row: Any) -> dict[str, str]:
    """A farm's loss with its mix allowed for, and what the others lead one to expect of it."""
    voice = voice_of(result)
    return {
        "letter": row.letter,
        "share": voice.percent(row.standardised),
        "low": voice.percent(row.other_low),
        "high": voice.percent(row.other_high),
    }


def _spread(result: Farms) -> Sentence:
    """How far the farms spread beyond chance."""
    voice, spread = voice_of(result), result.funnel.phi**0.5
    return Sentence(voice.say(SPREAD[spread > 1], phi=voice.ratio(spread)))


def _hidden(result: Farms) -> Iterator[Sentence]:
    """How many farms were too small to show."""
    voice, hidden = voice_of(result), result.funnel.hidden
    if hidden:
        minimum = voice.count(result.settings.minimum_group)
        yield Sentence(voice.say(HIDDEN, hidden=voice.count(hidden), minimum=minimum), role="cannot say")


def figures(result: Farms, verdicts: Verdicts | None = None) -> tuple[Figure, ...]:
    """The funnel: each farm's loss, mix allowed for, against the limits at its size."""
    voice, found = voice_of(result), result.funnel
    say = voice.say
    if found.farms.empty:
        return ()
    return (
        draw_funnel(
            _decided(result, verdicts),
            found.line,
            found.centre,
            printer=voice,
            name="farms-funnel",
            title=say("Loss by farm against its number of {newborns}"),
            alt=_in_words(result),
            axes_words=(
                say("{newborns} on the farm"),
                say("lost by {window}, %, mix allowed for", window=_window(result)),
            ),
            words=(
                say("{level} limits", level=voice.percent(result.settings.level, 0)),
                say("{level} limits", level=voice.percent(OUTER_LEVEL)),
                say("your farm"),
                say("all farms"),
            ),
        ),
    )


def _in_words(result: Farms) -> str:
    """The funnel in words: who lies outside the limits at its size, one's own farm, and all together."""
    voice, farms = voice_of(result), result.funnel.farms
    say = voice.say
    values = {"farms": voice.count(len(farms)), "all": voice.percent(result.funnel.centre)}
    within = farms["standardised"].between(farms["funnel_low"], farms["funnel_high"])
    text = "All {farms} farms lie within the limits at their size; together they lost {all}."
    if not within.all():
        text = "Of {farms} farms, outside the limits at their size: {told}; all together lost {all}."
        values["told"] = joined((_share_of(result, row) for row in each_row(farms[~within])), "; ")
    own = [
        say("Your farm: {farm}.", farm=_share_of(result, row))
        for row in each_row(farms[within & farms["own"]])
    ]
    return joined([say(text, **values), *own])


def _share_of(result: Farms, row: Any) -> str:
    voice = voice_of(result)
    return voice.say("{letter} {share}", letter=row.letter, share=voice.percent(row.standardised))


def _window(result: Farms) -> str:
    return window_label(voice_of(result), result.window.name, result.window.end_h)


def tables(result: Farms, verdicts: Verdicts | None = None) -> tuple[Table, ...]:
    """The farms, and how far they spread."""
    return (_farms_table(result, _decided(result, verdicts)), _spread_table(result))


def _farms_table(result: Farms, farms: pd.DataFrame) -> Table:
    """Each farm that is shown, as it was and with its mix allowed for."""
    voice = voice_of(result)
    say = voice.say
    frame = farms.drop(columns="verdict").assign(
        expected=farms["expected"].round(1),
        flag=[say("clearly") if out else "" for out in farms["outside"]],
        own=[say("your farm") if own else "" for own in farms["own"]],
    )
    shown = (
        columns.text("letter", say("Farm")),
        columns.text("own", say("Yours")),
        columns.count("events", say("Lost")),
        columns.count("n", say("{newborns}")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
        columns.in_csv(columns.ratio("design_effect", say("Design effect"))),
        columns.number("expected", say("Expected from its mix")),
        columns.share("standardised", say("Mix allowed for")),
        columns.interval("funnel_low", "funnel_high", say("Limits at its size"), "limits"),
        columns.in_csv(
            columns.interval(
                "outer_low", "outer_high", say("{level} limits", level=voice.percent(OUTER_LEVEL))
            )
        ),
        columns.interval("other_low", "other_high", say("Expected from the others")),
        columns.in_csv(columns.p("p", say("p"))),
        columns.text("flag", say("Out of step"), raw="outside"),
    )
    return Table("farms-funnel", say("Farms, by letter"), frame, shown, printer=voice)


def _spread_table(result: Farms) -> Table:
    """How many are shown, how many not, and how far they spread beyond chance."""
    voice, found = voice_of(result), result.funnel
    say, events, n = voice.say, found.farms["events"].sum(), found.farms["n"].sum()
    rows = [
        (say("farms shown"), voice.count(len(found.farms)), len(found.farms), None),
        (say("{newborns} on them"), voice.count(n), n, None),
        (say("lost on them"), voice.counts(events, n), events, n),
        (say("farms not shown"), voice.count(found.hidden), found.hidden, None),
        (say("spread beyond chance, times"), voice.ratio(found.phi**0.5), found.phi**0.5, None),
        (say("correlation of {newborns} of one farm"), voice.ratio(result.agreement), result.agreement, None),
    ]
    frame = pd.DataFrame(rows, columns=["what", "printed", "value", "n"], dtype=object)
    shown = (
        columns.text("what", say("What")),
        columns.text("printed", say("Value"), raw="value"),
        columns.in_csv(columns.count("n", say("Of"))),
    )
    return Table("farms-spread", say("How far the farms spread"), frame, shown, printer=voice)


def method(result: Farms, verdicts: Verdicts | None = None) -> Method:
    """How the farms were compared."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    mix = joined((factor_name(voice, name) for name in result.mix.columns), ", ") or say("none")
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
            say(
                "What the others lead one to expect of a farm is a prediction by Student's t from their shares, with "
                "the variance between farms measured among them on log odds (Paule and Mandel) and chance reckoned on "
                "arcsine roots; from {fewest} farms on. The limits of the funnel only show the spread: at one in "
                "twenty, more than half of all comparisons of twenty like farms would name one.",
                fewest=voice.count(FEWEST),
            ),
            decided_within(voice, verdicts),
            say("Letters stand for names, in an order that the names do not give away."),
        ),
        settings=(
            say("Mix: {mix}.", mix=mix),
            say("Window: {window}.", window=_window(result)),
            say("Smallest farm shown: {minimum} {newborns}.", minimum=voice.count(settings.minimum_group)),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say("Within the limits farms are not told apart: rank nothing from it."),
            say("With fewer than about ten farms little is known of how far farms spread."),
            say("Farms that watch more closely find more of their dead."),
        ),
        sources=(
            say("Higgins JPT, Thompson SG, Spiegelhalter DJ (2009) J R Stat Soc A 172:137-159."),
            say("Paule RC, Mandel J (1982) J Res Natl Bur Stand 87:377-385."),
            say("Spiegelhalter DJ (2005) Stat Med 24:1185-1202."),
            say("Ridout MS, Demetrio CGB, Firth D (1999) Biometrics 55:137-148."),
        ),
    )

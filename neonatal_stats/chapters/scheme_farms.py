"""The farms of a scheme, told by letter: how far they spread, and which lost more than the others lead to expect."""

from __future__ import annotations

from collections.abc import Iterator

from neonatal_stats.chapters.counted.scheme import Scheme
from neonatal_stats.chapters.counted.scheme_farms import FarmsOfScheme
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.chapters.scheme_part import Part
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_ranked
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Sentence, joined, voice_of
from neonatal_stats.words.farms_said import as_ranked, named_said, ranked_in_words
from neonatal_stats.words.names import factor_name, window_label

MOST_DRAWN = 20


def parts(result: Scheme) -> Iterator[Part]:
    """Farms side by side, where two or more are large enough."""
    found, voice = result.farms, voice_of(result)
    if found is None or len(found.farms) < 2:
        return
    yield Part(
        "farms",
        voice.say("Farms"),
        voice.say("Do the farms differ by more than chance, and does one stand out?"),
        tuple(_said(result, found)),
        tuple(_drawn(result, found)),
        (_table(result, found),),
    )


def _said(result: Scheme, found: FarmsOfScheme) -> Iterator[Sentence]:
    """Who is named, who is compared, who is not and why."""
    voice = voice_of(result)
    yield from named_said(voice, found.farms, "letter", spread=found.spread)
    text = (
        "{farms} farms are compared, by letter, on losses by {window}, allowing for their kinds of birth ({mix}). The "
        "names behind the letters stand in tables/scheme-farms.csv alone."
    )
    mix = joined((factor_name(voice, name) for name in found.mix), ", ") or voice.say("none")
    window = window_label(voice, found.window.name, found.window.end_h)
    yield Sentence(voice.say(text, farms=voice.count(len(found.farms)), window=window, mix=mix))
    if found.few:
        text = "Too few to say: {few} farms of which fewer than {minimum} {newborns} are known."
        minimum = voice.count(result.settings.minimum_group)
        yield Sentence(voice.say(text, few=voice.count(found.few), minimum=minimum), role="cannot say")
    if found.unwatched:
        text = "Not compared, since fewer than nine in ten {newborns} were watched to {window}: {n} farms."
        yield Sentence(voice.say(text, window=window, n=voice.count(found.unwatched)), role="cannot say")
    text = (
        "A farm that loses more than others is not thereby a badly kept one: land, breed and weather differ."
    )
    yield Sentence(voice.say(text), role="caution")


def _drawn(result: Scheme, found: FarmsOfScheme) -> Iterator[Figure]:
    voice, farms = voice_of(result), found.farms
    if not farms["excess"].notna().any():
        return
    shown = farms.head(MOST_DRAWN)
    title = voice.say("{newborns} lost beyond those expected, drawn in for chance")
    yield draw_ranked(
        as_ranked(voice, shown, "letter"),
        printer=voice,
        name="scheme-farms",
        title=title[:1].upper() + title[1:],
        alt=ranked_in_words(voice, shown, "letter", len(farms)),
        axis=voice.say("{newborns} more (right) or fewer (left) than expected"),
        counts_heading=voice.say("lost"),
        words=(voice.say("more than the others lead one to expect"), voice.say("not told apart")),
    )


def _table(result: Scheme, found: FarmsOfScheme) -> Table:
    voice = voice_of(result)
    say = voice.say
    words = {True: say("more than the others lead one to expect"), False: say("not told apart")}
    frame = found.farms.assign(
        found=[words[bool(row.named)] for row in each_row(found.farms)],
        verdict=["named" if row.named else "not named" for row in each_row(found.farms)],
    )
    shown = (
        columns.text("letter", say("Farm")),
        columns.key("farm", say("Name of the farm")),
        columns.counts("events", "n", say("Lost")),
        columns.in_csv(columns.share("share", say("Share"))),
        columns.in_csv(columns.interval("low", "high", interval_heading(voice, result.settings.level))),
        columns.in_csv(columns.ratio("design_effect", say("Design effect"))),
        columns.number("expected", say("Expected from its mix")),
        columns.number("excess", say("Excess, drawn in")),
        columns.interval("excess_low", "excess_high", say("Interval of the excess"), "number"),
        columns.in_csv(columns.number("raw", say("Excess as counted"))),
        columns.interval("other_low", "other_high", say("Expected from the others")),
        columns.in_csv(columns.p("p", say("p"))),
        columns.in_csv(columns.p("q", say("q"))),
        columns.text("found", say("Found"), raw="verdict"),
    )
    note = say("Excess: {newborns} lost beyond those expected of the farm's kinds of birth.")
    title = say("Farms in the order of what they lost beyond what is expected")
    return Table("scheme-farms", title, frame, shown, note=note, printer=voice)

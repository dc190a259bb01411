"""A scheme's season: how many were lost, when, of what, in which groups and on which farms, from counts of an engine.

It stands on a page of its own, a part a question. What it calls clear is decided over all comparisons of that page.
"""

from __future__ import annotations

from collections.abc import Iterator

from neonatal_stats.chapters import scheme_newborns
from neonatal_stats.chapters.counted.scheme import FarmsOfScheme, Scheme, answer
from neonatal_stats.chapters.protocol import Part, interval_heading
from neonatal_stats.drawing import Figure, draw_ranked
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS
from neonatal_stats.measures.rates import each_row
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Method, Sentence, joined, voice_of
from neonatal_stats.words.evidence import RULE
from neonatal_stats.words.farms_said import as_ranked, named_said, ranked_in_words
from neonatal_stats.words.names import factor_name, label, window_label

__all__ = ["Part", "Scheme", "answer", "figures", "method", "parts", "sentences", "tables"]

CLUSTERS = {
    "litter": "Intervals allow for {litters}: littermates share what befalls them.",
    "dam": "Intervals allow for {dams}: the {litters} of one {dam} share what befalls them.",
    "farm": "Intervals allow for farms, since there are ten or more: what happens on one farm is no independent news.",
}

MOST_DRAWN = 20


def parts(result: Scheme) -> tuple[Part, ...]:
    """The parts of the page in reading order; what the columns of the births do not tell has none."""
    return (
        _counted(result),
        *scheme_newborns.parts(result),
        *_farms(result),
    )


def sentences(result: Scheme) -> tuple[Sentence, ...]:
    """The sentences of all parts."""
    return tuple(one for part in parts(result) for one in part.sentences)


def figures(result: Scheme) -> tuple[Figure, ...]:
    """The figures of all parts."""
    return tuple(one for part in parts(result) for one in part.figures)


def tables(result: Scheme) -> tuple[Table, ...]:
    """The tables of all parts."""
    return tuple(one for part in parts(result) for one in part.tables)


def _counted(result: Scheme) -> Part:
    say = voice_of(result).say
    return Part(
        "counted",
        say("What was counted"),
        say("Which newborns stand behind the figures, and how do their outcomes stand?"),
        tuple(_counted_said(result)),
        (),
        (_counted_table(result),),
    )


def _counted_said(result: Scheme) -> Iterator[Sentence]:
    """Newborns, litters and farms; how outcomes stand; what the intervals allow for."""
    voice, this = voice_of(result), result.this
    sums = this[["newborns", "litters", "born_dead", "lost", "undated", "left_early"]].sum()
    text = "{n} {newborns} in {litters_n} {litters}, on {farms} farms, season {season}."
    yield Sentence(
        voice.say(
            text,
            n=voice.count(sums["newborns"]),
            litters_n=voice.count(sums["litters"]),
            farms=voice.count(len(set(this["farm"]))),
            season=result.season,
        ),
        lead=True,
    )
    if this["first_born"].notna().any():
        text = "The births are of {first} to {last}."
        days = (voice.date(one.date()) for one in (this["first_born"].min(), this["last_born"].max()))
        yield Sentence(voice.say(text, **dict(zip(("first", "last"), days, strict=True))))
    text = (
        "{dead} were born dead; {lost} of all were lost in the time that they are followed for. {left} left alive or "
        "went out of sight before its end, and count until then."
    )
    counts = {"dead": "born_dead", "lost": "lost", "left": "left_early"}
    yield Sentence(voice.say(text, **{name: voice.count(sums[one]) for name, one in counts.items()}))
    if sums["undated"]:
        text = "Of {undated} losses the age is not known; the curves leave them out, and are too low by that."
        yield Sentence(voice.say(text, undated=voice.count(sums["undated"])))
    yield Sentence(voice.say(CLUSTERS[result.cluster]))
    if not result.species:
        text = (
            "Several species stand together here: what is said of all of them is said of a mixture. Ask each by itself "
            "from a folder of its own births."
        )
        yield Sentence(voice.say(text), role="caution")


def _counted_table(result: Scheme) -> Table:
    """Every season and species: farms, newborns, litters, outcomes."""
    voice = voice_of(result)
    say = voice.say
    grouped = result.overview.groupby(["season", "species"], sort=False)
    names = ["newborns", "litters", "born_dead", "lost", "undated", "left_early"]
    frame = grouped[names].sum().assign(farms=grouped["farm"].nunique()).reset_index()
    order = {name: place for place, name in enumerate(result.every_season)}
    frame = frame.sort_values(
        ["season", "species"], key=lambda one: one.map(lambda word: order.get(word, word))
    )
    frame = frame.assign(kind=[label(voice, one) for one in frame["species"]]).reset_index(drop=True)
    declared = (
        columns.text("season", say("Season")),
        columns.text("kind", say("Species"), raw="species"),
        columns.count("farms", say("Farms")),
        columns.count("newborns", say("{Newborns}")),
        columns.count("litters", say("Litters")),
        columns.count("born_dead", say("Born dead")),
        columns.count("lost", say("Lost")),
        columns.count("undated", say("Lost at an unknown age")),
        columns.count("left_early", say("Left alive before the end")),
    )
    return Table("scheme-counted", say("Farms, {newborns} and outcomes"), frame, declared, printer=voice)


def _farms(result: Scheme) -> Iterator[Part]:
    """Farms side by side, where two or more are large enough."""
    found, voice = result.farms, voice_of(result)
    if found is None or len(found.farms) < 2:
        return
    yield Part(
        "farms",
        voice.say("Farms"),
        voice.say("Do the farms differ by more than chance, and does one stand out?"),
        tuple(_farms_said(result, found)),
        tuple(_farms_drawn(result, found)),
        (_farms_table(result, found),),
    )


def _farms_said(result: Scheme, found: FarmsOfScheme) -> Iterator[Sentence]:
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


def _farms_drawn(result: Scheme, found: FarmsOfScheme) -> Iterator[Figure]:
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


def _farms_table(result: Scheme, found: FarmsOfScheme) -> Table:
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


LEFT_TO_THE_FARM = (
    (
        "An action weighed as if it had been drawn by lot, and what a season would show of it",
        "they follow each {newborn} through its first hours and beside its like.",
    ),
    (
        "Curves over birth weight, hours of life and time to the first feed",
        "they need the weight or the minute of each {newborn}, of which no two are alike.",
    ),
    (
        "Colostrum, samples, treatments, examinations and weather",
        "they stand in tables of their own beside the births, farm by farm.",
    ),
    (
        "Lists of losses, of {dams} and of sires",
        "they name animals, which is no business of a scheme's page.",
    ),
    (
        "Combinations of groups, and the change split into mix and rate",
        "they look at single {newborns} again for every pair of groups.",
    ),
)
"""What counts cannot answer, and why."""


def left_to_the_farm(result: Scheme) -> tuple[tuple[str, str], ...]:
    """What stays with the farms' own reviews, each with the reason."""
    say = voice_of(result).say
    return tuple((say(what), say(why)) for what, why in LEFT_TO_THE_FARM)


def method(result: Scheme) -> Method:
    """How it was counted, with which settings, and what it cannot show."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    return Method(
        method=(
            say(
                "An engine reduced the births to what each question needs of a {litter} (or of a farm), and counted "
                "those that are alike; the estimates are those of a farm's review, of all that are alike at once."
            ),
            say(
                "Shares carry Wilson's interval at the number of {newborns} divided by the design effect. Survival is "
                "Kaplan-Meier's and causes are Aalen-Johansen's, with influence values summed within {litters} or "
                "farms. Groups are held against one by clustered risk ratios."
            ),
            say(
                "All comparisons of this page were decided together: {looked} could be decided, {clear} are called "
                "clear, and of the questions and families called clear at most {share} are expected to be chance.",
                looked=voice.count(result.ledger.looked),
                clear=voice.count(result.ledger.clear),
                share=voice.percent(settings.false_discovery_share, 0),
            ),
            say(
                "Farms are decided among themselves: each against a prediction from the others, by as many columns of "
                "the mix as it records; of those that so lie apart, above or below, at most {share} are expected to be "
                "chance.",
                share=voice.percent(settings.false_discovery_share, 0),
            ),
            say(
                RULE,
                minimum_group=voice.count(settings.minimum_group),
                minimum_events=voice.count(MINIMUM_EVENTS),
            ),
        ),
        settings=(
            say("End of follow-up: {days} days.", days=voice.number(settings.follow_up_d, 0)),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
            say(
                "Smallest group compared: {minimum} {newborns}.", minimum=voice.count(settings.minimum_group)
            ),
        ),
        limits=(
            say(
                "Groups differ in more than their name: a difference between them is an association, never shown to be "
                "a cause."
            ),
            say(
                "With very many {newborns} a small difference is clear as well: read how large it is before whether it "
                "is clear."
            ),
            say("The farms of a scheme are those that joined it and sent records: they speak for no others."),
            say("Farms that watch more closely find more of their dead."),
        ),
        sources=(
            say("Rao JNK, Scott AJ (1992) Biometrics 48:577-585."),
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
            say("Higgins JPT, Thompson SG, Spiegelhalter DJ (2009) J R Stat Soc A 172:137-159."),
        ),
    )

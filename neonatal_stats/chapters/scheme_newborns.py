"""What a scheme's newborns tell: losses, survival, causes and seasons; who was lost more, was not accepted, was fed in
time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.counted.scheme import FED, MOTHERING, Asked, Scheme, decided
from neonatal_stats.chapters.protocol import Part, interval_heading
from neonatal_stats.drawing import Figure, draw_incidence, draw_loss, draw_rates
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.curves import as_lost
from neonatal_stats.measures.windows import UNKNOWN
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.words import Sentence, Voice, voice_of
from neonatal_stats.words.evidence import FAILURES, LOSSES, Compared, Templates, comparison
from neonatal_stats.words.group_tables import compared_group, group_columns, group_rows, in_blocks
from neonatal_stats.words.losses_spoken import (
    alive_said,
    by_what_speaks,
    causes_stacked,
    lost_of,
    spoken,
    window_said,
    windows_table,
)
from neonatal_stats.words.names import label, phrase, window_label

NAMED = 5


def parts(result: Scheme) -> Iterator[Part]:
    """Losses by window; survival; causes where any were lost; seasons where there are several; and the groups."""
    yield _losses(result)
    if len(result.alive):
        yield _survival(result)
    if len(result.by_cause):
        yield _causes(result)
    if len(result.seasons) > 1:
        yield _seasons(result)
    yield from _groups(result)


def _losses(result: Scheme) -> Part:
    voice = voice_of(result)
    table = windows_table(
        voice,
        result.by_window,
        result.end_h,
        name="scheme-windows",
        interval=interval_heading(voice, result.settings.level),
        note="",
    )
    return Part(
        "losses",
        voice.say("Losses"),
        voice.say("How many {newborns} were lost, and when?"),
        tuple(_losses_said(result)),
        (_windows_drawn(result),),
        (table,),
    )


def _losses_said(result: Scheme) -> Iterator[Sentence]:
    """Lost by the end and by each window."""
    voice = voice_of(result)
    *windows, end = result.of_all_born.to_dict("records")
    lost = voice.part_of(end["events"], end["n"]) if end["not_watched"] else lost_of(voice, end)
    text = "Of all {newborns} born, {lost} were lost by {end}."
    yield Sentence(voice.say(text, lost=lost, end=voice.age(result.end_h)), lead=True)
    yield from (Sentence(window_said(voice, row)) for row in windows)


def _windows_drawn(result: Scheme) -> Figure:
    voice, born = voice_of(result), by_what_speaks(result.of_all_born)
    rows = born.to_dict("records")
    labels = [window_label(voice, row["window"], result.end_h) for row in rows]
    told = [spoken(voice, row) for row in rows]
    said = "; ".join(f"{name}: {share}" for name, share in zip(labels, told, strict=True))
    return draw_rates(
        born.assign(label=labels, told=told),
        printer=voice,
        name="scheme-windows",
        title=voice.say("Lost by the end of each window"),
        alt=voice.say("Share of {newborns} born that were lost, with intervals. {told}.", told=said),
        axis=voice.say("lost, % of {newborns} born"),
    )


def _survival(result: Scheme) -> Part:
    voice, born = voice_of(result), float((result.this["newborns"] - result.this["born_dead"]).sum())
    read = result.at_ages.dropna(subset=["share"])
    said = [alive_said(voice, born, row) for row in read.to_dict("records")] if born >= SMALL_GROUP else []
    few = "Born alive: {born}, too few to give shares; the table has the counts."
    return Part(
        "survival",
        voice.say("Survival"),
        voice.say("How long did the {newborns} born alive live?"),
        tuple(map(Sentence, said)) or (Sentence(voice.say(few, born=voice.count(born))),),
        (_survival_drawn(result),),
        (_ages_table(result),),
    )


def _survival_drawn(result: Scheme) -> Figure:
    voice = voice_of(result)
    say, curve = voice.say, as_lost(result.alive)
    last = curve[curve["age_h"] <= result.end_h].tail(1)
    share = voice.percent(float(last["share"].iloc[0])) if len(last) else ""
    return draw_loss(
        [(say("all"), curve)],
        follow_up_h=result.end_h,
        marks_h=[hour for hour in result.settings.windows_h.values() if hour < result.end_h],
        printer=voice,
        name="scheme-survival",
        title=say("Loss of {newborns} born alive"),
        alt=say("Share lost of the {newborns} born alive, counted up from birth: {told}.", told=share),
        axis=say("lost, % of {newborns} born alive"),
        age_axes=(say("age, hours"), say("age, days")),
        at_risk=say("still watched"),
    )


def _ages_table(result: Scheme) -> Table:
    voice = voice_of(result)
    say = voice.say
    declared = (
        columns.age("age_h", say("Age")),
        columns.count("lost", say("Died so far")),
        columns.count("watched", say("Alive and watched")),
        columns.share("share", say("Share alive")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
    )
    title = say("Alive at the end of each window, of {newborns} born alive")
    return Table("scheme-ages", title, result.at_ages, declared, printer=voice)


def _causes(result: Scheme) -> Part:
    voice = voice_of(result)
    return Part(
        "causes",
        voice.say("Causes"),
        voice.say("What were the {newborns} lost to, and at what age?"),
        tuple(_causes_said(result)),
        tuple(_causes_drawn(result)),
        (_causes_table(result),),
    )


def _causes_said(result: Scheme) -> Iterator[Sentence]:
    """The largest causes of all losses, and how many have none."""
    voice = voice_of(result)
    known = result.by_cause[result.by_cause["cause"].astype(str) != UNKNOWN]
    for row in known.head(NAMED).to_dict("records"):
        values = {
            "cause": label(voice, row["cause"]),
            "events": voice.count(row["events"]),
            "n": voice.count(row["n"]),
        }
        if row["n"] < SMALL_GROUP:
            yield Sentence(voice.say("{cause}: {events} of {n} losses.", **values))
            continue
        share, interval = voice.percent(row["share"]), voice.percent_range(row["low"], row["high"])
        text = "{cause}: {events} of {n} losses ({share}, {interval})."
        yield Sentence(voice.say(text, **values, share=share, interval=interval), deaths=float(row["events"]))
    for row in result.by_cause[result.by_cause["cause"].astype(str) == UNKNOWN].to_dict("records"):
        counts = voice.counts(row["events"], row["n"])
        yield Sentence(voice.say("No cause is known for {counts} losses.", counts=counts), role="cannot say")


def _causes_drawn(result: Scheme) -> Iterator[Figure]:
    """Shares of all born lost to each cause against age, stacked; nothing where too few ages are known."""
    if result.incidence.empty:
        return
    causes = [str(cause) for cause in result.by_cause["cause"]]
    drawn = causes_stacked(voice_of(result), result.incidence, causes, result.settings, result.end_h)
    yield draw_incidence(name="scheme-incidence", **drawn)


def _causes_table(result: Scheme) -> Table:
    voice = voice_of(result)
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    declared = (
        columns.text("name", say("Cause"), raw="cause"),
        columns.count("events", say("Losses")),
        columns.count("n", say("Of all losses")),
        columns.share("share", say("Share of losses")),
        columns.interval("low", "high", interval),
        columns.share("highest", say("Share were all unknown of this cause")),
        columns.share("at_end", say("Share of all born, by {age}", age=voice.age(result.end_h))),
        columns.interval("at_end_low", "at_end_high", say("{interval} of all born", interval=interval)),
    )
    frame = result.by_cause.assign(name=[label(voice, cause) for cause in result.by_cause["cause"]])
    note = say("One cause a loss. Shares of a known cause lie between the two columns of shares.")
    return Table("scheme-causes", say("Losses by cause"), frame, declared, note=note, printer=voice)


def _seasons(result: Scheme) -> Part:
    voice = voice_of(result)
    say, seasons = voice.say, result.seasons.assign(label=result.seasons["season"].astype(str))
    assert result.season_window is not None
    window = window_label(voice, result.season_window.name, result.season_window.end_h)
    told = "; ".join(
        f"{row['label']} {voice.share_of(row['events'], row['n'], row['low'], row['high'])}"
        for row in seasons.to_dict("records")
    )
    drawn = draw_rates(
        seasons,
        printer=voice,
        name="scheme-seasons",
        title=say("Loss by {window}, season by season", window=window),
        alt=say("Lost of born, season by season: {told}.", told=told),
        axis=say("lost by {window}, % of {newborns}", window=window),
    )
    declared = (
        columns.text("season", say("Season")),
        columns.count("events", say("Lost")),
        columns.count("n", say("{newborns}")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
    )
    title = say("Loss by {window}, season by season", window=window)
    table = Table("scheme-seasons", title, seasons, declared, printer=voice)
    return Part(
        "seasons",
        say("Seasons"),
        say("Was this season like the one before?"),
        tuple(_change_said(result, window)),
        (drawn,),
        (table,),
    )


def _change_said(result: Scheme, window: str) -> Iterator[Sentence]:
    """This season against the one before, and what that does not allow for."""
    voice = voice_of(result)
    for row in decided(result, result.change).to_dict("records") if len(result.change) else ():
        group, versus = (
            voice.say("{newborns} of season {season}", season=str(row[name])) for name in ("season", "versus")
        )
        compared = Compared.of(row, group=group, versus=versus)
        yield comparison(voice, compared, row["verdict"], level=result.settings.level, claim=row["key"])
    text = (
        "Losses by {window}. Seasons swing by themselves, with weather and disease: that two differ does not say that "
        "either is unusual, nor why. The mix of farms and births is not allowed for."
    )
    yield Sentence(voice.say(text, window=window), role="caution")


MOST_SAID = 8
"""Clear and leaning comparisons that are said; all of them stand in the table."""
IN_TIME = Templates(
    higher="More of {group} were fed by the mark, {a}, than of {versus}, {b}: {evidence}.",
    lower="Fewer of {group} were fed by the mark, {a}, than of {versus}, {b}: {evidence}.",
    leaning_higher="More of {group} seem to have been fed by the mark, {a}, than of {versus}, {b}, but chance is not "
    "ruled out: {evidence}.",
    leaning_lower="Fewer of {group} seem to have been fed by the mark, {a}, than of {versus}, {b}, but chance is not "
    "ruled out: {evidence}.",
    no_clear="No clear difference in who was fed by the mark between {group}, {a}, and {versus}, {b}: {evidence}.",
    too_few="Too few to say whether as many of {group}, {a}, were fed by the mark as of {versus}, {b}.",
)


@dataclass(frozen=True)
class Words:
    """How the groups of one question are said, drawn and tabled."""

    name: str
    title: str
    event: str
    counted: str
    axis: str
    templates: Templates


def _groups(result: Scheme) -> Iterator[Part]:
    """Losses by group; mothering-up and the first feed where they were written down."""
    say = voice_of(result).say
    if len(result.groups):
        words = Words(
            "groups",
            say("Losses by what was known at birth"),
            say("Lost"),
            say("Born"),
            say("lost, % of {newborns} born"),
            LOSSES,
        )
        yield _part(result, words, result.groups, say("Groups"), say("Which {newborns} were lost more?"), ())
    if MOTHERING in result.asked:
        words = Words(
            "mothering",
            say("Failures at mothering-up by group"),
            say("Not accepted"),
            say("Judged"),
            say("not accepted, % of {newborns} judged"),
            FAILURES,
        )
        one = result.asked[MOTHERING]
        question = say("Which {newborns} were not accepted by the {dam}?")
        yield _part(result, words, one.groups, say("Mothering-up"), question, (_accepted_said(result, one),))
    if FED in result.asked:
        words = Words(
            "fed",
            say("Fed by the mark, by group"),
            say("Fed by the mark"),
            say("Known of"),
            say("fed by the mark, % of {newborns} known of"),
            IN_TIME,
        )
        one = result.asked[FED]
        question = say("Which {newborns} found the teat in time?")
        yield _part(result, words, one.groups, say("The first feed"), question, (_fed_said(result, one),))


def _accepted_said(result: Scheme, one: Asked) -> Sentence:
    voice, row = voice_of(result), one.whole.iloc[0]
    text = (
        "Not accepted by the {dam}: {share} of the {newborns} judged. Not judged, so not counted: {unjudged}."
    )
    share = voice.share_of(row["events"], row["n"], row["low"], row["high"])
    return Sentence(voice.say(text, share=share, unjudged=voice.count(one.unknown)), lead=True)


def _fed_said(result: Scheme, one: Asked) -> Sentence:
    voice, row = voice_of(result), one.whole.iloc[0]
    text = (
        "Fed within {mark} of birth: {share} of the {newborns} born alive of which it can be told, by the births' own "
        "column alone. Nobody can tell of {unknown}."
    )
    share = voice.share_of(row["events"], row["n"], row["low"], row["high"])
    mark = voice.age(result.settings.marks.fed_h)
    return Sentence(voice.say(text, mark=mark, share=share, unknown=voice.count(one.unknown)), lead=True)


def _part(
    result: Scheme,
    words: Words,
    frame: pd.DataFrame,
    title: str,
    question: str,
    first: tuple[Sentence, ...],
) -> Part:
    groups = decided(result, frame)
    return Part(
        words.name,
        title,
        question,
        (*first, *_said(result, groups, words)),
        tuple(_drawn(result, groups, words)),
        (_table(result, groups, words),),
    )


def _said(result: Scheme, groups: pd.DataFrame, words: Words) -> Iterator[Sentence]:
    """Clear and leaning comparisons one by one, the most losses first; the others together."""
    voice, level = voice_of(result), result.settings.level
    telling = groups[groups["verdict"].isin([Verdict.CLEAR, Verdict.LEANING])]
    told = [
        comparison(
            voice,
            compared_group(voice, row),
            row["verdict"],
            level=level,
            templates=words.templates,
            claim=row["key"],
        )
        for row in telling.to_dict("records")
    ]
    told.sort(key=lambda one: (one.verdict is not Verdict.CLEAR, -one.deaths))
    yield from told[:MOST_SAID]
    if len(told) > MOST_SAID:
        text = "{n} more comparisons that are clear or lean stand in the table."
        yield Sentence(voice.say(text, n=voice.count(len(told) - MOST_SAID)))
    same = groups[groups["verdict"] == Verdict.NO_CLEAR]
    if len(same):
        text = "No clear difference from those they were held against: {told}."
        yield Sentence(voice.say(text, told=_counts(voice, same)), Verdict.NO_CLEAR)
    small = groups[["n", "litters"]].min(axis=1) < result.settings.minimum_group
    few = groups[(small & groups["versus"].isna()) | (groups["verdict"] == Verdict.TOO_FEW)]
    if len(few):
        text = "Too few to say: {told}."
        yield Sentence(voice.say(text, told=_counts(voice, few)), Verdict.TOO_FEW)


def _counts(voice: Voice, groups: pd.DataFrame) -> str:
    return "; ".join(
        f"{phrase(voice, row['factor'], row['group'])} {voice.counts(row['events'], row['n'])}"
        for row in groups.to_dict("records")
    )


def _drawn(result: Scheme, groups: pd.DataFrame, words: Words) -> Iterator[Figure]:
    """Every group once under its factor; nothing where no two groups stand together."""
    voice = voice_of(result)
    shown = in_blocks(group_rows(voice, groups), result.settings.minimum_group)
    if shown.empty:
        return
    told = "; ".join(
        f"{row['name']} {voice.part_of(row['events'], row['n'])}" for row in shown.to_dict("records")
    )
    yield draw_rates(
        shown,
        printer=voice,
        name=f"scheme-{words.name}",
        title=words.title,
        alt=voice.say("{title}, group by group: {told}.", title=words.title, told=told),
        axis=words.axis,
        few=voice.say("too few"),
    )


def _table(result: Scheme, groups: pd.DataFrame, words: Words) -> Table:
    voice = voice_of(result)
    interval = interval_heading(voice, result.settings.level)
    note = voice.say(
        "q allows for the comparisons in this table, not for the rest of the page. Association only."
    )
    return Table(
        f"scheme-{words.name}",
        words.title,
        group_rows(voice, groups),
        group_columns(voice, interval, words.event, words.counted),
        note=note,
        printer=voice,
    )

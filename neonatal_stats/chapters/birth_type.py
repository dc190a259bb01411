"""Which newborns were lost more: by birth type, delivery, sex, birth weight and the dam's litters?"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted import birth_type as counted
from neonatal_stats.chapters.counted.birth_type import (
    BY_WEIGHT,
    VAGINAL,
    BirthType,
    claims,
    told_apart,
)
from neonatal_stats.chapters.protocol import Verdicts, decided_within, heed, interval_heading
from neonatal_stats.drawing import Figure, draw_rates, draw_smooth
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS
from neonatal_stats.measures.birth_factors import BY_EMBRYOTOMY
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.rates import too_small
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.vocabulary.factors import SAME
from neonatal_stats.vocabulary.terms import DIFFICULT_DELIVERIES
from neonatal_stats.words import Method, Sentence, Verdict, Voice, voice_of
from neonatal_stats.words.evidence import RULE, comparison, ratio_in_words
from neonatal_stats.words.group_tables import compared_group, group_rows, in_blocks
from neonatal_stats.words.names import factor, label, phrase, season_names

NAME = "birth_type"
TITLE = "Birth type, delivery, weight and dam"
QUESTION = (
    "Which {newborns} were lost more: by birth type, delivery, sex, birth weight and the {dam}'s {litters}?"
)

Row = dict[Hashable, Any]


def missing(season: Season) -> tuple[str, ...]:
    """Open where at least one factor has two groups, and something was lost."""
    say, births = voice_of(season).say, season.births
    if not births["lost"].any():
        return (say("Nothing to compare: no loss was recorded."),)
    if not told_apart(births):
        return (
            say(
                "Not answered: the records do not tell groups apart. Any of dam_id (or litter_size), "
                "delivery, sex, birth_weight_kg and dam_parity would open the chapter."
            ),
        )
    return ()


def answer(season: Season) -> BirthType:
    """Compare every group that was known at birth; `NotRecorded` where the records tell none apart, or lost none."""
    heed(missing(season))
    return counted.answer(season)


def sentences(result: BirthType, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """Clear and leaning comparisons one by one; the others together; then birth weight as a curve."""
    verdicts = settled(claims(result), result.settings, verdicts)
    groups = judged(result.groups, verdicts)
    groups = groups[~groups["group"].isin(BY_EMBRYOTOMY)]
    told = groups[groups["verdict"].isin([Verdict.CLEAR, Verdict.LEANING])]
    full = [_full_said(result, row) for row in told.to_dict("records")]
    full.sort(key=lambda one: (one.verdict is not Verdict.CLEAR, -one.deaths))
    shared = (*_no_clear_said(result, groups), *_too_few_said(result, groups))
    return (*full, *_vaginal_said(result), *shared, *_weight_said(result, verdicts))


def figures(result: BirthType) -> tuple[Figure, ...]:
    """Every group; birth type within delivery; loss along birth weight."""
    return (_groups_drawn(result), *_crossed_drawn(result), *_weight_drawn(result))


def tables(result: BirthType) -> tuple[Table, ...]:
    """Losses by group and the comparisons first; then birth type x delivery, and weight."""
    return (
        _groups_table(result),
        *_comparisons_table(result),
        *_kinds_table(result),
        *_crossed_table(result),
        *_weight_table(result),
    )


def _full_said(result: BirthType, row: Row) -> Sentence:
    """One group against its comparison, and beside it the same within birth types where that could be done."""
    voice, level = voice_of(result), result.settings.level
    crude = comparison(voice, compared_group(voice, row), row["verdict"], level=level, claim=row["key"])
    if math.isnan(row["adjusted"]):
        return crude
    within = ratio_in_words(voice, row["adjusted"], row["adjusted_low"], row["adjusted_high"], level)
    text = voice.say("{crude} Within birth types: {within}.", crude=crude.text, within=within)
    return Sentence(text, crude.verdict, crude.deaths, claim=crude.claim)


def _vaginal_said(result: BirthType) -> Iterator[Sentence]:
    """What vaginal births lost, kind by kind, where enough of them were hard or turned; no comparison."""
    vaginal = result.kinds[result.kinds["born_by"] == VAGINAL] if len(result.kinds) else result.kinds
    hard = vaginal[vaginal["delivery"].isin(DIFFICULT_DELIVERIES)] if len(vaginal) else vaginal
    if len(hard) and hard["n"].sum() >= result.settings.minimum_group:
        voice = voice_of(result)
        told = "; ".join(
            f"{label(voice, row['delivery'])} {voice.counts(row['events'], row['n'])}"
            for row in vaginal.to_dict("records")
        )
        yield Sentence(voice.say("Vaginal births, kind by kind, lost: {told}.", told=told))


def _kinds_table(result: BirthType) -> Iterator[Table]:
    """Lost of born by how they were born, hard pulls and turned newborns apart from other vaginal births."""
    if result.kinds.empty:
        return
    voice = voice_of(result)
    named = {
        name: [label(voice, one) for one in result.kinds[raw]]
        for name, raw in (("by", "born_by"), ("kind", "delivery"))
    }
    declared = (
        columns.text("by", factor(voice, "born_by"), raw="born_by"),
        columns.text("kind", voice.say("Delivery"), raw="delivery"),
        *_rates(result),
    )
    title = voice.say("Vaginal and surgical births, kind by kind")
    yield Table("birth_type-kinds", title, result.kinds.assign(**named), declared, printer=voice)


def _no_clear_said(result: BirthType, groups: pd.DataFrame) -> Iterator[Sentence]:
    """The comparisons in which no difference is clear, together in a line."""
    same = groups[groups["verdict"] == Verdict.NO_CLEAR]
    if len(same):
        voice = voice_of(result)
        text = "No clear difference in losses from those they were held against: {told}."
        yield Sentence(voice.say(text, told=_told(voice, same)), Verdict.NO_CLEAR)


def _too_few_said(result: BirthType, groups: pd.DataFrame) -> Iterator[Sentence]:
    """Groups too small to be compared, or with too few losses."""
    voice, least = voice_of(result), result.settings.minimum_group
    if groups["versus"].isna().all():
        text = (
            "Too few to say: no two groups of at least {n} {newborns} to compare; the table has the counts."
        )
        yield Sentence(voice.say(text, n=voice.count(least)), Verdict.TOO_FEW)
        return
    few = groups[(groups["n"] < least) | (groups["verdict"] == Verdict.TOO_FEW)]
    if len(few):
        yield Sentence(voice.say("Too few to say: {told}.", told=_told(voice, few)), Verdict.TOO_FEW)


def _told(voice: Voice, groups: pd.DataFrame) -> str:
    """Groups with their losses of those born; the same newborns under another name (`factors.SAME`) once."""
    named = {(row["factor"], row["group"]): (row["events"], row["n"]) for row in groups.to_dict("records")}
    once = {name: counts for name, counts in named.items() if named.get(SAME.get(name, ("", ""))) != counts}
    return "; ".join(f"{phrase(voice, *name)} {voice.counts(*counts)}" for name, counts in once.items())


def _groups_drawn(result: BirthType) -> Figure:
    """Lost of born, every group of every factor once, parts under the broader group; small groups only counted."""
    voice, shown = voice_of(result), in_blocks(_named(result), result.settings.minimum_group)
    return draw_rates(
        shown,
        printer=voice,
        name="birth_type-groups",
        title=voice.say("Losses by what was known at birth"),
        alt=voice.say(
            "Lost of born, group by group: {told}. The dotted line is all {newborns}.",
            told=_counts_told(voice, shown),
        ),
        axis=voice.say("lost, % of {newborns} born"),
        few=voice.say("too few"),
        average=_all_born(result),
    )


def _all_born(result: BirthType) -> tuple[float, str]:
    """The loss of all newborns, and its name beside a line."""
    voice = voice_of(result)
    return result.whole, voice.say("all: {share}", share=voice.percent(result.whole))


def _counts_told(voice: Voice, rows: pd.DataFrame) -> str:
    told = zip(rows["name"], rows["events"], rows["n"], strict=True)
    return "; ".join(f"{name} {voice.count(events)}/{voice.count(n)}" for name, events, n in told)


def _groups_table(result: BirthType) -> Table:
    """Lost of born, every group, and newborns for which a factor was not recorded."""
    voice = voice_of(result)
    say = voice.say
    declared = (
        columns.text("by", say("By"), raw="factor"),
        columns.text("name", say("Group"), raw="group"),
        *_rates(result),
    )
    lacking = "; ".join(
        f"{factor(voice, name)} {voice.count(n)}" for name, n in result.not_recorded.items() if n
    )
    note = say("{newborns} for which it was not recorded: {lacking}.", lacking=lacking) if lacking else ""
    title = say(
        "Losses by what was known at birth, {period}, to {end}",
        period=season_names(voice, result.period, result.period),
        end=voice.age(result.end_h),
    )
    return Table("birth_type-groups", title, _named(result), declared, note=note, printer=voice)


def _comparisons_table(result: BirthType) -> Iterator[Table]:
    """Every group against the one it is held against: ratio, difference, and the ratio within birth types."""
    frame = _named(result)[result.groups["versus"].notna()]
    if frame.empty:
        return
    voice = voice_of(result)
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    of_difference = say("{interval} of the difference", interval=interval)
    within = say("{interval} within birth types", interval=interval)
    counts = (
        columns.count("events", say("Lost")),
        columns.count("n", say("Born")),
        columns.count("events_versus", say("{event} (there)", event=say("Lost"))),
        columns.count("n_versus", say("{counted} (there)", counted=say("Born"))),
    )
    declared = (
        columns.text("by", say("By"), raw="factor"),
        columns.text("name", say("Group"), raw="group"),
        *map(columns.in_csv, counts),
        columns.text("against", say("Against"), raw="versus"),
        columns.ratio("ratio", say("Risk ratio")),
        columns.interval("ratio_low", "ratio_high", interval, "ratio"),
        columns.points("difference", say("Difference, percentage points")),
        columns.interval("difference_low", "difference_high", of_difference, "points"),
        columns.ratio("adjusted", say("Risk ratio within birth types")),
        columns.interval("adjusted_low", "adjusted_high", within, "ratio"),
        columns.in_csv(columns.p("agree_p", say("Do the birth types agree? p"))),
        columns.p("p", say("p")),
        columns.p("q", say("q")),
        columns.key("note", say("Note")),
    )
    tried = voice.count(frame["p"].notna().sum())
    note = say("q allows for the {tried} comparisons in this table. Association only.", tried=tried)
    title = say("Each group against another")
    yield Table("birth_type-comparisons", title, frame, declared, note=note, printer=voice)


def _named(result: BirthType) -> pd.DataFrame:
    """The groups with factor, group and comparison as printed; see `words.group_tables.PRINTED`."""
    voice, groups = voice_of(result), result.groups
    return group_rows(voice, groups).assign(by=[factor(voice, one) for one in groups["factor"]])


def _rates(result: BirthType) -> tuple[Column, ...]:
    voice = voice_of(result)
    return (
        columns.count("events", voice.say("Lost")),
        columns.count("n", voice.say("Born")),
        columns.share("share", voice.say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
    )


def _crossed(result: BirthType) -> pd.DataFrame:
    """Birth type x delivery, with both as printed."""
    voice, frame = voice_of(result), result.crossed
    return frame.assign(
        name=[label(voice, one) for one in frame["birth_type"]],
        heading=[label(voice, one) for one in frame["delivery"]],
    )


def _crossed_drawn(result: BirthType) -> Iterator[Figure]:
    """Lost of born by birth type within each kind of delivery of which one group at least is large enough."""
    if result.crossed.empty:
        return
    quiet = too_small(result.crossed, result.settings.minimum_group)
    rows = _crossed(result).assign(quiet=quiet).sort_values(["delivery", "birth_type"])
    rows = rows[~rows.groupby("delivery", observed=True)["quiet"].transform("all")]
    large = rows[~rows["quiet"]]
    if large["birth_type"].nunique() < 2 or large["delivery"].nunique() < 2:
        return
    voice = voice_of(result)
    told = _counts_told(voice, rows.assign(name=rows["heading"] + ", " + rows["name"]))
    yield draw_rates(
        rows.assign(label=rows["name"]),
        printer=voice,
        name="birth_type-delivery",
        title=voice.say("Losses by birth type within each kind of delivery"),
        alt=voice.say(
            "Lost of born: {told}. Groups under the minimum size are counted, not drawn.", told=told
        ),
        axis=voice.say("lost, % of {newborns} born"),
        few=voice.say("too few"),
        average=_all_born(result),
    )


def _crossed_table(result: BirthType) -> Iterator[Table]:
    """Lost of born by birth type and delivery, every pair that occurred."""
    if result.crossed.empty:
        return
    voice = voice_of(result)
    declared = (
        columns.text("name", voice.say("Birth type"), raw="birth_type"),
        columns.text("heading", voice.say("Delivery"), raw="delivery"),
        *_rates(result),
    )
    title = voice.say("Losses by birth type and delivery")
    yield Table("birth_type-delivery", title, _crossed(result), declared, printer=voice)


_READ = "{low} at {low_kg} kg, {middle} at {middle_kg} kg, {high} at {high_kg} kg (p {p})."
WEIGHT = {
    Verdict.CLEAR: "Losses went with birth weight by more than chance explains; the smooth curve reads "
    + _READ,
    Verdict.LEANING: "Losses may go with birth weight, but chance is not ruled out; the smooth curve reads "
    + _READ,
    Verdict.NO_CLEAR: "No clear link between losses and birth weight; the smooth curve reads " + _READ,
    Verdict.TOO_FEW: "Too few losses to say whether they went with birth weight.",
}


def _weight_said(result: BirthType, verdicts: Verdicts) -> Iterator[Sentence]:
    """Whether losses went with birth weight, of those weighed, and the curve read at three weights."""
    voice, weight = voice_of(result), result.weight
    if weight is None:
        return
    read, values = weight.read.iloc[[0, len(weight.read) // 2, -1]], {"p": voice.p_value(weight.p)}
    for name, row in zip(("low", "middle", "high"), read.to_dict("records"), strict=True):
        values |= {f"{name}_kg": voice.number(row["value"]), name: voice.percent(row["share"])}
    verdict = verdicts.get(BY_WEIGHT, weight.verdict)
    yield Sentence(voice.say(WEIGHT[verdict], **values), verdict, claim=BY_WEIGHT)


def _weight_drawn(result: BirthType) -> Iterator[Figure]:
    """The smooth curve of loss against birth weight, every newborn weighed a mark."""
    voice, weight = voice_of(result), result.weight
    if weight is None:
        return
    say, read = voice.say, weight.read.to_dict("records")
    told = "; ".join(f"{voice.number(row['value'])} kg {voice.percent(row['share'])}" for row in read)
    least, *_, most = sorted(read, key=lambda row: float(row["share"]))
    alt = "Along birth weight the smooth curve of loss is highest at {most_kg} kg and lowest at {least_kg} kg: {told}."
    yield draw_smooth(
        weight.curve,
        weight.weight_kg,
        weight.lost,
        printer=voice,
        name="birth_type-weight",
        title=say("Loss along birth weight"),
        alt=say(alt, most_kg=voice.number(most["value"]), least_kg=voice.number(least["value"]), told=told),
        axis=say("birth weight, kg"),
        share_axis=say("lost, % of {newborns} weighed"),
        marks=(say("lost"), say("not lost")),
    )


def _weight_table(result: BirthType) -> Iterator[Table]:
    """The smooth curve read at five weights."""
    voice, weight = voice_of(result), result.weight
    if weight is None:
        return
    say = voice.say
    declared = (
        columns.number("value", say("Birth weight (kg)")),
        columns.share("share", say("Lost, by the smooth curve")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
    )
    note = say(
        "Weights below which 5, 25, 50, 75 and 95 % of {newborns} lie. Does loss go with weight? p {p}.",
        p=voice.p_value(weight.p),
    )
    title = say("Loss along birth weight")
    yield Table("birth_type-weight", title, weight.read, declared, note=note, printer=voice)


def method(result: BirthType, verdicts: Verdicts | None = None) -> Method:
    """Method, settings, limits and sources."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    return Method(
        method=(
            say(
                "Lost of all born, the stillborn included. Wilson intervals on the number of {newborns} "
                "divided by the design effect; risk ratios and differences (Newcombe) with variances "
                "clustered on the litter, exact where counts are small."
            ),
            say(
                "Within birth types: Mantel-Haenszel risk ratio over single, twin and larger litters, so "
                "that another mix of litter sizes does not pass for a difference."
            ),
            say(
                RULE,
                minimum_group=voice.count(settings.minimum_group),
                minimum_events=voice.count(MINIMUM_EVENTS),
            ),
            decided_within(voice, verdicts),
            say(
                "q allows for every comparison of this chapter (Benjamini-Hochberg), not for the rest of the page."
            ),
            say(
                "Birth weight: logistic regression on a natural cubic spline, its band from litters. Weight "
                "classes are fifths within species."
            ),
        ),
        settings=(
            say("Groups under {n} {newborns} are not compared.", n=voice.count(settings.minimum_group)),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "{newborns} that are born by surgery or with help were in trouble before; the comparison "
                "does not show what the help did."
            ),
            say(
                "Small {newborns} are small for reasons (litter size, feeding, early birth) that also matter."
            ),
            say("{newborns} that left alive count as not lost."),
        ),
        sources=(
            say("Newcombe RG (1998) Stat Med 17:873-890. Greenland S, Robins JM (1985) Biometrics 41:55-68."),
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
        ),
    )

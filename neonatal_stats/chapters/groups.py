"""Which newborns lose most, and where would next season's effort buy most?"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping, Sequence
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.groups import Adjusted, Groups, claims, watch_list
from neonatal_stats.chapters.counted.groups import answer as count
from neonatal_stats.chapters.protocol import Verdicts, decided_within, heed, interval_heading
from neonatal_stats.drawing import Figure, draw_ranked
from neonatal_stats.measures.birth_factors import factors
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.risk_groups import TO_LEVELS, nested
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.vocabulary.factors import AT_BIRTH
from neonatal_stats.words import Method, Sentence, Verdict, Voice, joined, voice_of
from neonatal_stats.words.evidence import dated, ratio_in_words
from neonatal_stats.words.group_tables import risk_columns, risk_rows, shown_first
from neonatal_stats.words.names import factor_name, group_phrase, season_names, window_label

NAME = "groups"
TITLE = "High-risk groups"
QUESTION = "Which {newborns} are lost most, and where would next season's effort buy most?"
ALL_SEASONS = True

MOST_LISTED = 6
MOST_DRAWN = 12
MOST_PAIRS = 15
RISKS = (
    "phrase", "deaths", "births", "risk", "shrunken_risk", "rest_deaths", "rest_births", "rest_risk", "risk_ratio",
    "low",
)  # fmt: skip
EXCESS = ("phrase", "excess", "excess_low", "excess_high", "share_of_deaths", "p", "q", "reading")

WATCH = (
    "Watch list: {phrase}. In {period} they lost {counts} by {window}, the rest {rest}: {evidence}. That is "
    "{excess} losses ({low} to {high}) beyond the rest's risk."
)
SEASONS = "They lost more in {more} of the {seen} seasons with enough of them."
ALWAYS = {
    Verdict.CLEAR: "{phrase} lost clearly more than the rest: {counts} against {rest}, {evidence}.",
    Verdict.LEANING: "{phrase} lost {counts}, the rest {rest}, {evidence}: it leans, but chance is not ruled "
    "out.",
    Verdict.NO_CLEAR: "No clear difference between {phrase}, {counts}, and the rest, {rest}: {evidence}.",
    Verdict.TOO_FEW: "{phrase}: too few to say ({counts}; the rest {rest}).",
}
TRIED_CLEAR = (
    "Of {tried} groups tried (every level of every factor known at birth, and every two of them together), "
    "{clear} lost clearly more than the rest by {window}. Were there no true differences, at most {share} of "
    "reviews would put any group on the watch list."
)
TRIED_NONE = (
    "Of {tried} groups tried (every level of every factor known at birth, and every two of them together), "
    "none lost more than the rest by {window} beyond what chance and litters would give among so many."
)
NOT_TRIED = "No groups could be tried: too little was written down at birth that tells {newborns} apart."
NOT_RECORDED = (
    "The records do not say: {factors}. Writing it down at birth next season could show whether these groups "
    "lose more."
)
WRITTEN_IN = {
    "born_by": "delivery",
    "several": "litter_size",
    "parity_class": "dam_parity",
    "suck_class": "suck_reflex",
    "weight_class": "birth_weight_kg",
}
"""The column of births from which each factor of the rows always shown is made."""
BESIDE = "With the other groups of the list in one model, their hazard ratio is {ratio} ({level} interval {interval})."
READINGS = {
    Verdict.CLEAR: ("lost more", "lost less"),
    Verdict.LEANING: ("leaning, more", "leaning, less"),
    Verdict.NO_CLEAR: ("no clear difference", "no clear difference"),
    Verdict.TOO_FEW: ("too few to say", "too few to say"),
}


def missing(season: Season) -> tuple[str, ...]:
    """Open where at least one factor known at birth was recorded."""
    if factors(season.births):
        return ()
    columns = ", ".join(name for name in AT_BIRTH if name in ("birth_type", "delivery", "sex", "birth_place"))
    return (
        voice_of(season).say(
            "Not answered: nothing known at birth was recorded to form groups by. Recording {columns}, the "
            "{dam}'s parity, birth weight or the suck reflex would open the chapter.",
            columns=columns,
        ),
    )


Row = Mapping[Hashable, Any]


def answer(season: Season) -> Groups:
    """Every group tried, what stands out, what stands on its own; `NotRecorded` where there is nothing to group by."""
    heed(missing(season))
    return count(season)


def sentences(result: Groups, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """How many were tried, the watch list, the rows always spoken of, what is not recorded."""
    found = settled(claims(result), result.settings, verdicts)
    watch, voice = watch_list(result, found), voice_of(result)
    said = (_tried(result, watch), *_watch(result, watch), *_always(result, watch, found))
    return (*(dated(voice, one, result.period, result.period) for one in said), *_not_recorded(result))


def _tried(result: Groups, watch: pd.DataFrame) -> Sentence:
    """How many groups were tried, and how many are on the watch list."""
    clear, tried = len(watch), int(result.groups["tried"].sum())
    text = tried_sentence(
        voice_of(result), tried, clear, _window(result), result.settings.false_discovery_share
    )
    return Sentence(text, None if clear else Verdict.NO_CLEAR)


def tried_sentence(voice: Voice, tried: int, clear: int, window: str, share: float) -> str:
    """How many groups were tried and how many stand out, where so large a share of false alarms is allowed."""
    if not tried:
        return voice.say(NOT_TRIED)
    return voice.say(
        TRIED_CLEAR if clear else TRIED_NONE,
        tried=voice.count(tried),
        clear=voice.count(clear),
        window=window,
        share=voice.percent(share, 0),
    )


def _window(result: Groups) -> str:
    return window_label(voice_of(result), result.window.name, result.window.end_h)


def _watch(result: Groups, watch: pd.DataFrame) -> Iterator[Sentence]:
    """Each group on the list, with what was checked: season by season, and beside the others in one model."""
    voice = voice_of(result)
    beside = {_who(row): row for row in _modelled(result, watch)}
    for place, row in enumerate(watch.head(MOST_LISTED).to_dict("records")):
        said = [_watched(result, row)]
        if row["seasons_seen"] > 1:
            more, seen = voice.count(row["seasons_more"]), voice.count(row["seasons_seen"])
            said.append(voice.say(SEASONS, more=more, seen=seen))
        own = None if row["with_factor"] else beside.get(_who(row))
        if own is not None and own["verdict"] is not Verdict.TOO_FEW:
            said.append(_standing(result, own))
        see = "animals" if "sire_id" in (row["factor"], row["with_factor"]) else ""
        yield Sentence(joined(said), Verdict.CLEAR, row["excess"], lead=place == 0, claim=row["key"], see=see)


def _who(row: Row) -> tuple[str, str]:
    return row["factor"], row["group"]


def _watched(result: Groups, row: Row) -> str:
    """Who is on the list, what they lost and how much more than at the rest's risk."""
    voice = voice_of(result)
    return voice.say(
        WATCH,
        **_against_the_rest(result, row),
        window=_window(result),
        period=season_names(voice, result.period, result.period),
        excess=voice.number(row["excess"], 0),
        low=voice.number(row["excess_low"], 0),
        high=voice.number(row["excess_high"], 0),
    )


def _against_the_rest(result: Groups, row: Row) -> dict[str, str]:
    """A group and its rest as the parts of a sentence."""
    voice = voice_of(result)
    return {
        "phrase": group_phrase(voice, row),
        "counts": voice.counts(row["events"], row["n"]),
        "rest": voice.counts(row["events_versus"], row["n_versus"]),
        "evidence": ratio_in_words(voice, row["estimate"], row["low"], row["high"], result.settings.level),
    }


def _spoken_of(watch: pd.DataFrame) -> set[tuple[str, str]]:
    """The single levels of which the watch list speaks: factor and level."""
    listed = watch.head(MOST_LISTED).to_dict("records")
    return {_who(row) for row in listed if not row["with_factor"]}


def _always(result: Groups, watch: pd.DataFrame, verdicts: Verdicts) -> Iterator[Sentence]:
    """The rows that always stand, whatever there is to say, unless the watch list has just spoken of them."""
    spoken_of = _spoken_of(watch)
    for row in judged(result.always, verdicts).to_dict("records"):
        if row["recorded"] and _who(row) not in spoken_of:
            text = voice_of(result).say(ALWAYS[row["verdict"]], **_against_the_rest(result, row))
            excess = max(row["excess"], 0.0) if math.isfinite(row["excess"]) else 0.0
            key = row["key"] if row["key"] in verdicts else ""
            yield Sentence(text, row["verdict"], excess, claim=key)


def _modelled(result: Groups, watch: pd.DataFrame) -> list[dict[Hashable, Any]]:
    """The groups of the model, where all of them are on the watch list; else what is held fixed was not found."""
    rows = [] if result.adjusted is None else result.adjusted.groups.to_dict("records")
    single = watch[watch["with_factor"] == ""].to_dict("records")
    return rows if {_who(row) for row in rows} <= {_who(row) for row in single} else []


def _standing(result: Groups, row: Row) -> str:
    """A group beside the others of the list; description, with no verdict of its own."""
    voice = voice_of(result)
    return voice.say(
        BESIDE,
        ratio=voice.ratio(row["estimate"]),
        interval=voice.ratio_range(row["low"], row["high"]),
        level=voice.percent(result.settings.level, 0),
    )


def _not_recorded(result: Groups) -> Iterator[Sentence]:
    """Which of the groups that matter most cannot be formed."""
    voice = voice_of(result)
    lacking = result.always[~result.always["recorded"]]
    names = dict.fromkeys(factor_name(voice, factor) for factor in lacking["factor"])
    if names:
        asked = tuple(dict.fromkeys(WRITTEN_IN[str(factor)] for factor in lacking["factor"]))
        text = voice.say(NOT_RECORDED, factors=joined(names, ", "))
        yield Sentence(text, role="record next", columns=asked)


def figures(result: Groups, verdicts: Verdicts | None = None) -> tuple[Figure, ...]:
    """The groups with most excess losses: single levels, and the pairs that are clear."""
    decided = judged(result.groups, settled(claims(result), result.settings, verdicts))
    groups = decided[decided["tried"].astype(bool) & (decided["excess"] > 0)]
    top = groups[(groups["verdict"] == Verdict.CLEAR) | (groups["with_factor"] == "")]
    drawn = nested(top.sort_values("excess", ascending=False, kind="stable").head(MOST_DRAWN))
    return (_excess_figure(result, drawn),) if len(drawn) else ()


def _excess_figure(result: Groups, drawn: pd.DataFrame) -> Figure:
    """Events beyond the rest's risk of each group with its interval, and what it lost of how many."""
    voice = voice_of(result)
    say, rows = voice.say, drawn.to_dict("records")
    names = [group_phrase(voice, row) for row in rows]
    listed = [
        say("{phrase}, {excess} more", phrase=name, excess=voice.number(row["excess"], 0))
        for name, row in zip(names, rows, strict=True)
    ]
    return draw_ranked(
        drawn.assign(
            label=names,
            clear=drawn["verdict"] == Verdict.CLEAR,
            counts=[voice.part_of(row["events"], row["n"]) for row in rows],
            told=[_excess_told(voice, row) for row in rows],
        ),
        printer=voice,
        name="groups-excess",
        title=say("Losses beyond the rest's risk, group by group"),
        alt=say(
            "Excess losses of each group against the rest, with {level} intervals, most first: {listed}. "
            "Filled marks are clear, open ones are not.",
            level=voice.percent(result.settings.level, 0),
            listed=joined(listed, "; "),
        ),
        axis=say("{newborns} lost beyond the rest's risk"),
        counts_heading=say("lost"),
        words=(say("clear"), say("not clear")),
    )


def _excess_told(voice: Voice, row: Row) -> str:
    """The excess of a group with its interval, and its counts."""
    excess, low, high = (voice.number(row[name], 0) for name in ("excess", "excess_low", "excess_high"))
    return voice.say(
        "{excess} more ({low} to {high}); lost {counts}",
        excess=excess,
        low=low,
        high=high,
        counts=voice.counts(row["events"], row["n"]),
    )


def tables(result: Groups, verdicts: Verdicts | None = None) -> tuple[Table, ...]:
    """The watch list; the rows always shown; how many were tried; levels; pairs beyond their levels; the model."""
    say, found = voice_of(result).say, settled(claims(result), result.settings, verdicts)
    groups, watch = judged(result.groups, found), watch_list(result, found)
    built = [_watch_table(result, watch)] if len(watch) else []
    always = judged(result.always, found)
    built += [*_two(result, "groups-always", say("Groups always shown"), always), _tried_table(result, watch)]
    single = groups[groups["with_factor"] == ""]
    if len(single):
        built += _two(result, "groups-levels", say("Every level of every factor"), single)
    built += _pairs_tables(result, groups)
    if result.adjusted is not None and _modelled(result, watch):
        built.append(_adjusted_table(result, result.adjusted))
    return tuple(built)


def _table(
    result: Groups, name: str, title: str, groups: pd.DataFrame, shown: Sequence[str], note: str = ""
) -> Table:
    """A table of groups that shows some of their columns; its CSV holds them all."""
    voice = voice_of(result)
    declared = risk_columns(voice, interval_heading(voice, result.settings.level))
    return Table(name, title, groups, shown_first(declared, shown, groups), note=note, printer=voice)


def _watch_table(result: Groups, watch: pd.DataFrame) -> Table:
    """The watch list, with the seasons in which each lost more."""
    voice = voice_of(result)
    shown = ("phrase", "deaths", "births", "excess", "seasons_more", "seasons_seen", "q")
    title = voice.say("Watch list for next season")
    return _table(result, "groups-watch", title, risk_rows(voice, watch.drop(columns="key")), shown)


def _two(result: Groups, name: str, title: str, groups: pd.DataFrame, note: str = "") -> list[Table]:
    """The same groups twice: their risks, then what they lost beyond the rest's risk and how strong the evidence is."""
    voice = voice_of(result)
    rows = risk_rows(voice, groups.drop(columns="key"))
    readings = zip(groups["verdict"], groups["excess"] > 0, strict=True)
    read = rows.assign(reading=[voice.say(READINGS[verdict][0 if more else 1]) for verdict, more in readings])
    risks, excess = voice.say("{title}: risks", title=title), voice.say("{title}: excess losses", title=title)
    return [
        _table(result, name, risks, rows, RISKS),
        _table(result, f"{name}-excess", excess, read, EXCESS, note),
    ]


def _pairs_tables(result: Groups, groups: pd.DataFrame) -> list[Table]:
    """Pairs that lost more, clearly or leaning, where there are any."""
    pairs = groups[groups["with_factor"] != ""]
    telling = pairs[pairs["verdict"].isin([Verdict.CLEAR, Verdict.LEANING]) & (pairs["excess"] > 0)]
    if telling.empty:
        return []
    voice = voice_of(result)
    note = voice.say(
        "The first {shown} of {telling} that lean or are clear, of {all} pairs tried. p is the largest of "
        "three: against the rest, and against the others of each of the two levels.",
        shown=voice.count(min(MOST_PAIRS, len(telling))),
        telling=voice.count(len(telling)),
        all=voice.count(len(pairs)),
    )
    title = voice.say("Two levels together that lose more than either accounts for")
    return _two(result, "groups-pairs", title, telling.head(MOST_PAIRS), note)


def _tried_table(result: Groups, watch: pd.DataFrame) -> Table:
    """Groups counted: levels and pairs that were tried, and levels too small to try."""
    voice, groups = voice_of(result), result.groups
    say, tried, single = voice.say, groups["tried"].astype(bool), groups["with_factor"] == ""
    rows = [
        (say("factors known at birth"), len(result.factors)),
        (say("levels tried"), int((single & tried).sum())),
        (say("levels too small to try"), int((single & ~tried).sum())),
        (say("pairs of levels tried"), int((~single & tried).sum())),
        (say("groups tried in all"), int(tried.sum())),
        (say("on the watch list"), len(watch)),
    ]
    frame = pd.DataFrame(rows, columns=["what", "n"])
    shown = (columns.text("what", say("What")), columns.count("n", say("Number")))
    return Table("groups-tried", say("How many groups were tried"), frame, shown, printer=voice)


def _adjusted_table(result: Groups, adjusted: Adjusted) -> Table:
    """The levels in the model, each beside the others; who is not in it stands in the note."""
    voice = voice_of(result)
    say = voice.say
    note = say(
        "{n} {newborns} with {events} losses are in the model, the stillborn with them; {left_out} are not, for want "
        "of an age or a level. A ratio of a model describes; it carries no verdict.",
        n=voice.count(adjusted.n),
        events=voice.count(adjusted.events),
        left_out=voice.count(adjusted.left_out),
    )
    rows = adjusted.groups.drop(columns="verdict").rename(
        columns={"group": "level", "estimate": "hazard_ratio"}
    )
    rows = rows.assign(phrase=[group_phrase(voice, row) for row in adjusted.groups.to_dict("records")])
    shown = (
        columns.text("phrase", say("Group")),
        columns.key("factor", say("Factor")),
        columns.key("level", say("Level")),
        columns.count("events", say("Lost")),
        columns.count("n", say("{newborns}")),
        columns.ratio("hazard_ratio", say("Hazard ratio, adjusted for the others")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "ratio"),
        columns.in_csv(columns.p("p", say("p"))),
        columns.key("note", say("Note")),
    )
    title = say("The top groups beside each other")
    return Table("groups-adjusted", title, rows, shown, note=note, printer=voice)


def method(result: Groups, verdicts: Verdicts | None = None) -> Method:
    """How the high-risk groups were found."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    factors = joined((factor_name(voice, factor) for factor in result.factors), ", ")
    return Method(
        method=(
            say(
                "Every level of every factor known at birth, and every two levels together, is held against "
                "all other {newborns} whose level is known. Excess losses are the losses less what the "
                "rest's risk would have given. Intervals and tests allow for litters. Where the records hold several "
                "seasons, each group is held against the rest of its own season (Mantel-Haenszel), and p is the larger "
                "of that and the one without seasons."
            ),
            say(
                "q is the share of false alarms to expect among the groups at or below it (Benjamini and Hochberg), "
                "counted over everything tried; {levels} of what is allowed goes to single levels, the rest to "
                "pairs. It asks only who lost more. A pair must also lose more than the rest of each of its two "
                "levels.",
                levels=voice.percent(TO_LEVELS, 0),
            ),
            say(
                "The list begins with the groups that are clear ten times over (q at most a tenth of what is "
                "allowed), then the other clear ones, then the rest; within each, most excess losses first."
            ),
            say(
                "The share drawn in is the group's share drawn towards the {herd}'s, by as much as a group "
                "of its size would swing by chance (beta-binomial empirical Bayes)."
            ),
            say(
                "The model is a Cox regression of the levels on the watch list, with errors by litter. "
                "{newborns} with a level missing are not in it; the suck reflex and birth weight are not, since they "
                "stand between the birth and its end."
            ),
            decided_within(voice, verdicts),
            say(
                "The suck reflex groups only {newborns} born alive and checked; nothing that happened later "
                "is used to form a group."
            ),
        ),
        settings=(
            say("Factors: {factors}.", factors=factors),
            say("Window: {window}.", window=_window(result)),
            say("Smallest group tried: {minimum} {newborns}.", minimum=voice.count(settings.minimum_group)),
            say(
                "False discoveries allowed: {share}.",
                share=voice.percent(settings.false_discovery_share, 0),
            ),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "A group that lost more is where losses were, not what caused them; groups overlap, so "
                "excess losses do not add up."
            ),
            say("Weights are of the {newborns} that were weighed, and those found dead are often not."),
        ),
        sources=(
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
            say("Rao JNK, Scott AJ (1992) Biometrics 48:577-585."),
            say("Newcombe RG (1998) Stat Med 17:873-890."),
            say("Mantel N, Haenszel W (1959) J Natl Cancer Inst 22:719-748."),
            say("Carlin BP, Louis TA (2000) Bayes and Empirical Bayes Methods for Data Analysis, chapter 3."),
            say("Lin DY, Wei LJ (1989) J Am Stat Assoc 84:1074-1078."),
        ),
    )

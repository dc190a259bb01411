"""Was colostrum in time and enough, did it reach the blood, and did it go with survival?

Timing and sources are told here; the amount in `colostrum_amount`, survival in `colostrum_effect` and
`colostrum_trial`, the blood in `colostrum_transfer` and `colostrum_transfer_shown`, what was tested of colostrum in
`colostrum_quality`. Records of samples or of colostrum without births have the last two alone.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from functools import lru_cache
from typing import Any

import pandas as pd

from neonatal_stats.chapters import colostrum_amount as amount
from neonatal_stats.chapters import colostrum_effect as effect
from neonatal_stats.chapters import colostrum_quality as quality
from neonatal_stats.chapters import colostrum_transfer as transfer
from neonatal_stats.chapters import colostrum_transfer_shown as transfer_shown
from neonatal_stats.chapters import colostrum_trial as trial
from neonatal_stats.chapters.counted.colostrum import Colostrum, Sources, Timing, claims, fed_at_a_time
from neonatal_stats.chapters.counted.colostrum import answer as count
from neonatal_stats.chapters.protocol import Headline, Verdicts, heed, interval_heading
from neonatal_stats.drawing import Figure, draw_time_to
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.ledger import settled
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, columns
from neonatal_stats.vocabulary.passive_transfer import ABSORBED_BY_AGE_H
from neonatal_stats.words import Method, Sentence, Verdict, Voice, cautions, joined, voice_of
from neonatal_stats.words.beside_published import beside_said, beside_tables
from neonatal_stats.words.evidence import dated
from neonatal_stats.words.group_tables import curve_table, group_columns, group_rows
from neonatal_stats.words.names import factor_in_short, label

ALONE = ("samples", "colostrum")
NAME = "colostrum"
TITLE = "Colostrum"
QUESTION = "Did our {newborns} get colostrum in time and enough, did it reach the blood, and did it go with survival?"

QUESTIONS_ALONE = {
    (True, False): "Did the colostrum reach the blood of our {newborns}?",
    (False, True): "Was the colostrum of our {dams} good?",
    (True, True): "Was the colostrum of our {dams} good, and did it reach the blood of our {newborns}?",
}
"""What is asked of records without births, by whether they hold blood samples and tests of colostrum."""
SOURCES = (
    "Anderson JR, Cain KC, Gelber RD (1983) Journal of Clinical Oncology 1:710-719 (landmarks).",
    "Cox DR (1972) Journal of the Royal Statistical Society B 34:187-220; Lin DY, Wei LJ (1989) Journal of "
    "the American Statistical Association 84:1074-1078 (errors by litter).",
    "VanderWeele TJ, Ding P (2017) Annals of Internal Medicine 167:268-274 (E-value).",
    "Hernan MA, Robins JM (2016) American Journal of Epidemiology 183:758-764 (imitated trials).",
    "Schoenfeld DA (1983) Biometrics 39:499-503 (deaths needed).",
    "Matte JJ et al. (1982) Journal of Dairy Science (absorption by age at the feed).",
)

SOURCE_OUTCOMES = {
    "late": "{factor}, {group}: {share} first feeds came after {mark}, against {versus_share} for {versus}. Who or "
    "what was chosen for which {newborn} is not known.",
    "low": "{factor}, {group}: {share} sampled stood in the lowest class, against {versus_share} for {versus}. Who or "
    "what was chosen for which {newborn} is not known.",
}


NO_SPECIES = (
    "Not answered: nothing says of which animals these samples are, and cut points differ between species; write it in "
    'a column species, or in the map under [fixed]: species = "sheep".'
)


def missing(season: Season) -> tuple[str, ...]:
    """Open with the time of one first feed of a newborn born alive, one feed or one blood sample."""
    births = season.births
    alive = births[~births["stillborn"]]
    if len(alive) and (
        fed_at_a_time(alive) or len(season.feeds) or len(season.samples) or len(season.colostrum)
    ):
        return ()
    if set(ALONE) & set(season.alone):
        return () if season.species else (voice_of(season).say(NO_SPECIES),)
    return (
        voice_of(season).say(
            "Not answered: no {newborn} born alive has the time of its first feed (fed_after_min), and "
            "there are no feeds and no blood samples. Times of first feeds open the timing; to judge "
            "whether late feeds went with death takes about 65 deaths with a known first feed where half "
            "fed late, more where few did."
        ),
    )


def question(result: Colostrum) -> str:
    """The question; of records without births only what samples and tests of colostrum can answer."""
    say = voice_of(result).say
    blood = bool(result.transfer) or len(result.without_cuts) > 0
    tested = bool(result.quality) or bool(result.without_mark)
    if result.alone and (blood or tested):
        return say(QUESTIONS_ALONE[blood, tested])
    return say(QUESTION)


def answer(season: Season) -> Colostrum:
    """The parts that the records open; `NotRecorded` where they open none."""
    heed(missing(season))
    return count(season)


def sentences(result: Colostrum, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """The answer in words, with the cautions where a reader might act."""
    voice, settings = voice_of(result), result.settings
    found = settled(claims(result), settings, verdicts)
    said: list[Sentence] = []
    if result.timing:
        said += _timing(result.timing, voice)
        hours = settings.marks.colostrum_h
        said.append(cautions.without_colostrum(voice, voice.age(hours[min(2, len(hours) - 1)])))
    if result.amount:
        said += amount.sentences(result.amount, voice, settings)
    if result.effect:
        seasons = result.effect_period
        of_all = effect.sentences(result.effect, voice, settings, seasons, found)
        said += (dated(voice, one, seasons, seasons) for one in of_all)
        said += trial.sentences(result.trial, voice, result.effect.until_h, settings, result.period)
    said += transfer.sentences(result.transfer, voice, settings, lead=result.alone)
    said += transfer.values_without_cuts(result.without_cuts, voice)
    said += quality.sentences(result, voice)
    said += (one for row in _with_band(result) for one in beside_said(voice, row))
    if result.sources:
        said += _sources(result.sources, voice, found)
    return tuple(said)


def tables(result: Colostrum) -> tuple[Table, ...]:
    """The tables of every part."""
    voice, settings = voice_of(result), result.settings
    built: list[Table] = []
    if result.timing:
        built += _timing_tables(result.timing, voice, settings)
    if result.amount:
        built += amount.tables(result.amount, voice, settings)
    if result.effect:
        built += effect.tables(result.effect, voice, settings)
        built += trial.tables(result.trial, voice, settings)
    built += transfer_shown.tables(result.transfer, voice, settings)
    built += transfer_shown.without_cuts_table(result.without_cuts, voice)
    built += quality.tables(result, voice)
    built += beside_tables(voice, "colostrum", *beside(result), interval_heading(voice, settings.level))
    if result.sources:
        built += _sources_tables(result.sources, voice, settings)
    return tuple(built)


def glance(result: Colostrum) -> tuple[Headline, ...]:
    """Enough colostrum, of those whose amount is known; and absorbed, of those whose blood was classed."""
    voice = voice_of(result)
    enough = amount.glance(result.amount, voice, result.settings) if result.amount else ()
    return (*enough, *transfer.glance(result.transfer, voice, result.settings))


@lru_cache(maxsize=1)  # as in the losses
def beside(result: Colostrum) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Failed passive transfer beside what was published; two frames as `measures.beside_published`."""
    return transfer.beside(result.transfer, result.species, result.settings)


def _with_band(result: Colostrum) -> list[dict[Hashable, Any]]:
    shares, _ = beside(result)
    rows: list[dict[Hashable, Any]] = shares[shares["verdict"] != ""].to_dict("records")
    return rows


def figures(result: Colostrum) -> tuple[Figure, ...]:
    """The figures of every part."""
    voice, settings = voice_of(result), result.settings
    drawn: list[Figure] = []
    if result.timing:
        drawn += _timing_figures(result.timing, voice, settings)
    if result.effect:
        drawn += effect.figures(result.effect, voice, settings)
    if result.amount:
        drawn += amount.figures(result.amount, voice, settings)
    drawn += transfer_shown.figures(result.transfer, voice)
    drawn += quality.figures(result, voice)
    return tuple(drawn)


def _timing(result: Timing, voice: Voice) -> Iterator[Sentence]:
    """How many were observed, and the share fed by each mark, death first counted."""
    text = voice.say(
        "The first feed, or a death before it, is written down for {observed} {newborns} born alive; for "
        "{unseen} nobody can tell.",
        observed=voice.count(result.observed),
        unseen=voice.count(result.unseen),
    )
    yield Sentence(text)
    known = result.marks[result.marks["share"].notna()]
    for row in known.to_dict("records"):
        text = voice.say(
            "By {mark}, {share} had fed and {died} had died before a first feed.",
            mark=voice.age(row["age_h"]),
            share=f"{voice.percent(row['share'])} ({voice.percent_range(row['low'], row['high'])})",
            died=voice.percent(row["died_first"]),
        )
        yield Sentence(text, lead=row["age_h"] == known["age_h"].iloc[0])


def _timing_tables(result: Timing, voice: Voice, settings: Settings) -> list[Table]:
    """Fed by each mark; late first feeds by group."""
    built = [_marks(result, voice, settings)]
    if len(result.groups):
        built.append(_late_groups(result, voice, settings))
    return built


def _marks(result: Timing, voice: Voice, settings: Settings) -> Table:
    """Share of newborns born alive that had fed by each mark, and how many stood in which state at it."""
    say = voice.say
    return Table(
        "colostrum-timing",
        say("First feed by age"),
        result.marks,
        (
            columns.age("age_h", say("By age")),
            columns.share("share", say("Fed")),
            columns.interval("low", "high", interval_heading(voice, settings.level)),
            columns.share("died_first", say("Died before a first feed")),
            columns.count("met", say("Seen fed by then")),
            columns.count("not met", say("Seen not fed by then")),
            columns.count("died before it was due", say("Died before then, nothing written")),
            columns.count("not observed", say("Not observed")),
        ),
        note=say(
            "Shares of {newborns} born alive, death before a first feed counted: {observed} followed, {unseen} "
            "without a first feed written down.",
            observed=voice.count(result.observed),
            unseen=voice.count(result.unseen),
        ),
        printer=voice,
    )


def _late_groups(result: Timing, voice: Voice, settings: Settings) -> Table:
    """Fed later than the mark, of those known at it, group by group; against the group it is held against."""
    say, interval = voice.say, interval_heading(voice, settings.level)
    return Table(
        "colostrum-late-groups",
        say("First feed later than {mark}, by group", mark=voice.age(result.late_h)),
        group_rows(voice, result.groups),
        group_columns(voice, interval, say("Later"), say("Known")),
        note=say("q allows for the number of comparisons in this table. Association only."),
        printer=voice,
    )


def _timing_figures(result: Timing, voice: Voice, settings: Settings) -> list[Figure]:
    """Cumulative incidence of the first feed against the trade's marks."""
    if result.curve.empty:
        return []
    say, marks = voice.say, settings.marks.colostrum_h
    absorbed = (say("absorbed of the IgG fed at that age, % (Matte 1982)"), ABSORBED_BY_AGE_H)
    said = "; ".join(
        say("by {mark} {share}", mark=voice.age(row["age_h"]), share=voice.percent(row["share"]))
        for row in result.marks.to_dict("records")
    )
    return [
        draw_time_to(
            {say("fed"): result.curve},
            horizon_h=marks[-1],
            marks_h=marks,
            printer=voice,
            name="colostrum-timing",
            title=say("Age at first feed"),
            alt=say(
                "Share of {newborns} born alive that had fed by each age, death first counted: {list}.",
                list=said,
            ),
            axis=say("fed, % of {newborns} born alive"),
            age_axis=say("age, hours since birth"),
            waiting=say("waiting"),
            reference=absorbed if voice.species == "cattle" else None,
        )
    ]


def curves(result: Colostrum) -> tuple[Table, ...]:
    """Share that had fed by each age: for other programs."""
    if result.timing is None or result.timing.curve.empty:
        return ()
    voice = voice_of(result)
    title, level = voice.say("Age at first feed"), result.settings.level
    return (curve_table(voice, "colostrum-timing-curve", title, result.timing.curve, {}, level),)


def _sources(result: Sources, voice: Voice, verdicts: Verdicts) -> Iterator[Sentence]:
    """The groups that clearly differ, or that none does."""
    groups = judged(result.groups, verdicts)
    tried = int(groups["verdict"].isin([one for one in Verdict if one is not Verdict.TOO_FEW]).sum())
    clear = groups[groups["verdict"] == Verdict.CLEAR]
    if tried and clear.empty:
        text = voice.say(
            "Of {tried} comparisons of sources and people, none differs clearly.", tried=voice.count(tried)
        )
        yield Sentence(text, Verdict.NO_CLEAR)
    for row in clear.sort_values("p", kind="stable").to_dict("records"):
        text = voice.say(
            SOURCE_OUTCOMES[row["outcome"]],
            factor=factor_in_short(voice, row["factor"]),
            group=label(voice, row["group"]),
            share=voice.counts(row["events"], row["n"]),
            versus=label(voice, row["versus"]),
            versus_share=voice.counts(row["events_versus"], row["n_versus"]),
            mark=voice.age(result.late_h),
        )
        yield Sentence(text, Verdict.CLEAR, claim=row["key"])
    if set(groups.loc[groups["factor"] == "source", "group"]) - {"dam"}:
        yield cautions.other_colostrum(voice)


def _sources_tables(result: Sources, voice: Voice, settings: Settings) -> list[Table]:
    """First feeds that came late, or were followed by a low sample, by source and person."""
    if result.groups.empty:
        return []
    say, groups, interval = voice.say, result.groups, interval_heading(voice, settings.level)
    kinds = {
        "late": say("first feed after {mark}", mark=voice.age(result.late_h)),
        "low": say("lowest serum class"),
    }
    note = say(
        "{tried} comparisons tried. People and sources are not dealt {newborns} by chance: whoever feeds "
        "the weak ones looks worse.",
        tried=voice.count(int(groups["q"].notna().sum())),
    )
    return [
        Table(
            "colostrum-sources",
            say("First feeds by source and person"),
            group_rows(voice, groups).assign(kind=groups["outcome"].map(kinds)),
            (
                columns.text("kind", say("Outcome"), raw="outcome"),
                *group_columns(voice, interval, say("Count"), say("Of")),
            ),
            note=note,
            printer=voice,
        )
    ]


def method(result: Colostrum) -> Method:
    """Method, settings, limits and sources."""
    if result.alone:
        return Method(tuple(_how_alone(result)), (), _limits(result)[:1], _cuts(result))
    return Method(_how(voice_of(result)), _settings(result), _limits(result), _literature(result))


CLASSED = (
    "Passive transfer: first sample of each {newborn} inside the source's window, classed by published cut points; "
    "others are set aside with the reason."
)
SMOOTHED = "Serum result against age at first feed: natural cubic spline, errors by litter."
ALL_TOGETHER = (
    "Group comparisons carry q-values; what is called clear is decided over all comparisons of the page."
)
TESTS = "Colostrum: each test is held against the mark of its species; groups are described and not compared."
WILSON = "Shares: Wilson score interval on the number divided by the design effect of {litters} (Rao & Scott 1992)."


def _how_alone(result: Colostrum) -> Iterator[str]:
    """How the numbers of records without births came about: of what stands on their page alone."""
    say = voice_of(result).say
    if result.transfer:
        yield say(CLASSED)
    if any(len(one.curve) for one in result.transfer):
        yield say(SMOOTHED)
    if result.quality:
        yield say(TESTS)
    if result.transfer or result.quality:
        yield say(WILSON)


def _how(voice: Voice) -> tuple[str, ...]:
    say = voice.say
    return (
        say(
            "Timing: cumulative incidence of the first feed with death before it competing; intervals "
            "clustered on the litter."
        ),
        say(
            "Survival: {newborns} are never grouped from birth by when they were fed. Landmarks count from "
            "the mark on, among those alive and watched at it; hour by hour, each is unfed until its first "
            "feed and fed from then on (Cox regression with Efron ties, stratified by season, errors by litter). A "
            "death known only to lie between two checks counts in parts at each of its likely ages, given how many "
            "others were still unfed then."
        ),
        say(
            'A {newborn} of which no feed was written is missing, whatever became of it; "not by" a time is '
            "written, and up to its death means that it died unfed. A table shows the answer with blank feeds taken "
            "as fed, as unfed, and weighed for (inverse probability of being written down, by fate and suck reflex), "
            "and with deaths placed earliest and latest between two checks; the verdict is that of the weakest. "
            "With the deaths of the next hours left out, since a dying {newborn} does not feed, the answer must "
            "point the same way."
        ),
        say(
            "Allowed for: weak or absent suck reflex, birth weight, difficult delivery and litter size, "
            "where written down for most. The E-value says how strong a weakness not in the records would "
            "have to be."
        ),
        say(
            "What if: every {newborn} starts in both arms, leaves an arm when its feeding no longer fits "
            "it, and those who stay are weighted by the chance of staying, given what was known at birth; "
            "intervals from resampled litters."
        ),
        joined((say(CLASSED), say(SMOOTHED), say(ALL_TOGETHER))),
    )


def _settings(result: Colostrum) -> tuple[str, ...]:
    voice, marks = voice_of(result), result.settings.marks
    say = voice.say
    return (
        say(
            "Marks (common practice, all adjustable): {marks}; {share} of body weight by {by}; calves {ml} "
            "ml at the first feed.",
            marks=", ".join(voice.age(mark) for mark in marks.colostrum_h),
            share=voice.percent(marks.colostrum_share_of_weight, 0),
            by=voice.age(marks.colostrum_amount_by_h),
            ml=voice.count(marks.calf_first_feed_ml),
        ),
        say(
            "Share of IgG absorbed by age at the feed, calves given 2 l: {absorbed} (Matte 1982).",
            absorbed=", ".join(
                f"{voice.age(age)} {voice.percent(share)}" for age, share in ABSORBED_BY_AGE_H.items()
            ),
        ),
    )


def _limits(result: Colostrum) -> tuple[str, ...]:
    say = voice_of(result).say
    limits = [
        say("These figures show association in one farm's records, not proof of cause."),
        say(
            "Were those that died unfed written down less often (or more often) than the others, late feeding would "
            'look better (or worse) than it is: write "not by" and the time for one that died unfed.'
        ),
        say("Weakness that shows itself only after birth is not allowed for."),
        trial.assumptions(voice_of(result)),
    ]
    return tuple(limits)


def _literature(result: Colostrum) -> tuple[str, ...]:
    return (*(voice_of(result).say(text) for text in SOURCES), *_cuts(result))


def _cuts(result: Colostrum) -> tuple[str, ...]:
    """Where the cut points are from."""
    cuts = dict.fromkeys(one.classed.scheme.source for one in result.transfer)
    return tuple(voice_of(result).say(text) for text in cuts)

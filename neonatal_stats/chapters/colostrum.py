"""Was colostrum in time and enough, did it reach the blood, and did it matter for survival?

Timing, amount and sources are told here; survival in `colostrum_effect`, the blood in `colostrum_transfer`.
"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters import colostrum_effect as effect
from neonatal_stats.chapters import colostrum_transfer as transfer
from neonatal_stats.chapters.counted.colostrum import Colostrum, Sources, Timing, answer, fed_at_a_time
from neonatal_stats.chapters.counted.colostrum_amount import (
    BY_WEIGHT,
    FIRST_FEED,
    IGG_MASS,
    SMALL_FEED,
    Amount,
)
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.curves import draw_time_to
from neonatal_stats.drawing.points import draw_dose
from neonatal_stats.measures.milestones import STATES
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printing
from neonatal_stats.vocabulary.passive_transfer import ABSORBED_BY_AGE_H, BRIX_TO_IGG, CALF_IGG_MASS_G
from neonatal_stats.words import Method, Sentence, Verdict, Voice, cautions
from neonatal_stats.words.group_rows import FORMATS, factor_label, group_headings, group_rows
from neonatal_stats.words.labels import label

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Colostrum",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]

NAME = "colostrum"

TITLE = "Colostrum"

QUESTION = "Did our {newborns} get colostrum in time and enough, did it reach the blood, and did it go with survival?"

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
    "late": "{factor}, {group}: {share} first feeds came after {mark}, against {versus_share} for "
    "{versus} (q {q}, of {tried} comparisons tried). Who or what was chosen for which {newborn} is not "
    "known.",
    "low": "{factor}, {group}: {share} sampled stood in the lowest class, against {versus_share} for "
    "{versus} (q {q}, of {tried} comparisons tried). Who or what was chosen for which {newborn} is not "
    "known.",
}


def missing(season: Season) -> tuple[str, ...]:
    """Open with the time of one first feed of a newborn born alive, one feed or one blood sample."""
    births = season.births
    alive = births[~births["stillborn"].fillna(False).astype(bool)]
    if len(alive) and (fed_at_a_time(alive) or len(season.feeds) or len(season.samples)):
        return ()
    return (
        voice_of(season).say(
            "Not answered: no {newborn} born alive has the time of its first feed (fed_after_min), and "
            "there are no feeds and no blood samples. Times of first feeds open the timing; to judge "
            "whether late feeds went with death takes about 65 deaths with a known first feed where half "
            "fed late, more where few did."
        ),
    )


def sentences(result: Colostrum) -> tuple[Sentence, ...]:
    """The answer in words, with the cautions where a reader might act."""
    voice, settings = voice_of(result), result.settings
    said: list[Sentence] = []
    if result.timing:
        said += _timing(result.timing, voice)
        hours = settings.marks.colostrum_h
        said.append(cautions.without_colostrum(voice, printing.age(hours[min(2, len(hours) - 1)])))
    if result.amount:
        said += _amount(result.amount, voice, settings)
    if result.effect:
        said += effect.sentences(result.effect, voice, settings)
        said += effect.trial_sentences(result.trial, voice, result.effect.until_h, settings)
    said += transfer.sentences(result.transfer, voice)
    if result.sources:
        said += _sources(result.sources, voice, settings)
    return tuple(said)


def tables(result: Colostrum) -> tuple[Table, ...]:
    """The tables of every part."""
    voice, settings = voice_of(result), result.settings
    built: list[Table] = []
    if result.timing:
        built += _timing_tables(result.timing, voice, settings)
    if result.amount:
        built += _amount_tables(result.amount, voice, settings)
    if result.effect:
        built += effect.tables(result.effect, voice, settings)
        built += effect.trial_tables(result.trial, voice, settings)
    built += transfer.tables(result.transfer, voice, settings)
    if result.sources:
        built += _sources_tables(result.sources, voice, settings)
    return tuple(built)


def figures(result: Colostrum) -> tuple[Figure, ...]:
    """The figures of every part."""
    voice, settings = voice_of(result), result.settings
    drawn: list[Figure] = []
    if result.timing:
        drawn += _timing_figures(result.timing, voice, settings)
    if result.effect:
        drawn += effect.figures(result.effect, voice, settings)
    if result.amount:
        drawn += _amount_figures(result.amount, voice, settings)
    drawn += transfer.figures(result.transfer, voice)
    return tuple(drawn)


def _timing(result: Timing, voice: Voice) -> Iterator[Sentence]:
    """How many were observed, and the share fed by each mark, death first counted."""
    text = voice.say(
        "The first feed, or a death before it, is written down for {observed} {newborns} born alive; for "
        "{unseen} nobody can tell.",
        observed=printing.count(result.observed),
        unseen=printing.count(result.unseen),
    )
    yield Sentence(text)
    known = result.marks[result.marks["share"].notna()]
    for row in known.to_dict("records"):
        text = voice.say(
            "By {mark}, {share} had fed and {died} had died before a first feed.",
            mark=printing.age(row["age_h"]),
            share=f"{printing.percent(row['share'])} ({printing.percent_range(row['low'], row['high'])})",
            died=printing.percent(row["died_first"]),
        )
        yield Sentence(text, lead=row["age_h"] == known["age_h"].iloc[0])


def _timing_tables(result: Timing, voice: Voice, settings: Settings) -> list[Table]:
    """Fed by each mark; late first feeds by group."""
    built = [_marks(result, voice, settings)]
    if len(result.groups):
        built.append(_late_groups(result, voice, settings))
    return built


def _marks(result: Timing, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    headings = {
        "age_h": say("By age"),
        "share": say("Fed"),
        "interval": interval_heading(voice, settings.level),
        "died_first": say("Died before a first feed"),
        "met": say("Seen fed by then"),
        "not met": say("Seen not fed by then"),
        "died before it was due": say("Died before then, nothing written"),
        "not observed": say("Not observed"),
    }
    formats = {"age_h": "age", "share": "share", "died_first": "share", **dict.fromkeys(STATES, "count")}
    note = say(
        "Shares of {newborns} born alive, death before a first feed counted: {observed} followed, {unseen} "
        "without a first feed written down.",
        observed=printing.count(result.observed),
        unseen=printing.count(result.unseen),
    )
    return Table("colostrum-timing", say("First feed by age"), result.marks, headings, formats, note)


def _late_groups(result: Timing, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    frame = group_rows(voice, result.groups)
    headings = group_headings(voice, interval_heading(voice, settings.level), say("Later"), say("Known"))
    title = say("First feed later than {mark}, by group", mark=printing.age(result.late_h))
    note = say("q allows for the number of comparisons in this table. Association only.")
    return Table("colostrum-late-groups", title, frame, headings, FORMATS, note)


def _timing_figures(result: Timing, voice: Voice, settings: Settings) -> list[Figure]:
    """Cumulative incidence of the first feed against the trade's marks."""
    if result.curve.empty:
        return []
    say, marks = voice.say, settings.marks.colostrum_h
    absorbed = (say("absorbed of the IgG fed at that age (Matte 1982)"), ABSORBED_BY_AGE_H)
    said = "; ".join(
        say("by {mark} {share}", mark=printing.age(row["age_h"]), share=printing.percent(row["share"]))
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


def _amount(result: Amount, voice: Voice, settings: Settings) -> Iterator[Sentence]:
    """Targets met, of those measured, with the caution about tubing."""
    for row in result.met[result.met["n"] > 0].to_dict("records"):
        met = printing.share_of(row["events"], row["n"], row["low"], row["high"])
        yield Sentence(_target_met(row["target"], met, voice, settings))
    yield cautions.tubing(voice)


def _target_met(target: str, met: str, voice: Voice, settings: Settings) -> str:
    """One target and who met it: common practice, or for the IgG mass of a calf published guidance."""
    say, marks = voice.say, settings.marks
    if target == BY_WEIGHT:
        return say(
            "Of the {newborns} with every feed measured and a birth weight, {met} were given {target} of their "
            "weight by {by} (common practice). Suckling that nobody measured is not in these figures.",
            met=met,
            target=printing.percent(marks.colostrum_share_of_weight, 0),
            by=printing.age(marks.colostrum_amount_by_h),
        )
    if target == FIRST_FEED:
        return say(
            "Of the first feeds with a volume, {met} were at least {volume} ml (common practice for calves).",
            met=met,
            volume=printing.count(marks.calf_first_feed_ml),
        )
    if target == SMALL_FEED:
        return say(
            "Of the first feeds with a volume, {met} were at least {volume} ml; even so small a first feed "
            "helps (common practice).",
            met=met,
            volume=printing.count(marks.small_first_feed_ml),
        )
    return say(
        "Of the {newborns} with an IgG mass, {met} were given at least {target} g of IgG by then.",
        met=met,
        target=printing.count(CALF_IGG_MASS_G[0]),
    )


def _amount_tables(result: Amount, voice: Voice, settings: Settings) -> list[Table]:
    """Targets met; the spread of ml/kg."""
    say, marks = voice.say, settings.marks
    names = {
        BY_WEIGHT: say(
            "{share} of body weight by {by}",
            share=printing.percent(marks.colostrum_share_of_weight, 0),
            by=printing.age(marks.colostrum_amount_by_h),
        ),
        FIRST_FEED: say("first feed of {ml} ml or more", ml=printing.count(marks.calf_first_feed_ml)),
        SMALL_FEED: say("first feed of {ml} ml or more", ml=printing.count(marks.small_first_feed_ml)),
        IGG_MASS: say("{g} g of IgG or more", g=printing.count(CALF_IGG_MASS_G[0])),
    }
    headings = {"what": say("Target"), "events": say("Met"), "n": say("Measured"), "share": say("Share")}
    headings["interval"] = interval_heading(voice, settings.level)
    formats = {"events": "count", "n": "count", "share": "share"}
    frame = result.met.assign(what=result.met["target"].map(names))
    note = say(
        "Only feeds written down with a volume; {unmeasured} {newborns} fed by then lack a volume or a "
        "birth weight.",
        unmeasured=printing.count(result.unmeasured),
    )
    return [
        Table("colostrum-amount", say("How much was given"), frame, headings, formats, note),
        _spread(result, voice, settings),
    ]


def _spread(result: Amount, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    rows = []
    for name, column in ((say("ml per kg of body weight"), "ml_per_kg"), (say("IgG, g"), "igg_g")):
        values = result.intake[column].dropna()
        if len(values):
            q = values.quantile([0, 0.25, 0.5, 0.75, 1]).to_numpy()
            rows.append({"what": name, "n": len(values), **dict(zip("abcde", q, strict=True))})
    headings = {
        "what": say("By {by}", by=printing.age(settings.marks.colostrum_amount_by_h)),
        "n": say("{newborns}"),
    }
    quarters = (say("Least"), say("Lower quarter"), say("Median"), say("Upper quarter"), say("Most"))
    headings |= dict(zip("abcde", quarters, strict=True))
    formats = {"n": "count", **dict.fromkeys("abcde", "number")}
    conversion = BRIX_TO_IGG.get(result.species)
    note = ""
    if conversion is not None:
        note = say(
            "IgG from Brix where it was not measured: {slope} x Brix - {less} g/l ({source}); single "
            "samples may be tens of g/l away.",
            slope=printing.number(conversion.slope, 2),
            less=printing.number(-conversion.intercept, 2),
            source=say(conversion.source),
        )
    columns = ["what", "n", *"abcde"]
    return Table(
        "colostrum-intake", say("Amounts given"), pd.DataFrame(rows, columns=columns), headings, formats, note
    )


def _amount_figures(result: Amount, voice: Voice, settings: Settings) -> list[Figure]:
    """Volume against weight with the target line."""
    if len(result.intake) < 5:
        return []
    say, marks = voice.say, settings.marks
    met = result.met.iloc[0]
    return [
        draw_dose(
            result.intake["weight_kg"].to_numpy(float),
            result.intake["volume_ml"].to_numpy(float),
            1000 * marks.colostrum_share_of_weight,
            printer=voice,
            name="colostrum-amount",
            title=say(
                "Colostrum given by {by} and birth weight", by=printing.age(marks.colostrum_amount_by_h)
            ),
            alt=say(
                "One dot a {newborn}; the line is {share} of body weight, reached by {met}.",
                share=printing.percent(marks.colostrum_share_of_weight, 0),
                met=printing.share_of(met["events"], met["n"], met["low"], met["high"]),
            ),
            weight_axis=say("birth weight, kg"),
            volume_axis=say("given by {by}, ml", by=printing.age(marks.colostrum_amount_by_h)),
            line=say("{share} of body weight", share=printing.percent(marks.colostrum_share_of_weight, 0)),
        )
    ]


def _sources(result: Sources, voice: Voice, settings: Settings) -> Iterator[Sentence]:
    """The groups that stand out once the number tried is allowed for, or that none does."""
    tried = int(result.groups["q"].notna().sum())
    clear = result.groups[result.groups["q"] <= settings.false_discovery_share]
    if tried and clear.empty:
        text = voice.say(
            "Of {tried} comparisons of sources and people, no clear difference is left once the number tried is "
            "allowed for.",
            tried=printing.count(tried),
        )
        yield Sentence(text, Verdict.NO_CLEAR)
    for row in clear.sort_values("q", kind="stable").to_dict("records"):
        text = voice.say(
            SOURCE_OUTCOMES[row["outcome"]],
            factor=factor_label(voice, row["factor"]),
            group=label(voice, row["group"]),
            share=printing.counts(row["events"], row["n"]),
            versus=label(voice, row["versus"]),
            versus_share=printing.counts(row["events_versus"], row["n_versus"]),
            mark=printing.age(result.late_h),
            q=printing.p_value(row["q"]),
            tried=printing.count(tried),
        )
        yield Sentence(text, Verdict.CLEAR)
    others = set(result.groups.loc[result.groups["factor"] == "source", "group"]) - {"dam"}
    if others:
        yield cautions.other_colostrum(voice)


def _sources_tables(result: Sources, voice: Voice, settings: Settings) -> list[Table]:
    """First feeds by source and person."""
    if result.groups.empty:
        return []
    say, groups = voice.say, result.groups
    kinds = {
        "late": say("first feed after {mark}", mark=printing.age(result.late_h)),
        "low": say("lowest serum class"),
    }
    frame = group_rows(voice, groups).assign(kind=groups["outcome"].map(kinds))
    interval = interval_heading(voice, settings.level)
    headings = {"kind": say("Outcome"), **group_headings(voice, interval, say("Count"), say("Of"))}
    note = say(
        "{tried} comparisons tried. People and sources are not dealt {newborns} by chance: whoever feeds "
        "the weak ones looks worse.",
        tried=printing.count(int(groups["q"].notna().sum())),
    )
    return [
        Table("colostrum-sources", say("First feeds by source and person"), frame, headings, FORMATS, note)
    ]


def method(result: Colostrum) -> Method:
    """Method, settings, limits and sources."""
    return Method(_how(voice_of(result)), _settings(result), _limits(result), _literature(result))


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
            "feed and fed from then on (Cox regression with Efron ties, errors by litter). A death known "
            "only to lie between two rounds counts in parts at each of its likely ages, given how many "
            "others were still unfed then; a table shows how far placing it elsewhere moves the answer."
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
        say(
            "Passive transfer: first sample of each {newborn} inside the source's window, classed by "
            "published cut points; others are set aside with the reason. Serum result against age at first "
            "feed: natural cubic spline, errors by litter. Group comparisons carry q-values."
        ),
    )


def _settings(result: Colostrum) -> tuple[str, ...]:
    say, marks = voice_of(result).say, result.settings.marks
    return (
        say(
            "Marks (common practice, all adjustable): {marks}; {share} of body weight by {by}; calves {ml} "
            "ml at the first feed.",
            marks=", ".join(printing.age(mark) for mark in marks.colostrum_h),
            share=printing.percent(marks.colostrum_share_of_weight, 0),
            by=printing.age(marks.colostrum_amount_by_h),
            ml=printing.count(marks.calf_first_feed_ml),
        ),
        say(
            "Share of IgG absorbed by age at the feed, calves given 2 l: {absorbed} (Matte 1982).",
            absorbed=", ".join(
                f"{printing.age(age)} {printing.percent(share)}" for age, share in ABSORBED_BY_AGE_H.items()
            ),
        ),
    )


def _limits(result: Colostrum) -> tuple[str, ...]:
    say = voice_of(result).say
    limits = [
        say("These figures show association in one farm's records, not proof of cause."),
        say(
            "A {newborn} that died early with no feed written down is taken as unfed; were feeds of those "
            "that died written down less often than those of the others, late feeding would look worse than "
            "it is."
        ),
        say("Weakness that shows itself only after birth is not allowed for."),
        effect.assumptions(voice_of(result)),
    ]
    return tuple(limits)


def _literature(result: Colostrum) -> tuple[str, ...]:
    cuts = tuple(dict.fromkeys(one.classed.scheme.source for one in result.transfer))
    return tuple(voice_of(result).say(text) for text in (*SOURCES, *cuts))

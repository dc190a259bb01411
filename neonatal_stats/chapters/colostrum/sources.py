"""Does the source of the colostrum, or who fed it, go with late first feeds or low serum results?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.colostrum.transfer import Transfer
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.measures.compared import compared
from neonatal_stats.measures.intake import first_feeds
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printing
from neonatal_stats.vocabulary.terms import FEED_SOURCES
from neonatal_stats.words import Sentence, Verdict, Voice, cautions
from neonatal_stats.words import colostrum as words
from neonatal_stats.words.group_rows import FORMATS, factor_label, group_headings, group_rows
from neonatal_stats.words.labels import label

FACTORS: dict[str, str | None] = {"source": None, "person": None}


@dataclass(frozen=True, eq=False)
class Sources:
    """First feeds by source and person: ``groups`` of `measures.compared` with an ``outcome`` (late, low), q
    over all.
    """

    groups: pd.DataFrame
    late_h: float


def sources(
    births: pd.DataFrame,
    feeds: pd.DataFrame,
    transfer: tuple[Transfer, ...],
    late_h: float,
    settings: Settings,
) -> Sources | None:
    """Compare first feeds by source and person; None where neither was written down."""
    first = first_feeds(feeds)
    if not any(factor in first and first[factor].notna().any() for factor in FACTORS):
        return None
    first = first.assign(cluster=first["newborn"].map(births.set_index("newborn")["cluster"]))
    if "source" in first:
        kinds = pd.Categorical(first["source"].astype(object), list(FEED_SOURCES), ordered=True)
        first = first.assign(source=kinds)
    first["late"] = (first["age_h"] > late_h).astype("boolean")
    outcomes = ["late"]
    if transfer:
        low = transfer[0].classed.samples.set_index("newborn")["group"]
        worst = transfer[0].classed.scheme.classes[-1]
        sampled = first["newborn"].map(low.astype(object))
        first["low"] = (sampled == worst).astype("boolean").where(sampled.notna())
        outcomes.append("low")
    parts = [
        compared(first, FACTORS, outcome, level=settings.level, minimum=settings.minimum_group).assign(
            outcome=outcome
        )
        for outcome in outcomes
    ]
    return Sources(pd.concat(parts, ignore_index=True), late_h)


def sentences(result: Sources, voice: Voice, settings: Settings) -> Iterator[Sentence]:
    """The groups that stand out once the number tried is allowed for, or that none does."""
    tried = int(result.groups["q"].notna().sum())
    clear = result.groups[result.groups["q"] <= settings.false_discovery_share]
    if tried and clear.empty:
        yield Sentence(words.no_source_sentence(voice, printing.count(tried)), Verdict.NO_CLEAR)
    for row in clear.sort_values("q", kind="stable").to_dict("records"):
        text = words.source_sentence(
            voice,
            row["outcome"],
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


def tables(result: Sources, voice: Voice, settings: Settings) -> list[Table]:
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

"""The first hours in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from neonatal_stats.chapters.first_hours.result import FirstHours
from neonatal_stats.measures.milestones import STATES
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence, Verdict, cautions
from neonatal_stats.words import first_hours as words
from neonatal_stats.words.comparisons import Compared, compare_groups
from neonatal_stats.words.labels import ANYTHING_DONE, phrase


def sentences(result: FirstHours) -> tuple[Sentence, ...]:
    """The answer in words."""
    return (*_met(result), *_risks(result), *_behind(result), *_resuscitation(result))


def _met(result: FirstHours) -> Iterator[Sentence]:
    for row in result.states.to_dict("records"):
        if row["key"] == "standing_late":
            continue
        yield Sentence(
            words.met_sentence(
                result.voice,
                check=words.check_label(result.voice, row["key"], result.settings.marks),
                met=printing.share_of(row["events"], row["n"], row["low"], row["high"]),
                unseen=printing.count(row[STATES[3]]),
                dead=printing.count(row[STATES[2]]),
            )
        )


def _risks(result: FirstHours) -> Iterator[Sentence]:
    voice, settings = result.voice, result.settings
    if len(result.predictors):
        yield Sentence(words.losses_sentence(voice, result.window))
    for row in result.predictors.to_dict("records"):
        pair = Compared(
            group=words.not_met_phrase(voice, row["key"], settings.marks),
            versus=voice.say("those that had met this mark"),
            events=row["events"],
            n=row["n_failed"],
            events_versus=row["events_passed"],
            n_versus=row["n_passed"],
            estimate=row["ratio"],
            low=row["ratio_low"],
            high=row["ratio_high"],
            p=row["p"],
        )
        yield compare_groups(voice, pair, minimum_group=settings.minimum_group, level=settings.level)


def _behind(result: FirstHours) -> Iterator[Sentence]:
    tried = result.behind["q"].notna().sum()
    if not tried:
        return
    clear = result.behind[result.behind["q"] <= result.settings.false_discovery_share]
    clear = clear[clear["ratio"] > 1]
    if clear.empty:
        yield Sentence(words.no_group_sentence(result.voice, printing.count(tried)), Verdict.NO_CLEAR)
    for row in clear.sort_values(["q", "key"], kind="stable").head(4).to_dict("records"):
        yield Sentence(_group(result, row, tried), Verdict.CLEAR)


def _group(result: FirstHours, cells: dict[Any, Any], tried: int) -> str:
    return words.group_sentence(
        result.voice,
        check=words.check_label(result.voice, cells["key"], result.settings.marks),
        group=phrase(result.voice, cells["factor"], cells["group"]),
        share=printing.counts(cells["events"], cells["n"]),
        versus=phrase(result.voice, cells["factor"], cells["versus"]),
        versus_share=printing.counts(cells["events_versus"], cells["n_versus"]),
        q=printing.p_value(cells["q"]),
        tried=printing.count(tried),
    )


def _resuscitation(result: FirstHours) -> Iterator[Sentence]:
    rows = {row["action"]: row for row in result.resuscitation.to_dict("records")}
    if ANYTHING_DONE not in rows:
        return
    done = rows[ANYTHING_DONE]
    rest = rows.get("none")
    yield Sentence(
        words.resuscitation_sentence(
            result.voice,
            treated=printing.count(done["done"]),
            lost=printing.counts(done["events"], done["n"]),
            rest=printing.counts(0, 0) if rest is None else printing.counts(rest["events"], rest["n"]),
            window=result.window,
        )
    )
    yield cautions.resuscitation(result.voice)

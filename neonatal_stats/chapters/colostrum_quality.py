"""Colostrum quality told: what was tested, beside the mark; by the dam's litters, the hour of milking, the source."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.colostrum_transfer import counts_by_group
from neonatal_stats.chapters.colostrum_transfer_shown import measure_label
from neonatal_stats.chapters.counted.colostrum import REACHED, Colostrum, Quality
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Figure, draw_rates
from neonatal_stats.measures.rates import each_row, too_small
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Sentence, Voice, joined
from neonatal_stats.words.names import label

MEASURES = {"igg_g_per_l": "colostrum IgG (g/l)", "brix_pct": "colostrum Brix (%)"}
IN_COLOSTRUM = {"igg_g_per_l": "IgG (g/l)", "brix_pct": "Brix (%)"}
"""The same where colostrum is spoken of already."""
GROUPED = {
    "parity_class": "{litters} of the {dam}",
    "milked": "Hours from birth to milking",
    "source": "Source of the colostrum",
}
DRUNK = {
    True: "{newborns} whose tested colostrum reached the mark",
    False: "{newborns} whose tested colostrum was under it",
}
ON_PAGE, BESIDE = 10, 3
"""Tests that stand on the page, of records without births and beside births; all of them stand in the workbook."""


def sentences(result: Colostrum, voice: Voice) -> Iterator[Sentence]:
    """How much of what was tested reached the mark, by group, and beside the blood of those that drank it."""
    for one in result.quality:
        row = one.reached.iloc[0]
        name = voice.say(IN_COLOSTRUM[one.mark.measure])
        yield Sentence(
            voice.say(
                "Of the colostrum tested by {measure}, {part} reached {mark} ({level} interval {interval}).",
                measure=name,
                part=voice.counts(row["events"], row["n"]),
                mark=voice.number(one.mark.least),
                level=voice.percent(result.settings.level, 0),
                interval=voice.percent_range(row["low"], row["high"]),
            ),
            lead=result.alone and one is result.quality[0],
        )
        yield from _by_group(one, name, voice)
        yield from _drunk(one, voice)
    for measure in result.without_mark:
        text = voice.say(
            "{measure} was tested, and no mark of {dams} is at hand for it.",
            measure=voice.say(MEASURES[measure]),
        )
        yield Sentence(text)


def _by_group(one: Quality, name: str, voice: Voice) -> Iterator[Sentence]:
    if listed := counts_by_group(voice, one.groups, lambda factor: voice.say(GROUPED[factor])):
        text = voice.say(
            "Reached the mark by {measure}, by group, described and not compared: {listed}.",
            measure=name,
            listed=listed,
        )
        yield Sentence(text)


def _drunk(one: Quality, voice: Voice) -> Iterator[Sentence]:
    if one.drunk.empty:
        return
    listed = (
        voice.say(
            "{who}: {part}",
            who=voice.say(DRUNK[row["drank"] == REACHED]),
            part=voice.part_of(row["events"], row["n"]),
        )
        for row in one.drunk.to_dict("records")
    )
    text = voice.say(
        "In the lowest class by {serum}: {listed}. How much each drank, and when, is not in this.",
        serum=measure_label(voice, one.serum),
        listed=joined(listed, "; "),
    )
    yield Sentence(text)


def figures(result: Colostrum, voice: Voice) -> Iterator[Figure]:
    """The share that reached the mark, of all and by group, where there are no births to be drawn."""
    for one in result.quality if result.alone else ():
        name = voice.say(IN_COLOSTRUM[one.mark.measure])
        rows = _rows(one, voice, result.settings.minimum_group)
        yield draw_rates(
            rows,
            printer=voice,
            name=f"colostrum-quality-{one.mark.measure.split('_')[0]}",
            title=voice.say("Colostrum that reached the mark, by {measure}", measure=name),
            alt=voice.say(
                "Share of the colostrum tested that reached {mark}: {listed}.",
                mark=voice.number(one.mark.least),
                listed=joined(
                    (f"{row.label} {voice.part_of(row.events, row.n)}" for row in each_row(rows)), "; "
                ),
            ),
            axis=voice.say("reached {mark}, % of the colostrum tested", mark=voice.number(one.mark.least)),
        )


def _rows(one: Quality, voice: Voice, minimum: int) -> pd.DataFrame:
    """All of it, then the groups under their headings; a group too small is counted only."""
    whole = one.reached.assign(label=voice.say("all tested"), heading="", quiet=False)
    groups = one.groups.assign(
        label=[label(voice, group) for group in one.groups["group"]],
        heading=[voice.say(GROUPED[factor]) for factor in one.groups["factor"]],
        quiet=too_small(one.groups, minimum) if len(one.groups) else False,
    )
    return pd.concat([whole, groups], ignore_index=True) if len(groups) else whole


def tables(result: Colostrum, voice: Voice) -> Iterator[Table]:
    """Shares by group; the blood of those that drank it; each test, where lists of animals are wanted."""
    for one in result.quality:
        measure = one.mark.measure.split("_")[0]
        yield _groups(one, measure, result, voice)
        if len(one.drunk):
            yield _drunk_table(one, measure, result, voice)
        if result.settings.animal_lists:
            yield _list(one, measure, voice, ON_PAGE if result.alone else BESIDE)


def _groups(one: Quality, measure: str, result: Colostrum, voice: Voice) -> Table:
    say = voice.say
    whole = one.reached.assign(factor="", group="all", of=say("All tested"), name="")
    groups = one.groups.assign(
        of=[say(GROUPED[factor]) for factor in one.groups["factor"]],
        name=[label(voice, group) for group in one.groups["group"]],
    )
    return Table(
        f"colostrum-quality-{measure}",
        say("Colostrum that reached the mark, by {measure}", measure=say(IN_COLOSTRUM[one.mark.measure])),
        (pd.concat([whole, groups], ignore_index=True) if len(groups) else whole).assign(mark=one.mark.least),
        (
            columns.text("of", say("By"), raw="factor"),
            columns.text("name", say("Group"), raw="group"),
            columns.count("events", say("Reached the mark")),
            columns.count("n", say("Tested")),
            columns.share("share", say("Share")),
            columns.interval("low", "high", interval_heading(voice, result.settings.level)),
            columns.number("mark", say("The mark")),
        ),
        note=say("Mark: {source}. Described, not compared.", source=say(one.mark.source)),
        printer=voice,
    )


def _drunk_table(one: Quality, measure: str, result: Colostrum, voice: Voice) -> Table:
    say = voice.say
    return Table(
        f"colostrum-drunk-{measure}",
        say("Blood of those whose colostrum was tested"),
        one.drunk.assign(name=[say(DRUNK[drank == REACHED]) for drank in one.drunk["drank"]]),
        (
            columns.text("name", say("Of"), raw="drank"),
            columns.count("events", say("Lowest class")),
            columns.count("n", say("Sampled")),
            columns.share("share", say("Share")),
            columns.interval("low", "high", interval_heading(voice, result.settings.level)),
        ),
        printer=voice,
    )


def _list(one: Quality, measure: str, voice: Voice, on_page: int) -> Table:
    """Each test, the weakest first, with the dam and the newborn that drank it."""
    say = voice.say
    tests = one.tests.sort_values(["value", "dam_id", "newborn_id"], kind="stable", ignore_index=True)
    frame = tests.assign(
        parity=tests["dam_parity"].astype(float),
        dam=tests["dam_id"].where(tests["dam_id"].notna(), ""),
        drunk_by=tests["newborn_id"].where(tests["newborn_id"].notna(), ""),
        from_where=[label(voice, one) if pd.notna(one) else "" for one in tests["source"]],
        beside=[say("reached") if reached else say("under") for reached in tests["event"]],
    )
    return Table(
        f"colostrum-tests-{measure}",
        say("Each colostrum tested, by {measure}", measure=say(IN_COLOSTRUM[one.mark.measure])),
        frame,
        (
            columns.text("dam", say("{Dam}")),
            columns.number("parity", say("{litters} of the {dam}"), digits=0),
            columns.number("hours", say("Milked after"), unit="h"),
            columns.text("from_where", say("Source"), raw="source"),
            columns.number("value", say(MEASURES[one.mark.measure])),
            columns.text("beside", say("The mark"), raw="event"),
            columns.text("drunk_by", say("Drunk by")),
        ),
        on_page=on_page,
        own_sheet=True,
        printer=voice,
    )

"""How much colostrum was given, out of the feeds that were written down, against what is common practice."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.counted.colostrum import Amount
from neonatal_stats.chapters.protocol import Headline, interval_heading
from neonatal_stats.drawing import Figure, draw_dose
from neonatal_stats.measures.colostrum import BY_WEIGHT, FIRST_BY_WEIGHT, FIRST_FEED, IGG_MASS, SMALL_FEED
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, columns
from neonatal_stats.vocabulary.passive_transfer import BRIX_TO_IGG, CALF_IGG_MASS_G, LARGE_CALF_FEED_L
from neonatal_stats.words import Sentence, Voice, cautions, joined

QUARTERS = {
    "least": "Least",
    "lower_quarter": "Lower quarter",
    "median": "Median",
    "upper_quarter": "Upper quarter",
    "most": "Most",
}
"""Columns that tell how values spread, with their headings."""
MIDDLES = "medians of tenths of the {newborns}, with the middle half"
"""Words for a picture of too many newborns for a dot each."""


def quarters(values: pd.Series) -> dict[str, float]:
    """Least, lower quarter, median, upper quarter and most of the values, under the names of `QUARTERS`."""
    found = values.quantile([0, 0.25, 0.5, 0.75, 1]).to_numpy()
    return dict(zip(QUARTERS, map(float, found), strict=True))


def sentences(result: Amount, voice: Voice, settings: Settings) -> Iterator[Sentence]:
    """Targets met, of those measured, with the caution about tubing."""
    for row in result.met[result.met["n"] > 0].to_dict("records"):
        met = voice.share_of(row["events"], row["n"], row["low"], row["high"])
        yield Sentence(_target_met(row["target"], met, voice, settings))
    yield cautions.tubing(voice, settings.marks)


def _target_met(target: str, met: str, voice: Voice, settings: Settings) -> str:
    """One target and who met it: common practice, or for the IgG mass of a calf published guidance."""
    say, marks = voice.say, settings.marks
    if target == BY_WEIGHT:
        return say(
            "Of the {newborns} with every feed measured and a birth weight, {met} were given {target} of their "
            "weight by {by} (common practice). Suckling that nobody measured is not in these figures.",
            met=met,
            target=voice.percent(marks.colostrum_share_of_weight, 0),
            by=voice.age(marks.colostrum_amount_by_h),
        )
    if target == FIRST_FEED:
        return say(
            "Of the first feeds with a volume, {met} were at least {volume} ml, the least for a calf (common "
            "practice).",
            met=met,
            volume=voice.count(marks.calf_first_feed_ml),
        )
    if target == FIRST_BY_WEIGHT:
        return say(
            "Of the first feeds of weighed calves, {met} were at least {share} of their weight, as is common for large "
            "dairy calves ({low} to {high} litres; common practice).",
            met=met,
            share=voice.percent(marks.colostrum_share_of_weight, 0),
            **_litres(voice),
        )
    if target == SMALL_FEED:
        return say(
            "Of the first feeds with a volume, {met} were at least {volume} ml; even so small a first feed "
            "helps (common practice).",
            met=met,
            volume=voice.count(marks.small_first_feed_ml),
        )
    return say(
        "Of the {newborns} with an IgG mass, {met} were given at least {target} g of IgG by then.",
        met=met,
        target=voice.count(CALF_IGG_MASS_G[0]),
    )


def _litres(voice: Voice) -> dict[str, str]:
    """What large dairy calves are commonly given at the first feed."""
    low, high = LARGE_CALF_FEED_L
    return {"low": voice.count(low), "high": voice.count(high)}


def glance(result: Amount, voice: Voice, settings: Settings) -> tuple[Headline, ...]:
    """The first target of which anything is known, as a share of those measured; none without one."""
    rows = result.met[result.met["n"] > 0].to_dict("records")
    return tuple(
        Headline(
            "enough",
            voice.say("Enough colostrum: {target}", target=_targets(voice, settings)[row["target"]]),
            voice.counts(row["events"], row["n"]),
            *(float(row[name]) for name in ("events", "n", "share", "low", "high")),
        )
        for row in rows[:1]
    )


def tables(result: Amount, voice: Voice, settings: Settings) -> list[Table]:
    """Targets met, of those measured; the spread of what was given."""
    say, names = voice.say, _targets(voice, settings)
    amounts = Table(
        "colostrum-amount",
        say("How much was given"),
        result.met.assign(what=result.met["target"].map(names)),
        (
            columns.text("what", say("Target"), raw="target"),
            columns.count("events", say("Met")),
            columns.count("n", say("Measured")),
            columns.share("share", say("Share")),
            columns.interval("low", "high", interval_heading(voice, settings.level)),
        ),
        note=joined(filter(None, (_unmeasured(result, voice), _of_calves(result, voice)))),
        printer=voice,
    )
    return [amounts, _spread(result, voice, settings)]


def _unmeasured(result: Amount, voice: Voice) -> str:
    return voice.say(
        "Only feeds written down with a volume; {unmeasured} {newborns} fed by then lack a volume or a birth weight.",
        unmeasured=voice.count(result.unmeasured),
    )


def _of_calves(result: Amount, voice: Voice) -> str:
    """Why a calf's first feed is held against two marks; "" for others."""
    if FIRST_BY_WEIGHT not in set(result.met["target"]):
        return ""
    return voice.say(
        "The volume is the least for a calf; large dairy calves are commonly given {low} to {high} litres at the first "
        "feed.",
        **_litres(voice),
    )


def _targets(voice: Voice, settings: Settings) -> dict[str, str]:
    """The targets as they stand in a table."""
    say, marks = voice.say, settings.marks
    return {
        BY_WEIGHT: say(
            "{share} of body weight by {by}",
            share=voice.percent(marks.colostrum_share_of_weight, 0),
            by=voice.age(marks.colostrum_amount_by_h),
        ),
        FIRST_FEED: say("first feed of {ml} ml or more", ml=voice.count(marks.calf_first_feed_ml)),
        FIRST_BY_WEIGHT: say(
            "first feed of {share} of body weight or more",
            share=voice.percent(marks.colostrum_share_of_weight, 0),
        ),
        SMALL_FEED: say("first feed of {ml} ml or more", ml=voice.count(marks.small_first_feed_ml)),
        IGG_MASS: say("{g} g of IgG or more", g=voice.count(CALF_IGG_MASS_G[0])),
    }


def _spread(result: Amount, voice: Voice, settings: Settings) -> Table:
    """Least, quarters and most of what was given, per newborn with every feed measured and weighed."""
    say, rows = voice.say, []
    for name, column in ((say("ml per kg of body weight"), "ml_per_kg"), (say("IgG, g"), "igg_g")):
        values = result.intake[column].dropna()
        if len(values):
            rows.append({"what": name, "measure": column, "n": len(values), **quarters(values)})
    by = say("By {by}", by=voice.age(settings.marks.colostrum_amount_by_h))
    return Table(
        "colostrum-intake",
        say("Amounts given"),
        pd.DataFrame(rows, columns=["what", "measure", "n", *QUARTERS]),
        (
            columns.text("what", by, raw="measure"),
            columns.count("n", say("{newborns}")),
            *(columns.number(name, say(heading)) for name, heading in QUARTERS.items()),
        ),
        note=_from_brix(result, voice),
        printer=voice,
    )


def _from_brix(result: Amount, voice: Voice) -> str:
    """How IgG was worked out from Brix, where the species has an equation."""
    conversion = BRIX_TO_IGG.get(result.species)
    if conversion is None:
        return ""
    return voice.say(
        "IgG from Brix where it was not measured: {slope} x Brix - {less} g/l ({source}); single "
        "samples may be tens of g/l away.",
        slope=voice.number(conversion.slope, 2),
        less=voice.number(-conversion.intercept, 2),
        source=voice.say(conversion.source),
    )


def figures(result: Amount, voice: Voice, settings: Settings) -> list[Figure]:
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
            title=say("Colostrum given by {by} and birth weight", by=voice.age(marks.colostrum_amount_by_h)),
            alt=say(
                "Given by {by} against birth weight: {share} of body weight was reached by {met} of the {newborns}.",
                by=voice.age(marks.colostrum_amount_by_h),
                share=voice.percent(marks.colostrum_share_of_weight, 0),
                met=voice.share_of(met["events"], met["n"], met["low"], met["high"]),
            ),
            weight_axis=say("birth weight, kg"),
            volume_axis=say("given by {by}, ml", by=voice.age(marks.colostrum_amount_by_h)),
            line=say("{share} of body weight", share=voice.percent(marks.colostrum_share_of_weight, 0)),
            reached=(say("reached it"), say("did not reach it")),
            middles=say(MIDDLES),
        )
    ]

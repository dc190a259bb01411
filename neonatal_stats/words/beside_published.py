"""A season's shares beside published ones, in words and tables: `measures.beside_published` told.

Where a share lies is no verdict on the keeper, and is said to be none.
"""

from __future__ import annotations

import math
import re
from collections.abc import Hashable, Iterator, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.measures.yardstick import ABOVE, BELOW, CANNOT_SAY, WITHIN
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.printing import NOT_KNOWN
from neonatal_stats.vocabulary.published import ALL_KINDS, BORN, BORN_DEAD, FAILED_TRANSFER, LOST
from neonatal_stats.words.evidence import Sentence
from neonatal_stats.words.names import window_label
from neonatal_stats.words.voice import Voice, joined

Row = Mapping[Hashable, Any]

BESIDE_SAID = {
    BELOW: "{what}: {share}, below the band of published {herd}s ({band} in {studies}).",
    WITHIN: "{what}: {share}, within the band of published {herd}s ({band} in {studies}).",
    ABOVE: "{what}: {share}, above the band of published {herd}s ({band} in {studies}).",
    CANNOT_SAY: "{what}: {share}; chance leaves open whether that is below, within or above the band of published "
    "{herd}s ({band} in {studies}).",
}
LIES_WORDS = {BELOW: "below", WITHIN: "within", ABOVE: "above", CANNOT_SAY: "cannot say"}
"""Where a share lies, as it stands in a table."""
NO_VERDICT = (
    "That is no verdict on the keeper: published {herd}s differ from this one, and from one another, in breed, "
    "weather, care and in what they counted."
)
SHARES_NAMED = {
    (LOST, True): "Lost by {age}, of all born",
    (LOST, False): "Lost by {age}, of those born alive",
    (BORN_DEAD, True): "Born dead",
    (FAILED_TRANSFER, False): "Failed passive transfer",
}


def beside_said(voice: Voice, row: Row) -> tuple[Sentence, ...]:
    """Where one share lies beside the band, what was counted differently, and that it is no verdict."""
    said = voice.say(
        BESIDE_SAID[str(row["verdict"])],
        what=share_name(voice, row),
        share=voice.share_of(row["events"], row["n"], row["low"], row["high"])
        if math.isclose(row["share"], row["events"] / row["n"])
        else voice.say(
            "{share} ({interval})",
            share=voice.percent(row["share"]),
            interval=voice.percent_range(row["low"], row["high"]),
        ),
        band=voice.percent_range(row["band_low"], row["band_high"]),
        studies=studies_said(voice, row["studies"]),
    )
    apart = (
        [voice.say("Counted differently: {what}.", what=told)] if (told := differences(voice, row)) else []
    )
    return (Sentence(said), Sentence(joined([*apart, voice.say(NO_VERDICT)]), goes_on=True))


def studies_said(voice: Voice, n: float) -> str:
    """How many studies a band rests on."""
    return voice.say("one study") if n == 1 else voice.say("{n} studies", n=voice.count(n))


def share_name(voice: Voice, row: Row) -> str:
    """What a share is of: "Lost by 7 d, of all born"."""
    age = window_label(voice, row["window"], float(row["window_h"]))
    return voice.say(SHARES_NAMED[str(row["outcome"]), row["of"] == BORN], age=age)


def kind_name(voice: Voice, kind: str) -> str:
    """The kind of flock or herd that a band is of."""
    return voice.say("every kind") if kind == ALL_KINDS else voice.say(kind)


def differences(voice: Voice, row: Row) -> str:
    """What the published figures counted otherwise than these records; "" where nothing is known to differ."""
    return "; ".join(_differences(voice, row))


def _differences(voice: Voice, row: Row) -> Iterator[str]:
    first, last = float(row["from_h"]), float(row["to_h"])
    if row["outcome"] == BORN_DEAD and last > 0:
        yield voice.say("some count deaths up to {age} as born dead", age=voice.age(last))
    if row["outcome"] == FAILED_TRANSFER:
        yield voice.say("their tests and cut points differ")
    if row["outcome"] == LOST and not math.isnan(first) and (first, last) != (row["window_h"],) * 2:
        yield voice.say("they count by {ages}", ages=ages(voice, first, last))


def ages(voice: Voice, first_h: float, last_h: float) -> str:
    """The ages by which sources count: "5 d", "5 to 10 d"."""
    return voice.age(first_h) if first_h == last_h else voice.age_span(first_h, last_h)


def beside_tables(
    voice: Voice, name: str, rows: pd.DataFrame, figures: pd.DataFrame, interval: str
) -> Iterator[Table]:
    """One row a share with its band, verdict and target; then the figures that were read; nothing without any.

    Parameters
    ----------
    name : the chapter's; the tables are `<name>-beside` and `<name>-published`.
    interval : the heading of an interval.
    """
    if rows.empty:
        return
    yield _shares_table(voice, f"{name}-beside", rows, interval)
    if not figures.empty:
        yield _figures_table(voice, f"{name}-published", rows, figures)


def _shares_table(voice: Voice, name: str, rows: pd.DataFrame, interval: str) -> Table:
    say, told = voice.say, rows.to_dict("records")
    frame = rows.assign(
        what=[share_name(voice, row) for row in told],
        of_kind=[kind_name(voice, row["kind"]) if row["kind"] else "" for row in told],
        lies=[_lies(voice, row["verdict"]) for row in told],
        aimed=[_lies(voice, row["against"]) for row in told],
        differ=[differences(voice, row) for row in told],
    )
    return Table(
        name,
        say("Beside published figures"),
        frame,
        (
            columns.text("what", say("Share"), raw="key"),
            columns.counts("events", "n", say("Counted")),
            columns.share("share", say("This season")),
            columns.interval("low", "high", interval),
            columns.interval("band_low", "band_high", say("Band of published {herd}s")),
            columns.count("studies", say("Studies")),
            columns.text("lies", say("This season lies"), raw="verdict"),
            columns.interval("single_low", "single_high", say("Single {herd}s")),
            columns.text("of_kind", say("Kind"), raw="kind"),
            columns.text("differ", say("Counted differently")),
            columns.share("target", say("Own target")),
            columns.text("aimed", say("Against the target"), raw="against"),
        ),
        note=joined([say(BAND_HOW), say(NO_VERDICT)]),
        printer=voice,
    )


def _lies(voice: Voice, verdict: str) -> str:
    return voice.say(LIES_WORDS[verdict]) if verdict else NOT_KNOWN


BAND_HOW = (
    "The band runs from the lowest to the highest average of the studies; single {herd}s lie further apart. Below, "
    "within and above are said where the whole interval lies there, each share by itself: it is no part of the "
    "decision over the page's comparisons."
)


def _figures_table(voice: Voice, name: str, rows: pd.DataFrame, figures: pd.DataFrame) -> Table:
    say, named = voice.say, {row["key"]: share_name(voice, row) for row in rows.to_dict("records")}
    told = figures.to_dict("records")
    frame = figures.assign(
        what=[named[row["key"]] for row in told],
        who=[published_text(voice, row, "source") for row in told],
        ends=[say(SPREADS_NAMED[row["spread"]]) if row["spread"] in SPREADS_NAMED else "" for row in told],
        unit=[say(row["counted_in"]) for row in told],
        when=[published_text(voice, row, "year") for row in told],
        where=[published_text(voice, row, "region") for row in told],
        meant=[published_text(voice, row, "definition") for row in told],
        of_kind=[say("not named") if row["kind"] == ALL_KINDS else say(row["kind"]) for row in told],
    )
    return Table(
        name,
        say("The published figures, and who gives them"),
        frame,
        (
            columns.text("what", say("Read beside"), raw="key"),
            columns.text("who", say("Source"), raw="source"),
            columns.text("meant", say("What was counted"), raw="definition"),
            columns.share("middle", say("Share")),
            columns.interval("low", "high", say("Lowest to highest")),
            columns.text("ends", say("Ends of"), raw="spread"),
            columns.count("n", say("Number")),
            columns.text("unit", say("counted in"), raw="counted_in"),
            columns.text("of_kind", say("Kind"), raw="kind"),
            columns.text("when", say("Year"), raw="year"),
            columns.text("where", say("Region"), raw="region"),
            columns.key("own", say("From the settings")),
        ),
        printer=voice,
    )


SPREADS_NAMED = {
    "years": "years",
    "countries": "countries",
    "quartiles": "the middle half",
    "flocks": "flocks",
    "herds": "herds",
    "sites and years": "sites and years",
    "interval": "its interval",
}


def published_text(voice: Voice, row: Row, column: str) -> str:
    """A cell of the published table in the language spoken; the reader's own text, and a year, as they are."""
    text = str(row[column])
    return text if row["own"] or not re.search("[a-z]", text) else voice.say(text)

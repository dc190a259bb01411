"""Is that bad: the share that page one speaks of beside the band of published flocks and the keeper's own target.

No band and no target, no comment. Where a share lies is no verdict on the keeper, and page one says so.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from neonatal_stats.chapters.protocol import MAIN
from neonatal_stats.drawing.glyphs import Between, placed
from neonatal_stats.measures.beside_published import foremost
from neonatal_stats.measures.windows import END
from neonatal_stats.measures.yardstick import ABOVE, BELOW, CANNOT_SAY, WITHIN
from neonatal_stats.report.review import Review
from neonatal_stats.tables.printing import IN_DAYS_FROM_H
from neonatal_stats.vocabulary.published import ALL_KINDS, BORN, BORN_DEAD, HOUR_TARGETS, LOST
from neonatal_stats.words import Voice, joined
from neonatal_stats.words.beside_published import differences, kind_name, published_text, studies_said
from neonatal_stats.words.plain import frequency, old, out_of, whole

Row = Mapping[Hashable, Any]


@dataclass(frozen=True, eq=False)
class Beside:
    """The yardstick of page one: a small picture, the band and where the season lies, the keeper's target, and behind
    a fold what was counted differently and who published what.
    """

    mark: str
    band: str
    target: str
    no_verdict: str
    sources: tuple[str, ...]


def beside_page_one(review: Review) -> Beside | None:
    """The yardstick of page one; None where there is neither a band nor a target."""
    shares, figures = _losses(review)
    row, aim = foremost(shares), _aimed(shares)
    if row is None and aim is None:
        return None
    voice = review.voice
    band = _band(review, row) if row is not None else ""
    target = _target(review, aim) if aim is not None else ""
    drawn = row if row is not None else aim
    assert drawn is not None
    return Beside(
        _mark(drawn, aim, " ".join(filter(None, (band, target)))),
        band,
        target,
        voice.say(NO_VERDICT) if row is not None and row["verdict"] != CANNOT_SAY else "",
        tuple(_sources(voice, row, figures)) if row is not None else (),
    )


NO_VERDICT = (
    "No verdict on the keeper: they differ from this {herd} in breed, weather, care and what they counted."
)


def _losses(review: Review) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The losses beside published ones, and the figures read."""
    found = next((one.beside for one in review.sections if one.name == "losses"), None)
    return found if found is not None else (pd.DataFrame(columns=["verdict", "against"]), pd.DataFrame())


def _aimed(shares: pd.DataFrame) -> Row | None:
    """The loss with a target that page one leads with: the last early window that has one, else the first of all."""
    rows = shares[shares["against"] != ""].to_dict("records")
    early = [row for row in rows if row["window"] not in ("", END)]
    return early[-1] if early else next(iter(rows), None)


OWN_SHARE = {
    True: "Of all born, {n} were lost by {age}.",
    False: "Of those born alive, {n} were lost by {age}.",
}
BANDS = {
    "lead": "{herds}: on average {band} by about that age ({studies}).",
    "lost": "{herds}: on average {band} by {ages} ({studies}).",
    "born dead": "{herds}: on average {band} born dead ({studies}).",
}
"""The band of the loss that page one leads with, of another loss, of those born dead."""
LIES = {
    BELOW: "This season lies below.",
    WITHIN: "This season lies within.",
    ABOVE: "This season lies above.",
    CANNOT_SAY: "Chance leaves open where this season lies.",
}


def _band(review: Review, row: Row) -> str:
    """The band in natural frequencies and where the season lies; first the share itself, where it is not the number."""
    voice, of = review.voice, out_of([row["band_low"], row["band_high"]])
    leads = _leads(review, row)
    told = voice.say(
        BANDS["lead" if leads else str(row["outcome"])],
        herds=_herds(voice, row, review.season.settings.kind),
        band=_ends(voice, row["band_low"], row["band_high"], of),
        ages=_ages(voice, row["from_h"], row["to_h"]),
        studies=studies_said(voice, row["studies"]),
    )
    said = [told, voice.say(LIES[row["verdict"]])]
    if not leads and row["outcome"] == LOST:
        n, age = frequency(voice, row["share"], of), old(voice, row["window_h"])
        said.insert(0, voice.say(OWN_SHARE[row["of"] == BORN], n=n, age=age))
    return joined(said)


def _ages(voice: Voice, first_h: float, last_h: float) -> str:
    """The ages by which the studies count, in spoken words: "5 to 10 days"."""
    if first_h == last_h:
        return old(voice, last_h)
    first = voice.count(first_h / 24) if first_h >= IN_DAYS_FROM_H else old(voice, first_h)
    return voice.say("{first} to {last}", first=first, last=old(voice, last_h))


def _leads(review: Review, row: Row) -> bool:
    """Is it the loss that page one and the keeper's sheet lead with?"""
    same = math.isclose(row["share"], review.glance[MAIN].share) and row["n"] == review.glance[MAIN].n
    return bool(row["of"] == BORN and row["outcome"] == LOST and same)


def _herds(voice: Voice, row: Row, kind: str) -> str:
    """Whose figures they are: of the kind set, or of every kind where that was set and is not in the table."""
    if row["kind"] != ALL_KINDS or kind:
        return voice.say("Published {herd}s ({kind})", kind=kind_name(voice, row["kind"]))
    return voice.say("Published {herd}s")


def _ends(voice: Voice, low: float, high: float, of: int) -> str:
    return voice.say(
        "{low} to {high} in {all}",
        low=whole(voice, low, of),
        high=whole(voice, high, of),
        all=voice.count(of),
    )


AIMED = {
    BELOW: "Your own target: {n}. This season lies below it.",
    ABOVE: "Your own target: {n}. This season lies above it.",
    CANNOT_SAY: "Your own target: {n}. Chance leaves open whether it was met.",
}
AIMED_BY = {
    BELOW: "Your own target: {n} by {age}. This season lies below it.",
    ABOVE: "Your own target: {n} by {age}. This season lies above it.",
    CANNOT_SAY: "Your own target: {n} by {age}. Chance leaves open whether it was met.",
}


def _target(review: Review, row: Row) -> str:
    """The keeper's own target for a loss, and whether it was met, by the interval."""
    voice = review.voice
    n = frequency(voice, row["target"], out_of([row["target"]]))
    if row["outcome"] == BORN_DEAD:
        return voice.say(AIMED[row["against"]], n=voice.say("{n} born dead", n=n))
    if _leads(review, row):
        return voice.say(AIMED[row["against"]], n=n)
    return voice.say(AIMED_BY[row["against"]], n=n, age=old(voice, row["window_h"]))


def _mark(row: Row, aim: Row | None, words: str) -> str:
    """The season over the band; the target only where it is of the same share."""
    same = aim is not None and aim["key"] == row["key"]
    band = (float(row["band_low"]), float(row["band_high"]))
    found = Between(float(row["share"]), float(row["low"]), float(row["high"]))
    return placed(found, band, target=float(row["target"]) if same else math.nan, words=words)


def _sources(voice: Voice, row: Row, figures: pd.DataFrame) -> Iterator[str]:
    """What was counted differently; then each figure with its source, number and definition."""
    if told := differences(voice, row):
        yield voice.say("Counted differently: {what}.", what=told)
    if not math.isnan(row["single_high"]):
        single = voice.percent_range(row["single_low"], row["single_high"])
        yield voice.say("Single {herd}s lie further apart: {single}.", single=single)
    for one in figures[figures["key"] == row["key"]].to_dict("records"):
        yield voice.say(
            "{source}: {figure}; {definition}; {n} {unit}, {region}.",
            source=published_text(voice, one, "source"),
            figure=_figure(voice, one),
            definition=published_text(voice, one, "definition"),
            n=voice.count(one["n"]),
            unit=voice.say(str(one["counted_in"])),
            region=published_text(voice, one, "region"),
        )


def _figure(voice: Voice, one: Row) -> str:
    if math.isnan(one["middle"]):
        return voice.percent_range(one["low"], one["high"])
    return voice.percent(one["middle"])


def own_target(review: Review, key: str) -> float:
    """The keeper's own target for a mark of the first hours, by the key of its figure; NaN where there is none."""
    named = next((name for name, mark in HOUR_TARGETS.items() if mark == key), "")
    return review.season.settings.targets.get(named, math.nan)


KEEPER_BESIDE = {
    BELOW: "Allowing for chance: {low} to {high}; fewer than in published {herd}s.",
    WITHIN: "Allowing for chance: {low} to {high}; published {herd}s alike.",
    ABOVE: "Allowing for chance: {low} to {high}; more than in published {herd}s, which is no verdict.",
}


def range_for_keeper(review: Review, low: str, high: str) -> str:
    """The range of the loss for the keeper, and where it lies beside published ones, if that can be said of it."""
    shares, _ = _losses(review)
    row = foremost(shares)
    if row is None or row["verdict"] not in KEEPER_BESIDE or not _leads(review, row):
        return review.voice.say("Allowing for chance: {low} to {high}.", low=low, high=high)
    return review.voice.say(KEEPER_BESIDE[row["verdict"]], low=low, high=high)

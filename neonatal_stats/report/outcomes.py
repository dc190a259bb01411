"""What must be known of the outcomes before a number is used: those left open, read with a doubt, unmatched."""

from __future__ import annotations

from collections.abc import Iterator

from neonatal_stats.report.review import Review
from neonatal_stats.words.plain import HUNDRED, whole
from neonatal_stats.words.problems import heard


def outcomes_said(review: Review) -> tuple[str, ...]:
    """Sentences for the top of the page; none where every outcome was read as it was written."""
    remarks = (heard(review.voice, remark) for remark in review.season.outcome_remarks)
    return (*_both_readings(review), *_unmatched(review), *remarks)


def open_in_short(review: Review) -> str:
    """How many outcomes of the season under review are open, for the keeper; "" where none is."""
    voice, (open_ones, lost, born) = review.voice, _open(review)
    if not open_ones:
        return ""
    return voice.say(
        "What became of {n} more is not written down. Had they died, {share} in {all} would be lost.",
        n=voice.count(open_ones),
        share=whole(voice, (lost + open_ones) / born),
        all=voice.count(HUNDRED),
    )


def _open(review: Review) -> tuple[int, int, int]:
    """Newborns of the season under review: with an open outcome, lost, and all of both kinds."""
    season = review.season
    rows = season.undecided[season.undecided["season"].astype(str) == review.focus]
    open_ones = int(rows["not_written"].sum() + rows["not_readable"].sum())
    return open_ones, int(review.births["lost"].sum()), len(review.births) + open_ones


def _both_readings(review: Review) -> Iterator[str]:
    """The loss of the season under review had all whose outcome is open lived, and had all died.

    Counted: births of that season whose outcome is not written or cannot be read; they stand in no other figure.
    """
    voice, season = review.voice, review.season
    rows = season.undecided[season.undecided["season"].astype(str) == review.focus]
    unwritten, unread = int(rows["not_written"].sum()), int(rows["not_readable"].sum())
    if not unwritten + unread:
        return
    _, lost, born = _open(review)
    yield voice.say(
        "The outcome of {n} {newborns} is open: not written for {unwritten}, not readable for {unread}. They are in no "
        "figure of this page. Had all of them lived, the loss would be {low}; had all died, {high}.",
        n=voice.part_of(unwritten + unread, born),
        unwritten=voice.count(unwritten),
        unread=voice.count(unread),
        low=voice.counts(lost, born),
        high=voice.counts(lost + unwritten + unread, born),
    )


def _unmatched(review: Review) -> Iterator[str]:
    """Deaths that were told and belong to no newborn of the records."""
    if review.season.unmatched_deaths:
        yield review.voice.say(
            "Deaths that were told and belong to no {newborn} of these records: {n}. They are in no figure of this "
            "page.",
            n=review.voice.count(review.season.unmatched_deaths),
        )

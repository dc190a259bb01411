"""Newborns of which an outcome is known, in groups and clusters: who is counted, who is not, and what it is called."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.analysis.asked import By, clusters, in_groups, yes_no
from neonatal_stats.analysis.results import few_clusters, left_out, taken_as_known
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.measures.windows import UNKNOWN_AGES, UNWATCHED, not_watched
from neonatal_stats.season.model import Season
from neonatal_stats.season.toml_file import quoted
from neonatal_stats.words import Voice, voice_of

LEFT_EARLY = 0.1
"""Share of the newborns counted that may have left before the end before it is said."""


def counted_of(
    season: Season, by: By, outcome: str, cluster: str | None, *, together: bool = True
) -> tuple[pd.DataFrame, tuple[str, ...], str, Iterator[str]]:
    """The newborns with a known outcome, in groups and clusters, and what is said of those left out."""
    asked, of_loss = yes_no(season, outcome)
    births, names = in_groups(season, by, of_loss=of_loss)
    if outcome in names:
        raise ValueError(f"by: {outcome} is the outcome; name another column to group newborns by.")
    code, named = clusters(season, cluster)
    births = births.assign(asked=asked, asked_cluster=code)
    known = births[births["asked"].notna()]
    lost, undated = int(births["died"].sum()), int((births["asked"].isna() & births["died"]).sum())
    if of_loss and undated > UNKNOWN_AGES * lost:
        raise NotRecorded(
            f"outcome: of {lost:,} losses {undated:,} have no known age, too many for {outcome}, which would leave "
            "them out; outcome='lost' counts them all."
        )
    if of_loss:
        _refuse_unwatched(births, names, outcome, season.settings.minimum_group)
    grouped = known.dropna(subset=list(names)) if names and together else known
    return grouped, names, named, _out(season, births, known, grouped, names, outcome, named)


def _refuse_unwatched(births: pd.DataFrame, names: tuple[str, ...], outcome: str, minimum_group: int) -> None:
    """Refuse a window that too many of all, or of a group large enough to speak of, were not watched through."""
    gone = births["asked"].isna() & ~births["died"]
    parts = [("", gone)]
    for name in names:
        by_group = gone.groupby(births[name], observed=True)
        parts += [
            (f" with {name} {quoted(level)}", one) for level, one in by_group if len(one) >= minimum_group
        ]
    for of_what, part in parts:
        if part.sum() > UNWATCHED * len(part):
            raise NotRecorded(
                f"outcome: of {len(part):,} newborns{of_what} {int(part.sum()):,} were not watched through {outcome}; "
                "they would be left out and the lost never, which makes the share too high. survival() counts each "
                "as long as it was watched; or choose a shorter window."
            )


def _out(
    season: Season,
    births: pd.DataFrame,
    known: pd.DataFrame,
    grouped: pd.DataFrame,
    names: tuple[str, ...],
    outcome: str,
    cluster: str,
) -> Iterator[str]:
    voice = voice_of(season)
    if len(births) > len(known):
        unknown = births[births["asked"].isna()]
        text = "{Newborns} left out, since their outcome is not known: {n}, of which lost: {lost}."
        yield voice.say(text, n=voice.count(len(unknown)), lost=voice.count(int(unknown["died"].sum())))
    yield from left_out(voice, known, grouped, names)
    yield taken_as_known(voice, names)
    yield few_clusters(voice, cluster, grouped["asked_cluster"].nunique())
    early = int(not_watched(grouped, season.settings.follow_up_h).sum()) if outcome == "lost" else 0
    if early > LEFT_EARLY * len(grouped):
        text = (
            "{Newborns} that left or were last seen alive before the end of follow-up: {n}; they count as not lost, "
            "and survival() counts each until then."
        )
        yield voice.say(text, n=voice.count(early))


def outcome_said(voice: Voice, outcome: str) -> str:
    """The outcome as it stands over counts."""
    if outcome in ("lost", "died"):
        return voice.say("Lost")
    if outcome == "stillborn":
        return voice.say("Born dead")
    window = outcome.removeprefix("lost_by_").replace("_", " ")
    return voice.say("Lost by {window}", window=window) if window in dict(_windows(voice)) else outcome


def _windows(voice: Voice) -> Iterator[tuple[str, float]]:
    return ((name, end_h) for end_h, name in voice.windows)

"""Groups held against one of them (`measures.compared`) as the rows and headings of a table."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from neonatal_stats.tables import printing
from neonatal_stats.words.labels import label
from neonatal_stats.words.voice import Voice

FORMATS: Mapping[str, str] = {
    "events": "count",
    "n": "count",
    "share": "share",
    "events_versus": "count",
    "n_versus": "count",
    "share_versus": "share",
    "ratio": "ratio",
    "q": "p",
}


def factor_label(voice: Voice, factor: str) -> str:
    """The printed name of a factor by which newborns are grouped."""
    templates = {
        "birth_type": "birth type",
        "difficulty": "delivery",
        "delivery": "delivery",
        "parity_class": "dam's litters",
        "weight_class": "birth weight",
        "season": "season",
        "sex": "sex",
        "sex_mix": "sexes in the litter",
        "birth_place": "birth place",
        "suck_class": "suck reflex",
        "handled": "handled before bonding",
        "source": "source",
        "person": "person",
    }
    return voice.say(templates.get(factor, factor))


def group_rows(voice: Voice, groups: pd.DataFrame) -> pd.DataFrame:
    """The groups with their factors and names as a person reads them, and the ratio's interval printed."""
    pairs = zip(groups["ratio_low"].astype(float), groups["ratio_high"].astype(float), strict=True)
    return groups.assign(
        by=[factor_label(voice, factor) for factor in groups["factor"]],
        name=[label(voice, group) for group in groups["group"]],
        against=[label(voice, group) if isinstance(group, str) else "" for group in groups["versus"]],
        ratio_range=[printing.ratio_range(low, high) for low, high in pairs],
    )


def group_headings(voice: Voice, interval: str, event: str, counted: str) -> dict[str, str]:
    """The headings, with what is counted ("Not met") and of which ("Observed")."""
    say = voice.say
    return {
        "by": say("By"),
        "name": say("Group"),
        "events": event,
        "n": counted,
        "share": say("Share"),
        "interval": interval,
        "against": say("Against"),
        "events_versus": say("{event} (there)", event=event),
        "n_versus": say("{counted} (there)", counted=counted),
        "share_versus": say("Share (there)"),
        "ratio": say("Risk ratio"),
        "ratio_range": say("{interval} of the ratio", interval=interval),
        "q": say("q"),
    }

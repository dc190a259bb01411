"""How many newborns were lost, and when?"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.rates import draw_rates
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.occurrence import rates
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence, Voice

NAME = "losses"
TITLE = "Losses"
QUESTION = "How many {newborns} were lost, and when?"


@dataclass(frozen=True, eq=False)
class Losses:
    """Losses by window, out of all born; ``by_window`` is a ``rates`` frame."""

    by_window: pd.DataFrame
    counted: Counted
    settings: Settings
    voice: Voice


def missing(season: Season) -> tuple[str, ...]:
    """Always open: an outcome is what makes a season."""
    return ()


def answer(season: Season) -> Losses:
    """Count losses in each window, the stillborn included."""
    births, settings = season.births, season.settings
    columns = {name: f"lost_by_{name.replace(' ', '_')}" for name in settings.windows_h} | {"end": "lost"}
    parts = [rates(births, (), column, level=settings.level).assign(window=w) for w, column in columns.items()]
    by_window = pd.concat(parts, ignore_index=True)
    counted = Counted(len(births))
    return Losses(by_window, counted, settings, voice_of(season))


def sentences(result: Losses) -> tuple[Sentence, ...]:
    """The answer in words."""
    whole = result.by_window.iloc[-1]
    printed = printing.share_of(whole.events, whole.n, whole.low, whole.high)
    text = result.voice.say("{lost} {newborns} born were lost by the end of follow-up.", lost=printed)
    return (Sentence(text, deaths=float(whole.events)),)


def figures(result: Losses) -> tuple[Figure, ...]:
    """Losses by window."""
    say = result.voice.say
    alt = say("Share of {newborns} lost by the end of each window, with intervals.")
    title, axis = say("Lost by the end of each window"), say("lost, % of {newborns} born")
    return (draw_rates(result.by_window, "window", name="losses-windows", title=title, alt=alt, axis=axis),)


def tables(result: Losses) -> tuple[Table, ...]:
    """Losses by window."""
    say = result.voice.say
    headings = {
        "window": say("Lost by"),
        "events": say("Lost"),
        "n": say("{newborns} born"),
        "share": say("Share"),
        "interval": say("95 % interval"),
    }
    formats = {"events": "count", "n": "count", "share": "share"}
    return (Table("losses-windows", say("Losses by window"), result.by_window, headings, formats),)


def method(result: Losses) -> Method:
    """How this was worked out."""
    say = result.voice.say
    return Method(method=(say("Wilson score interval on the number of {newborns} divided by the design effect."),))

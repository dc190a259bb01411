"""Losses beside published ones: the shares of the season, and which of them page one speaks of."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.losses import Losses
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.measures.beside_published import beside_published, foremost
from neonatal_stats.measures.windows import END
from neonatal_stats.tables import Table
from neonatal_stats.vocabulary.published import BORN, BORN_DEAD, LOST
from neonatal_stats.words import Sentence, voice_of
from neonatal_stats.words.beside_published import beside_said, beside_tables
from neonatal_stats.words.losses_spoken import by_what_speaks

Row = dict[Hashable, Any]


def beside(result: Losses) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Born dead, and lost by each window of all born and of those born alive; two frames as `beside_published`."""
    return beside_published(_shares(result), result.species, result.settings)


def _shares(result: Losses) -> Iterator[Row]:
    """The season's own; of those born alive, and born dead, where birth alive or dead was written."""
    if result.born_dead_known:
        (dead,) = result.born_dead.to_dict("records")
        yield _share(BORN_DEAD, BORN_DEAD, BORN, "", 0.0, dead)
    for row in by_what_speaks(result.by_window).to_dict("records"):
        window, of = str(row["window"]), str(row["out_of"])
        if of == BORN or result.born_dead_known:
            key = LOST if window == END else f"lost_by_{window.replace(' ', '_')}"
            end_h = result.end_h if window == END else result.settings.windows_h[window]
            yield _share(key if of == BORN else f"{key}_of_born_alive", LOST, of, window, end_h, row)


def _share(key: str, outcome: str, of: str, window: str, window_h: float, row: Row) -> Row:
    named = {"key": key.replace(" ", "_"), "outcome": outcome, "of": of, "window": window}
    numbers = {name: row[name] for name in ("events", "n", "share", "low", "high")}
    return dict((*named.items(), ("window_h", window_h), *numbers.items()))


def said_beside(result: Losses) -> Iterator[Sentence]:
    """Where the foremost share lies."""
    shares, _ = beside(result)
    row = foremost(shares)
    if row is not None:
        yield from beside_said(voice_of(result), row)


def tables_beside(result: Losses) -> Iterator[Table]:
    """Every share with its band, and the figures read."""
    voice = voice_of(result)
    heading = interval_heading(voice, result.settings.level)
    yield from beside_tables(voice, "losses", *beside(result), heading)

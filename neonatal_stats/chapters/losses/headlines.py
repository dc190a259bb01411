"""The figures of the losses for the top of the page and for other programs."""

from __future__ import annotations

import math

from neonatal_stats.chapters.losses.result import Losses
from neonatal_stats.chapters.protocol import Headline
from neonatal_stats.measures.windows import END
from neonatal_stats.tables import printing
from neonatal_stats.words.windows import window_label


def headlines(result: Losses) -> tuple[Headline, ...]:
    """Born, born alive, and lost by the end of each window."""
    say = result.voice.say
    newborns = result.flow.newborns.set_index("stage")["n"]
    born, alive = float(newborns["born"]), float(newborns["born alive"])
    return (
        _count("born", say("Born"), born, math.nan),
        _count("born_alive", say("Born alive"), alive, born),
        *_windows(result),
    )


def _count(key: str, label: str, events: float, n: float) -> Headline:
    share = events / n if n else math.nan
    printed = printing.count(events)
    return Headline(key, label, printed, events, n, share, math.nan, math.nan)


def _windows(result: Losses) -> tuple[Headline, ...]:
    born = result.by_window[result.by_window["out_of"] == "born"]
    return tuple(
        Headline(
            "lost" if row["window"] == END else f"lost_by_{str(row['window']).replace(' ', '_')}",
            result.voice.say("Lost by {window}", window=window_label(row["window"], result.end_h)),
            printing.share_of(row["events"], row["n"], row["low"], row["high"]),
            float(row["events"]),
            float(row["n"]),
            float(row["share"]),
            float(row["low"]),
            float(row["high"]),
        )
        for row in born.to_dict("records")
    )

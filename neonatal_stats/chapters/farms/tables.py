"""The tables of the farms."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.chapters.farms.result import Farms
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.tables import Table, printing


def tables(result: Farms) -> tuple[Table, ...]:
    """The farms, and how far they spread."""
    return (_farms(result), _spread(result))


def _farms(result: Farms) -> Table:
    say, farms = result.voice.say, result.funnel.farms
    pairs = zip(farms["funnel_low"], farms["funnel_high"], strict=True)
    frame = farms.assign(
        limits=[
            say("{low} to {high}", low=printing.percent(low), high=printing.percent(high))
            for low, high in pairs
        ],
        expected=farms["expected"].round(1),
        flag=[say("outside") if out else "" for out in farms["outside"]],
        own=[say("your farm") if own else "" for own in farms["own"]],
    )
    headings = {
        "letter": say("Farm"),
        "own": say("Yours"),
        "events": say("Lost"),
        "n": say("{newborns}"),
        "share": say("Share"),
        "interval": interval_heading(result.voice, result.settings.level),
        "expected": say("Expected from its mix"),
        "standardised": say("Mix allowed for"),
        "limits": say("Limits at its size"),
        "flag": say("Limits"),
    }
    formats = {
        "events": "count",
        "n": "count",
        "share": "share",
        "expected": "number",
        "standardised": "share",
    }
    return Table("farms-funnel", say("Farms, by letter"), frame, headings, formats)


def _spread(result: Farms) -> Table:
    say, found = result.voice.say, result.funnel
    rows = [
        (say("farms shown"), printing.count(len(found.farms))),
        (say("{newborns} on them"), printing.count(found.farms["n"].sum())),
        (say("lost on them"), printing.counts(found.farms["events"].sum(), found.farms["n"].sum())),
        (say("farms too small to show"), printing.count(found.hidden)),
        (say("spread beyond chance, times"), printing.ratio(found.phi**0.5)),
        (say("correlation of {newborns} of one farm"), printing.ratio(result.agreement)),
    ]
    frame = pd.DataFrame(rows, columns=["what", "value"])
    headings = {"what": say("What"), "value": say("Value")}
    return Table("farms-spread", say("How far the farms spread"), frame, headings)

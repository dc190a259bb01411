"""How much colostrum were they given, of what was seen and measured?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.points import draw_dose
from neonatal_stats.measures.intake import first_feeds, intake_by
from neonatal_stats.measures.occurrence import rates
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printing
from neonatal_stats.vocabulary.passive_transfer import BRIX_TO_IGG, CALF_IGG_MASS_G
from neonatal_stats.words import Sentence, Voice, cautions
from neonatal_stats.words import colostrum as words

BY_WEIGHT, FIRST_FEED, SMALL_FEED, IGG_MASS = "by weight", "first feed", "small first feed", "IgG mass"


@dataclass(frozen=True, eq=False)
class Amount:
    """Colostrum given by hand.

    ``intake`` the frame of `measures.intake.intake_by`, newborns with every feed measured and weighed;
    ``met`` a ``rates`` frame of targets met (target: by weight, first feed, small first feed, IgG mass);
    ``unmeasured`` newborns fed by then with a volume or weight missing; ``quartiles`` of ml/kg.
    """

    intake: pd.DataFrame
    met: pd.DataFrame
    unmeasured: int
    species: str


def amount(births: pd.DataFrame, feeds: pd.DataFrame, species: str, settings: Settings) -> Amount | None:
    """Count the amounts; None where no feed has a volume."""
    if feeds.empty or "volume_ml" not in feeds or not feeds["volume_ml"].notna().any():
        return None
    marks = settings.marks
    whole = intake_by(births, feeds, marks.colostrum_amount_by_h, species)
    ready = whole[whole["complete"] & whole["weight_kg"].notna() & whole["volume_ml"].notna()]
    enough = ready["volume_ml"] >= 1000 * marks.colostrum_share_of_weight * ready["weight_kg"] - 1e-9
    first = first_feeds(feeds).dropna(subset=["volume_ml"])
    parts = [(BY_WEIGHT, ready["newborn"], enough)]
    if species == "cattle":
        parts.append((FIRST_FEED, first["newborn"], first["volume_ml"] >= marks.calf_first_feed_ml))
        massed = whole[whole["igg_g"].notna()]
        parts.append((IGG_MASS, massed["newborn"], massed["igg_g"] >= CALF_IGG_MASS_G[0]))
    else:
        parts.append((SMALL_FEED, first["newborn"], first["volume_ml"] >= marks.small_first_feed_ml))
    cluster = births.set_index("newborn")["cluster"]
    rows = [_met(name, newborn, event, cluster, settings.level) for name, newborn, event in parts]
    met = pd.DataFrame(rows, columns=["target", "events", "n", "share", "low", "high"])
    return Amount(ready.reset_index(drop=True), met, len(whole) - len(ready), species)


def _met(
    name: str, newborn: pd.Series, event: pd.Series, cluster: pd.Series, level: float
) -> dict[str, object]:
    frame = pd.DataFrame({"event": event.astype("boolean"), "cluster": newborn.map(cluster)})
    if frame.empty:
        return {"target": name, "events": 0, "n": 0, "share": np.nan, "low": np.nan, "high": np.nan}
    found = rates(frame, (), "event", level=level).iloc[0]
    return {"target": name, **{key: found[key] for key in ("events", "n", "share", "low", "high")}}


def sentences(result: Amount, voice: Voice, settings: Settings) -> Iterator[Sentence]:
    """Targets met, of those measured, with the caution about tubing."""
    marks = settings.marks
    for row in result.met[result.met["n"] > 0].to_dict("records"):
        share = printing.share_of(row["events"], row["n"], row["low"], row["high"])
        said = {
            BY_WEIGHT: lambda share=share: words.amount_sentence(
                voice,
                share,
                printing.percent(marks.colostrum_share_of_weight, 0),
                printing.age(marks.colostrum_amount_by_h),
            ),
            FIRST_FEED: lambda share=share: words.first_volume_sentence(
                voice, share, printing.count(marks.calf_first_feed_ml)
            ),
            SMALL_FEED: lambda share=share: words.small_feed_sentence(
                voice, share, printing.count(marks.small_first_feed_ml)
            ),
            IGG_MASS: lambda share=share: words.mass_sentence(
                voice, share, printing.count(CALF_IGG_MASS_G[0])
            ),
        }
        yield Sentence(said[row["target"]]())
    yield cautions.tubing(voice)


def tables(result: Amount, voice: Voice, settings: Settings) -> list[Table]:
    """Targets met; the spread of ml/kg."""
    say, marks = voice.say, settings.marks
    names = {
        BY_WEIGHT: say(
            "{share} of body weight by {by}",
            share=printing.percent(marks.colostrum_share_of_weight, 0),
            by=printing.age(marks.colostrum_amount_by_h),
        ),
        FIRST_FEED: say("first feed of {ml} ml or more", ml=printing.count(marks.calf_first_feed_ml)),
        SMALL_FEED: say("first feed of {ml} ml or more", ml=printing.count(marks.small_first_feed_ml)),
        IGG_MASS: say("{g} g of IgG or more", g=printing.count(CALF_IGG_MASS_G[0])),
    }
    headings = {"what": say("Target"), "events": say("Met"), "n": say("Measured"), "share": say("Share")}
    headings["interval"] = interval_heading(voice, settings.level)
    formats = {"events": "count", "n": "count", "share": "share"}
    frame = result.met.assign(what=result.met["target"].map(names))
    note = say(
        "Only feeds written down with a volume; {unmeasured} {newborns} fed by then lack a volume or a "
        "birth weight.",
        unmeasured=printing.count(result.unmeasured),
    )
    return [
        Table("colostrum-amount", say("How much was given"), frame, headings, formats, note),
        _spread(result, voice, settings),
    ]


def _spread(result: Amount, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    rows = []
    for name, column in ((say("ml per kg of body weight"), "ml_per_kg"), (say("IgG, g"), "igg_g")):
        values = result.intake[column].dropna()
        if len(values):
            q = values.quantile([0, 0.25, 0.5, 0.75, 1]).to_numpy()
            rows.append({"what": name, "n": len(values), **dict(zip("abcde", q, strict=True))})
    headings = {
        "what": say("By {by}", by=printing.age(settings.marks.colostrum_amount_by_h)),
        "n": say("{newborns}"),
    }
    quarters = (say("Least"), say("Lower quarter"), say("Median"), say("Upper quarter"), say("Most"))
    headings |= dict(zip("abcde", quarters, strict=True))
    formats = {"n": "count", **dict.fromkeys("abcde", "number")}
    conversion = BRIX_TO_IGG.get(result.species)
    note = ""
    if conversion is not None:
        note = say(
            "IgG from Brix where it was not measured: {slope} x Brix - {less} g/l ({source}); single "
            "samples may be tens of g/l away.",
            slope=printing.number(conversion.slope, 2),
            less=printing.number(-conversion.intercept, 2),
            source=say(conversion.source),
        )
    columns = ["what", "n", *"abcde"]
    return Table(
        "colostrum-intake", say("Amounts given"), pd.DataFrame(rows, columns=columns), headings, formats, note
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
            name="colostrum-amount",
            title=say(
                "Colostrum given by {by} and birth weight", by=printing.age(marks.colostrum_amount_by_h)
            ),
            alt=say(
                "One dot a {newborn}; the line is {share} of body weight, reached by {met}.",
                share=printing.percent(marks.colostrum_share_of_weight, 0),
                met=printing.share_of(met["events"], met["n"], met["low"], met["high"]),
            ),
            weight_axis=say("birth weight, kg"),
            volume_axis=say("given by {by}, ml", by=printing.age(marks.colostrum_amount_by_h)),
            line=say("{share} of body weight", share=printing.percent(marks.colostrum_share_of_weight, 0)),
        )
    ]

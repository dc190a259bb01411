"""The tables and the figure of first feed and death."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.chapters.colostrum.effect import FEWEST_DEATHS, Effect, verdict
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_ratios
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Verdict, Voice
from neonatal_stats.words import colostrum as words


def tables(result: Effect, voice: Voice, settings: Settings) -> list[Table]:
    """The effect; why not simply compare; how far deaths found at rounds move the answer; what would do."""
    built = [_effect_table(result, voice, settings), _simply_table(result, voice, settings)]
    if len(result.moved):
        built.append(_moved_table(result, voice, settings))
    built.append(_enough_table(result, voice))
    return built


def _names(result: Effect, frame: pd.DataFrame, voice: Voice) -> pd.DataFrame:
    say = voice.say
    said = {
        "landmark": "alive at {mark}: not fed by then against fed",
        "as it happens": "hour by hour to {horizon}: not yet fed against fed",
        "all from birth": "from birth: not fed by {mark} (or dead first) against fed by then",
        "only those fed": "only those ever fed: after {mark} against by then",
    }
    horizon = printing.age(result.horizon_h)
    rows = zip(frame["how"], frame["mark_h"], strict=True)
    names = [say(said[how], mark=printing.age(mark), horizon=horizon) for how, mark in rows]
    allowed = {True: say("yes"), False: say("no")}
    counted = frame["how"] != "as it happens"
    return frame.assign(
        what=names,
        allowed=[allowed[bool(one)] for one in frame["adjusted"]],
        unfed_share=frame["unfed_deaths"] / frame["unfed"].where(counted & (frame["unfed"] > 0)),
        fed_share=frame["fed_deaths"] / frame["fed"].where(counted & (frame["fed"] > 0)),
    )


def _headings(voice: Voice, settings: Settings) -> tuple[dict[str, str], dict[str, str]]:
    say = voice.say
    headings = {
        "what": say("Comparison"),
        "allowed": say("Allowing for weakness at birth"),
        "unfed": say("Unfed"),
        "unfed_deaths": say("Of these died"),
        "unfed_share": say("Share"),
        "fed": say("Fed"),
        "fed_deaths": say("Of these died (fed)"),
        "fed_share": say("Share (fed)"),
        "ratio": say("Hazard ratio, unfed against fed"),
        "interval": interval_heading(voice, settings.level),
    }
    formats = dict.fromkeys(("unfed", "unfed_deaths", "fed", "fed_deaths", "dead_before"), "count")
    shares = {"unfed_share": "share", "fed_share": "share"}
    return headings, formats | shares | {"ratio": "ratio", "interval": "ratio"}


def _effect_table(result: Effect, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    frame = _names(result, pd.concat([result.landmarks, result.hourly], ignore_index=True), voice)
    headings, formats = _headings(voice, settings)
    headings |= {"e_value": say("E-value"), "e_limit": say("E-value of the limit")}
    listed = ", ".join(words.covariate_label(voice, name) for name in result.group.names)
    left = "; ".join(f"{say(why)} {printing.count(n)}" for why, n in result.group.left_out if n)
    note = say(
        "{n} {newborns} counted. Allowed for: {list}. Left out: {left}. Died with no feed written down, "
        "taken as unfed: {taken}.",
        n=printing.count(len(result.group.rows)),
        list=listed or say("nothing recorded"),
        left=left or say("none"),
        taken=printing.count(result.group.taken_unfed),
    )
    formats |= {"e_value": "ratio", "e_limit": "ratio"}
    return Table("colostrum-effect", say("First feed and death"), frame, headings, formats, note)


def _simply_table(result: Effect, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    wanted = result.landmarks["mark_h"] == result.naive_mark_h
    frame = _names(result, pd.concat([result.simply, result.landmarks[wanted]], ignore_index=True), voice)
    headings, formats = _headings(voice, settings)
    headings["dead_before"] = say("Unfed deaths before the mark")
    note = say(
        "The first two rows are what simply comparing would say and are no answer: they credit or charge a "
        "group with hours in which its {newborns} could not yet be in it. Below them the same mark, counted "
        "from the mark on."
    )
    frame.loc[frame["how"] == "landmark", "dead_before"] = 0
    return Table("colostrum-simply", say("Why not simply compare"), frame, headings, formats, note)


def _moved_table(result: Effect, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    placed = {
        "earliest": say("when last seen alive"),
        "likely": say("at each likely age in parts (used here)"),
        "latest": say("when found dead"),
    }
    headings, formats = _headings(voice, settings)
    headings["what"] = say("Deaths between two rounds placed")
    headings = {
        key: heading
        for key, heading in headings.items()
        if key not in ("allowed", "unfed_share", "fed_share")
    }
    frame = result.moved.assign(what=result.moved["placed"].map(placed))
    note = say(
        "Hour by hour, allowing for weakness at birth. A death of an unfed {newborn} written down at the "
        "next round looks later than it was, when most others had fed."
    )
    title = say("How far deaths found at rounds move the answer")
    return Table("colostrum-rounds", title, frame, headings, formats, note)


def _enough_table(result: Effect, voice: Voice) -> Table:
    say = voice.say
    rows = pd.DataFrame(
        [{"deaths": result.deaths, "needed": result.needed, "births": result.births or np.nan}]
    )
    headings = {
        "deaths": say("Deaths with a known first feed"),
        "needed": say("Deaths needed"),
        "births": say("Births that would bring as many"),
    }
    note = say(
        "To see a doubled hazard with four chances in five, at the share unfed at the second mark "
        "(Schoenfeld 1983). The what-if needs {fewest} deaths and {fewest} survivors past the mark among "
        "the fed and the unfed.",
        fewest=printing.count(FEWEST_DEATHS),
    )
    title = say("How many records would do")
    return Table("colostrum-enough", title, rows, headings, dict.fromkeys(headings, "count"), note)


def figures(result: Effect, voice: Voice, settings: Settings) -> list[Figure]:
    """The adjusted ratios and, above them, what simply comparing would have said."""
    parts = [
        result.simply,
        result.landmarks[result.landmarks["adjusted"]],
        result.hourly[result.hourly["adjusted"]],
    ]
    frame = _names(result, pd.concat(parts, ignore_index=True), voice)
    enough = [verdict(row, settings) is not Verdict.TOO_FEW for row in frame.to_dict("records")]
    frame = frame[frame["ratio"].notna() & pd.Series(enough, index=frame.index, dtype=bool)].reset_index(
        drop=True
    )
    if frame.empty:
        return []
    say = voice.say
    said = "; ".join(
        say("{what}: {ratio}, {interval}", what=row["what"], ratio=printing.ratio(row["ratio"]),
            interval=printing.ratio_range(row["low"], row["high"]))
        for row in frame.to_dict("records")
    )  # fmt: skip
    return [
        draw_ratios(
            frame.assign(label=frame["what"], quiet=frame["how"].isin(["all from birth", "only those fed"])),
            name="colostrum-effect",
            title=say("Death of the unfed against the fed"),
            alt=say("Hazard ratios with {level} intervals, open marks are no answer. {list}.",
                    level=printing.percent(settings.level, 0), list=said),
            axis=say("hazard ratio, unfed against fed (log scale)"),
            quiet_words=say("simply compared: no answer"),
        )
    ]  # fmt: skip

"""The chapter on mobs drawn and in tables, and the words that all of it shares.

Stages, what went between them, classes, and numbers in their words come first; then the figures and the tables.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.mobs import Mobs
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Figure, Went, draw_flow, draw_rates, flow_marks_stand_for
from neonatal_stats.season.following.mobs import WHOLE
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Voice, voice_of
from neonatal_stats.words.plain import money

STAGES_TOLD = {
    "joined": "{joined}",
    "scanned": "scanned",
    "in young": "in young",
    "alive": "alive at {weaning}",
    "foetuses": "{newborns} scanned",
    "born": "born",
    "born alive": "born alive",
    "marked": "at {marking}",
    "weaned": "at {weaning}",
}
"""Each stage, as it stands beside its number."""
PLACES = {
    "foetuses": "scanning",
    "born": "birth",
    "born alive": "birth",
    "marked": "{marking}",
    "weaned": "{weaning}",
}
BETWEEN = {
    ("foetuses", "born"): "between scanning and birth",
    ("foetuses", "born alive"): "between scanning and birth",
    ("foetuses", "marked"): "between scanning and {marking}",
    ("foetuses", "weaned"): "between scanning and {weaning}",
    ("born", "born alive"): "at birth, born dead",
    ("born", "marked"): "between birth and {marking}",
    ("born", "weaned"): "between birth and {weaning}",
    ("born alive", "marked"): "between birth and {marking}",
    ("born alive", "weaned"): "between birth and {weaning}",
    ("marked", "weaned"): "between {marking} and {weaning}",
}
"""What lies between two stages that follow one another."""
SHARES_TOLD = {
    "dry": "{Dams} scanned and not in young",
    "dams died": "{Dams} that died, of those {joined}",
    "foetuses to born": "Lost between scanning and birth",
    "born dead": "Born dead, of those born",
    "born to marked": "Lost between birth and {marking}",
    "alive to marked": "Lost between birth and {marking}, of those born alive",
    "foetuses to marked": "Lost between scanning and {marking}",
    "marked to weaned": "Lost between {marking} and {weaning}",
    "foetuses to weaned": "Lost between scanning and {weaning}",
}
FOR_EACH = {
    ("foetuses", "scanned"): "Scanned, per {per} {dams} scanned",
    ("foetuses", "joined"): "Scanned, per {per} {dams} {joined}",
    ("born", "joined"): "Born, per {per} {dams} {joined}",
    ("marked", "joined"): "At {marking}, per {per} {dams} {joined}",
    ("weaned", "joined"): "At {weaning}, per {per} {dams} {joined}",
}
CLASSES = {"single": "singles", "twin": "twins", "triplet": "triplets", "twin or more": "twins and more"}
Row = Mapping[Hashable, Any] | pd.Series


def share_told(voice: Voice, row: Row) -> str:
    """Counts, share and interval; without an interval where there is none."""
    if math.isnan(row["low"]):
        return voice.counts(row["events"], row["n"])
    return voice.share_of(row["events"], row["n"], row["low"], row["high"])


def each_told(voice: Voice, row: Row, per: int) -> str:
    """So many per so many, with its interval where there is one."""
    each = voice.number(per * row["each"], 0)
    if math.isnan(row["low"]):
        return each
    low, high = (voice.number(per * row[end], 0) for end in ("low", "high"))
    return voice.say("{each} ({low} to {high})", each=each, low=low, high=high)


def by_then(result: Mobs) -> str:
    """The later of the two counts that mobs are compared by."""
    return voice_of(result).say(PLACES[result.kept])


def mob_named(result: Mobs, row: Row) -> str:
    """A mob's name, with its farm where the season's mobs are of several."""
    voice = voice_of(result)
    name = voice.say("the whole {herd}") if row["mob"] == WHOLE else str(row["mob"])
    return f"{row['farm']}: {name}" if len(set(result.each["farm"])) > 1 else name


PER = 100
ON_PAGE = 12  # mobs that stand on the page; the workbook holds all
WENT_OF_DAMS = {"scanned": "not scanned: {lost}", "in young": "not in young: {lost}", "alive": "died: {lost}"}
NEVER_THERE = ("scanned", "in young")
"""Steps of dams at which fewer are no deaths."""


def figures(result: Mobs) -> tuple[Figure, ...]:
    """The flow from mating to weaning; the loss of each mob; that of each season where there are several."""
    drawn = [_flow(result)] if len(result.newborns) or len(result.dams) else []
    if result.main is not None and result.here["share"].notna().sum() > 1:
        drawn.append(_by_mob(result))
    if result.main is not None and result.seasons["share"].notna().sum() > 1:
        drawn.append(_by_season(result))
    return tuple(drawn)


def _worded(result: Mobs, steps: pd.DataFrame) -> pd.DataFrame:
    """The steps of a flow with label and went, what went at each in words."""
    voice, before = voice_of(result), ""
    labels, went = [], []
    for row in steps.to_dict("records"):
        stage = str(row["stage"])
        labels.append(voice.say(STAGES_TOLD[stage]))
        went.append(_went(voice, before, stage, int(row["lost"])))
        before = stage
    series = pd.Series(went, steps.index, dtype=object)
    return steps.assign(label=pd.Series(labels, steps.index, dtype=object), went=series)


def _went(voice: Voice, before: str, stage: str, lost: int) -> list[Went]:
    if lost < 0:
        more = voice.say("{more} more than before", more=voice.count(-lost))
        return [Went(more, lost, "never there")]
    if lost == 0:
        return []
    if stage in WENT_OF_DAMS:
        way = "never there" if stage in NEVER_THERE else "lost"
        return [Went(voice.say(WENT_OF_DAMS[stage], lost=voice.count(lost)), lost, way)]
    told = voice.say("{step}: {lost}", step=voice.say(BETWEEN[before, stage]), lost=voice.count(lost))
    return [Went(told, lost, "lost")]


def _flow(result: Mobs) -> Figure:
    """Dams from mating to scanning, dams alive at weaning, newborns from scanning to weaning."""
    voice = voice_of(result)
    say = voice.say
    dams, alive, newborns = (
        _worded(result, one) for one in (result.dams, result.dams_alive, result.newborns)
    )
    each = flow_marks_stand_for(
        went for frame in (dams, alive, newborns) for one in frame["went"] for went in one
    )
    told = "; ".join(
        " ".join([f"{row['label']} {voice.count(row['n'])}", *(f"({one.words})" for one in row["went"])])
        for frame in (dams, alive, newborns)
        for row in frame.to_dict("records")
    )
    return draw_flow(
        dams,
        newborns,
        also=(alive, _of_mobs(result, alive, say("{Dams}, from mating to {weaning}")))
        if len(alive)
        else None,
        headings=(
            _of_mobs(result, dams, say("{Dams}, from mating to scanning")),
            _of_mobs(result, newborns, say("{Newborns}")),
        ),
        printer=voice,
        name="mobs-flow",
        title=say("From mating to {weaning}, {season}", season=result.season),
        alt=say("How many reached each step, and what went before it. {told}.", told=told),
        one_mark=say("one mark: {n} animals", n=voice.count(each))
        if each > 1
        else say("one mark: one animal"),
    )


def _of_mobs(result: Mobs, steps: pd.DataFrame, heading: str) -> str:
    """The heading, with how many mobs the steps are of where not all were counted at each of them."""
    voice, total = voice_of(result), len(result.here)
    n = int(steps["mobs"].iloc[0]) if len(steps) else total
    if n == total:
        return heading
    return voice.say(
        "{heading}: {n} of {total} mobs, those counted at each of these steps",
        heading=heading,
        n=voice.count(n),
        total=voice.count(total),
    )


def _axis(result: Mobs) -> str:
    text = {
        "foetuses": "not there at {place}, % of the {newborns} scanned",
        "born": "not there at {place}, % of the {newborns} born",
    }[result.start]
    return voice_of(result).say(text, place=by_then(result))


def _by_mob(result: Mobs) -> Figure:
    """The loss of each mob of the season, the least first, with the season's average."""
    voice, main = voice_of(result), result.main
    assert main is not None
    known = result.here.dropna(subset="share").sort_values(["share", "farm", "mob"])
    rates = known.assign(label=[mob_named(result, row) for row in known.to_dict("records")])
    told = "; ".join(f"{row['label']} {voice.percent(row['share'])}" for row in rates.to_dict("records"))
    return draw_rates(
        rates,
        printer=voice,
        name="mobs-each",
        title=voice.say("Loss by mob, {season}", season=result.season),
        alt=voice.say("The loss of each mob: {told}.", told=told),
        axis=_axis(result),
        average=(float(main["share"]), voice.say("all mobs")),
    )


def _by_season(result: Mobs) -> Figure:
    """The loss of each season over its mobs, the latest first."""
    voice = voice_of(result)
    known = result.seasons.dropna(subset="share").iloc[::-1]
    rates = known.assign(
        label=[
            voice.say("{season}, {n} mobs", season=row["season"], n=voice.count(row["mobs"]))
            for row in known.to_dict("records")
        ]
    )
    told = "; ".join(f"{row['season']} {voice.percent(row['share'])}" for row in known.to_dict("records"))
    return draw_rates(
        rates,
        printer=voice,
        name="mobs-seasons",
        title=voice.say("Loss by season, mobs as clusters"),
        alt=voice.say("The loss of each season: {told}.", told=told),
        axis=_axis(result),
    )


def tables(result: Mobs) -> tuple[Table, ...]:
    """The flow, the shares, the numbers for each dam, mob by mob, class by class and season by season; none empty."""
    later = (
        _shares_table(result),
        _per_dam_table(result),
        _each_table(result),
        _classes_table(result),
        _seasons_table(result),
    )
    return (*_flow_table(result), *_read_table(result), *(table for table in later if len(table.frame)))


def _flow_table(result: Mobs) -> Iterator[Table]:
    """What reached each stage, what went before it, and in money where a price is set."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    parts = [(say("{Dams}"), result.dams), (say("{Dams}, from mating to {weaning}"), result.dams_alive)]
    parts.append((say("{Newborns}"), result.newborns))
    frames = [_worded(result, part).assign(whose=whose) for whose, part in parts if len(part)]
    if not frames:
        return
    frame = pd.concat(frames, ignore_index=True)
    priced = settings.price is not None and len(result.newborns) > 0
    if priced and settings.price is not None:
        own = frame["whose"] == say("{Newborns}")
        frame["cost"] = (frame["lost"] * settings.price).where(own)
    declared = (
        columns.text("whose", say("Whose")),
        columns.text("label", say("Stage"), raw="stage"),
        columns.count("n", say("Count")),
        columns.count("lost", say("Fewer than the stage before")),
        *([columns.count("cost", say("In money, {currency}", currency=settings.currency))] if priced else []),
        columns.count("mobs", say("Mobs")),
    )
    yield Table(
        "mobs-flow",
        say("From mating to {weaning}, {season}", season=result.season),
        frame,
        declared,
        note=_in_all(result) if priced else "",
        printer=voice,
    )


def _read_table(result: Mobs) -> Iterator[Table]:
    """Where the rows on mobs ended, where not all were used whole."""
    voice, read = voice_of(result), result.balance
    if read is None or read.used == read.rows_read:
        return
    say = voice.say
    declared = (
        columns.count("rows_read", say("Rows read")),
        columns.count("used", say("Used")),
        columns.count("used_with_missing", say("Used without some counts")),
        columns.count("set_aside", say("Set aside")),
        columns.count("no_record", say("No record")),
    )
    yield Table(
        "mobs-read", say("Rows on mobs, of all seasons"), pd.DataFrame([vars(read)]), declared, printer=voice
    )


def _in_all(result: Mobs) -> str:
    """What went in all, counted and in money."""
    voice, settings, n = voice_of(result), result.settings, int(result.newborns["lost"].sum())
    amount = money(voice, n * (settings.price or 0.0), settings.currency)
    return voice.say("In all: {n} {newborns}, {money}.", n=voice.count(n), money=amount)


def _shares_table(result: Mobs) -> Table:
    """The shares lost at each stage."""
    voice = voice_of(result)
    say = voice.say
    frame = result.shares.assign(label=[say(SHARES_TOLD[what]) for what in result.shares["what"]])
    declared = (
        columns.text("label", say("What"), raw="what"),
        columns.count("events", say("Number")),
        columns.count("n", say("Of how many")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
        columns.count("mobs", say("Mobs")),
    )
    title = say("Shares by stage, {season}, mobs as clusters", season=result.season)
    return Table("mobs-shares", title, frame, declared, printer=voice)


def _per_dam_table(result: Mobs) -> Table:
    """So many for each hundred dams."""
    voice, per = voice_of(result), voice_of(result).count(PER)
    say, frame = voice.say, result.per_dam
    frame = frame.assign(
        label=[say(FOR_EACH[what, of], per=per) for what, of in zip(frame["what"], frame["of"], strict=True)],
        **{name: PER * frame[name].astype(float) for name in ("each", "low", "high")},
    )
    declared = (
        columns.text("label", say("What"), raw="what"),
        columns.key("of", say("Of")),
        columns.count("numerator", say("{Newborns}")),
        columns.count("denominator", say("{Dams}")),
        columns.number("each", say("Per {per}", per=per), digits=0),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "whole number"),
        columns.count("mobs", say("Mobs")),
    )
    note = say("At {marking} or {weaning} per {per} {dams} {joined} is the {crop} of the trade.", per=per)
    title = say("For each {per} {dams}, {season}", per=per, season=result.season)
    return Table("mobs-per-dam", title, frame, declared, note=note, printer=voice)


def _each_table(result: Mobs) -> Table:
    """Every mob of every season, the latest season first."""
    voice = voice_of(result)
    say, each = voice.say, result.each
    order = each.sort_values(["season", "farm", "mob"], ascending=[False, True, True], kind="stable")
    frame = order.assign(label=[mob_named(result, row) for row in order.to_dict("records")])
    frame = frame.rename(columns={"in young": "in_young", "expected": "expected_kept"})
    declared = (
        columns.text("label", say("Mob"), raw="mob"),
        columns.text("season", say("Season")),
        columns.in_csv(columns.text("farm", say("Farm"))),
        columns.count("joined", say("{Dams} {joined}")),
        columns.count("dry", say("Not in young")),
        columns.count("in_young", say("In young")),
        columns.count("foetuses", say("Foetuses")),
        columns.count("born", say("Born")),
        columns.count("marked", say("At {marking}")),
        columns.count("weaned", say("At {weaning}")),
        columns.count("dams_died", say("{Dams} died")),
        columns.counts("events", "n", say("Lost, of how many"), "of"),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
        columns.ratio("against", say("Kept over expected")),
        columns.in_csv(columns.number("expected_kept", say("Expected from its classes"))),
    )
    note = say(
        "Lost: between the two counts that mobs are compared by; a mob's own interval reckons as if littermates "
        "shared one fate."
    )
    return Table(
        "mobs-each",
        say("Mob by mob"),
        frame,
        declared,
        note=note,
        printer=voice,
        own_sheet=True,
        on_page=ON_PAGE,
    )


def _classes_table(result: Mobs) -> Table:
    """Survival by scanned class over all seasons."""
    voice, classes = voice_of(result), result.classes
    say = voice.say
    frame = classes.assign(label=[say(CLASSES[one]) for one in classes["scan_class"]])
    declared = (
        columns.text("label", say("Scanned as"), raw="scan_class"),
        columns.share("fitted", say("There, fitted over all mobs"), whole=True),
        columns.interval("fit_low", "fit_high", say("Limits of the fit")),
        columns.counts("events", "n", say("There, in mobs of that class alone"), "of"),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
        columns.count("mobs", say("Mobs")),
    )
    title = (
        say("Scanned as so many, and there at {place}", place=by_then(result))
        if result.kept
        else say("Scanned classes")
    )
    return Table("mobs-classes", title, frame, declared, printer=voice)


def _seasons_table(result: Mobs) -> Table:
    """Season by season."""
    voice, per = voice_of(result), voice_of(result).count(PER)
    say, frame = voice.say, result.seasons
    frame = frame.assign(
        **{name: PER * frame[name].astype(float) for name in ("per_joined", "per_low", "per_high", "apart")}
    )
    heading = interval_heading(voice, result.settings.level)
    declared = (
        columns.text("season", say("Season")),
        columns.count("mobs", say("Mobs")),
        columns.count("joined", say("{Dams} {joined}")),
        columns.count("events", say("Lost")),
        columns.count("n", say("Of how many")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", heading),
        columns.number("per_joined", say("There per {per} {joined}", per=per), digits=0),
        columns.interval("per_low", "per_high", say("{interval} of it", interval=heading), "whole number"),
        columns.ratio("against", say("Kept over expected")),
        columns.interval(
            "against_low", "against_high", say("{interval} of the ratio", interval=heading), "ratio"
        ),
        columns.number("apart", say("Mobs apart, percentage points")),
    )
    note = say(
        "Kept over expected: those there over what the scanned classes of the season's mobs lead one to expect. "
        "Mobs apart: their standard deviation beyond chance and littermates."
    )
    return Table("mobs-seasons", say("Season by season"), frame, declared, note=note, printer=voice)

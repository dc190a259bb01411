"""Which animals are behind the numbers: a line for every loss, every dam, every sire."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.animals import Animals, listed_farm, of_farm, written
from neonatal_stats.chapters.counted.animals import answer as count
from neonatal_stats.chapters.protocol import heed, interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.tables.printing import NOT_KNOWN
from neonatal_stats.vocabulary.factors import KEPT_TO_GROUP
from neonatal_stats.words import Method, Sentence, Voice, joined, voice_of
from neonatal_stats.words.names import column_name, factor, label, season_names, window_label

NAME = "animals"
TITLE = "Animals"
QUESTION = "Which {newborns} were lost, one by one, and what are the histories of their {dams} and sires?"

MOST_NAMED = 8
"""Dams named in a sentence; the list holds them all."""
IN_HOURS_TO = 72.0
"""Ages at loss under this are told in hours: in a list each stands for itself, and days would hide what differs."""
SHORT_FOLD, LONG_FOLD = 12, 24
"""Rows of a list that stand on the page, at least and at most; the rest are in the workbook and the CSV file."""

NONE_LOST = "No {newborn} of the {born} born in {season} was lost, so the list of losses is empty."
LOST = (
    "{lost} {newborns} born in {season} were lost; the list has a line for each, and room to tick whether it could "
    "have been prevented."
)
LEAST = 0.01
MARKED = (
    "Marked in the list of {dams}, {period}: {named}. Chance alone would bring about {such} {dams} of this {herd} as "
    "far as these."
)
ONE_MARKED = "{dam_id} ({events} of {n} lost by {window}, {expected} expected)"
NONE_MARKED = (
    "No {dam} is marked, {period}: among so many, chance alone makes some look as bad as the worst of these."
)
AGAIN = (
    "{dams} that lost {newborns} by {window} in two seasons or more, {period}: {n}, first {named}. Chance alone "
    "makes some do so; see Next season."
)
SIRES = (
    "Sires with enough {newborns} to say, {period}: {n}. Drawn towards the common loss by {window}, theirs run from "
    "{low} to {high}."
)
TOO_FEW = "{said} Too few to say of {few} more."
LACKING = "Not written down in {period}, so not in the lists: {columns}."


def missing(season: Season) -> tuple[str, ...]:
    """Open where one farm is listed, the setting asks for lists, and there is a loss, a dam or a sire to list."""
    say, whole = voice_of(season).say, season.whole or season
    if not season.settings.animal_lists:
        return (say("Left out: animal_lists is false in the settings."),)
    farm = listed_farm(whole)
    if farm is None:
        return (
            say(
                "Not answered: the records hold several farms, which are shown as letters. With own_farm in the "
                "settings the animals of that farm are listed."
            ),
        )
    births = of_farm(whole.births, farm)
    if len(births) and (births["lost"].any() or written(births, "dam_id") or written(births, "sire_id")):
        return ()
    return (say("Not answered: there is no loss, no dam_id and no sire_id to make a list from."),)


def answer(season: Season) -> Animals:
    """The three lists; `NotRecorded` where there is nothing to list."""
    heed(missing(season))
    return count(season)


def sentences(result: Animals) -> tuple[Sentence, ...]:
    """How many are listed, which dams are marked, which lost again, how far sires lie apart, what is not there."""
    return (_losses(result), *_marked(result), *_again(result), *_sires(result), *_lacking(result))


def _losses(result: Animals) -> Sentence:
    """How many newborns of the season under review have a line."""
    voice, lost = voice_of(result), len(result.losses)
    if not lost:
        born = voice.count(result.born)
        return Sentence(voice.say(NONE_LOST, born=born, season=result.season), lead=True)
    counts = voice.part_of(lost, result.born)
    return Sentence(voice.say(LOST, lost=counts, season=result.season), lead=True)


def _period(result: Animals) -> str:
    return season_names(voice_of(result), result.period, result.period)


def _window(result: Animals) -> str:
    return window_label(voice_of(result), result.window.name, result.window.end_h)


def _marked(result: Animals) -> Iterator[Sentence]:
    """The dams that lost more than chance brings almost any dam of the farm, by name; or that there is none."""
    voice, dams = voice_of(result), result.dams
    if dams.empty or not dams["events"].any():
        return
    marked = dams[dams["marked"].astype(bool)]
    if marked.empty:
        yield Sentence(voice.say(NONE_MARKED, period=_period(result)))
        return
    named = [
        voice.say(
            ONE_MARKED,
            dam_id=str(row["dam_id"]),
            events=voice.count(row["events"]),
            n=voice.count(row["n"]),
            window=_window(result),
            expected=voice.number(row["expected"], 2),
        )
        for row in marked.to_dict("records")
    ]
    most = float(marked["such"].max())
    such = voice.number(most, 2) if most >= LEAST else voice.say("under {n}", n=voice.number(LEAST, 2))
    yield Sentence(
        voice.say(MARKED, period=_period(result), named=joined(named[:MOST_NAMED], ", "), such=such),
        deaths=float(marked["events"].sum()),
    )


def _again(result: Animals) -> Iterator[Sentence]:
    """The dams that lost in two seasons or more, by name: those of whom the chapter of the next season speaks."""
    voice, again = voice_of(result), result.dams[result.dams["again"].astype(bool)]
    if len(again):
        named = ", ".join(again["dam_id"].astype(str).head(MOST_NAMED))
        values = {"window": _window(result), "period": _period(result), "n": voice.count(len(again))}
        yield Sentence(voice.say(AGAIN, **values, named=named))


def _sires(result: Animals) -> Iterator[Sentence]:
    """How far the sires lie apart once chance is allowed for."""
    voice, sires = voice_of(result), result.sires
    enough = sires[~sires["few"].astype(bool)]
    if len(enough) < 2:
        return
    text = voice.say(
        SIRES,
        period=_period(result),
        n=voice.count(len(enough)),
        window=_window(result),
        low=voice.percent(float(enough["shrunken"].min())),
        high=voice.percent(float(enough["shrunken"].max())),
    )
    few = len(sires) - len(enough)
    yield Sentence(voice.say(TOO_FEW, said=text, few=voice.count(few)) if few else text)


def _lacking(result: Animals) -> Iterator[Sentence]:
    """The identities that nobody wrote, in one line."""
    if result.lacking:
        voice = voice_of(result)
        named = joined((column_name(voice, name) for name in result.lacking), ", ")
        yield Sentence(voice.say(LACKING, period=_period(result), columns=named), columns=result.lacking)


def figures(result: Animals) -> tuple[Figure, ...]:
    """None: a list of animals is read line by line."""
    return ()


def tables(result: Animals) -> tuple[Table, ...]:
    """The losses, the dams, the sires; each has a sheet of the workbook to itself."""
    built = []
    if len(result.losses):
        built.append(_losses_table(result))
    if len(result.dams):
        built.append(_dams_table(result))
    if len(result.sires):
        built.append(_sires_table(result))
    return tuple(built)


def _filled(frame: pd.DataFrame, declared: Sequence[Column]) -> tuple[Column, ...]:
    """The declared columns in which anything was written, and those that are left open to tick."""
    return tuple(one for one in declared if one.choices or frame[one.stored[0]].notna().any())


SAID = ("newborn_id", "dam_id", "sire_id", "place", "delivery", "cause", "cause_basis")
"""Columns of the losses that are printed in the reader's words, with a dash where nothing was written."""


def _losses_table(result: Animals) -> Table:
    """One line a loss of the season under review, in the order of birth."""
    voice, losses = voice_of(result), result.losses
    say = voice.say
    rows = losses.to_dict("records")
    frame = losses.assign(
        at=[_moment(voice, row) for row in rows],
        age=[say("born dead") if row["stillborn"] else row["age_h"] for row in rows],
        age_kind=["hours" if row["age_h"] < IN_HOURS_TO else "age" for row in rows],
        **{f"{name}_said": _said(voice, losses[name]) for name in SAID},
        preventable="",
    )
    frame["newborn_id_said"] = frame["newborn_id_said"].replace(NOT_KNOWN, say("no number"))
    declared = (
        columns.text("newborn_id_said", say("{Newborn}"), raw="newborn_id"),
        columns.text("dam_id_said", say("{Dam}"), raw="dam_id"),
        columns.text("sire_id_said", say("Sire"), raw="sire_id"),
        columns.text("place_said", say("Place"), raw="place"),
        columns.text("at", say("Born"), raw="born"),
        columns.mixed(Column("age", say("Age at loss"), "age", raw="age_h"), "age_kind"),
        columns.text("delivery_said", say("Delivery"), raw="delivery"),
        columns.text("cause_said", say("Cause"), raw="cause"),
        columns.text("cause_basis_said", say("Basis"), raw="cause_basis"),
        columns.to_tick(
            "preventable", say("Could it have been prevented?"), say("yes"), say("maybe"), say("no")
        ),
        columns.key("stillborn", say("born dead")),
        columns.key("group", say("Pen, paddock or mob")),
        *(columns.key(entry.name, factor(voice, entry.name)) for entry in KEPT_TO_GROUP),
        columns.key("birth_place", say("Birth place")),
    )
    note = say(
        "Lost: {lost}. The boxes are for vet and keeper to tick; this page never fills them in.",
        lost=voice.part_of(len(losses), result.born),
    )
    title = say("Losses of {season}, one by one", season=result.season)
    return _list(result, "animals-losses", title, frame, declared, note, LONG_FOLD)


def _said(voice: Voice, values: pd.Series) -> list[str]:
    """Terms in the reader's language, a farm's own text as it is, a dash where nothing was written."""
    return [label(voice, value) if pd.notna(value) else NOT_KNOWN for value in values]


def _moment(voice: Voice, row: Any) -> str:
    """Day and, where it was written, time of birth."""
    born = row["born"]
    if pd.isna(born):
        return NOT_KNOWN
    return f"{voice.day(born)} {born:%H:%M}" if row["born_precision"] == "time" else voice.day(born)


def _dams_table(result: Animals) -> Table:
    """One line a dam, those marked first, then those that lost in two seasons or more."""
    voice, dams, window = voice_of(result), result.dams, _window(result)
    say = voice.say
    marked = dams["marked"].astype(bool)
    words = {True: say("marked"), False: ""}
    frame = dams.assign(mark=[words[one] for one in marked], keep_or_cull="")
    for of, told in (("judged", "rejected"), ("deliveries", "assisted")):
        frame[[of, told]] = frame[[of, told]].where(frame[of] > 0)
    if len(result.period) < 2:
        frame = frame.assign(seasons_lost=float("nan"))
    mark = columns.text("mark", say("Marked"), raw="marked")
    declared = (
        columns.text("dam_id", say("{Dam}")),
        columns.count("litters", say("{Litters}")),
        columns.count("born", say("Born")),
        columns.count("reared", say("Reared")),
        columns.counts("events", "n", say("Lost by {window}", window=window), "of"),
        columns.number("expected", say("Expected"), digits=2),
        columns.p("p", say("Chance of so many or more")),
        columns.number("such", say("Such {dams} by chance"), digits=2),
        columns.counts("seasons_lost", "seasons", say("Seasons with a loss"), "of"),
        columns.counts("rejected", "judged", say("Not accepted"), "of"),
        columns.counts("assisted", "deliveries", say("Assisted {litters}"), "of"),
        mark if marked.any() else columns.in_csv(mark),
        columns.to_tick("keep_or_cull", say("Keep or cull"), say("keep"), say("cull")),
        columns.in_csv(columns.count("lost", say("Lost"))),
        columns.in_csv(columns.p("q", say("q"))),
        columns.key("again", say("Lost in two seasons or more")),
    )
    first = int((marked | dams["again"].astype(bool)).sum())
    rows = min(max(first, SHORT_FOLD), LONG_FOLD)
    title = say("{Dams}, {period}", period=_period(result))
    return _list(result, "animals-dams", title, frame, declared, _of_dams(result), rows)


def _of_dams(result: Animals) -> str:
    """What the columns of the dams' list mean, how often a mark is chance, and whose the box is."""
    voice = voice_of(result)
    return voice.say(
        "Expected: had her litters lost as the {herd}'s litters of that size lost in that season. Such {dams} by "
        "chance: how many of the {n} {dams} chance alone would bring as far. Of those marked at most {percent} are "
        "there by chance, in the long run, and of farms on which no {dam} differs from another at most {percent} have "
        "any marked. Lost in two seasons or more: {again}. Reared: not lost while watched. Whether to keep or cull is "
        "for you to decide: this page never ticks the box.",
        again=voice.count(int(result.dams["again"].sum())),
        n=voice.count(len(result.dams)),
        percent=voice.percent(result.settings.false_discovery_share, 0),
    )


def _sires_table(result: Animals) -> Table:
    """One line a sire, those with most newborns first."""
    voice, sires = voice_of(result), result.sires
    say = voice.say
    few = sires["few"].astype(bool)
    told = {
        f"{name}_said": sires[name].astype(object).where(~few, say("too few"))
        for name in ("share", "shrunken")
    }
    unknown = {
        name: float("nan")
        for name in ("difficult", "difficulty_known")
        if not sires["difficulty_known"].any()
    }
    declared = (
        columns.text("sire_id", say("Sire")),
        columns.count("litters", say("{Litters}")),
        columns.counts("events", "n", say("Lost by {window}", window=_window(result)), "of"),
        Column("share_said", say("Share"), "share", raw="share"),
        Column("shrunken_said", say("Share, drawn in"), "share", raw="shrunken"),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
        columns.counts("difficult", "difficulty_known", say("Difficult births"), "of"),
        columns.share("difficult_share", say("Share difficult")),
        columns.share("difficult_shrunken", say("Share difficult, drawn in")),
        columns.number("weight_kg", say("Mean birth weight (kg)"), digits=2, unit="kg"),
        columns.in_csv(columns.count("weighed", say("Weighed"))),
        columns.key("few", say("too few to say")),
    )
    title = say("Sires, {period}", period=_period(result))
    frame = sires.assign(**told, **unknown)
    return _list(result, "animals-sires", title, frame, declared, _of_sires(result), LONG_FOLD)


def _of_sires(result: Animals) -> str:
    """Of how many sires there is enough to say, and what a difference between them need not be."""
    voice, few = voice_of(result), result.sires["few"].astype(bool)
    return voice.say(
        "Sires with enough {newborns} to say: {n}; with too few (under {minimum} {newborns}, or of fewer litters): "
        "{few}. Shares are drawn towards the common one by as much as chance blurs them. Sires are put to other "
        "{dams}, in other seasons and places: a difference need not be the sire's.",
        n=voice.count(int((~few).sum())),
        minimum=voice.count(result.settings.minimum_group),
        few=voice.count(int(few.sum())),
    )


def _list(
    result: Animals,
    name: str,
    title: str,
    frame: pd.DataFrame,
    declared: Sequence[Column],
    note: str,
    rows: int,
) -> Table:
    """A list with a sheet of its own, of which so many rows stand on the page."""
    shown = _filled(frame, declared)
    return Table(name, title, frame, shown, note=note, printer=voice_of(result), on_page=rows, own_sheet=True)


def method(result: Animals) -> Method:
    """How dams are held against chance, and what the lists are no proof of."""
    say = voice_of(result).say
    return Method(
        method=(
            say(
                "A {dam}'s losses are held against what chance would deal her: within each season and litter size the "
                "litters, each with the number that it lost, are dealt at random to the {dams} that bore one of that "
                "size; her litters' losses add up. Littermates share their luck, and a bad season is everybody's."
            ),
            say(
                "So many {dams} are looked at that some always look bad. For each the list says how many {dams} of the "
                "{herd} chance alone would bring as far; marked are so many that chance alone would bring at most the "
                "share of them that the settings allow for false alarms (a step-up for counts). A mark is no finding "
                "of the page: what the page claims of {dams} that lost again is decided under Next season."
            ),
            say(
                "Shares of sires are drawn towards the common one (beta-binomial empirical Bayes, litters allowed for "
                "by the design effect)."
            ),
        ),
        settings=(
            say("Window: {window}.", window=_window(result)),
            say(
                "animal_lists = false leaves the lists out of the page, the workbook, the tables and the headline."
            ),
        ),
        limits=(
            say(
                "A list shows what was written of an animal, not why; {dams} that lost are often culled, so long "
                "histories are those of {dams} that did well."
            ),
        ),
        sources=(
            say("Heyse JF (2011) in: Recent Advances in Biostatistics, pages 43-58."),
            say("Döhler S, Durand G, Roquain E (2018) Electron J Stat 12:1867-1900."),
            say("Carlin BP, Louis TA (2000) Bayes and Empirical Bayes Methods for Data Analysis, chapter 3."),
        ),
    )

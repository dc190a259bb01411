"""How long did those born alive live, and does it differ by birth type?"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted import survival as counted
from neonatal_stats.chapters.counted.survival import BY_TYPE, Survival, ages_known, claims
from neonatal_stats.chapters.protocol import Verdicts, decided_within, heed, interval_heading
from neonatal_stats.drawing import Figure, draw_loss
from neonatal_stats.measures.curves import as_lost, before_ages
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.rates import each_row, one_below_another
from neonatal_stats.measures.windows import FEWEST_WATCHED, watched_to_h, well_watched
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.words import Method, Sentence, Voice, voice_of
from neonatal_stats.words.evidence import compare_several, excess_over_lowest
from neonatal_stats.words.group_tables import curve_table
from neonatal_stats.words.losses_spoken import alive_said
from neonatal_stats.words.names import few_words, label

NAME = "survival"
TITLE = "Survival"
QUESTION = "How long did the {newborns} born alive live, and does it differ by birth type?"

Row = dict[Hashable, Any]


def missing(season: Season) -> tuple[str, ...]:
    """Open where newborns were born alive and nearly all deaths have an age."""
    say = voice_of(season).say
    alive = season.births[~season.births["stillborn"]]
    if alive.empty:
        return (say("Not answered: no {newborn} was born alive, so there is no survival to follow."),)
    if not watched_to_h(season.births, season.settings):
        return (
            say(
                "Not answered: nothing is written of the {newborns} after their birth. Which of them died (died), and "
                "when (died_at), would open the chapter."
            ),
        )
    if not ages_known(alive):
        return (
            say(
                "Not answered: the age at death is not known for enough of those that died. When each was "
                "born (born_at or born_on) and when it died (died_at, or last_alive_at and found_dead_at) "
                "would open the chapter."
            ),
        )
    return ()


def answer(season: Season) -> Survival:
    """Follow those born alive; `NotRecorded` where none was, or where too few ages are known."""
    heed(missing(season))
    return counted.answer(season)


def sentences(result: Survival, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """Alive at the windows' ends, by birth type, on average, and how sure the ages are."""
    verdicts = settled(claims(result), result.settings, verdicts)
    return (
        *_alive_said(result),
        *_by_type_said(result, verdicts),
        *_days_said(result),
        *_between_said(result),
    )


def figures(result: Survival) -> tuple[Figure, ...]:
    """By birth type where there are several, else all together; then the total loss of all born."""
    return (_by_type_drawn(result), _loss_drawn(result))


def tables(result: Survival) -> tuple[Table, ...]:
    """Shares alive first, then who is in the curves, days alive, and the two readings of the time of death."""
    return (_ages_table(result), _who_table(result), _days_table(result), *_between_table(result))


def curves(result: Survival) -> tuple[Table, ...]:
    """Share alive by each age, by birth type and all together, and share lost of all born: for other programs."""
    voice, level = voice_of(result), result.settings.level
    together = result.whole.assign(birth_type="all")
    apart = result.by_type.assign(birth_type=result.by_type["birth_type"].astype(str))
    alive = one_below_another(together, apart)
    keys = {"birth_type": voice.say("Birth type")}
    title = voice.say("Alive by each age, of {newborns} born alive")
    whole = voice.say("Total loss of all {newborns} born, those born dead at age 0")
    return (
        curve_table(voice, "survival-birth-types-curve", title, alive, keys, level),
        curve_table(voice, "survival-total-loss-curve", whole, result.loss, {}, level),
    )


def _alive_said(result: Survival) -> Iterator[Sentence]:
    """Of those born alive, how many were alive at the end of each window and of the watching."""
    voice, born = voice_of(result), result.who["born alive"]
    if born < SMALL_GROUP:
        text = "Born alive: {born}, too few to give shares; the table has the counts."
        yield Sentence(voice.say(text, born=voice.count(born)))
        return
    together = result.at_ages[result.at_ages["birth_type"] == "all"]
    ends = (*result.settings.windows_h.values(), result.end_h)
    for row in together[together["share"].notna() & together["age_h"].isin(ends)].to_dict("records"):
        yield Sentence(alive_said(voice, born, row))


def _share(voice: Voice, row: Any) -> dict[str, str]:
    return {"share": voice.percent(row["share"]), "interval": voice.percent_range(row["low"], row["high"])}


def _by_type_said(result: Survival, verdicts: Verdicts) -> Iterator[Sentence]:
    """Alive by birth type at the last day to which every large type was watched, and whether the types differ."""
    voice, groups = voice_of(result), result.at_common
    large = groups[groups["n"] >= result.settings.minimum_group]
    if len(groups) < 2 or large.empty:
        return
    said = compare_several(voice, result.differ.p, verdicts.get(BY_TYPE, result.verdict))
    told = "; ".join(_told(voice, row) for row in large.to_dict("records"))
    text = "Alive at {end} by birth type: {told}. {said}"
    whole = voice.say(text, end=voice.age(result.common_h), told=told, said=said.text)
    excess = excess_over_lowest(zip(large["lost"], large["n"], strict=True))
    yield Sentence(whole, said.verdict, excess, claim=BY_TYPE)


def _told(voice: Voice, row: Row) -> str:
    """One birth type: its share alive, or a count where there are few."""
    name = label(voice, row["birth_type"])
    if row["n"] < SMALL_GROUP or math.isnan(row["share"]):
        counts = {"lost": voice.count(row["lost"]), "n": voice.count(row["n"])}
        return voice.say("{name} {lost} of {n} died", name=name, **counts)
    return voice.say("{name} {share} ({interval})", name=name, **_share(voice, row))


def _by_type_drawn(result: Survival) -> Figure:
    """The curves of those born alive as shares lost, a line a birth type."""
    voice = voice_of(result)
    say = voice.say
    named = [(label(voice, name), curve) for name, curve in result.types]
    if len(named) < 2:
        named = [(say("all"), as_lost(result.whole))]
    told = sorted(((_at_end(result, curve), name) for name, curve in named), key=lambda one: -one[0]["share"])
    few = [
        (label(voice, row.birth_type), few_words(voice, row.n, row.litters)) for row in each_row(result.few)
    ]
    alt = "Lost of the {newborns} born alive by the last age at which enough were watched, the most first: {told}."
    return _draw(
        result,
        named,
        few,
        name="survival-birth-types",
        title=say("Loss of {newborns} born alive"),
        alt=say(alt, told="; ".join(_read(voice, name, row) for row, name in told)),
        axis=say("lost, % of {newborns} born alive"),
    )


def _loss_drawn(result: Survival) -> Figure:
    """The curve of all born, as shares lost; those born dead at age 0."""
    voice, end_h = voice_of(result), result.end_h
    say, ages = voice.say, [*(hour for hour in result.settings.windows_h.values() if hour < end_h), end_h]
    read = before_ages(result.loss, (), ages, end_h=end_h, start=0.0).dropna(subset=["share"])
    told = "; ".join(_read(voice, "", row) for row in read.to_dict("records"))
    return _draw(
        result,
        [(say("all"), result.loss)],
        [],
        name="survival-total-loss",
        title=say("Total loss of all {newborns} born, those born dead at age 0"),
        alt=say("Share lost of all {newborns} born, counted up from birth: {told}.", told=told),
        axis=say("lost, % of {newborns} born"),
    )


def _draw(
    result: Survival,
    named: Sequence[tuple[str, pd.DataFrame]],
    few: Sequence[tuple[str, str]],
    **words: str,
) -> Figure:
    voice = voice_of(result)
    return draw_loss(
        named,
        follow_up_h=result.end_h,
        marks_h=[hour for hour in result.settings.windows_h.values() if hour < result.end_h],
        printer=voice,
        age_axes=(voice.say("age, hours"), voice.say("age, days")),
        at_risk=voice.say("still watched"),
        too_few=few,
        **words,
    )


def _at_end(result: Survival, curve: pd.DataFrame) -> Row:
    """A curve of shares lost, read at the last age at which enough were watched."""
    curve = well_watched(curve)
    last = min(result.end_h, float(curve["age_h"].max()))
    return before_ages(curve, (), [last], end_h=last, start=0.0).iloc[0].to_dict()


def _read(voice: Voice, name: str, row: Row) -> str:
    """A reading of a curve, for the text that stands for the picture."""
    read = {"age": voice.age(row["age_h"]), **_share(voice, row)}
    if not name:
        return voice.say("{share} ({interval}) by {age}", **read)
    return voice.say("{name} {share} ({interval}) by {age}", name=name, **read)


def _ages_table(result: Survival) -> Table:
    """Died so far, still watched and alive at each age, all together and by birth type."""
    voice = voice_of(result)
    say, differ = voice.say, result.differ
    declared = (
        columns.text("name", say("Birth type"), raw="birth_type"),
        columns.age("age_h", say("Age")),
        columns.count("lost", say("Died so far")),
        columns.count("watched", say("Alive and watched")),
        columns.share("share", say("Share alive")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
    )
    note = say(
        "Log-rank test between birth types, clustered: chi-square {chi}, {df} degrees of freedom, p {p}. "
        "Where fewer than {least} of a group (of a small one, a tenth) were still watched its share is not given.",
        least=voice.count(FEWEST_WATCHED),
        chi=voice.number(differ.statistic, 2),
        df=voice.count(differ.df),
        p=voice.p_value(differ.p),
    )
    title = say("Alive at the end of each window, of {newborns} born alive")
    frame = _named(voice, result.at_ages)
    return Table("survival-ages", title, frame, declared, note=note if differ.df else "", printer=voice)


def _named(voice: Voice, frame: pd.DataFrame) -> pd.DataFrame:
    """With the birth types as printed, "all" for all together."""
    names = [voice.say("all") if one == "all" else label(voice, one) for one in frame["birth_type"]]
    return frame.assign(name=names)


WHO = {
    "born alive": "born alive",
    "watched to the end": "watched, alive, to the end of follow-up",
    "left alive or out of sight": "left alive, or last seen alive, before it",
    "left alive without a date": "of these, left alive without a date",
    "died at a known hour": "died, hour known",
    "died on a known day": "died, only the day known",
    "died between checks over an hour apart": "of these, known only to lie between two checks",
    "died at an unknown age": "died at an unknown age",
}


def _who_table(result: Survival) -> Table:
    """Those born alive by what became of them; deaths between two checks are counted twice, as it says."""
    voice = voice_of(result)
    say = voice.say
    frame = pd.DataFrame([(say(WHO[key]), n) for key, n in result.who.items()], columns=["what", "n"])
    declared = (columns.text("what", say("{Newborns}")), columns.count("n", say("Count")))
    return Table("survival-who", say("Who is in the curves"), frame, declared, printer=voice)


SHORT_H = 72.0  # days alive on average mean little over less than this


def _days_said(result: Survival) -> Iterator[Sentence]:
    """Mean days alive, of all born alive; only where the days watched give it a meaning."""
    row, voice = result.days.iloc[0], voice_of(result)
    if pd.isna(row["low"]) or row["n"] < SMALL_GROUP or result.common_h < SHORT_H:
        return
    text = "Out of the first {end} a {newborn} born alive lived {days} days on average ({low} to {high})."
    days = {name: voice.number(row[name]) for name in ("days", "low", "high")}
    yield Sentence(voice.say(text, end=voice.age(result.common_h), **days))


def _days_table(result: Survival) -> Table:
    """Mean days alive up to the last day to which every large birth type was watched."""
    voice = voice_of(result)
    say = voice.say
    declared = (
        columns.text("name", say("Birth type"), raw="birth_type"),
        columns.count("n", say("Born alive")),
        columns.number("days", say("Days alive, on average")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "number"),
        columns.key("note", say("Note")),
    )
    title = say("Days alive out of the first {end}", end=voice.age(result.common_h))
    note = say("The area under the curve. A group of one litter has no interval.")
    return Table("survival-days", title, _named(voice, result.days), declared, note=note, printer=voice)


def _between_said(result: Survival) -> Iterator[Sentence]:
    """Deaths known only to lie between two checks, and deaths left out since no age is known."""
    voice, undated = voice_of(result), result.who["died at an unknown age"]
    if result.between is not None:
        text = (
            "{some} of {deaths} deaths are known only to lie between two checks, {hours} apart at the "
            "median. Taking the time found, as the curves do, moves the share alive at these ages by at "
            "most {points} percentage points."
        )
        yield Sentence(voice.say(text, **_between(voice, result.between)))
    if undated:
        text = "Died at an unknown age: {undated}; left out, so that the curves run a little high."
        yield Sentence(voice.say(text, undated=voice.count(undated)))
    if gone := result.who.get("left alive without a date"):
        text = "Left alive without a date: {gone}; left out, so that the curves run a little low."
        yield Sentence(voice.say(text, gone=voice.count(gone)))


def _between(voice: Voice, between: counted.FoundDead) -> dict[str, str]:
    return {
        "some": voice.count(between.between_checks),
        "deaths": voice.count(between.deaths),
        "hours": voice.age(between.typical_h),
        "points": voice.number(100 * between.moves),
    }


def _between_table(result: Survival) -> Iterator[Table]:
    """Shares alive taking the time found, and at both ends of what the checks allow."""
    if result.between is None:
        return
    voice = voice_of(result)
    say = voice.say
    declared = (
        columns.age("age_h", say("Age")),
        columns.share("found", say("Alive, taking the time found")),
        columns.share("earliest", say("Alive, dead as early as the checks allow")),
        columns.share("latest", say("Alive, dead as late as the checks allow")),
    )
    note = say(
        "{some} of {deaths} deaths lie between two checks, {hours} apart at the median; the largest gap in "
        "this table is {points} percentage points.",
        **_between(voice, result.between),
    )
    title, frame = say("Deaths known only to lie between two checks"), result.between.frame
    yield Table("survival-between-checks", title, frame, declared, note=note, printer=voice)


def method(result: Survival, verdicts: Verdicts | None = None) -> Method:
    """Method, settings, limits and sources."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    return Method(
        method=(
            say(
                "Kaplan-Meier from birth, of {newborns} born alive; deaths come before leaving at the same "
                "hour. Those that left alive, or were last seen alive, count until then. Intervals are on "
                "the log(-log) scale from influence values summed within litters. The curve of all born "
                "starts with those born dead, lost at age 0."
            ),
            say(
                "Birth types are compared over all ages by the log-rank test with its variance clustered on "
                "the litter."
            ),
            decided_within(voice, verdicts),
            say("Days alive on average are the area under the curve up to the last age watched."),
            say(
                "Deaths known only to lie between two checks: non-parametric maximum likelihood of "
                "Turnbull, held against the curve that takes the time found."
            ),
        ),
        settings=(
            say("End of follow-up: {days} days.", days=voice.number(settings.follow_up_d, 0)),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say("A curve assumes that those that left were as likely to die as those that stayed."),
            say(
                "Birth type goes with birth weight, parity and care; a difference between types is an "
                "association."
            ),
            say("Deaths at an unknown age are left out, which makes the curves a little too high."),
        ),
        sources=(
            say(
                "Kaplan EL, Meier P (1958) J Am Stat Assoc 53:457-481. Lee EW, Wei LJ, Amato DA (1992) in "
                "Survival Analysis: State of the Art, 237-247."
            ),
            say(
                "Royston P, Parmar MKB (2013) BMC Med Res Methodol 13:152. Turnbull BW (1976) J R Stat Soc "
                "B 38:290-295."
            ),
        ),
    )

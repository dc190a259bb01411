"""What should next season aim at, what could be won, and what should be written down?"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Iterator, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.chapters import planning_money, planning_seen
from neonatal_stats.chapters.counted.planning import ENOUGH, LOSING_AGAIN, Planning, claims
from neonatal_stats.chapters.counted.planning import answer as count
from neonatal_stats.chapters.protocol import Verdicts, decided_within, heed, interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_needed
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.ledger import settled
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Method, Sentence, Verdict, cautions, joined, voice_of
from neonatal_stats.words.names import column_name, group_phrase, window_label
from neonatal_stats.words.periods import dated
from neonatal_stats.words.plain import money
from neonatal_stats.words.risk_rows import risk_columns, risk_rows, shown_first

NAME = "planning"
TITLE = "Next season"
QUESTION = "What could next season win, what would show it, and what should be written down?"
ALL_SEASONS = True

Row = Mapping[Hashable, Any]

MOST_SAID = 3

OPENS = {
    "born_at": "when, by the hour, the losses fall, and every check of the first hours",
    "birth_weight_kg": "whether small or large {newborns} are lost more, and colostrum by weight",
    "delivery": "whether hard births and births by surgery lose more",
    "dam_parity": "whether {first_timers} lose more",
    "sex": "whether males are lost more",
    "suck_reflex": "whether a weak suck reflex at 10 minutes marks those at risk",
    "stood_after_min": "whether standing late marks those at risk",
    "fed_after_min": "whether late colostrum goes with loss",
    "mothered_up": "which {dams} reject, and what became of those left",
    "died_at": "at what age {newborns} are lost: the survival curve",
    "cause": "what the losses were put down to",
    "cause_basis": "how far the causes can be trusted",
    "last_seen_at": "that the living were truly seen alive at the end",
}
ASKED = {
    "all": "{newborns} born",
    "alive": "born alive",
    "lost": "lost after a live birth",
    "living": "not lost",
}

AVOIDABLE = (
    "{phrase} had about {saved} losses a season more than the risk of the rest would give ({low} to "
    "{high}){cost}."
)
AT_MOST = (
    "These are the most there is to win, and only if the group itself is the reason, which records cannot "
    "prove; groups overlap, so their losses must not be added up."
)
COST = ", worth {cost} ({low} to {high})"
LOST_COST = "{newborns} lost by {window} in {season}: {lost}, worth {cost} at {price} each."
NO_PRICE = "No price of a {newborn} is set; with one in the settings, losses would be shown as cost."
FEWER = (
    "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two or more; chance alone would "
    "give about {expected} ({low} to {high}): no more than chance gives; one that lost far more than chance is "
    "marked among the animals."
)
REPEAT = {
    Verdict.CLEAR: "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two or "
    "more; chance alone would give about {expected} ({low} to {high}). That is more than chance: look at "
    "these {dams_word} first.",
    Verdict.LEANING: "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two or more; "
    "chance alone would give about {expected} ({low} to {high}). It leans to more, but chance is not ruled out.",
    Verdict.NO_CLEAR: "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two "
    "or more; chance alone would give about {expected} ({low} to {high}), so most of them may be chance.",
}
RECORD = "Record next season: {columns} (so far written down for too few to answer what that opens)."
RECORD_ALL = "Every column that opens a question was recorded for at least {enough} of those it is asked of."


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as there is one birth."""
    if len(season.births):
        return ()
    return (voice_of(season).say("Not answered: there are no births to plan from."),)


def answer(season: Season) -> Planning:
    """What next season could see and win, and what to record; `NotRecorded` where there are no births."""
    heed(missing(season))
    return count(season)


def sentences(result: Planning, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """What could be seen and won, what it costs, and what to record."""
    found = settled(claims(result), result.settings, verdicts)
    return (
        *planning_seen.sentences(result),
        *_of_all_seasons(result, _avoidable(result, found)),
        _cost(result),
        *_of_all_seasons(result, planning_money.sentences(result)),
        *_of_all_seasons(result, _repeat(result, found)),
        *_record(result),
    )


def _of_all_seasons(result: Planning, said: Iterable[Sentence]) -> Iterator[Sentence]:
    """The sentences with the seasons that they speak of."""
    for one in said:
        yield dated(voice_of(result), one, result.period, result.period)


def _avoidable(result: Planning, verdicts: Verdicts) -> Iterator[Sentence]:
    """What each clear group that can be changed could save a season, at most, and what that is not."""
    voice, groups = voice_of(result), judged(result.avoidable, verdicts)
    clear = groups[groups["verdict"] == Verdict.CLEAR]
    for row in clear.head(MOST_SAID).to_dict("records"):
        saved = {name: voice.number(row[name], 0) for name in ("saved", "saved_low", "saved_high")}
        text = voice.say(
            AVOIDABLE,
            phrase=group_phrase(voice, row),
            saved=saved["saved"],
            low=saved["saved_low"],
            high=saved["saved_high"],
            cost=_worth(result, row),
        )
        yield Sentence(text, None, row["saved"])
    if len(clear):
        yield Sentence(voice.say(AT_MOST), goes_on=True)


def _worth(result: Planning, row: Row) -> str:
    """The same in money, where a price is set."""
    voice = voice_of(result)
    if result.settings.price is None:
        return ""
    cost = money(voice, row["cost"], result.settings.currency)
    return voice.say(COST, cost=cost, low=voice.count(row["cost_low"]), high=voice.count(row["cost_high"]))


def _cost(result: Planning) -> Sentence:
    """What last season's losses cost, or that no price is set."""
    voice, last, settings = voice_of(result), result.last.iloc[0], result.settings
    if settings.price is None:
        return Sentence(voice.say(NO_PRICE))
    text = voice.say(
        LOST_COST,
        lost=voice.count(last["events"]),
        window=window_label(voice, result.window.name, result.window.end_h),
        season=str(last["season"]),
        cost=money(voice, last["events"] * settings.price, settings.currency),
        price=money(voice, settings.price, settings.currency),
    )
    return Sentence(text)


def _repeat(result: Planning, verdicts: Verdicts) -> Iterator[Sentence]:
    """Dams that lost in more than one season beside chance."""
    voice, found, verdict = voice_of(result), result.repeat, verdicts.get(LOSING_AGAIN)
    if not found.dams or math.isnan(found.expected):
        return
    fewer = found.observed <= found.expected
    decided = Verdict.NO_CLEAR if fewer or verdict in (None, Verdict.TOO_FEW) else verdict
    text = voice.say(
        FEWER if fewer else REPEAT[decided],
        observed=voice.count(found.observed),
        dams=voice.count(found.dams),
        dams_word=voice.say("{dams}"),
        expected=voice.number(found.expected, 0),
        low=voice.number(found.low, 0),
        high=voice.number(found.high, 0),
    )
    yield Sentence(text, decided, claim=LOSING_AGAIN, see="animals")


def _record(result: Planning) -> Iterator[Sentence]:
    """Which columns to record next season, and what recording costs in handling."""
    voice = voice_of(result)
    wanted = result.record.loc[~result.record["enough"], "column"]
    if wanted.empty:
        yield Sentence(voice.say(RECORD_ALL, enough=voice.percent(ENOUGH, 0)))
        return
    named = joined((column_name(voice, name) for name in wanted), ", ")
    yield Sentence(voice.say(RECORD, columns=named), role="record next", columns=tuple(wanted))
    if "mothered_up" in set(result.record["column"]):
        yield from cautions.touching(voice, wanted)


def figures(result: Planning) -> tuple[Figure, ...]:
    """How many newborns each fall in loss needs before it can be seen, where losses fell short of all or nothing.

    What each group could save is the picture of the chapter of the groups divided by the seasons, and not drawn again.
    """
    if result.needed.empty:
        return ()
    voice, last, rows = voice_of(result), result.last.iloc[0], result.needed.to_dict("records")
    say = voice.say
    falls = [
        say(
            "by {fall}, from {p0} to {p1}",
            fall=voice.percent(row["fall"], 0),
            p0=voice.percent(row["p0"]),
            p1=voice.percent(row["p1"]),
        )
        for row in rows
    ]
    told = "; ".join(f"{fall}: {voice.count(row['n'])}" for fall, row in zip(falls, rows, strict=True))
    born = {"season": str(last["season"]), "n": voice.count(last["n"] / 2)}
    return (
        draw_needed(
            result.needed.assign(label=falls),
            printer=voice,
            name="planning-needed",
            title=say("How many {newborns} are needed to see a fall"),
            alt=say(
                "{newborns} needed in each half of one season to see loss fall {told}. Half of {season} had {n}.",
                told=told,
                **born,
            ),
            axis=say("{newborns} needed in each half of one season"),
            there=(float(last["n"]) / 2, say("half of {season}: {n}", **born)),
        ),
    )


def tables(result: Planning, verdicts: Verdicts | None = None) -> tuple[Table, ...]:
    """Losses avoidable; newborns needed; actions; the last season; repeat losers; what to record."""
    groups = judged(result.avoidable, settled(claims(result), result.settings, verdicts))
    built = [_avoidable_table(result, groups)] if len(groups) else []
    if len(result.needed):
        built += planning_seen.tables(result)
    built += planning_money.tables(result)
    built.append(_last_table(result))
    if result.repeat.dams:
        built.append(_repeat_table(result))
    return (*built, _record_table(result))


def _last_table(result: Planning) -> Table:
    """Losses of the last season among those whose fate is known; their cost where a price is set."""
    voice, settings, frame = voice_of(result), result.settings, result.last
    say = voice.say
    shown = [
        columns.text("season", say("Season")),
        columns.count("events", say("Lost")),
        columns.count("n", say("{newborns}")),
        columns.share("share", say("Share")),
        columns.ratio("design_effect", say("Design effect")),
    ]
    if settings.price is not None:
        frame = frame.assign(price=settings.price, cost=frame["events"] * settings.price)
        shown.append(columns.count("price", say("Price of one, {currency}", currency=settings.currency)))
        shown.append(columns.count("cost", say("Cost, {currency}", currency=settings.currency)))
    return Table("planning-last", say("The last season"), frame, shown, printer=voice)


def _avoidable_table(result: Planning, groups: pd.DataFrame) -> Table:
    """The groups that lost more than the rest, and what each could save a season."""
    voice, settings = voice_of(result), result.settings
    say, interval = voice.say, interval_heading(voice, settings.level)
    frame = risk_rows(voice, groups).drop(columns=["verdict", "key"])
    frame = frame.assign(clear=groups["verdict"] == Verdict.CLEAR)
    saved = (
        columns.count("saved", say("Fewer losses a season")),
        columns.count("saved_low", say("{interval}, from", interval=interval)),
        columns.count("saved_high", say("to")),
    )
    cost = (
        columns.count("cost", say("Worth a season, {currency}", currency=settings.currency)),
        columns.count("cost_low", say("worth from")),
        columns.count("cost_high", say("worth to")),
    )
    shown = ["phrase", "deaths", "births", "risk", "rest_risk", *(column.name for column in saved)]
    if settings.price is not None:
        shown += [column.name for column in cost]
    declared = (*risk_columns(voice, interval), *saved, *cost, columns.key("clear", say("Clear")))
    note = say(
        "Groups overlap: the lines must not be added up. Only groups that management can change, and whose interval "
        "lies above none, are shown."
    )
    title = say("Losses above the risk of the rest, in groups that management can change")
    listed = shown_first(declared, shown, frame)
    return Table("planning-avoidable", title, frame, listed, note=note, printer=voice)


def _repeat_table(result: Planning) -> Table:
    """Dams that lost in two seasons or more, of those seen in more than one, beside chance."""
    voice, found = voice_of(result), result.repeat
    say = voice.say
    names = ("dams", "observed", "expected", "low", "high", "p")
    frame = pd.DataFrame([{name: getattr(found, name) for name in names}])
    shown = (
        columns.count("dams", say("{dams} seen in more than one season")),
        columns.count("observed", say("Lost in two seasons or more")),
        columns.number("expected", say("By chance alone"), digits=0),
        columns.interval("low", "high", say("95 of 100 draws of chance lie within"), "whole number"),
        columns.p("p", say("p")),
    )
    title = say("Losing again: {dams} in more than one season")
    return Table("planning-dams", title, frame, shown, printer=voice)


def _record_table(result: Planning) -> Table:
    """How far each column that opens a question was filled, of those it is asked of."""
    voice, record = voice_of(result), result.record
    say = voice.say
    frame = record.assign(
        of=[say(ASKED[of]) for of in record["of"]],
        heading=[column_name(voice, column) for column in record["column"]],
        opens=[say(OPENS[column]) for column in record["column"]],
        flag=[say("enough") if enough else say("too few") for enough in record["enough"]],
    )
    shown = (
        columns.text("heading", say("Column"), raw="column"),
        columns.count("recorded", say("Recorded")),
        columns.count("n", say("Of")),
        columns.in_csv(columns.share("share", say("Share"))),
        columns.text("of", say("Asked of")),
        columns.text("flag", say("Enough?"), raw="enough"),
        columns.text("opens", say("What it would answer")),
    )
    note = say("Enough is {enough} or more.", enough=voice.percent(ENOUGH, 0))
    return Table("planning-record", say("What to record next season"), frame, shown, note=note, printer=voice)


def method(result: Planning, verdicts: Verdicts | None = None) -> Method:
    """How next season was planned."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    price = money(voice, settings.price, settings.currency) if settings.price is not None else say("not set")
    return Method(
        method=(
            planning_seen.method(voice),
            say(
                "Avoidable losses: {newborns} of the group times the difference of its risk from the rest's, "
                "over all seasons recorded, each season by itself, divided by their number; only of groups that "
                "management can change, and called clear where the chapter of the groups does."
            ),
            decided_within(voice, verdicts),
            *([planning_money.method(voice)] if len(result.actions) else []),
            say(
                "{dams} that lost again: within each season and litter size, the litters that lost are dealt "
                "at random to the {dams} that gave birth; two or more for one {dam} is what chance gives."
            ),
            say(
                "A column counts as recorded where it says something; under {enough} of those it is asked "
                "of, it is on the list.",
                enough=voice.percent(ENOUGH, 0),
            ),
        ),
        settings=(
            say("Window: {window}.", window=window_label(voice, result.window.name, result.window.end_h)),
            say("Price of a {newborn}: {price}.", price=price),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "What could be saved is an upper bound: it holds only if the difference is the group's own doing, "
                "which an association does not prove."
            ),
            say(
                "A season before and a season after a change differ by all else that changed too. Which half of the "
                "{dams} the change is made for must be settled by lot, pen by pen or {dam} by {dam}, not by who looks "
                "as if in need of it."
            ),
            say("{dams} that lost are often culled and cannot lose again, so repeats are understated."),
        ),
        sources=(
            say(
                "Fleiss JL, Levin B, Paik MC (2003) Statistical Methods for Rates and Proportions, chapter 4."
            ),
            say("Hayes RJ, Bennett S (1999) Int J Epidemiol 28:319-326."),
            say("Newcombe RG (1998) Stat Med 17:873-890."),
            say("Eldridge SM et al. (2006) Int J Epidemiol 35:1292-1300 (uneven litters)."),
        ),
    )

"""What was agreed last season, was it done, and did what it should move move?"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.agreed import POWER, Agreed
from neonatal_stats.chapters.counted.agreed import answer as count
from neonatal_stats.chapters.protocol import Headline, Kept, heed, interval_heading
from neonatal_stats.drawing import Figure, draw_dumbbell
from neonatal_stats.estimates.verdict import Outcome
from neonatal_stats.measures.before_after import LEAST_SWING, USUAL_SWING
from neonatal_stats.season.actions import Action
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Method, Sentence, Verdict, Voice, joined, voice_of
from neonatal_stats.words.names import DONE, OUTCOMES, factor_name, measure_of, measure_words

NAME = "agreed"
TITLE = "What we agreed"
QUESTION = "What was agreed, was it done, and did what it should move move?"
ALL_SEASONS = True

Row = Mapping[Hashable, Any]
STEP = 0.20
"""Difference between the seasons in the share recorded from which it is said."""
NOT_FOLLOWED = {
    "no measure": "No measure was agreed for it",
    "no such season": "The records hold no season {season}",
    "nothing before": "{measure}: neither the records nor the plan say how many it was in the season before",
    "too few": "{measure}: recorded of too few {newborns} to say",
    "nothing recorded": "{measure}: not recorded",
    "not watched so long": "{measure}: too few were watched so long to say",
}
FOLLOWED = (
    "{measure}: {before} in {first} ({counts_before}) and {after} in {second} ({counts_after}), {how}; {change} "
    "percentage points ({level} interval {interval}): {outcome}"
)  # fmt: skip
HOW = {True: "on the same mix of births", False: "as the births came"}


def opened(season: Season) -> bool:
    """Whether there is a plan to follow up."""
    return bool(season.settings.plan)


def missing(season: Season) -> tuple[str, ...]:
    """Open where a plan was given."""
    if opened(season):
        return ()
    return (voice_of(season).say("Not answered: no plan was given."),)


def answer(season: Season) -> Agreed:
    """The plan followed up; `NotRecorded` where none was given."""
    heed(missing(season))
    return count(season)


def sentences(result: Agreed) -> tuple[Sentence, ...]:
    """How many actions reached what, then each action of the season under review, then those of earlier ones."""
    mine = result.of_the_season["action"].index
    said = [Sentence(_in_short(result), lead=True)]
    for place, row in enumerate(result.actions.loc[mine].to_dict("records")):
        said.append(Sentence(_action(result, row), _strength(row), goes_on=place > 0))
    earlier = result.actions.drop(index=mine).to_dict("records")
    said += [Sentence(_dated(result, row)) for row in earlier]
    if result.to_do:
        said.append(Sentence(_to_do(result)))
    return tuple(said)


def _strength(row: Row) -> Verdict:
    clear = (Outcome.REACHED, Outcome.MOVED, Outcome.WORSE)
    return Verdict.CLEAR if row["outcome"] in clear else Verdict.NO_CLEAR


def _in_short(result: Agreed) -> str:
    """How many actions were agreed for the season, and what became of them."""
    voice, mine = voice_of(result), result.of_the_season["outcome"]
    if mine.empty:
        return voice.say("Nothing was agreed for {season}.", season=result.reviewed)
    counted = ((OUTCOMES[one], int((mine == one).sum())) for one in Outcome)
    told = joined(
        (voice.say("{outcome} {n}", outcome=voice.say(o), n=voice.count(n)) for o, n in counted if n), ", "
    )
    template = "{n} actions were agreed for {season}: {told}."
    if len(mine) == 1:
        template = "One action was agreed for {season}: {told}."
    return voice.say(template, n=voice.count(len(mine)), season=result.reviewed, told=told)


def _dated(result: Agreed, row: Row) -> str:
    """An action of an earlier season."""
    return voice_of(result).say("For {season}: {said}", season=str(row["season"]), said=_action(result, row))


def _action(result: Agreed, row: Row) -> str:
    """One action: whether it was done, what became of its measure, and what must be known of that."""
    voice = voice_of(result)
    change = _change(result, row)
    told = _not_followed(result, row) if change is None else _followed(result, row, change)
    text = voice.say(
        "{action} ({done}). {told}.", action=row["action"], done=voice.say(DONE[row["done"]]), told=told
    )
    notes = () if change is None else tuple(_notes(result, row, change))
    return joined((text, *notes))


def _change(result: Agreed, row: Row) -> Row | None:
    found = result.changes[result.changes["key"] == row["key"]].to_dict("records")
    return found[0] if found else None


def _measure(result: Agreed, name: str) -> str:
    measure = measure_of(result.settings, name)
    return measure_words(voice_of(result), measure, result.settings) if measure else ""


def _not_followed(result: Agreed, row: Row) -> str:
    """Why nothing can be said of the measure."""
    voice, measure = voice_of(result), _measure(result, str(row["measure"]))
    return voice.say(NOT_FOLLOWED[row["why"]], season=str(row["season"]), measure=measure)


def _followed(result: Agreed, row: Row, change: Row) -> str:
    """The measure before and after, the change with its interval, and what became of it."""
    voice = voice_of(result)
    before, after = _sides(voice, change)
    outcome = voice.say(OUTCOMES[row["outcome"]])
    if not math.isnan(row["target"]):
        target = voice.percent(row["target"])
        outcome = voice.say("{outcome} (agreed: {target})", outcome=outcome, target=target)
    return voice.say(
        FOLLOWED,
        measure=_measure(result, str(row["measure"])),
        before=voice.percent(before.share),
        after=voice.percent(after.share),
        first=before.label,
        second=after.label,
        counts_before=before.printed,
        counts_after=after.printed,
        how=voice.say(HOW[bool(change["mix"])]),
        change=voice.points(change["estimate"]),
        interval=voice.points_range(change["low"], change["high"]),
        level=voice.percent(result.settings.level, 0),
        outcome=outcome,
    )


def _sides(voice: Voice, change: Row) -> tuple[Headline, Headline]:
    """The measure before and after; where the plan gave the counts before, it is named as their season."""
    first = str(change["versus"]) or voice.say("the season before, by the plan")
    sides = (("before", first, "_versus"), ("after", str(change["season"]), ""))
    return tuple(  # type: ignore[return-value]
        Headline(
            name,
            season,
            voice.part_of(change[f"events{side}"], change[f"n{side}"]),
            *(float(change[f"{part}{side}"]) for part in ("events", "n")),
            *(float(change[f"{name}{end}"]) for end in ("", "_low", "_high")),
        )
        for name, season, side in sides
    )


def _notes(result: Agreed, row: Row, change: Row) -> Iterator[str]:
    """That it was not done and moved all the same; a change of recording; what losses could have shown."""
    voice = voice_of(result)
    if row["done"] == "no" and _strength(row) is Verdict.CLEAR:
        yield voice.say("It was not done, so the change has other reasons.")
    recorded = change["n"] / change["asked"] if change["asked"] else math.nan
    before = change["n_versus"] / change["asked_versus"] if change["asked_versus"] else math.nan
    if abs(recorded - before) >= STEP:
        yield voice.say(
            "It was recorded of {before} in {first} and of {after} in {second}: a change of recording can look like a "
            "change of what is recorded.",
            before=voice.counts(change["n_versus"], change["asked_versus"]),
            first=str(change["versus"]),
            after=voice.counts(change["n"], change["asked"]),
            second=str(change["season"]),
        )
    if change["loss"]:
        yield from _could_show(result, change)


def _could_show(result: Agreed, change: Row) -> Iterator[str]:
    """What a season of this size could have shown of a loss, and how many seasons would show what was agreed."""
    voice = voice_of(result)
    power, swing = voice.percent(POWER, 0), voice.percent(change["swing"], 0)
    if not math.isnan(change["fall"]):
        yield voice.say(
            "Two groups of {n} {newborns} in one season would show a fall of {fall} or more ({power} of the time); "
            "seasons swing by themselves besides, by {swing} of their loss, and that is allowed for.",
            n=voice.count(change["n"]),
            fall=voice.percent(change["fall"], 0),
            power=power,
            swing=swing,
        )
    if not math.isnan(change["seasons"]):
        yield voice.say(
            "To show a fall to {goal}, about {seasons} seasons before and {seasons} after would be needed.",
            goal=voice.percent(change["goal"]),
            seasons=voice.count(change["seasons"]),
        )


def _to_do(result: Agreed) -> str:
    """What is agreed for the seasons to come."""
    voice = voice_of(result)
    told = joined((action.action for action in result.to_do), "; ")
    return voice.say("Still to do, or agreed for next season: {actions}.", actions=told)


def kept(result: Agreed) -> tuple[Kept, ...]:
    """Every action that was followed up, those of earlier seasons first."""
    return tuple(_kept(result, row) for row in result.actions.to_dict("records"))


def _kept(result: Agreed, row: Row) -> Kept:
    change, measure = _change(result, row), str(row["measure"])
    before, after = _sides(voice_of(result), change) if change is not None else (None, None)
    numbers = change and tuple(float(change[part]) for part in ("estimate", "low", "high", "p", "q"))
    return Kept(
        season=str(row["season"]),
        against=str(change["versus"]) if change is not None else "",
        action=str(row["action"]),
        done=str(row["done"]),
        measure=measure,
        label=_measure(result, measure),
        target=float(row["target"]),
        outcome=row["outcome"],
        text=_action(result, row),
        before=before,
        after=after,
        change=numbers,  # type: ignore[arg-type]
    )


def figures(result: Agreed) -> tuple[Figure, ...]:
    """Each measure of the season under review, before and after."""
    voice = voice_of(result)
    say, changes = voice.say, result.changes[result.changes["season"] == result.reviewed]
    if changes.empty:
        return ()
    rows = changes.to_dict("records")
    frame = changes.assign(
        label=[_measure(result, str(row["name"])) for row in rows],
        share_a=changes["before"],
        share_b=changes["after"],
        difference=changes["estimate"],
        clear=changes["verdict"] == Verdict.CLEAR,
        told=[_told(voice, row) for row in rows],
    )
    list_of = "; ".join(f"{row['label']}: {row['told']}" for row in frame.to_dict("records"))
    drawn = draw_dumbbell(
        frame,
        printer=voice,
        seasons=(say("the season before"), result.reviewed),
        name="agreed-changes",
        title=say("What should have moved, before and after"),
        alt=say("Share in the season before and in {season}. {list}.", season=result.reviewed, list=list_of),
        axis=say("% of those of whom it is known"),
        difference=say("change, percentage points"),
    )
    return (drawn,)


def _told(voice: Voice, row: Row) -> str:
    before, after = (voice.percent(row[side]) for side in ("before", "after"))
    return voice.say("{before}, then {after}", before=before, after=after)


def tables(result: Agreed) -> tuple[Table, ...]:
    """The plan as it was written and what became of it; the measures before and after, where there are any."""
    plan = _plan_table(result)
    return (plan, _measures_table(result)) if len(result.changes) else (plan,)


def _plan_table(result: Agreed) -> Table:
    """Every action as it was written; those to come have no outcome."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    later = [_written(action) for action in result.to_do if action.season not in ("", result.reviewed)]
    frame = pd.DataFrame([*result.actions.to_dict("records"), *later], columns=result.actions.columns)
    known = {name: measure_of(settings, name) for name in frame["measure"].unique()}
    words = {name: measure_words(voice, one, settings) if one else "" for name, one in known.items()}
    frame = frame.assign(
        was=[
            say(DONE[row["done"]]) if row["done"] or row["outcome"] else ""
            for row in frame.to_dict("records")
        ],
        moved=[words[name] for name in frame["measure"]],
        ended=[say(OUTCOMES[one]) if one in OUTCOMES else "" for one in frame["outcome"]],
    )
    shown = (
        columns.text("season", say("Season")),
        columns.text("action", say("What was agreed")),
        columns.text("who", say("Who")),
        columns.text("by_when", say("By when")),
        columns.text("cost", say("Cost")),
        columns.text("was", say("Done?"), raw="done"),
        columns.text("moved", say("What it should move"), raw="measure"),
        columns.share("stood", say("Agreed from")),
        columns.share("target", say("Agreed to")),
        columns.text("ended", say("What became of it"), raw="outcome"),
    )
    return Table("agreed-plan", say("The plan"), frame, shown, printer=voice)


def _written(action: Action) -> dict[str, object]:
    """An action to come as a row of ``actions``."""
    plain = {
        name: getattr(action, name)
        for name in ("season", "action", "who", "by_when", "cost", "done", "measure")
    }
    shares = (("stood", action.stood), ("target", action.target))
    values = {name: share.value if share else math.nan for name, share in shares}
    texts = {f"{name}_text": share.text if share else "" for name, share in shares}
    return {**plain, **values, **texts, "outcome": "", "why": "", "key": ""}


def _measures_table(result: Agreed) -> Table:
    """Each measure in the season before and in its own: counts, the share on one mix, the change."""
    voice, settings = voice_of(result), result.settings
    say, interval = voice.say, interval_heading(voice, settings.level)
    known = {name: measure_of(settings, name) for name in result.changes["name"].unique()}
    frame = result.changes.assign(
        label=[
            measure_words(voice, one, settings) if (one := known[name]) else ""
            for name in result.changes["name"]
        ],
        of=[say(one.of) if (one := known[name]) else "" for name in result.changes["name"]],
        by=[
            joined((factor_name(voice, part) for part in mix.split(", ") if part), ", ")
            for mix in result.changes["mix"]
        ],
        first=[one or say("by the plan") for one in result.changes["versus"]],
        decided=[one.value for one in result.changes["verdict"]],
    )
    shown = (
        columns.text("label", say("Measure"), raw="name"),
        columns.text("of", say("Counted of")),
        columns.text("first", say("Season before"), raw="versus"),
        columns.counts("events_versus", "n_versus", say("Counted before"), "of"),
        columns.share("before", say("Share before")),
        columns.interval("before_low", "before_high", interval),
        columns.text("season", say("Season")),
        columns.counts("events", "n", say("Counted after"), "of"),
        columns.share("after", say("Share after")),
        columns.interval("after_low", "after_high", interval),
        columns.points("estimate", say("Change")),
        columns.interval("low", "high", interval, "points"),
        columns.p("p", say("p")),
        columns.p("q", say("p by Holm")),
        columns.text("by", say("On the same"), raw="mix"),
        columns.in_csv(columns.text("detail", say("Target or window"))),
        columns.count("asked_versus", say("Asked of before")),
        columns.count("asked", say("Asked of after")),
        columns.share("swing", say("Swing taken"), whole=True),
        columns.share("fall", say("Smallest fall seen"), whole=True),
        columns.share("goal", say("Fall to")),
        columns.count("seasons", say("Seasons before and after to see it")),
        columns.in_csv(columns.text("decided", say("Verdict"))),
    )
    note = say(
        "Shares on one mix of births; counts as they were. A dash: it is not asked of this measure, or not recorded."
    )
    return Table(
        "agreed-measures", say("The measures before and after"), frame, shown, note=note, printer=voice
    )


def _mix_words(result: Agreed) -> str:
    """The columns of the common mix, in words."""
    voice = voice_of(result)
    return joined((factor_name(voice, name) for name in result.settings.standard_mix), ", ")


def method(result: Agreed) -> Method:
    """How a plan is followed up, and by which rule."""
    voice = voice_of(result)
    say = voice.say
    return Method(
        method=(
            say(
                "Reached: the change is clear, goes the right way, and the share ends at the agreed one or beyond it. "
                "Moved: clear and the right way, and short of it, or none was agreed. Worse: clear and the other way. "
                "No clear change: all else that could be counted before and after. Not recorded: it could not be."
            ),
            say(
                "The measures of a plan are questions asked beforehand. They are decided among themselves, by Holm's "
                "procedure over the plan of one season at {level}, and stand in no other decision of the page.",
                level=voice.percent(result.settings.level, 0),
            ),
            say(
                "Both seasons are standardised to the births of the two together, by as many columns of the common mix"
                " as leave nine in ten {newborns} a place and ten {newborns} to a kind; intervals allow for litters, "
                "and where counts are few p is no smaller than their skewness allows."
            ),
            say(
                "Losses swing from season to season by themselves: that swing, measured on three earlier seasons or "
                "more and taken as {least} of the loss at least, on fewer as {usual}, is added to their change. What "
                "was done for {newborns} is said to have moved between these two seasons, and no more.",
                least=voice.percent(LEAST_SWING, 0),
                usual=voice.percent(USUAL_SWING, 0),
            ),
        ),
        settings=(
            say("Columns of the common mix: {columns}.", columns=_mix_words(result)),
            say("Confidence level: {level}.", level=voice.percent(result.settings.level, 0)),
        ),
        limits=(
            say(
                "A season before and a season after in one farm are no proof that what was done made the difference: "
                "weather, feed and people changed too."
            ),
            say("Whether an action was done is as the plan says; a blank is not recorded."),
            say(
                "Where the records do not hold the season before, its counts are those written in the plan: then the "
                "mix of births is not allowed for, and its litters are taken to be like this season's."
            ),
        ),
        sources=(
            "Holm S (1979) Scandinavian Journal of Statistics 6:65-70.",
            say("Newcombe RG (1998) Stat Med 17:873-890."),
            "Zou GY, Donner A (2008) Statistics in Medicine 27:1693-1702.",
            say("Hayes RJ, Bennett S (1999) Int J Epidemiol 28:319-326."),
        ),
    )

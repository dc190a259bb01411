"""How many newborns were lost, and when?

The whole and the windows first, then published shares, those joined, the litters and the calendar; `losses_shown` draws
them and lays them out in tables.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from typing import Any

from neonatal_stats.chapters.counted.losses import Losses, claims
from neonatal_stats.chapters.counted.losses import answer as counted
from neonatal_stats.chapters.losses_shown import PER, beside, figures, later, next_day, tables, weeks_said
from neonatal_stats.chapters.protocol import MAIN, NOT_WATCHED, WHEN, Headline, Verdicts, decided_within, heed
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS
from neonatal_stats.measures.beside_published import foremost
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.windows import BORN_DEAD, END, UNDATED
from neonatal_stats.season.model import Season
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.words import Method, Sentence, cautions, voice_of
from neonatal_stats.words.beside_published import beside_said
from neonatal_stats.words.evidence import RULE, Compared, comparison
from neonatal_stats.words.losses_spoken import SHARES, by_curve, curve_speaks, lost_of, spoken, window_said
from neonatal_stats.words.names import window_label
from neonatal_stats.words.plain import old

NAME = "losses"
TITLE = "Losses"
QUESTION = "How many {newborns} were lost, and when?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Losses",
    "answer",
    "beside",
    "claims",
    "figures",
    "glance",
    "headlines",
    "method",
    "missing",
    "sentences",
    "tables",
]

Row = dict[Hashable, Any]

NAN = math.nan


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as there is one birth: its outcome is what makes a season."""
    if len(season.births):
        return ()
    return (voice_of(season).say("Not answered: there are no births to count losses among."),)


def answer(season: Season) -> Losses:
    """Count losses by window, age, litter, week and hour, to the last age watched; the stillborn are lost at age 0."""
    heed(missing(season))
    return counted(season)


def sentences(result: Losses, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """How many, by when, how many litters, and whether the calendar matters."""
    verdicts = settled(claims(result), result.settings, verdicts)
    return (
        _whole_said(result),
        *_windows_said(result),
        *_next_day_said(result),
        *_left_said(result),
        *_later_said(result),
        *_beside_said(result),
        *_joined_said(result),
        *_litters_said(result),
        *_calendar_said(result, verdicts),
        *([cautions.abortion(voice_of(result))] if result.whole["events"] else []),
    )


def _whole_said(result: Losses) -> Sentence:
    """Lost of all born by the end, and of these how many were born dead; the share is the curve's where some left."""
    voice, end = voice_of(result), result.whole
    lost = voice.part_of(end["events"], end["n"]) if end["not_watched"] else lost_of(voice, end)
    values = {"end": voice.age(result.end_h), "lost": lost}
    if not end["events"] and not result.end_h:
        text = "None of the {born} {newborns} born was born dead; what became of them later is not written."
        return Sentence(voice.say(text, born=voice.count(end["n"])))
    if not end["events"]:
        text = "No loss by {end} among the {born} {newborns} born."
        return Sentence(voice.say(text, born=voice.count(end["n"]), end=values["end"]))
    if not (result.born_dead_known or result.ever_dated):
        return Sentence(voice.say("Of all {newborns} born, {lost} were lost.", lost=values["lost"]))
    if not result.born_dead_known:
        return Sentence(voice.say("Of all {newborns} born, {lost} were lost by {end}.", **values))
    if not result.end_h:
        text = "Of all {newborns} born, {lost} were born dead; what became of the others is not written."
        return Sentence(voice.say(text, lost=values["lost"]))
    newborns = result.flow.newborns
    still = float(newborns.loc[newborns["stage"] == "born alive", "lost"].sum())
    text = "Of all {newborns} born, {lost} were lost by {end}: {still} born dead and {after} after birth."
    after = voice.count(end["events"] - still)
    return Sentence(voice.say(text, still=voice.count(still), after=after, **values))


def _windows_said(result: Losses) -> Iterator[Sentence]:
    """Lost of all born by each window before the end; what to write down where no age is known."""
    voice, born = voice_of(result), result.of_all_born.to_dict("records")
    if born[-1]["events"]:
        yield from (Sentence(window_said(voice, row)) for row in born[:-1])
    if len(born) == 1 and result.settings.windows_h and result.undated:
        text = "When they were lost cannot be said: {undated} of {lost} losses have no known age."
        values = {"undated": voice.count(result.undated), "lost": voice.count(born[-1]["events"])}
        yield Sentence(voice.say(text, **values), role="cannot say")
        text = "Write down when each dead {newborn} was found, and its birth."
        yield Sentence(voice.say(text), role="record next", columns=("died_at", "born_at"))


def _next_day_said(result: Losses) -> Iterator[Sentence]:
    if said := next_day(result):
        yield Sentence(said, goes_on=True)


def _left_said(result: Losses) -> Iterator[Sentence]:
    """Those that left alive before the end, and what the curve, which counts them until then, makes of it."""
    voice, end = voice_of(result), result.whole
    if not end["not_watched"]:
        return
    values = {
        "left": voice.count(end["not_watched"]),
        "born": voice.count(end["n"]),
        "end": voice.age(result.end_h),
    }
    if end["n"] < SMALL_GROUP:
        text = (
            "{left} of {born} {newborns} left alive, or went out of sight, before {end}; counted as not lost."
        )
        yield Sentence(voice.say(text, **values))
        return
    text = (
        "{left} of {born} {newborns} left alive or went out of sight before {end}; counted as not lost. The "
        "curve, which counts them until they left, puts the loss by {end} at {share} ({interval})."
    )
    yield Sentence(voice.say(text, **values, **by_curve(voice, end)))
    if result.undated:
        text = "The curve leaves out losses at an unknown age ({undated}), and is too low by that."
        yield Sentence(voice.say(text, undated=voice.count(result.undated)))
    if result.left_unknown_when:
        text = "The curve leaves out those that left alive without a date, and is too high by that."
        yield Sentence(voice.say(text))


def _later_said(result: Losses) -> Iterator[Sentence]:
    """Those lost after the end that is stated; said only where there were any."""
    if result.later:
        yield Sentence(later(result))


def _beside_said(result: Losses) -> Iterator[Sentence]:
    """Where the foremost share lies."""
    shares, _ = beside(result)
    row = foremost(shares)
    if row is not None:
        yield from beside_said(voice_of(result), row)


def _joined_said(result: Losses) -> Iterator[Sentence]:
    """Reared per hundred dams joined, with its interval; only where those joined were counted."""
    found, voice = result.joined, voice_of(result)
    if found is None:
        return
    each, low, high = (voice.number(PER * one, 0) for one in (found.each, found.low, found.high))
    text = voice.say(
        "Reared per {per} {dams} {joined}: {each} ({low} to {high}), {reared} {newborns} of {n} {dams}.",
        per=voice.count(PER),
        each=each,
        low=low,
        high=high,
        reared=voice.count(found.reared),
        n=voice.count(found.dams),
    )
    yield Sentence(text)


def _litters_said(result: Losses) -> Iterator[Sentence]:
    """Litters that lost every newborn, of all litters; said only where there were any."""
    voice = voice_of(result)
    sums = {name: int(result.by_litter[name].sum()) for name in ("all", "litters", "some")}
    if sums["all"]:
        text = "{all} of {of} {litters} lost every {newborn}, and {some} lost some but not all."
        counts = {
            name: voice.count(sums[n]) for name, n in (("all", "all"), ("of", "litters"), ("some", "some"))
        }
        yield Sentence(voice.say(text, **counts))


def _calendar_said(result: Losses, verdicts: Verdicts) -> Iterator[Sentence]:
    """Weeks against each other, where several are large enough, and births by night against births by day."""
    yield from weeks_said(result, verdicts)
    voice = voice_of(result)
    night, day = voice.say("{newborns} born by night (20 to 08 h)"), voice.say("{newborns} born by day")
    for row in judged(result.night, verdicts).to_dict("records"):
        compared = Compared.of(row, group=night, versus=day)
        yield comparison(voice, compared, row["verdict"], level=result.settings.level, claim=row["key"])


def headlines(result: Losses) -> tuple[Headline, ...]:
    """Born, born alive where that was written, and lost by the end of each window."""
    voice, newborns = voice_of(result), result.flow.newborns.set_index("stage")["n"]
    born, alive = float(newborns["born"]), float(newborns["born alive"])
    share = alive / born if born else NAN
    born_alive = Headline(
        "born_alive", voice.say("Born alive"), voice.count(alive), alive, born, share, NAN, NAN
    )
    return (
        Headline("born", voice.say("Born"), voice.count(born), born, NAN, NAN, NAN, NAN),
        *([born_alive] if result.born_dead_known else []),
        *(_window_headline(result, row) for row in result.of_all_born.to_dict("records")),
    )


def _window_headline(result: Losses, row: Row) -> Headline:
    """Lost of all born by the end of a window; without an age where none of a loss was written."""
    voice = voice_of(result)
    window, printed = str(row["window"]), spoken(voice, row)
    numbers = {name: float(row[name]) for name in ("events", "n", *SHARES)}
    if curve_speaks(row):
        numbers |= {name: float(row[f"curve{end}"]) for name, end in SHARES.items()}
    return Headline(
        "lost" if window == END else f"lost_by_{window.replace(' ', '_')}",
        voice.say("Lost by {window}", window=window_label(voice, window, result.end_h))
        if result.ever_dated
        else voice.say("Lost"),
        printed,
        **numbers,
    )


def glance(result: Losses) -> tuple[Headline, ...]:
    """The loss that page one leads with, and when they were lost."""
    return (_main_headline(result, _window_headline(result, _main_row(result))), *_when_lost(result))


def _main_row(result: Losses) -> Row:
    """Lost of all born by the last window before the end; by the end where none can be spoken of."""
    rows: list[Row] = result.of_all_born.to_dict("records")
    return rows[-2] if len(rows) > 1 else rows[-1]


def _main_headline(result: Losses, printed: Headline) -> Headline:
    """The loss that page one leads with: its label is the age alone, "7 days"; "" where no age of a loss is known."""
    row, voice = _main_row(result), voice_of(result)
    end_h = result.end_h if row["window"] == END else result.settings.windows_h[str(row["window"])]
    label = "" if not result.ever_dated else old(voice, end_h) if end_h else voice.say("birth")
    counts = voice.part_of(row["events"], row["n"])
    return Headline(MAIN, label, counts, printed.events, printed.n, printed.share, printed.low, printed.high)


def _when_lost(result: Losses) -> Iterator[Headline]:
    """Lost at each stage, in order, born dead first where that was written; then those not watched to the main age."""
    voice, born = voice_of(result), float(result.whole["n"])
    flow = {str(row["stage"]): row for row in result.flow.newborns.to_dict("records")}
    if result.born_dead_known:
        yield _count(
            result, WHEN + BORN_DEAD, voice.say("born dead"), float(flow["born alive"]["lost"]), born
        )
    windows, ends = [name for name in flow if name in result.settings.windows_h], result.settings.windows_h
    for before, window in zip(["", *windows], windows, strict=False):
        label = _stage(result, ends.get(before, 0.0), window)
        yield _count(result, WHEN + window, label, float(flow[window]["lost"]), born)
    late, undated = float(flow[END]["lost"]), float(sum(row["age_unknown"] for row in flow.values()))
    if windows:
        yield _count(result, WHEN + END, voice.say("later"), late, born)
        yield _count(result, WHEN + UNDATED, voice.say("age not known"), undated, born)
    elif result.end_h:
        yield _count(result, WHEN + END, voice.say("after birth"), late + undated, born)
    gone = float(_main_row(result)["not_watched"])
    yield _count(result, NOT_WATCHED, voice.say("not watched so long"), gone, born)


def _count(result: Losses, key: str, label: str, events: float, born: float) -> Headline:
    return Headline(key, label, voice_of(result).count(events), events, born, NAN, NAN, NAN)


def _stage(result: Losses, start_h: float, window: str) -> str:
    """A span of age as a stage: the first day and the rest of the first week in words, any other by its ends."""
    voice, end_h = voice_of(result), result.settings.windows_h[window]
    if (start_h, end_h) == (0, 24):
        return voice.say("first day")
    if (start_h, end_h) == (24, 168):
        return voice.say("rest of the first week")
    return voice.age_span(start_h, end_h)


def method(result: Losses, verdicts: Verdicts | None = None) -> Method:
    """Method, settings, limits and sources."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    return Method(
        method=(
            say(
                "Every {newborn} born is counted once; those born dead are losses at age 0. Shares have "
                "Wilson score intervals on the number of {newborns} divided by the design effect, since "
                "littermates are not independent."
            ),
            say(
                "The curve is Kaplan-Meier over all {newborns} born; its interval is clustered too. The "
                "life table holds those born alive; shares and intervals in it are Kaplan-Meier within each "
                "span."
            ),
            say(
                "Weeks are compared by a chi-square test adjusted for litters, births by night (20 to 08 h) "
                "with births by day by a clustered risk ratio."
            ),
            say(
                RULE,
                minimum_group=voice.count(settings.minimum_group),
                minimum_events=voice.count(MINIMUM_EVENTS),
            ),
            decided_within(voice, verdicts),
        ),
        settings=(
            say("Windows: {windows}.", windows=", ".join([*settings.windows_h, voice.age(result.end_h)])),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say("{dams} that lost everything unseen leave no record, so losses are, if anything, too low."),
            say(
                "The hour of birth is often the hour at which the {newborn} was found, and night births are "
                "found late."
            ),
        ),
        sources=(
            say(
                "Wilson EB (1927) J Am Stat Assoc 22:209-212. Rao JNK, Scott AJ (1992) Biometrics 48:577-585."
            ),
            say("Kaplan EL, Meier P (1958) J Am Stat Assoc 53:457-481."),
        ),
    )

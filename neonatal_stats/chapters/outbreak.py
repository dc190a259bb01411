"""Did deaths come together, in a place and from a day on, as in an outbreak?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted.outbreak import KEY, LITTERS, Cluster, Outbreak, claims
from neonatal_stats.chapters.counted.outbreak import answer as count
from neonatal_stats.chapters.protocol import Verdicts, decided_within, heed, interval_heading
from neonatal_stats.drawing import Figure, Rose, draw_days
from neonatal_stats.drawing.colours import INK, cause_looks
from neonatal_stats.estimates.day_windows import LEAST
from neonatal_stats.estimates.scan import FAR_ABOVE, FAR_ABOVE_OF_CAUSE, FEWEST
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.on_the_calendar import EVERY_CAUSE, EVERYWHERE, NO_PLACE
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Method, Sentence, Verdict, Voice, cautions, joined, voice_of
from neonatal_stats.words.names import label

NAME = "outbreak"
TITLE = "Outbreaks"
QUESTION = "Did {newborns} die together, from one day on or in one place?"

FOUND = {
    "place": "{place}, {first} to {last}: {n} {newborns} there, of which {lost}. As on all other days and in all other "
    "places {expected} would have been expected. That is more than the season's usual swing (p {p}).",
    "everywhere": "Everywhere, {first} to {last}: {n} {newborns}, of which {lost}. As on all other days {expected} "
    "would have been expected. That is more than the season's usual swing (p {p}).",
}
LEANING = {
    "place": "No outbreak can be told: {lost} in {place} from {first} to {last}, more than at other times and places, "
    "but chance is not ruled out (p {p}).",
    "everywhere": "No outbreak can be told: {lost} from {first} to {last}, more than at other times, but chance is not "
    "ruled out (p {p}).",
}
NO_CLEAR = (
    "No outbreak is seen: deaths after birth came no closer together than chance, age and litters explain "
    "(p {p})."
)


def missing(season: Season) -> tuple[str, ...]:
    """Open where one farm's births and deaths are dated."""
    say, births = voice_of(season).say, season.births
    if births["farm"].nunique() > 1:  # noqa: PD101
        return (
            say(
                "Not answered: an outbreak is looked for farm by farm, and these records hold several farms."
            ),
        )
    dated = births["born"].notna() & births["age_known"] & births["age_h"].notna() & ~births["stillborn"]
    if not dated.any():
        return (say("Not answered: the days of birth and of death would open the chapter."),)
    return ()


def answer(season: Season) -> Outbreak:
    """Deaths on the calendar; `NotRecorded` where births or deaths are not dated."""
    heed(missing(season))
    return count(season)


def _verdict(result: Outbreak, verdicts: Verdicts | None) -> Verdict:
    """What the ledger says of the claim; too few where there is none."""
    return settled(claims(result), result.settings, verdicts).get(KEY, Verdict.TOO_FEW)


def sentences(result: Outbreak, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """Whether deaths came together; where they did, since when, how many elsewhere, of what; what is usually done."""
    verdict, found = _verdict(result, verdicts), result.cluster
    if found is None or verdict is not Verdict.CLEAR:
        return (_short(result, verdict),)
    voice = voice_of(result)
    return (
        _found(result, found),
        *_since(result, found),
        *_elsewhere(result),
        _causes(result),
        *cautions.outbreak(voice),
    )


def _short(result: Outbreak, verdict: Verdict) -> Sentence:
    """One sentence where nothing is clear."""
    voice, found = voice_of(result), result.cluster
    if not result.died:
        return Sentence(
            voice.say("No outbreak is seen: no {newborn} born alive is known to have died."), lead=True
        )
    if found is None and result.died >= FEWEST:
        text = voice.say(
            "No outbreak is seen: on no days did more die after birth than age and litters lead one to expect."
        )
        return Sentence(text, lead=True)
    if found is None or verdict is Verdict.TOO_FEW:
        text = "Too few to say whether deaths came together: {died} of {n} {newborns} born alive died."
        said = voice.say(text, died=voice.count(result.died), n=voice.count(result.counted.n))
        return Sentence(said, Verdict.TOO_FEW, lead=True, claim=KEY if found else "")
    if verdict is Verdict.LEANING:
        return Sentence(
            voice.say(LEANING[_where(found)], **_told(result, found)), verdict, lead=True, claim=KEY
        )
    return Sentence(voice.say(NO_CLEAR, p=voice.p_value(_p(found))), verdict, lead=True, claim=KEY)


def _where(found: Cluster) -> str:
    return "everywhere" if found.place == EVERYWHERE else "place"


def _p(found: Cluster) -> float:
    """The p that decides: that of the weaker reading, where there are two."""
    return found.p if found.weakest != found.weakest else max(found.p, found.weakest)


def _told(result: Outbreak, found: Cluster) -> dict[str, str]:
    """Place, days and counts of the cluster, printed."""
    voice, events = voice_of(result), voice_of(result).count(found.deaths)
    lost = voice.say("{events} died", events=events)
    if found.cause != EVERY_CAUSE:
        lost = voice.say("{events} died ({cause})", events=events, cause=_cause_named(voice, found.cause))
    return {
        "place": _place_named(voice, found.place),
        "first": voice.day(found.first),
        "last": voice.date(found.last),
        "lost": lost,
        "expected": voice.number(found.expected),
        "p": voice.p_value(_p(found)),
    }


def _found(result: Outbreak, found: Cluster) -> Sentence:
    voice = voice_of(result)
    text = voice.say(FOUND[_where(found)], n=voice.count(found.n), **_told(result, found))
    return Sentence(text, Verdict.CLEAR, found.deaths - found.expected, lead=True, claim=KEY)


def _since(result: Outbreak, found: Cluster) -> Iterator[Sentence]:
    """From which day on, with its interval."""
    voice = voice_of(result)
    yield Sentence(
        voice.say(
            "Deaths began to rise on {onset} ({level} interval {low} to {high}).",
            onset=voice.date(found.onset),
            level=voice.percent(result.settings.level, 0),
            low=voice.day(found.onset_low),
            high=voice.day(found.onset_high),
        ),
        goes_on=True,
    )
    if not found.in_time:
        alone = (
            "Against its own other days alone the rise in {place} is not clear (p {p}): it may have lost more all "
            "season."
        )
        said = voice.say(alone, place=_place_named(voice, found.place), p=voice.p_value(found.p_time))
        yield Sentence(said, goes_on=True)


def _elsewhere(result: Outbreak) -> Iterator[Sentence]:
    """How many died in the place and in all others, of those there in the same days."""
    voice, sides = voice_of(result), result.against.set_index("side").to_dict("index")
    if not result.column:
        text = "Where is not known: no pen, paddock or mob was written down for enough {newborns}."
        yield Sentence(voice.say(text), goes_on=True)
    if len(sides) < 2:
        return
    told = {
        str(side): voice.share_of(row["events"], row["n"], row["low"], row["high"])
        for side, row in sides.items()
    }
    text = "There {here} died so in these days, in all other places together {elsewhere}."
    yield Sentence(voice.say(text, **told), goes_on=True)


def _causes(result: Outbreak) -> Sentence:
    """What the deaths in the place and the days were put down to."""
    voice = voice_of(result)
    each = [
        voice.say("{cause} {n}", cause=_cause_named(voice, row["cause"]), n=voice.count(row["events"]))
        for row in result.by_cause.to_dict("records")
    ]
    text = voice.say(
        "All deaths after birth there and then, by cause as written: {causes}.", causes=joined(each, ", ")
    )
    return Sentence(text, goes_on=True)


def figures(result: Outbreak, verdicts: Verdicts | None = None) -> tuple[Figure, ...]:
    """Deaths by day and place, where they clearly came together."""
    return _days_drawn(result) if _verdict(result, verdicts) is Verdict.CLEAR else ()


def tables(result: Outbreak, verdicts: Verdicts | None = None) -> tuple[Table, ...]:
    """The cluster, the places in its days, its causes; and all deaths by day, place and cause."""
    return tuple(_all_tables(result, _verdict(result, verdicts)))


MOST_PANELS = 5
MOST_BARS = 60


def _place_named(voice: Voice, place: str) -> str:
    """A place as it is printed: a farm's own name as it stands."""
    if place == EVERYWHERE:
        return voice.say("everywhere")
    return voice.say("place not known") if place == NO_PLACE else label(voice, place)


def _cause_named(voice: Voice, cause: str) -> str:
    """A cause as it is printed."""
    return voice.say("all causes") if cause == EVERY_CAUSE else label(voice, cause)


def _days_drawn(result: Outbreak) -> tuple[Figure, ...]:
    """Deaths by day: the place where they came together, and the others under it."""
    found = result.cluster
    assert found is not None
    voice = voice_of(result)
    panels, days = _panels(result, found)
    look = (INK, "") if found.cause == EVERY_CAUSE else cause_looks(result.settings.causes)[found.cause]
    others = voice.say("other causes") if found.cause != EVERY_CAUSE else ""
    each = voice.say("a bar a day") if days == 1 else voice.say("a bar for {n} days", n=voice.count(days))
    return (
        draw_days(
            panels,
            printer=voice,
            name="outbreak-days",
            title=voice.say("Deaths after birth by day and place"),
            alt=_alt(result, found),
            axis=voice.say("day of death, {each}", each=each),
            look=look,
            words=(_cause_named(voice, found.cause), others, voice.say("expected")),
            rose=_rose(result, found, days),
        ),
    )


def _panels(result: Outbreak, found: Cluster) -> tuple[list[tuple[str, pd.DataFrame]], int]:
    """The place of the cluster first and the others under it, or all together; and how many days a bar holds."""
    voice, frame = voice_of(result), result.days
    by_place = {str(place): rows.reset_index(drop=True) for place, rows in frame.groupby("place", sort=False)}
    whole = by_place.pop(EVERYWHERE)
    days = int(np.ceil(len(whole) / MOST_BARS))
    if found.place == EVERYWHERE:
        shown = {EVERYWHERE: whole} | (by_place if len(by_place) < MOST_PANELS else {})
    else:
        own = by_place.pop(found.place)
        shown = {found.place: own}
        if len(by_place) < MOST_PANELS:
            shown |= by_place
        else:
            numbers = ["events", "others", "expected"]
            shown[voice.say("all other places")] = whole.assign(
                **{name: whole[name] - own[name] for name in numbers}
            )
    return [
        (_capital(_place_named(voice, place)), _in_bars(voice, rows, days)) for place, rows in shown.items()
    ], days


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]


def _in_bars(voice: Voice, rows: pd.DataFrame, days: int) -> pd.DataFrame:
    """Rows of days put together, each labelled by its first day."""
    bar = np.arange(len(rows)) // days
    summed = rows[["events", "others", "expected"]].groupby(bar).sum()
    return summed.assign(label=[voice.day(day) for day in rows["day"].iloc[::days]])


def _rose(result: Outbreak, found: Cluster, days: int) -> Rose:
    voice, start = voice_of(result), result.days["day"].iloc[0]
    at, low, high = ((day - start).days / days for day in (found.onset, found.onset_low, found.onset_high))
    days_of = {"low": voice.day(found.onset_low), "high": voice.day(found.onset_high)}
    words = voice.say("rose from {day} ({low} to {high})", day=voice.day(found.onset), **days_of)
    return Rose(at, low, high, None if found.place == EVERYWHERE else 0, words)


def _alt(result: Outbreak, found: Cluster) -> str:
    voice = voice_of(result)
    totals = result.days.groupby("place", sort=False)["events"].sum()
    told = "; ".join(f"{_place_named(voice, str(place))} {voice.count(n)}" for place, n in totals.items())
    return voice.say(
        "Deaths over the season ({cause}): {told}. {place}, {first} to {last}: {events}, {expected} expected.",
        cause=_cause_named(voice, found.cause),
        told=told,
        place=_place_named(voice, found.place),
        first=voice.day(found.first),
        last=voice.day(found.last),
        events=voice.count(found.deaths),
        expected=voice.number(found.expected),
    )


def _all_tables(result: Outbreak, verdict: Verdict) -> Iterator[Table]:
    """The days that stand out most; where they may be more than chance the places and causes in them, else the places
    over the season; all deaths by day, place and cause.
    """
    found = result.cluster
    if found is not None:
        yield _window_table(result, found, verdict)
    if found is not None and verdict in (Verdict.CLEAR, Verdict.LEANING):
        yield _in_days_table(result, found)
        yield _causes_table(result)
    elif len(result.by_place) > 1:
        yield _places_table(result, result.by_place, "Deaths after birth by place, over the season")
    if len(result.deaths):
        yield _deaths_table(result)


VERDICTS = {
    Verdict.CLEAR: "More than chance, age and litters explain.",
    Verdict.LEANING: "Chance is not ruled out.",
    Verdict.NO_CLEAR: "No more than chance, age and litters explain.",
    Verdict.TOO_FEW: "Too few to say.",
}


def _window_table(result: Outbreak, found: Cluster, verdict: Verdict) -> Table:
    """One row: where and when deaths stood closest together, and from which day on."""
    voice = voice_of(result)
    say = voice.say
    fields = {name: value for name, value in vars(found).items() if not isinstance(value, pd.Timestamp)}
    days = {name: value for name, value in vars(found).items() if isinstance(value, pd.Timestamp)}
    frame = pd.DataFrame([fields | days | {f"{name}_label": voice.date(day) for name, day in days.items()}])
    frame = frame.assign(
        place_label=_place_named(voice, found.place),
        cause_label=_cause_named(voice, found.cause),
        onset_range=voice.span(voice.day(found.onset_low), voice.date(found.onset_high)),
    )
    declared = (
        columns.text("place_label", say("Place"), raw="place"),
        columns.text("cause_label", say("Cause"), raw="cause"),
        columns.text("first_label", say("First day"), raw="first"),
        columns.text("last_label", say("Last day"), raw="last"),
        columns.counts("deaths", "n", say("Died of those there")),
        columns.count("litters", say("Litters that lost")),
        columns.number("expected", say("Expected")),
        columns.text("onset_label", say("Rose from"), raw="onset"),
        columns.text(
            "onset_range", say("{level} interval of the rise", level=voice.percent(result.settings.level, 0))
        ),
        columns.in_csv(columns.text("onset_low", say("Rose from, earliest"))),
        columns.in_csv(columns.text("onset_high", say("Rose from, latest"))),
        columns.p("p", say("p")),
        columns.p("weakest", say("p, the weakest")),
        columns.p("p_time", say("p, against its own other days")),
    )
    title = say("The days that stand out most")
    return Table("outbreak-window", title, frame, declared, note=say(VERDICTS[verdict]), printer=voice)


def _places_table(result: Outbreak, rates: pd.DataFrame, title: str, note: str = "") -> Table:
    """Deaths among the newborns of each place."""
    voice = voice_of(result)
    say = voice.say
    frame = rates.assign(label=[_place_named(voice, str(place)) for place in rates["place"]])
    declared = (
        columns.text("label", say("Place"), raw="place"),
        columns.count("events", say("Died")),
        columns.count("n", say("{Newborns} there")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
        columns.count("litters", say("Litters")),
        columns.number("expected", say("Expected")),
    )
    return Table("outbreak-places", say(title), frame, declared, note=note, printer=voice)


def _in_days_table(result: Outbreak, found: Cluster) -> Table:
    """The same in the days of the cluster, of its cause; the place against all others in the note."""
    voice = voice_of(result)
    days = {"first": voice.day(found.first), "last": voice.date(found.last)}
    note = voice.say("{first} to {last}; {cause}.", cause=_cause_named(voice, found.cause), **days)
    sides = result.against.set_index("side").to_dict("index")
    if len(sides) == 2:
        told = {
            str(side): voice.share_of(row["events"], row["n"], row["low"], row["high"])
            for side, row in sides.items()
        }
        place = _place_named(voice, found.place)
        against = voice.say("{place}: {here}; all other places together: {elsewhere}.", place=place, **told)
        note = joined([note, against])
    return _places_table(result, result.in_days, "Deaths by place in these days", note)


def _causes_table(result: Outbreak) -> Table:
    """Causes of the deaths in the days and the place of the cluster."""
    voice = voice_of(result)
    say = voice.say
    frame = result.by_cause.assign(
        label=[_cause_named(voice, str(cause)) for cause in result.by_cause["cause"]]
    )
    declared = (
        columns.text("label", say("Cause"), raw="cause"),
        columns.count("events", say("Died")),
    )
    title = say("Causes of the deaths there and then")
    return Table("outbreak-causes", title, frame, declared, printer=voice)


def _deaths_table(result: Outbreak) -> Table:
    """All deaths after birth by day, place and cause."""
    voice = voice_of(result)
    say = voice.say
    frame = result.deaths.assign(
        label=[voice.date(day) for day in result.deaths["day"]],
        place_label=[_place_named(voice, str(place)) for place in result.deaths["place"]],
        cause_label=[_cause_named(voice, str(cause)) for cause in result.deaths["cause"]],
    )
    declared = (
        columns.text("label", say("Day"), raw="day"),
        columns.text("place_label", say("Place"), raw="place"),
        columns.text("cause_label", say("Cause"), raw="cause"),
        columns.count("events", say("Died")),
    )
    together = result.deaths["cause"].eq(EVERY_CAUSE).all()
    note = say("So many deaths that causes, or the days of a week, are put together.") if together else ""
    return Table(
        "outbreak-deaths",
        say("Deaths after birth by day, place and cause"),
        frame,
        declared,
        note=note,
        printer=voice,
    )


def method(result: Outbreak, verdicts: Verdicts | None = None) -> Method:
    """Method, settings, limits and sources."""
    voice = voice_of(result)
    return Method(
        (*_how(voice), decided_within(voice, verdicts)), _settings(result), _limits(voice), _sources(voice)
    )


def _how(voice: Voice) -> tuple[str, ...]:
    say = voice.say
    return (
        say(
            "Newborns die of their age first, so deaths follow births. Expected is therefore what litters dealt anew "
            "give: each litter keeps its own deaths at their ages and is laid on the birth day of another of as many "
            "born alive, of a {dam} alike in having her first litter or a later one, that was watched as long."
        ),
        say(
            "All windows of days, in all places and causes and in each, are looked at (the scan statistic for "
            "Poisson counts, Kulldorff 1997), and p is over all of them: the share of the deals whose best window "
            "stands out as far; in the far tail, where few deals reach, that of a Gumbel distribution fitted to them "
            "(Abrams, Kleinman & Kulldorff 2010), and so smaller than one over the number of deals."
        ),
        say(
            "A place that always loses more is no outbreak: a place is named only where its deaths moved in time "
            "against its own other days, litters dealt within places, or where it lost more than {times} times what "
            "the others did, more than {of_cause} times of a single cause, by the lower end of its interval. Where the "
            "others rose with it, all places together are named.",
            of_cause=voice.count(FAR_ABOVE_OF_CAUSE),
            times=voice.count(FAR_ABOVE),
        ),
        say(
            "The day on which deaths began to rise is the likeliest first day of one stretch with a raised rate, the "
            "rates integrated out (Raftery & Akman 1986, with a second change at the stretch's end), its interval that "
            "of the chances of all first days. Littermates die together: the likelihood is divided by how much."
        ),
        say(
            "Deaths stand on the day on which they were found; where they were last seen alive on a day before, the "
            "verdict is the weaker of both readings."
        ),
    )


def _settings(result: Outbreak) -> tuple[str, ...]:
    voice = voice_of(result)
    say = voice.say
    return (
        say("Litters dealt anew {times} times.", times=voice.count(result.deals)),
        say(
            "A window holds at least {deaths} deaths, an outbreak deaths from at least {litters} litters; a place or "
            "cause is looked at by itself from {fewest} deaths on.",
            deaths=voice.count(LEAST),
            litters=voice.count(LITTERS),
            fewest=voice.count(FEWEST),
        ),
        say("Confidence level: {level}.", level=voice.percent(result.settings.level, 0)),
    )


def _limits(voice: Voice) -> tuple[str, ...]:
    say = voice.say
    return (
        say(
            "Days and places say when and where, not why: infection, weather, feed, people and a change of who was put "
            "there look alike. Where few died, an outbreak can go unseen."
        ),
        say(
            "{Newborns} born dead and abortions are not counted here. The place is that written at birth: {newborns} "
            "moved later stay counted there. The day is that of death, not of infection."
        ),
    )


def _sources(voice: Voice) -> tuple[str, ...]:
    say = voice.say
    return (
        say("Kulldorff M (1997) Commun Stat Theory Methods 26:1481-1496 (scan statistic)."),
        say("Kulldorff M et al. (2005) PLoS Med 2:e59 (given what each place lost)."),
        say("Abrams AM, Kleinman K, Kulldorff M (2010) Int J Health Geogr 9:61 (Gumbel distribution)."),
        say("Raftery AE, Akman VE (1986) Biometrika 73:85-89 (change point)."),
        say("What is usually done in an outbreak: common practice, no source."),
    )

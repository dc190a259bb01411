"""Did deaths come together, in a place and from a day on, as in an outbreak?"""

from __future__ import annotations

from collections.abc import Iterator

from neonatal_stats.chapters.counted.outbreak import KEY, LITTERS, Cluster, Outbreak, claims
from neonatal_stats.chapters.counted.outbreak import answer as count
from neonatal_stats.chapters.outbreak_shown import cause_named, outbreak_figures, outbreak_tables, place_named
from neonatal_stats.chapters.protocol import Verdicts, decided_within, heed
from neonatal_stats.drawing import Figure
from neonatal_stats.estimates.day_windows import LEAST
from neonatal_stats.estimates.scan import FAR_ABOVE, FAR_ABOVE_OF_CAUSE, FEWEST
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.on_the_calendar import EVERY_CAUSE, EVERYWHERE
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table
from neonatal_stats.words import Method, Sentence, Verdict, Voice, cautions, joined, voice_of

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
    if births["farm"].nunique() > 1:
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
        lost = voice.say("{events} died ({cause})", events=events, cause=cause_named(voice, found.cause))
    return {
        "place": place_named(voice, found.place),
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
        said = voice.say(alone, place=place_named(voice, found.place), p=voice.p_value(found.p_time))
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
        voice.say("{cause} {n}", cause=cause_named(voice, row["cause"]), n=voice.count(row["events"]))
        for row in result.by_cause.to_dict("records")
    ]
    text = voice.say(
        "All deaths after birth there and then, by cause as written: {causes}.", causes=joined(each, ", ")
    )
    return Sentence(text, goes_on=True)


def figures(result: Outbreak, verdicts: Verdicts | None = None) -> tuple[Figure, ...]:
    """Deaths by day and place, where they clearly came together."""
    return outbreak_figures(result) if _verdict(result, verdicts) is Verdict.CLEAR else ()


def tables(result: Outbreak, verdicts: Verdicts | None = None) -> tuple[Table, ...]:
    """The cluster, the places in its days, its causes; and all deaths by day, place and cause."""
    return tuple(outbreak_tables(result, _verdict(result, verdicts)))


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

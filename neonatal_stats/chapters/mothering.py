"""Did our dams accept their newborns, and what became of those they did not?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.mothering import AFTER_SURGERY, Handled, Mothering, claims
from neonatal_stats.chapters.counted.mothering import answer as count
from neonatal_stats.chapters.protocol import Headline, Verdicts, heed, interval_heading
from neonatal_stats.drawing import Figure, draw_rates
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.milestones import mothering_judged, taken_off
from neonatal_stats.measures.rates import one_below_another
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.words import Method, Sentence, Verdict, Voice, cautions, voice_of
from neonatal_stats.words.evidence import FAILURES, comparison, ratio_in_words
from neonatal_stats.words.group_tables import compared_group, group_columns, group_name, group_rows, in_blocks
from neonatal_stats.words.names import label, season_names

NAME = "mothering"
TITLE = "Mothering-up"
QUESTION = "Did our {dams} accept their {newborns}, which did not, and what became of those left?"

TELLING = (Verdict.CLEAR, Verdict.LEANING)


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as one newborn born alive was judged."""
    if "failed_mothering" in season.births and len(mothering_judged(season.births)):
        return ()
    say = voice_of(season).say
    if taken_off(season.births, season.settings):
        return (
            say(
                "Not asked: these {newborns} are taken off their {dams} and reared by hand, so whether a {dam} accepts "
                "hers is not watched."
            ),
        )
    return (
        say(
            "Not answered: for no {newborn} born alive is it written whether its {dam} accepted it. A yes "
            "or no in mothered_up, once each {newborn} has been watched with its {dam}, would open the "
            "chapter; about 20 failures are needed before groups can be compared."
        ),
    )


def answer(season: Season) -> Mothering:
    """Who was not accepted, and what became of them; `NotRecorded` where nobody was judged."""
    heed(missing(season))
    return count(season)


def sentences(result: Mothering, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """The answer in words."""
    said = settled(claims(result), result.settings, verdicts)
    return (
        _rate(result),
        *_groups(result, said),
        *_handled(result, said),
        *_litters(result),
        *_afterwards(result),
        cautions.handling(voice_of(result)),
    )


def _share(voice: Voice, row: Any) -> str:
    return voice.share_of(row.events, row.n, row.low, row.high)


def _rate(result: Mothering) -> Sentence:
    """Failures per newborn and per dam, and how many nobody judged."""
    voice = voice_of(result)
    each, dams = result.rates.itertuples(index=False)
    return Sentence(
        voice.say(
            "Not accepted by the {dam} (rejected, abandoned or mismothered), {period}: {n} of the {newborns} "
            "judged, and at least one {newborn} of {d} of the {dams} judged. Not judged, so not counted: "
            "{unjudged}.",
            period=season_names(voice, result.period, result.period),
            n=_share(voice, each),
            d=_share(voice, dams),
            unjudged=voice.count(result.unjudged),
        ),
        see="animals",
    )


def tally(groups: pd.DataFrame) -> dict[str, int]:
    """How many comparisons are telling, show no clear difference, and are too few to say."""
    found = list(groups["verdict"])
    return {
        "telling": sum(one in TELLING for one in found),
        "no_clear": found.count(Verdict.NO_CLEAR),
        "too_few": found.count(Verdict.TOO_FEW),
    }


def _groups(result: Mothering, verdicts: Verdicts) -> Iterator[Sentence]:
    """Birth by surgery whatever is to be said of it, other clear and leaning comparisons, the rest as a number."""
    voice, level = voice_of(result), result.settings.level
    groups = judged(result.groups, verdicts)
    surgery = groups["key"] == AFTER_SURGERY
    said = groups["verdict"].isin(TELLING) | (surgery & groups["verdict"].notna())
    for row in groups[said].to_dict("records"):
        compared = compared_group(voice, row)
        yield comparison(voice, compared, row["verdict"], level=level, templates=FAILURES, claim=row["key"])
    rest = tally(groups[~said])
    counts = {name: voice.count(rest[name]) for name in ("no_clear", "too_few")}
    if rest["too_few"]:
        text = voice.say(
            "Other comparisons in the table, with no clear difference: {no_clear}; with too few to say: {too_few}.",
            **counts,
        )
        yield Sentence(text)
    elif rest["no_clear"]:
        text = voice.say("Other comparisons in the table, with no clear difference: {no_clear}.", **counts)
        yield Sentence(text)


HANDLED = {
    Verdict.CLEAR: "Failures differ clearly between {newborns} handled before bonding and the others, "
    "compared within easy and difficult births: {stratified}. All births lumped together: {crude}; but "
    "difficult births are both handled and rejected more, so only the first is a fair comparison, and it "
    "is still an association.",
    Verdict.LEANING: "Failures look different between {newborns} handled before bonding and the "
    "others, compared within easy and difficult births, but chance is not ruled out: {stratified}. All "
    "births lumped together: {crude}.",
    Verdict.NO_CLEAR: "No clear difference in failures between {newborns} handled before bonding and "
    "the others, compared within easy and difficult births: {stratified}. All births lumped together: "
    "{crude}.",
    Verdict.TOO_FEW: "Too few to say whether failures differ between {newborns} handled before bonding "
    "and the others, once easy and difficult births are taken apart.",
}


def _handled(result: Mothering, verdicts: Verdicts) -> Iterator[Sentence]:
    """Handled before bonding, within easy and difficult births: hard births are both handled and rejected
    more.
    """
    if result.handled is None:
        return
    voice, level = voice_of(result), result.settings.level
    crude, within = judged(result.handled.contrasts, verdicts).to_dict("records")
    said = {
        name: ratio_in_words(voice, row["estimate"], row["low"], row["high"], level)
        for name, row in (("crude", crude), ("stratified", within))
    }
    yield Sentence(voice.say(HANDLED[within["verdict"]], **said), within["verdict"], claim=within["key"])


def _litters(result: Mothering) -> Iterator[Sentence]:
    """Litters of which the dam kept some and not others."""
    if len(result.separated):
        voice = voice_of(result)
        _, some, every = result.separated.itertuples(index=False)
        yield Sentence(
            voice.say(
                "Of litters with two or more born alive, all judged, the {dam} left one or more but kept another "
                "in {share}; left all in {all}.",
                share=_share(voice, some),
                all=_share(voice, every),
            )
        )


def _afterwards(result: Mothering) -> Iterator[Sentence]:
    """What became of the failures; then deaths after a failure and after mothering up, as counts, since the
    judgement came after birth; then the share of deaths that passed through a failure.
    """
    if not result.outcomes["n"].sum():
        return
    yield _reared(result)
    voice = voice_of(result)
    shares = {
        row["accepted"]: voice.counts(row["events"], row["n"]) for row in result.deaths.to_dict("records")
    }
    if len(shares) == 2:
        text = voice.say(
            "Lost by {window}: {failed} of those not accepted, {accepted} of those accepted. Weak "
            "{newborns} are left more often and die more often, and one has to live to be judged: read this as "
            "description.",
            window=result.window,
            failed=shares["no"],
            accepted=shares["yes"],
        )
        yield Sentence(text)
    passed = next(result.passed.itertuples(index=False))
    if passed.n:
        text = voice.say(
            "Of the {newborns} born alive that died and had been judged, {share} had not been accepted. That "
            "is how many passed through a failure, not how many the failure killed.",
            share=_share(voice, passed),
        )
        yield Sentence(text)


def _reared(result: Mothering) -> Sentence:
    """How those not accepted were reared, and how many of them died."""
    voice = voice_of(result)
    n = dict(zip(result.outcomes["reared"], map(voice.count, result.outcomes["n"]), strict=True))
    text = voice.say(
        "Of the {failed} not accepted, {fostered} were fostered, {artificial} reared artificially, {own} "
        "went back to their {dams} and {unknown} have no rearing written down. Of all of them, {died} died.",
        failed=voice.count(result.outcomes["n"].sum()),
        fostered=n["fostered"],
        artificial=n["artificial"],
        own=n["dam"],
        unknown=n["not written down"],
        died=voice.count(result.outcomes["died"].sum()),
    )
    return Sentence(text)


def glance(result: Mothering) -> tuple[Headline, ...]:
    """Accepted by their dams, of those judged."""
    voice, row = voice_of(result), result.rates.iloc[0]
    accepted, n = float(row["n"] - row["events"]), float(row["n"])
    ends = 1 - float(row["high"]), 1 - float(row["low"])
    label = voice.say("Mothered up")
    return (Headline("mothered", label, voice.counts(accepted, n), accepted, n, accepted / n, *ends),)


def figures(result: Mothering) -> tuple[Figure, ...]:
    """Share not accepted of those judged, group by group; all of them as a reference line."""
    if result.groups.empty:
        return ()
    voice = voice_of(result)
    say = voice.say
    whole = result.rates.iloc[0]
    frame = in_blocks(group_rows(voice, result.groups), result.settings.minimum_group)
    frame = frame.assign(name=[group_name(voice, row) for row in frame.to_dict("records")])
    said = "; ".join(
        say("{what}, {share}", what=row["name"], share=voice.counts(row["events"], row["n"]))
        for row in frame.to_dict("records")
    )
    return (
        draw_rates(
            frame,
            printer=voice,
            name="mothering-groups",
            title=say("Failures at mothering-up by group"),
            alt=say(
                "Share of {newborns} not accepted in each group with intervals; the dotted line is all of "
                "them, {share}. {list}.",
                share=voice.share_of(whole.events, whole.n, whole.low, whole.high),
                list=said,
            ),
            axis=say("not accepted, % of {newborns} judged"),
            few=say("too few"),
            average=(float(whole.share), say("all: {share}", share=voice.percent(float(whole.share)))),
        ),
    )


def tables(result: Mothering, verdicts: Verdicts | None = None) -> tuple[Table, ...]:
    """Rates, groups, handled within difficulty, litters, outcomes, deaths."""
    built = [_rates_table(result)]
    if len(result.groups):
        built.append(groups_table(result, settled(claims(result), result.settings, verdicts)))
    built += _handled_tables(result)
    if len(result.separated):
        built.append(_separated_table(result))
    return (*built, _outcomes_table(result), _deaths_table(result))


def _interval(result: Mothering) -> str:
    return interval_heading(voice_of(result), result.settings.level)


def _share_columns(result: Mothering, events: str, n: str) -> tuple[Column, ...]:
    """How many of how many, their share and its interval."""
    return (
        columns.count("events", events),
        columns.count("n", n),
        columns.share("share", voice_of(result).say("Share")),
        columns.interval("low", "high", _interval(result)),
    )


def _rates_table(result: Mothering) -> Table:
    """Not accepted, of the newborns judged and of the dams with a newborn judged."""
    voice = voice_of(result)
    say = voice.say
    of = {"newborns": say("{newborns} judged"), "dams": say("{dams} judged, at least one {newborn} failed")}
    return Table(
        "mothering-rates",
        say("Failures at mothering-up"),
        result.rates.assign(
            of=result.rates["unit"].map(of),
            accepted=result.rates["n"] - result.rates["events"],
            share_accepted=1 - result.rates["share"],
        ),
        (
            columns.text("of", say("Of"), raw="unit"),
            *_share_columns(result, say("Not accepted"), say("Judged")),
            columns.count("accepted", say("Accepted, or all accepted")),
            columns.share("share_accepted", say("Share of these")),
        ),
        note=say("Born alive but not judged: {unjudged}.", unjudged=voice.count(result.unjudged)),
        printer=voice,
    )


def groups_table(result: Mothering, verdicts: Verdicts) -> Table:
    """Not accepted of those judged in each group, against the group it is held against."""
    voice = voice_of(result)
    found = {name: voice.count(n) for name, n in tally(judged(result.groups, verdicts)).items()}
    note = voice.say(
        "q allows for the comparisons in this table, not for the rest of the page. Clear or leaning {telling}, no "
        "clear difference {no_clear}, too few to say {too_few}. Association only.",
        **found,
    )
    return Table(
        "mothering-groups",
        voice.say("Failures by group"),
        group_rows(voice, result.groups),
        group_columns(voice, _interval(result), voice.say("Not accepted"), voice.say("Judged")),
        note=note,
        printer=voice,
    )


def _handled_tables(result: Mothering) -> list[Table]:
    """Counts by difficulty of delivery, and the ratios; none where handling was not written down."""
    if result.handled is None:
        return []
    return [_handled_table(result, result.handled), _ratios_table(result, result.handled)]


def _handled_table(result: Mothering, found: Handled) -> Table:
    """Not accepted, of those handled before bonding and of the others, by delivery."""
    voice = voice_of(result)
    say = voice.say
    return Table(
        "mothering-handled",
        say("Handled before bonding, within easy and difficult births"),
        found.counts.assign(birth=[label(voice, name) for name in found.counts["difficulty"]]),
        (
            columns.text("birth", say("Birth"), raw="difficulty"),
            columns.count("events", say("Handled: not accepted")),
            columns.count("n", say("Handled")),
            columns.share("share", say("Share")),
            columns.count("events_versus", say("Not handled: not accepted")),
            columns.count("n_versus", say("Not handled")),
            columns.share("share_versus", say("Share there")),
        ),
        printer=voice,
    )


def _ratios_table(result: Mothering, found: Handled) -> Table:
    """The ratio of failures, handled against not, of all births together and within easy and difficult ones."""
    voice = voice_of(result)
    say = voice.say
    names = {"crude": say("crude"), "within difficulty": say("within difficulty")}
    frame = found.contrasts.rename(columns={"estimate": "ratio"})
    return Table(
        "mothering-handled-ratio",
        say("Handled before bonding: ratio of failures"),
        frame.assign(what=frame["how"].map(names)),
        (
            columns.text("what", say("Comparison"), raw="how"),
            columns.ratio("ratio", say("Risk ratio")),
            columns.interval("low", "high", interval_heading(voice, result.settings.level), "ratio"),
            columns.p("p", say("p")),
        ),
        note=say("Handled against not handled. Difficult births are both handled and rejected more."),
        printer=voice,
    )


def _separated_table(result: Mothering) -> Table:
    """Litters of two or more born alive, all judged, by how many the dam kept."""
    voice = voice_of(result)
    say = voice.say
    kept = {
        "kept all": say("kept all"),
        "left some, kept some": say("left some, kept some"),
        "left all": say("left all"),
    }
    return Table(
        "mothering-litters",
        say("Litters of two or more born alive, all judged"),
        result.separated.assign(what=result.separated["kept"].map(kept)),
        (
            columns.text("what", say("The {dam}"), raw="kept"),
            *_share_columns(result, say("Litters"), say("Of litters")),
        ),
        printer=voice,
    )


def _outcomes_table(result: Mothering) -> Table:
    """Those not accepted by how they were reared, and how many died."""
    voice = voice_of(result)
    say = voice.say
    names = {
        "fostered": say("fostered"),
        "artificial": say("reared artificially"),
        "dam": say("back with the {dam}"),
        "not written down": say("not written down"),
        "all": say("all not accepted"),
    }
    whole = pd.DataFrame([{"reared": "all", **result.outcomes[["n", "died"]].sum()}])
    frame = pd.concat([result.outcomes, whole], ignore_index=True)
    return Table(
        "mothering-outcomes",
        say("What became of those not accepted"),
        frame.assign(what=frame["reared"].map(names)),
        (
            columns.text("what", say("Reared"), raw="reared"),
            columns.count("n", say("{newborns}")),
            columns.count("died", say("Of these died")),
        ),
        printer=voice,
    )


def _deaths_table(result: Mothering) -> Table:
    """Lost by the end of the window of those not accepted and of those accepted; not accepted of those lost."""
    voice = voice_of(result)
    say = voice.say
    names = {
        "no": say("not accepted: lost by {window}", window=result.window),
        "yes": say("accepted: lost by {window}", window=result.window),
    }
    lost = result.deaths.assign(what=result.deaths["accepted"].astype(str).map(names))
    passed = result.passed.assign(what=say("of those lost: had not been accepted"))
    frame = one_below_another(lost[lost["n"] > 0], passed[passed["n"] > 0])
    return Table(
        "mothering-deaths",
        say("Losses and mothering-up"),
        frame,
        (
            columns.key("accepted", say("Accepted")),
            columns.text("what", say("Of {newborns} judged")),
            *_share_columns(result, say("Count"), say("Of")),
        ),
        note=say("Description only: mothering-up is judged after birth, and one has to live to be judged."),
        printer=voice,
    )


def method(result: Mothering) -> Method:
    """Method, settings, limits and sources."""
    voice = voice_of(result)
    say = voice.say
    return Method(
        method=(
            say(
                "A failure is a {newborn} born alive that was written as not mothered up: rejected, "
                "abandoned or mismothered. Those not judged are counted apart, never as accepted. A {dam} "
                "counts once a season."
            ),
            say(
                "Shares carry Wilson's score interval on the number divided by the design effect of "
                "litters; ratios are risk ratios clustered on the litter, with q-values over all groups "
                "compared. What is called clear is decided over all comparisons of the page."
            ),
            say(
                "Handled before bonding is compared within easy and difficult births (Mantel-Haenszel risk "
                "ratio), because difficult births are both handled and rejected more."
            ),
        ),
        settings=(
            say(
                "Groups under {minimum} {newborns} are shown but not compared.",
                minimum=voice.count(result.settings.minimum_group),
            ),
        ),
        limits=(
            say(
                "A {newborn} has to live to be judged, and weak ones are both left and lost more: deaths "
                "after a failure are described, not explained."
            ),
            say("These figures show association in one farm's records, not proof of cause."),
            say(
                "For comparison: 51 of 103 fine-wool ewes with twins left one for good, 2 of 103 left both "
                "(Stevens and others 1982); other flocks 0 to 17 % (Alexander and others 1983)."
            ),
        ),
        sources=(
            "Stevens D, Alexander G, Lynch JJ (1982) Applied Animal Ethology 8:243-252.",
            "Alexander G et al. (1983) Applied "
            "Animal Ethology 10:301-317 (doi 10.1016/0304-3762(83)90181-5).",
            "Greenland S, Robins JM (1985) Biometrics 41:55-68.",
            "Rao JNK, Scott AJ (1992) Biometrics 48:577-585.",
        ),
    )

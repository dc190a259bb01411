"""Did our dams accept their newborns, and what became of those they did not?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.mothering import Mothering, answer, judged
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence, Verdict, cautions, judge
from neonatal_stats.words.compared_rows import compared_row
from neonatal_stats.words.comparisons import Compared, Templates, compare_groups, ratio_in_words, verdict_of
from neonatal_stats.words.group_rows import FORMATS, factor_label, group_headings, group_rows
from neonatal_stats.words.labels import label

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Mothering",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]

NAME = "mothering"


TITLE = "Mothering-up"


QUESTION = "Did our {dams} accept their {newborns}, which did not, and what became of those left?"


FAILURES = Templates(
    higher="Failures were more common among {group}, {a}, than among {versus}, {b}: {evidence}.",
    lower="Failures were less common among {group}, {a}, than among {versus}, {b}: {evidence}.",
    leaning_higher="Failures among {group}, {a}, look more common than among {versus}, {b}, but "
    "chance is not ruled out: {evidence}.",
    leaning_lower="Failures among {group}, {a}, look less common than among {versus}, {b}, but "
    "chance is not ruled out: {evidence}.",
    no_clear="No clear difference in failures between {group}, {a}, and {versus}, {b}: {evidence}.",
    too_few="Too few to say whether failures differ between {group}, {a}, and {versus}, {b}.",
)


TELLING = (Verdict.CLEAR, Verdict.LEANING)


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


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as one newborn born alive was judged."""
    if "failed_mothering" in season.births and len(judged(season.births)):
        return ()
    return (
        voice_of(season).say(
            "Not answered: for no {newborn} born alive is it written whether its {dam} accepted it. A yes "
            "or no in mothered_up, once each {newborn} has been watched with its {dam}, would open the "
            "chapter; about 20 failures are needed before groups can be compared."
        ),
    )


def sentences(result: Mothering) -> tuple[Sentence, ...]:
    """The answer in words."""
    return (
        _rate(result),
        *_groups(result),
        *_handled(result),
        *_litters(result),
        *_afterwards(result),
        cautions.handling(voice_of(result)),
    )


def _share(row: Any) -> str:
    return printing.share_of(row.events, row.n, row.low, row.high)


def _rate(result: Mothering) -> Sentence:
    """Failures per newborn and per dam, and how many nobody judged."""
    each, dams = result.rates.itertuples(index=False)
    return Sentence(
        voice_of(result).say(
            "Not accepted by the {dam} (rejected, abandoned or mismothered): {n} of the {newborns} judged, and "
            "at least one {newborn} of {d} of the {dams} judged. Not judged, so not counted: {unjudged}.",
            n=_share(each),
            d=_share(dams),
            unjudged=printing.count(result.unjudged),
        )
    )


def pairs(result: Mothering) -> list[Compared]:
    """Each group against its comparison, ready for words."""
    against = result.groups[result.groups["versus"].notna()]
    return [compared_row(voice_of(result), row) for row in against.to_dict("records")]


def strength(result: Mothering, pair: Compared) -> Verdict:
    """The verdict on one comparison; a clear one whose q is over the share of false discoveries allowed leans."""
    settings = result.settings
    return verdict_of(
        pair, minimum_group=settings.minimum_group, false_discovery_share=settings.false_discovery_share
    )


def tally(result: Mothering) -> dict[str, int]:
    """How many comparisons are telling, show no clear difference, and are too few to say."""
    found = [strength(result, pair) for pair in pairs(result)]
    return {
        "telling": sum(one in TELLING for one in found),
        "no_clear": found.count(Verdict.NO_CLEAR),
        "too_few": found.count(Verdict.TOO_FEW),
    }


def _groups(result: Mothering) -> Iterator[Sentence]:
    """Clear and leaning comparisons one by one, the others as a number."""
    voice, settings = voice_of(result), result.settings
    for pair in pairs(result):
        if strength(result, pair) in TELLING:
            yield compare_groups(
                voice,
                pair,
                minimum_group=settings.minimum_group,
                level=settings.level,
                templates=FAILURES,
                false_discovery_share=settings.false_discovery_share,
            )
    rest = tally(result)
    counts = {name: printing.count(rest[name]) for name in ("no_clear", "too_few")}
    if rest["too_few"]:
        text = voice.say(
            "Other comparisons in the table, with no clear difference: {no_clear}; with too few to say: {too_few}.",
            **counts,
        )
        yield Sentence(text)
    elif rest["no_clear"]:
        text = voice.say("Other comparisons in the table, with no clear difference: {no_clear}.", **counts)
        yield Sentence(text)


def _handled(result: Mothering) -> Iterator[Sentence]:
    """Handled before bonding, within easy and difficult births: hard births are both handled and rejected
    more.
    """
    if result.handled is None:
        return
    voice, level = voice_of(result), result.settings.level
    counts, crude, within = result.handled.counts, result.handled.crude, result.handled.stratified
    verdict = judge(
        within.low,
        within.high,
        within.p,
        null=1.0,
        events=int(counts["events"].sum() + counts["events_versus"].sum()),
        smallest_group=int(min(counts["n"].sum(), counts["n_versus"].sum())),
        minimum_group=result.settings.minimum_group,
    )
    text = voice.say(
        HANDLED[verdict],
        crude=ratio_in_words(voice, crude.estimate, crude.low, crude.high, level),
        stratified=ratio_in_words(voice, within.estimate, within.low, within.high, level),
    )
    yield Sentence(text, verdict)


def _litters(result: Mothering) -> Iterator[Sentence]:
    """Litters of which the dam kept some and not others."""
    if len(result.separated):
        _, some, every = result.separated.itertuples(index=False)
        yield Sentence(
            voice_of(result).say(
                "Of litters with two or more born alive, all judged, the {dam} left one or more but kept another "
                "in {share}; left all in {all}.",
                share=_share(some),
                all=_share(every),
            )
        )


def _afterwards(result: Mothering) -> Iterator[Sentence]:
    """What became of the failures; then deaths after a failure and after mothering up, as counts, since the
    judgement came after birth; then the share of deaths that passed through a failure.
    """
    say = voice_of(result).say
    n = dict(zip(result.outcomes["reared"], result.outcomes["n"], strict=True))
    failed = sum(n.values())
    if not failed:
        return
    yield Sentence(
        say(
            "Of the {failed} not accepted, {fostered} were fostered, {artificial} reared artificially, {own} "
            "went back to their {dams} and {unknown} have no rearing written down. Of all of them, {died} died.",
            failed=printing.count(failed),
            fostered=printing.count(n["fostered"]),
            artificial=printing.count(n["artificial"]),
            own=printing.count(n["dam"]),
            unknown=printing.count(n["not written down"]),
            died=printing.count(result.outcomes["died"].sum()),
        )
    )
    shares = {
        row["accepted"]: printing.counts(row["events"], row["n"]) for row in result.deaths.to_dict("records")
    }
    if len(shares) == 2:
        text = say(
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
        text = say(
            "Of the {newborns} born alive that died and had been judged, {share} had not been accepted. That "
            "is how many passed through a failure, not how many the failure killed.",
            share=_share(passed),
        )
        yield Sentence(text)


def figures(result: Mothering) -> tuple[Figure, ...]:
    """Failures by group, the whole season as a reference line."""
    if result.groups.empty:
        return ()
    voice = voice_of(result)
    say = voice.say
    whole = result.rates.iloc[0]
    names = [
        say("{what}: {level}", what=factor_label(voice, row["factor"]), level=label(voice, row["group"]))
        for row in result.groups.to_dict("records")
    ]
    frame = result.groups.assign(name=names)
    said = "; ".join(
        say("{what}, {share}", what=row["name"], share=printing.counts(row["events"], row["n"]))
        for row in frame.to_dict("records")
    )
    return (
        draw_rates(
            frame,
            "name",
            printer=voice,
            name="mothering-groups",
            title=say("Failures at mothering-up by group"),
            alt=say(
                "Share of {newborns} not accepted in each group with intervals; the dotted line is all of "
                "them, {share}. {list}.",
                share=printing.share_of(whole.events, whole.n, whole.low, whole.high),
                list=said,
            ),
            axis=say("not accepted, % of {newborns} judged"),
            reference=float(whole.share),
        ),
    )


COUNTS = ("events", "n", "events_versus", "n_versus")


def tables(result: Mothering) -> tuple[Table, ...]:
    """Rates, groups, handled within difficulty, litters, outcomes, deaths."""
    built = [_rates_table(result)]
    if len(result.groups):
        built.append(groups_table(result))
    if result.handled is not None:
        built += [_handled_counts_table(result), _handled_ratios_table(result)]
    if len(result.separated):
        built.append(_separated_table(result))
    return (*built, _outcomes_table(result), _deaths_table(result))


def _interval(result: Mothering) -> str:
    return interval_heading(voice_of(result), result.settings.level)


def _rates_table(result: Mothering) -> Table:
    say = voice_of(result).say
    of = {"newborns": say("{newborns} judged"), "dams": say("{dams} judged, at least one {newborn} failed")}
    frame = pd.concat([result.rates.assign(of=result.rates["unit"].map(of))], ignore_index=True)
    headings = {"of": say("Of"), "events": say("Not accepted"), "n": say("Judged"), "share": say("Share")}
    headings["interval"] = _interval(result)
    formats = {"events": "count", "n": "count", "share": "share"}
    note = say("Born alive but not judged: {unjudged}.", unjudged=str(result.unjudged))
    return Table("mothering-rates", say("Failures at mothering-up"), frame, headings, formats, note)


def groups_table(result: Mothering) -> Table:
    """Failures by group, each against its comparison."""
    voice = voice_of(result)
    say = voice.say
    frame = group_rows(voice, result.groups)
    headings = group_headings(voice, _interval(result), say("Not accepted"), say("Judged"))
    found = {name: printing.count(n) for name, n in tally(result).items()}
    note = say(
        "q allows for the number of comparisons in this table. Clear or leaning {telling}, no clear "
        "difference {no_clear}, too few to say {too_few}. Association only.",
        **found,
    )
    return Table("mothering-groups", say("Failures by group"), frame, headings, FORMATS, note)


def _handled_counts_table(result: Mothering) -> Table:
    assert result.handled is not None
    voice = voice_of(result)
    say, frame = voice.say, result.handled.counts
    frame = frame.assign(birth=[label(voice, name) for name in frame["difficulty"]])
    headings = {
        "birth": say("Birth"),
        "events": say("Handled: not accepted"),
        "n": say("Handled"),
        "share": say("Share"),
        "events_versus": say("Not handled: not accepted"),
        "n_versus": say("Not handled"),
        "share_versus": say("Share there"),
    }
    formats = {**dict.fromkeys(COUNTS, "count"), "share": "share", "share_versus": "share"}
    title = say("Handled before bonding, within easy and difficult births")
    return Table("mothering-handled", title, frame, headings, formats)


def _handled_ratios_table(result: Mothering) -> Table:
    assert result.handled is not None
    say, found = voice_of(result).say, result.handled
    rows = [
        {"how": how, "ratio": one.estimate, "low": one.low, "high": one.high, "p": one.p}
        for how, one in ((say("crude"), found.crude), (say("within difficulty"), found.stratified))
    ]
    headings = {
        "how": say("Comparison"),
        "ratio": say("Risk ratio"),
        "interval": _interval(result),
        "p": say("p"),
    }
    formats = {"ratio": "ratio", "interval": "ratio", "p": "p"}
    note = say("Handled against not handled. Difficult births are both handled and rejected more.")
    title = say("Handled before bonding: ratio of failures")
    return Table("mothering-handled-ratio", title, pd.DataFrame(rows), headings, formats, note)


def _separated_table(result: Mothering) -> Table:
    say = voice_of(result).say
    kept = {
        "kept all": say("kept all"),
        "left some, kept some": say("left some, kept some"),
        "left all": say("left all"),
    }
    frame = result.separated.assign(what=result.separated["kept"].map(kept))
    headings = {
        "what": say("The {dam}"),
        "events": say("Litters"),
        "n": say("Of litters"),
        "share": say("Share"),
    }
    headings["interval"] = _interval(result)
    formats = {"events": "count", "n": "count", "share": "share"}
    title = say("Litters of two or more born alive, all judged")
    return Table("mothering-litters", title, frame, headings, formats)


def _outcomes_table(result: Mothering) -> Table:
    say = voice_of(result).say
    names = {
        "fostered": say("fostered"),
        "artificial": say("reared artificially"),
        "dam": say("back with the {dam}"),
        "not written down": say("not written down"),
    }
    whole = pd.DataFrame([{"reared": "all", **result.outcomes[["n", "died"]].sum()}])
    frame = pd.concat([result.outcomes, whole], ignore_index=True)
    frame = frame.assign(what=frame["reared"].map({**names, "all": say("all not accepted")}))
    headings = {"what": say("Reared"), "n": say("{newborns}"), "died": say("Of these died")}
    formats = {"n": "count", "died": "count"}
    return Table("mothering-outcomes", say("What became of those not accepted"), frame, headings, formats)


def _deaths_table(result: Mothering) -> Table:
    say = voice_of(result).say
    names = {
        "no": say("not accepted: lost by {window}", window=result.window),
        "yes": say("accepted: lost by {window}", window=result.window),
    }
    lost = result.deaths.assign(what=result.deaths["accepted"].astype(str).map(names))
    passed = result.passed.assign(what=say("of those lost: had not been accepted"))
    frame = pd.concat([lost[lost["n"] > 0], passed[passed["n"] > 0]], ignore_index=True)
    headings = {
        "what": say("Of {newborns} judged"),
        "events": say("Count"),
        "n": say("Of"),
        "share": say("Share"),
    }
    headings["interval"] = _interval(result)
    formats = {"events": "count", "n": "count", "share": "share"}
    note = say("Description only: mothering-up is judged after birth, and one has to live to be judged.")
    return Table("mothering-deaths", say("Losses and mothering-up"), frame, headings, formats, note)


def method(result: Mothering) -> Method:
    """Method, settings, limits and sources."""
    say = voice_of(result).say
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
                "compared."
            ),
            say(
                "Handled before bonding is compared within easy and difficult births (Mantel-Haenszel risk "
                "ratio), because difficult births are both handled and rejected more."
            ),
        ),
        settings=(
            say(
                "Groups under {minimum} {newborns} are shown but not compared.",
                minimum=printing.count(result.settings.minimum_group),
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

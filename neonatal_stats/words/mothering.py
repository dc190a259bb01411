"""The words of mothering-up: who was not accepted, what went with it, what became of them."""

from __future__ import annotations

from neonatal_stats.tables import printing
from neonatal_stats.words.comparisons import Templates
from neonatal_stats.words.verdict import Verdict
from neonatal_stats.words.voice import Voice

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


def rate_sentence(voice: Voice, newborns: str, dams: str, unjudged: str) -> str:
    """Failures per newborn and per dam."""
    return voice.say(
        "Not accepted by the {dam} (rejected, abandoned or mismothered): {n} of the {newborns} judged, and "
        "at least one {newborn} of {d} of the {dams} judged. Not judged, so not counted: {unjudged}.",
        n=newborns,
        d=dams,
        unjudged=unjudged,
    )


def outcome_sentence(voice: Voice, **values: str) -> str:
    """What became of the failures."""
    return voice.say(
        "Of the {failed} not accepted, {fostered} were fostered, {artificial} reared artificially, {own} "
        "went back to their {dams} and {unknown} have no rearing written down. Of all of them, {died} died.",
        **values,
    )


def separated_sentence(voice: Voice, share: str, all_lost: str) -> str:
    """Litters of which the dam kept some and not others."""
    return voice.say(
        "Of litters with two or more born alive, all judged, the {dam} left one or more but kept another "
        "in {share}; left all in {all}.",
        share=share,
        all=all_lost,
    )


def passed_sentence(voice: Voice, share: str) -> str:
    """The share of deaths that passed through a failure; says nothing about what would have happened
    otherwise.
    """
    return voice.say(
        "Of the {newborns} born alive that died and had been judged, {share} had not been accepted. That "
        "is how many passed through a failure, not how many the failure killed.",
        share=share,
    )


def death_sentence(voice: Voice, **values: str) -> str:
    """Deaths after a failure against deaths after mothering up, as counts: the judgement came after birth."""
    return voice.say(
        "Lost by {window}: {failed} of those not accepted, {accepted} of those accepted. Weak "
        "{newborns} are left more often and die more often, and one has to live to be judged: read this as "
        "description.",
        **values,
    )


def handled_sentence(voice: Voice, verdict: Verdict, crude: str, stratified: str) -> str:
    """Handled before bonding, within easy and difficult births: hard births are both handled and rejected
    more.
    """
    templates = {
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
    return voice.say(templates[verdict], crude=crude, stratified=stratified)


def rest_sentence(voice: Voice, no_clear: int, too_few: int) -> str:
    """The comparisons that are not said one by one."""
    counts = {"no_clear": printing.count(no_clear), "too_few": printing.count(too_few)}
    if not too_few:
        return voice.say("Other comparisons in the table, with no clear difference: {no_clear}.", **counts)
    return voice.say(
        "Other comparisons in the table, with no clear difference: {no_clear}; with too few to say: {too_few}.",
        **counts,
    )

"""The words of mothering-up: who was not accepted, what went with it, what became of them."""

from __future__ import annotations

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
        Verdict.CLEAR: "Handled before bonding against not: failures differ clearly within easy and "
        "difficult births ({stratified}; crude, {crude}). Difficult births are both handled and rejected "
        "more, so only the first is a fair comparison, and it is still an association.",
        Verdict.LEANING: "Handled before bonding against not: failures lean apart within easy and difficult "
        "births, but chance is not ruled out ({stratified}; crude, {crude}).",
        Verdict.NO_CLEAR: "Handled before bonding against not: no clear difference in failures within easy "
        "and difficult births ({stratified}; crude, {crude}).",
        Verdict.TOO_FEW: "Handled before bonding against not: too few to say, once easy and difficult "
        "births are taken apart.",
    }
    return voice.say(templates[verdict], crude=crude, stratified=stratified)


def rest_sentence(voice: Voice, no_clear: str, too_few: str) -> str:
    """The comparisons that are not said one by one."""
    return voice.say(
        "Of the other groups, {no_clear} show no clear difference from their comparison and {too_few} are "
        "too few to say; all stand in the table.",
        no_clear=no_clear,
        too_few=too_few,
    )

"""How the colostrum chapter was worked out."""

from __future__ import annotations

from neonatal_stats.chapters.colostrum.result import Colostrum
from neonatal_stats.tables import printing
from neonatal_stats.vocabulary.passive_transfer import ABSORBED_BY_AGE_H
from neonatal_stats.words import Method, Voice
from neonatal_stats.words import colostrum as words

SOURCES = (
    "Anderson JR, Cain KC, Gelber RD (1983) Journal of Clinical Oncology 1:710-719 (landmarks).",
    "Cox DR (1972) Journal of the Royal Statistical Society B 34:187-220; Lin DY, Wei LJ (1989) Journal of "
    "the American Statistical Association 84:1074-1078 (errors by litter).",
    "VanderWeele TJ, Ding P (2017) Annals of Internal Medicine 167:268-274 (E-value).",
    "Hernan MA, Robins JM (2016) American Journal of Epidemiology 183:758-764 (imitated trials).",
    "Schoenfeld DA (1983) Biometrics 39:499-503 (deaths needed).",
    "Matte JJ et al. (1982) Journal of Dairy Science (absorption by age at the feed).",
)


def method(result: Colostrum) -> Method:
    """Method, settings, limits and sources."""
    return Method(_method(result.voice), _settings(result), _limits(result), _sources(result))


def _method(voice: Voice) -> tuple[str, ...]:
    say = voice.say
    return (
        say(
            "Timing: cumulative incidence of the first feed with death before it competing; intervals "
            "clustered on the litter."
        ),
        say(
            "Survival: {newborns} are never grouped from birth by when they were fed. Landmarks count from "
            "the mark on, among those alive and watched at it; hour by hour, each is unfed until its first "
            "feed and fed from then on (Cox regression with Efron ties, errors by litter). A death known "
            "only to lie between two rounds counts in parts at each of its likely ages, given how many "
            "others were still unfed then; a table shows how far placing it elsewhere moves the answer."
        ),
        say(
            "Allowed for: weak or absent suck reflex, birth weight, difficult delivery and litter size, "
            "where written down for most. The E-value says how strong a weakness not in the records would "
            "have to be."
        ),
        say(
            "What if: every {newborn} starts in both arms, leaves an arm when its feeding no longer fits "
            "it, and those who stay are weighted by the chance of staying, given what was known at birth; "
            "intervals from resampled litters."
        ),
        say(
            "Passive transfer: first sample of each {newborn} inside the source's window, classed by "
            "published cut points; others are set aside with the reason. Serum result against age at first "
            "feed: natural cubic spline, errors by litter. Group comparisons carry q-values."
        ),
    )


def _settings(result: Colostrum) -> tuple[str, ...]:
    say, marks = result.voice.say, result.settings.marks
    return (
        say(
            "Marks (common practice, all adjustable): {marks}; {share} of body weight by {by}; calves {ml} "
            "ml at the first feed.",
            marks=", ".join(printing.age(mark) for mark in marks.colostrum_h),
            share=printing.percent(marks.colostrum_share_of_weight, 0),
            by=printing.age(marks.colostrum_amount_by_h),
            ml=printing.count(marks.calf_first_feed_ml),
        ),
        say(
            "Share of IgG absorbed by age at the feed, calves given 2 l: {absorbed} (Matte 1982).",
            absorbed=", ".join(
                f"{printing.age(age)} {printing.percent(share)}" for age, share in ABSORBED_BY_AGE_H.items()
            ),
        ),
    )


def _limits(result: Colostrum) -> tuple[str, ...]:
    say = result.voice.say
    limits = [
        say("These figures show association in one farm's records, not proof of cause."),
        say(
            "A {newborn} that died early with no feed written down is taken as unfed; were feeds of those "
            "that died written down less often than those of the others, late feeding would look worse than "
            "it is."
        ),
        say("Weakness that shows itself only after birth is not allowed for."),
        words.assumptions_sentence(result.voice),
    ]
    return tuple(limits)


def _sources(result: Colostrum) -> tuple[str, ...]:
    cuts = tuple(dict.fromkeys(one.classed.scheme.source for one in result.transfer))
    return tuple(result.voice.say(text) for text in (*SOURCES, *cuts))

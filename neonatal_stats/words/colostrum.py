"""The words of colostrum: when, how much, whether it went with survival, what reached the blood."""

from __future__ import annotations

from neonatal_stats.words.verdict import Verdict
from neonatal_stats.words.voice import Voice


def observed_sentence(voice: Voice, observed: str, unseen: str) -> str:
    """How many first feeds the timing rests on."""
    return voice.say(
        "The first feed, or a death before it, is written down for {observed} {newborns} born alive; for "
        "{unseen} nobody can tell.",
        observed=observed,
        unseen=unseen,
    )


def timing_sentence(voice: Voice, mark: str, share: str, died: str) -> str:
    """Share fed by a mark, death first counted."""
    return voice.say(
        "By {mark}, {share} had fed and {died} had died before a first feed.",
        mark=mark,
        share=share,
        died=died,
    )


def amount_sentence(voice: Voice, met: str, target: str, by: str) -> str:
    """Who got the share of body weight that is common practice."""
    return voice.say(
        "Of the {newborns} with every feed measured and a birth weight, {met} were given {target} of their "
        "weight by {by} (common practice). Suckling that nobody measured is not in these figures.",
        met=met,
        target=target,
        by=by,
    )


def first_volume_sentence(voice: Voice, met: str, volume: str) -> str:
    """Calves' first feeds against the volume that is common practice."""
    return voice.say(
        "Of the first feeds with a volume, {met} were at least {volume} ml (common practice for calves).",
        met=met,
        volume=volume,
    )


def small_feed_sentence(voice: Voice, met: str, volume: str) -> str:
    """First feeds of lambs and kids against the small volume that already helps."""
    return voice.say(
        "Of the first feeds with a volume, {met} were at least {volume} ml; even so small a first feed "
        "helps (common practice).",
        met=met,
        volume=volume,
    )


def mass_sentence(voice: Voice, met: str, target: str) -> str:
    """IgG mass of a calf's feeds against published guidance."""
    return voice.say(
        "Of the {newborns} with an IgG mass, {met} were given at least {target} g of IgG by then.",
        met=met,
        target=target,
    )


def counts_sentence(voice: Voice, how: str, **values: str) -> str:
    """Deaths of the unfed and the fed, as counts."""
    templates = {
        "landmark": "Alive at {mark}: of those not yet fed, {unfed} died by {until}; of those fed, {fed}.",
        "as it happens": "Hour by hour to {until}: {unfed} deaths came before a first feed and {fed} after it.",
    }
    return voice.say(templates[how], **values)


_HOURLY = {
    (
        Verdict.CLEAR,
        True,
    ): "While not yet fed, {newborns} died faster than once fed, weakness at birth allowed for: {ratio} "
    "times the hazard ({level} interval {interval}).",
    (
        Verdict.CLEAR,
        False,
    ): "While not yet fed, {newborns} died more slowly than once fed, weakness at birth allowed for: "
    "{ratio} times the hazard ({level} interval {interval}).",
    (
        Verdict.LEANING,
        True,
    ): "While not yet fed, {newborns} look to die faster than once fed, weakness at birth allowed for, "
    "but chance is not ruled out: {ratio} times the hazard ({level} interval {interval}).",
    (
        Verdict.LEANING,
        False,
    ): "While not yet fed, {newborns} look to die more slowly than once fed, weakness at birth allowed "
    "for, but chance is not ruled out: {ratio} times the hazard ({level} interval {interval}).",
}
_HOURLY_PLAIN = (
    "No clear difference in dying between {newborns} not yet fed and those fed, weakness at birth allowed "
    "for: {ratio} times the hazard ({level} interval {interval})."
)
_FROM_MARK = {
    (
        Verdict.CLEAR,
        True,
    ): "From {mark} on, {newborns} not fed by then died faster than those fed, weakness at birth allowed "
    "for: {ratio} times the hazard ({level} interval {interval}).",
    (
        Verdict.CLEAR,
        False,
    ): "From {mark} on, {newborns} not fed by then died more slowly than those fed, weakness at birth "
    "allowed for: {ratio} times the hazard ({level} interval {interval}).",
    (
        Verdict.LEANING,
        True,
    ): "From {mark} on, {newborns} not fed by then look to die faster than those fed, weakness at birth "
    "allowed for, but chance is not ruled out: {ratio} times the hazard ({level} interval {interval}).",
    (
        Verdict.LEANING,
        False,
    ): "From {mark} on, {newborns} not fed by then look to die more slowly than those fed, weakness at "
    "birth allowed for, but chance is not ruled out: {ratio} times the hazard ({level} interval {interval}).",
}
_FROM_MARK_PLAIN = (
    "From {mark} on, no clear difference in dying between {newborns} not fed by then and those fed, "
    "weakness at birth allowed for: {ratio} times the hazard ({level} interval {interval})."
)


def effect_sentence(voice: Voice, how: str, verdict: Verdict, higher: bool, **values: str) -> str:
    """Death of the unfed against the fed; an association, weakness at birth allowed for."""
    if how == "as it happens":
        return voice.say(_HOURLY.get((verdict, higher), _HOURLY_PLAIN), **values)
    return voice.say(_FROM_MARK.get((verdict, higher), _FROM_MARK_PLAIN), **values)


def with_rounds(voice: Voice, answer: str, low: str, high: str) -> str:
    """The hourly answer and how far it moves by when deaths found at rounds are taken to have come."""
    return voice.say(
        "{answer} By when the deaths found at rounds are taken to have come, between last seen alive and found "
        "dead, this runs from {low} to {high} times.",
        answer=answer,
        low=low,
        high=high,
    )


def weakness_sentence(voice: Voice, estimate: str, limit: str) -> str:
    """The E-value, in words."""
    return voice.say(
        "To explain this away, a weakness that is not in the records would have to raise both late feeding "
        "and death {estimate} times each ({limit} times to bring the interval to no difference).",
        estimate=estimate,
        limit=limit,
    )


def bias_sentence(voice: Voice, **values: str) -> str:
    """What simply comparing would have said, on the season's own numbers."""
    return voice.say(
        "Simply comparing {newborns} not fed by {mark} with those fed by then gives {ratio} times the "
        "hazard. But of the {deaths} deaths among those {unfed}, {before} came before {mark}: they were not "
        "fed by then because they died, not the other way round. That number is no answer.",
        **values,
    )


def alone_sentence(voice: Voice, alone: str) -> str:
    """The other way of simply comparing."""
    return voice.say(
        "Looking only at those that were ever fed errs the other way, since one has to live to be fed late: "
        "{alone} times the hazard. That is no answer either.",
        alone=alone,
    )


def needed_sentence(voice: Voice, deaths: str, needed: str, births: str) -> str:
    """How many records would do."""
    return voice.say(
        "The effect of the first feed cannot be judged here: {deaths} deaths after birth with a known first "
        "feed. To see a doubled hazard with four chances in five takes about {needed} such deaths, at this "
        "season's losses about {births} births with the time of the first feed written down.",
        deaths=deaths,
        needed=needed,
        births=births,
    )


def classes_sentence(voice: Voice, measure: str, listed: str, n: str) -> str:
    """Passive transfer classes."""
    return voice.say(
        "Passive transfer by {measure}, {n} {newborns} classed: {listed}.",
        measure=measure,
        listed=listed,
        n=n,
    )


def class_part(voice: Voice, group: str, share: str) -> str:
    """One class and its share."""
    return voice.say("{group} {share}", group=group, share=share)


def target_part(voice: Voice, group: str, share: str, sign: str, target: str) -> str:
    """One class with its herd target."""
    return voice.say(
        "{group} {share}, goal {sign} {target}", group=group, share=share, sign=sign, target=target
    )


def set_aside_sentence(voice: Voice, measure: str, listed: str) -> str:
    """Samples not classed."""
    return voice.say("Samples not classed by {measure}: {listed}.", measure=measure, listed=listed)


def smooth_sentence(
    voice: Voice, measure: str, early: str, late: str, early_value: str, late_value: str
) -> str:
    """Serum result by age at first feed."""
    return voice.say(
        "Mean {measure} was {early_value} for a first feed at {early} and {late_value} at {late} (see the "
        "curve with its interval).",
        measure=measure,
        early=early,
        late=late,
        early_value=early_value,
        late_value=late_value,
    )


def efficiency_sentence(voice: Voice, n: str, median: str, low: str, high: str) -> str:
    """Apparent efficiency of absorption."""
    return voice.say(
        "Apparent efficiency of absorption in {n} {newborns}: median {median}, middle half {low} to {high}.",
        n=n,
        median=median,
        low=low,
        high=high,
    )


def trial_sentence(voice: Voice, **values: str) -> str:
    """The emulated trial, clearly labelled as a what-if."""
    return voice.say(
        "What if (an imitated trial, not an experiment): had every {newborn} alive been fed by {mark}, "
        "{fed} would have died by {until}; had none been fed by {mark}, {unfed}: a difference of "
        "{difference} percentage points ({level} interval {interval}). This holds only if the assumptions "
        "below it do.",
        **values,
    )


def no_trial_sentence(voice: Voice, mark: str, fewest: str) -> str:
    """Why the imitated trial is not shown: too few to begin with."""
    return voice.say(
        "What if all had been fed by {mark}? Not attempted: too few died or lived on among those fed or not "
        "fed by then. At least {fewest} deaths and {fewest} survivors in each are needed.",
        mark=mark,
        fewest=fewest,
    )


def thin_trial_sentence(voice: Voice, mark: str, unfed: str, worth: str) -> str:
    """Why the imitated trial is not shown: too little is left once newborns are weighted."""
    return voice.say(
        "What if all had been fed by {mark}? No answer is given: the {unfed} not fed by then are worth "
        "{worth} equally weighted {newborns}, too few for how often they die.",
        mark=mark,
        unfed=unfed,
        worth=worth,
    )


def assumptions_sentence(voice: Voice) -> str:
    """What the imitated trial stands on, in plain words."""
    return voice.say(
        "The what-if assumes that the records hold all that made {newborns} both slow to feed and likely to "
        "die, that every kind of {newborn} had some chance of being fed in time and of not being, that feed "
        "times and deaths are written down right, and that one {newborn}'s feed does not change another's "
        "fate. None of these can be proved from the records."
    )


def no_source_sentence(voice: Voice, tried: str) -> str:
    """No source or person stood out."""
    return voice.say(
        "Of {tried} comparisons of sources and people, no clear difference is left once the number tried is "
        "allowed for.",
        tried=tried,
    )


def source_sentence(voice: Voice, outcome: str, **values: str) -> str:
    """A source or a person that goes with late first feeds or low results."""
    templates = {
        "late": "{factor}, {group}: {share} first feeds came after {mark}, against {versus_share} for "
        "{versus} (q {q}, of {tried} comparisons tried). Who or what was chosen for which {newborn} is not "
        "known.",
        "low": "{factor}, {group}: {share} sampled stood in the lowest class, against {versus_share} for "
        "{versus} (q {q}, of {tried} comparisons tried). Who or what was chosen for which {newborn} is not "
        "known.",
    }
    values = values if outcome == "late" else {key: value for key, value in values.items() if key != "mark"}
    return voice.say(templates[outcome], **values)


def measure_label(voice: Voice, measure: str) -> str:
    """The printed name of a serum measure with its unit."""
    names = {
        "igg_g_per_l": "serum IgG (g/l)",
        "total_protein_g_per_dl": "serum total protein (g/dl)",
        "brix_pct": "serum Brix (%)",
    }
    return voice.say(names[measure])


def covariate_label(voice: Voice, name: str) -> str:
    """The printed name of something adjusted for."""
    names = {
        "weak_suck": "weak suck reflex",
        "absent_suck": "absent suck reflex",
        "birth_weight_sd": "birth weight",
        "difficult_delivery": "difficult delivery",
        "twin": "twin",
        "triplet_or_more": "triplet or more",
    }
    return voice.say(names[name])

"""What the page says behind the chapters: the definitions and the reporting checklist.

The definitions are made from the settings and never typed twice. The checklist is filled in from the review itself;
its items are those of STROBE-Vet (Sargeant et al. 2016, J Vet Intern Med 30:1887, doi 10.1111/jvim.14574), paraphrased
in our own words. What a season's records cannot supply (housing, funding) is said to be missing, with who adds it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from neonatal_stats.report.review import Review, version
from neonatal_stats.words.names import label

CLUSTERS = {
    "litter": "{Newborns} of one {dam} in one season (a litter) are not independent: every interval allows for it.",
    "dam": "{Newborns} of one {dam} over all seasons are not independent: every interval allows for it.",
    "farm": "{Newborns} of one farm are not independent: every interval allows for it.",
}


def definitions(review: Review) -> tuple[tuple[str, str], ...]:
    """Term and meaning, in printed order; of a page without births only what it speaks of."""
    if review.season.alone:
        return _of_mobs(review)
    say, settings = review.voice.say, review.season.settings
    windows = ", ".join(settings.windows_h)
    causes = ", ".join(label(review.voice, cause) for cause in settings.causes)
    level = review.voice.percent(settings.level, 0)
    return (
        (say("Stillborn"), say("Recorded as not alive at birth; counted as lost at age 0.")),
        (say("Born"), say("Every {newborn} recorded, those born dead included.")),
        (
            say("Lost"),
            say(
                "Died before, at or after birth, up to {days} days of age. {Newborns} that left alive are not lost; "
                "curves count them until they left, and shares leave them out where they left before an early "
                "window closed.",
                days=review.voice.number(settings.follow_up_d, 0),
            ),
        ),
        (
            say("Windows"),
            say(
                "Losses are counted by {windows} and by the end of follow-up at {days} days.",
                windows=windows,
                days=review.voice.number(settings.follow_up_d, 0),
            ),
        ),
        (say("Litter"), say(CLUSTERS[settings.cluster])),
        (
            say("Interval"),
            say("The range of values that these records are compatible with, at {level}.", level=level),
        ),
        (say("Cause"), say("One per death, from this list: {causes}.", causes=causes)),
        (
            say("Too few to say"),
            say(
                "A group of fewer than {n} {newborns}, or fewer than 5 losses in the comparison.",
                n=review.voice.count(settings.minimum_group),
            ),
        ),
        (
            say("Clear, leaning"),
            say(
                "Clear: the interval leaves out no difference, and so does the decision over all comparisons of the "
                "page together. Leaning: it is not clear, but a difference this large would come by chance less than "
                "one time in five. Neither says what caused it."
            ),
        ),
    )


def _of_mobs(review: Review) -> tuple[tuple[str, str], ...]:
    """The definitions of counts by the mob, of which no single newborn was watched."""
    say, level = review.voice.say, review.voice.percent(review.season.settings.level, 0)
    return (
        (say("Mob"), say("{Dams} that were run, scanned and counted together, with their {newborns}.")),
        (
            say("Lost"),
            say(
                "There at one count of a mob, or scanned, and not there at the later one; nothing says when or why."
            ),
        ),
        (
            say("Interval"),
            say("The range of values that these records are compatible with, at {level}.", level=level),
        ),
    )


@dataclass(frozen=True)
class Item:
    """One line of the checklist: its number, what it asks for and where or how this report meets it."""

    number: int
    asks: str
    met: str


def checklist(review: Review) -> tuple[Item, ...]:
    """All 22 items for this review; none where no birth is on record, since they ask about a cohort of births."""
    if review.season.alone:
        return ()
    say = review.voice.say
    return tuple(Item(number, say(asks), met(review)) for number, (asks, met) in enumerate(ITEMS, start=1))


def _said(template: str) -> Callable[[Review], str]:
    return lambda review: review.voice.say(template)


def _setting(review: Review) -> str:
    born = review.season.births["born"].dropna()
    if born.empty:
        return review.voice.say("Dates of birth were not recorded. Country and housing: add by hand.")
    return review.voice.say(
        "First birth {first}, last birth {last}, followed to {days} days of age; farms: {farms}. "
        "Country and housing: add by hand.",
        first=review.voice.date(born.min()),
        last=review.voice.date(born.max()),
        days=review.voice.number(review.season.settings.follow_up_d, 0),
        farms=review.voice.count(len(review.season.farms)),
    )


def _participants(review: Review) -> str:
    files = sorted({source.file for source in review.season.sources})
    aside = sum(balance.set_aside for balance in review.season.balances)
    return review.voice.say(
        "All births recorded in {files}; rows set aside: {aside}, each listed with its reason in set-aside.csv.",
        files=", ".join(files) or "-",
        aside=review.voice.count(aside),
    )


def _size(review: Review) -> str:
    return review.voice.say(
        "All births of the season ({n} in all records); no sample size was planned.",
        n=review.voice.count(len(review.season.births)),
    )


def _numbers(review: Review) -> str:
    titles = [section.title for section in review.sections if section.name in ("records", "losses")]
    return review.voice.say("Counted at each step in the chapters {chapters}.", chapters=", ".join(titles))


def _levels(review: Review) -> str:
    return review.voice.say(
        "{n} losses among {total} {newborns} in all records; every share with its numerator and denominator.",
        n=review.voice.count(int(review.season.births["died"].sum())),
        total=review.voice.count(len(review.season.births)),
    )


def _results(review: Review) -> str:
    level = review.voice.percent(review.season.settings.level, 0)
    return review.voice.say("Crude estimates with {level} intervals; adjusted ones beside them, where shown, say for "
                            "what.", level=level)  # fmt: skip


def _closed(review: Review) -> str:
    closed = [section.title for section in review.sections if not section.open]
    if not closed:
        return review.voice.say(
            "At the top of the page and under each chapter; all chapters could be answered."
        )
    template = "At the top of the page and under each chapter; not answered: {chapters}."
    return review.voice.say(template, chapters=", ".join(closed))


def _transparency(review: Review) -> str:
    hashes = ", ".join(f"{source.file} {source.sha256[:12]}" for source in review.season.sources)
    return review.voice.say("Version {version}; files by SHA-256: {hashes}. Funding and interests: add by hand.",
                            version=version(), hashes=hashes or "-")  # fmt: skip


ITEMS: tuple[tuple[str, Callable[[Review], str]], ...] = (
    (
        "Name the design and sum up in the title box",
        _said("An observational cohort of one season's births, summed up at the top of the page."),
    ),
    ("Why this was done", _said("To review the season's losses and decide what to change next season.")),
    (
        "Questions, and the level of each",
        _said(
            "Each chapter's question is its heading; six questions were fixed beforehand and are answered at the top "
            "of the page. Levels: {newborn}, litter, {dam}, farm."
        ),
    ),
    ("Design", _said("Cohort from birth, followed to death, leaving or the end of follow-up.")),
    ("Place and dates", _setting),
    ("Who is in, how found, how followed", _participants),
    (
        "Define every outcome and factor",
        _said("Definitions at the foot of the page; units in every heading."),
    ),
    (
        "Who measured what, and how",
        _said(
            "From the farm's own records; how complete and how rounded they are is shown in the first chapter."
        ),
    ),
    (
        "Sources of bias",
        _said(
            "Births not seen, causes by guess, and weak {newborns} being both late to feed and likely to die: named "
            "in each chapter's limits."
        ),
    ),
    ("Study size", _size),
    ("Cut points of quantities", _said("In the settings; common practice unless a source is named.")),
    (
        "Statistical methods",
        _said(
            "Under each chapter's fold: clustering by litter, competing causes, missing values, several "
            "comparisons."
        ),
    ),
    ("Numbers at each step", _numbers),
    (
        "Describe the animals, missing values, follow-up",
        _said("In the first chapter, by column and by outcome."),
    ),
    ("Outcomes by level", _levels),
    ("Main results, crude and adjusted, with absolute differences", _results),
    (
        "Other analyses",
        _said(
            "Unknown causes bounded both ways; deaths found at rounds held against the time found; adjusted models "
            "beside crude groups."
        ),
    ),
    ("Main findings", _said("What stands out, and the questions always asked, at the top of the page.")),
    ("Limits", _closed),
    ("Cautious reading", _said("Association in one farm's records, not proof of cause; see the cautions.")),
    (
        "Where else it holds",
        _said("This farm and these seasons; other farms differ in breed, housing and weather."),
    ),
    ("Funding, interests, software, data", _transparency),
)

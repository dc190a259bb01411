"""The definitions a reader needs beside the numbers, made from the settings and never typed twice."""

from __future__ import annotations

from neonatal_stats.report.review import Review
from neonatal_stats.tables import printing
from neonatal_stats.words.labels import label

CLUSTERS = {
    "litter": "{Newborns} of one {dam} in one season (a litter) are not independent: every interval allows for it.",
    "dam": "{Newborns} of one {dam} over all seasons are not independent: every interval allows for it.",
    "farm": "{Newborns} of one farm are not independent: every interval allows for it.",
}


def definitions(review: Review) -> tuple[tuple[str, str], ...]:
    """Term and meaning, in printed order."""
    say, settings = review.voice.say, review.season.settings
    windows = ", ".join(settings.windows_h)
    causes = ", ".join(label(review.voice, cause) for cause in settings.causes)
    level = printing.percent(settings.level, 0)
    return (
        (say("Stillborn"), say("Recorded as not alive at birth; counted as lost at age 0.")),
        (say("Born"), say("Every {newborn} recorded, those born dead included.")),
        (
            say("Lost"),
            say(
                "Died before, at or after birth, up to {days} days of age. {Newborns} that left alive are not lost; "
                "curves count them until they left, and shares leave them out where they left before an early "
                "window closed.",
                days=printing.number(settings.follow_up_d, 0),
            ),
        ),
        (
            say("Windows"),
            say(
                "Losses are counted by {windows} and by the end of follow-up at {days} days.",
                windows=windows,
                days=printing.number(settings.follow_up_d, 0),
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
                n=printing.count(settings.minimum_group),
            ),
        ),
        (
            say("Clear, leaning"),
            say(
                "Clear: the interval leaves out no difference. Leaning: it does not, but a difference this large "
                "would come by chance less than one time in five. Neither says what caused it."
            ),
        ),
    )

"""Were newborns handled before bonding accepted less, compared within easy and difficult births?"""

from __future__ import annotations

from collections.abc import Iterator

from neonatal_stats.chapters.counted.mothering import Handled, Mothering
from neonatal_stats.chapters.protocol import Verdicts, interval_heading
from neonatal_stats.measures.claims import judged
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Sentence, Verdict, voice_of
from neonatal_stats.words.evidence import ratio_in_words
from neonatal_stats.words.names import label

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


def sentences(result: Mothering, verdicts: Verdicts) -> Iterator[Sentence]:
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


def tables(result: Mothering) -> list[Table]:
    """Counts by difficulty of delivery, and the ratios; none where handling was not written down."""
    if result.handled is None:
        return []
    return [_counts_table(result, result.handled), _ratios_table(result, result.handled)]


def _counts_table(result: Mothering, found: Handled) -> Table:
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

"""What a heading over counts means by its single words, where nobody wrote it so before: "No. of ewes to tup".

Only the draft of a map asks here: the words of a heading say a stage, whom it counts and whether they died. Counts are
of a mob, or of one dam's newborns.
"""

from __future__ import annotations

from functools import cache

from neonatal_stats.vocabulary.farm_words import spoken_section
from neonatal_stats.vocabulary.spelling import bare_words, ways

CLASSES = ("dry", "triplet", "twin", "single")
STAGES = ("weaned", "marked", "born", "foetuses", "scanned", "joined")
DATED = ("joined", "scanned", "marked", "weaned")


@cache
def _kinds() -> dict[str, frozenset[str]]:
    """The single words of each kind, in every language, without accents."""
    found: dict[str, set[str]] = {}
    for by_kind in spoken_section("stage_words").values():
        for kind, said in by_kind.items():
            found.setdefault(kind, set()).update(way for word in said for way in ways(word))
    return {kind: frozenset(said) for kind, said in found.items()}


def _said(heading: str) -> set[str]:
    spoken = set(bare_words(heading).split())
    return {kind for kind, words in _kinds().items() if spoken & words}


@cache
def count_meaning(heading: str) -> str:
    """What of one dam's newborns a heading's words count; "dead" and "alive" where they do not say when; "" if none.

    >>> count_meaning("No. dropped"), count_meaning("Dropped dead"), count_meaning("Kids dead before weaning")
    ('newborns_born', 'newborns_born_dead', 'newborns_died')
    >>> count_meaning("Live kids"), count_meaning("Tailed"), count_meaning("Wormed")
    ('alive', 'newborns_reared', '')
    """
    said = _said(heading)
    born, reared = "born" in said, bool(said & {"marked", "weaned"})
    if "date" in said or said & {"dry", "scanned", "joined"} or ("dams" in said and "newborns" not in said):
        return ""
    if "stillborn" in said or ("dead" in said and born and "alive" not in said):
        return "newborns_born_dead"
    if "dead" in said:
        return "newborns_died" if "later" in said or reared else "dead"
    if "alive" in said:
        return "newborns_born_alive" if born else "newborns_reared" if reared else "alive"
    if reared:
        return "newborns_reared"
    return "newborns_born" if born or said >= {"total", "newborns"} else ""


@cache
def mob_meaning(heading: str) -> str:
    """The column of mobs that the words of a heading speak of; "" where they speak of none, or of several.

    >>> mob_meaning("No. of ewes to tup"), mob_meaning("Carrying trips"), mob_meaning("Ewes lost in year")
    ('joined', 'scanned_triplet', 'dams_died')
    >>> mob_meaning("Twin lambs tailed"), mob_meaning("Shepherd")
    ('', '')
    """
    said = _said(heading)
    classes = [one for one in CLASSES if one in said]
    stages = [one for one in STAGES if one in said]
    if "date" in said:
        return f"{stages[0]}_on" if len(stages) == 1 and stages[0] in DATED else ""
    if "dead" in said:
        return _dead(said, stages)
    if classes:
        counts_dams = not set(stages) - {"scanned"} and not ("newborns" in said and "dams" not in said)
        return f"scanned_{classes[0]}" if len(classes) == 1 and counts_dams else ""
    if stages:
        return _stage(said, stages)
    for kind in ("mob", "season"):
        if kind in said:
            return kind
    return ""


def _dead(said: set[str], stages: list[str]) -> str:
    if "dams" in said and "newborns" not in said and set(stages) <= {"weaned"}:
        return "dams_died"
    return "born_dead" if stages == ["born"] else ""


def _stage(said: set[str], stages: list[str]) -> str:
    if stages == ["scanned"] and "newborns" in said and "dams" not in said:
        return "foetuses"
    if set(stages) == {"foetuses", "scanned"}:
        return "foetuses"
    of_newborns = set(stages) & {"weaned", "marked", "born", "foetuses"}
    if len(stages) > 1 or (of_newborns and "dams" in said and "newborns" not in said):
        return ""
    return stages[0]

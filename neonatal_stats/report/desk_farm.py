"""One farm of an adviser's desk: which files are its own, its review, the note on its records, and what the desk keeps.

What is kept (`KEPT`) stands in the farm's folder beside a key made of all that it followed from: the files' content,
the settings, the version. A farm whose key is the same is taken over from an earlier desk and not read again.
"""

from __future__ import annotations

import gc
import hashlib
import json
import re
import shutil
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from neonatal_stats.chapters.desk import Moved, OnDesk
from neonatal_stats.chapters.protocol import MAIN, SAME_MIX
from neonatal_stats.estimates.verdict import Outcome, Verdict
from neonatal_stats.measures.beside_published import foremost
from neonatal_stats.measures.desk_farm import as_json, farm_measures, from_json
from neonatal_stats.report.at_a_glance import to_record
from neonatal_stats.report.outcomes import outcomes_said
from neonatal_stats.report.page import environment, style
from neonatal_stats.report.review import Review, build, version
from neonatal_stats.report.write import plain, write_review
from neonatal_stats.season.files.opened import KINDS
from neonatal_stats.season.finding import CannotRead, printable
from neonatal_stats.season.ledger import Matter, matters
from neonatal_stats.season.model import Season
from neonatal_stats.season.plan import read_plan
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import Settings, read_settings
from neonatal_stats.words import Voice, joined, voice_of
from neonatal_stats.words.plain import asks
from neonatal_stats.words.problems import heard

NOTE_HTML, NOTE_TXT = "note.html", "note.txt"
STYLES = ("page.css", "desk.css")
ENDINGS = ("asked", "set aside", "set to missing")
"""What a keeper can answer or mend, what weighs most first."""
MOST_MATTERS, MOST_ROWS, MOST_VALUES, MOST_ASKED = 12, 8, 3, 3

SETTINGS_TOML, MAP_TOML = "settings.toml", "map.toml"
PLANS = ("plan.csv", "plan.xlsx", "plan.toml")
"""Files of a farm's folder that are no records: its settings, its map of headings and words, its plan."""
KEPT = "kept.json"
SCHEMA = "neonatal_stats kept farm 1"
UNFORESEEN = (
    "the program failed at these records ({what}); send them to those who keep it, with the names taken out"
)


@dataclass(frozen=True)
class FarmFiles:
    """One farm: its name (that of its folder), the name of its folder on the desk, and its files.

    ``settings`` and ``map`` are its own, else those of the desk, None where there are none.
    """

    name: str
    folder: str
    records: tuple[Path, ...]
    settings: Path | None
    map: Path | None
    plan: Path | None


@dataclass(frozen=True)
class Wanted:
    """What is asked of every farm: the desk's settings, a season by name ("" for its own), the parts to write."""

    settings: Settings
    season: str
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Done:
    """What became of a farm: ``failed`` says in one sentence why it was not reviewed, "" where it was.

    ``again`` where it was taken over from an earlier desk; ``to_know`` how many sentences touch its outcomes.
    """

    name: str
    folder: str
    failed: str = ""
    again: bool = False
    to_know: int = 0
    births: int = 0


def farms_in(folder: Path, settings: Path | None, map: Path | None) -> tuple[FarmFiles, ...]:
    """The farms of a folder: every folder in it, in order of name; those whose name begins with a dot are passed over.

    Raises
    ------
    CannotRead : where the folder is not there, or holds no folder of a farm.
    """
    if not folder.is_dir():
        raise CannotRead(
            f"{folder}: there is no such folder; name the one that holds a folder for each farm."
        )
    own = [path for path in sorted(folder.iterdir()) if path.is_dir() and not path.name.startswith(".")]
    if not own:
        raise CannotRead(
            f"{folder.name}: it holds no folder of a farm; put the files of each farm into a folder of its own, named "
            "after the farm."
        )
    settings = settings or _there(folder, (SETTINGS_TOML,))
    map = map or _there(folder, (MAP_TOML,))
    names = _folders([path.name for path in own])
    return tuple(_files_of(path, name, settings, map) for path, name in zip(own, names, strict=True))


def beside_the_farms(folder: Path) -> tuple[str, ...]:
    """Files of records that stand beside the farms' folders and so belong to none of them."""
    return tuple(path.name for path in sorted(folder.iterdir()) if path.is_file() and _is_record(path))


def _files_of(folder: Path, name: str, settings: Path | None, map: Path | None) -> FarmFiles:
    records = tuple(path for path in sorted(folder.iterdir()) if path.is_file() and _is_record(path))
    return FarmFiles(
        folder.name,
        name,
        records,
        _there(folder, (SETTINGS_TOML,)) or settings,
        _there(folder, (MAP_TOML,)) or map,
        _there(folder, PLANS),
    )


def _is_record(path: Path) -> bool:
    hidden = path.name.startswith((".", "~$"))
    return path.suffix.casefold() in KINDS and path.name.casefold() not in PLANS and not hidden


def _there(folder: Path, names: Sequence[str]) -> Path | None:
    return next((path for path in sorted(folder.iterdir()) if path.name.casefold() in names), None)


def _folders(names: Sequence[str]) -> list[str]:
    """Names that any system can hold as folders, told apart by a number where they would be the same.

    >>> _folders(["Höhe 1", "Hohe-1", "=x"])
    ['hohe-1', 'hohe-1-2', 'x']
    """
    found: list[str] = []
    for name in names:
        plain_name = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
        slug = re.sub("[^a-z0-9]+", "-", plain_name).strip("-")[:60] or "farm"
        number, told = 2, slug
        while told in found:
            number, told = number + 1, f"{slug}-{number}"
        found.append(told)
    return found


def key_of(farm: FarmFiles, wanted: Wanted) -> str:
    """A digest of all that a farm's folder on the desk follows from."""
    told = hashlib.sha256(f"{SCHEMA}\n{version()}\n{farm.name}\n{wanted}\n".encode())
    for role, paths in (("records", farm.records), ("settings", (farm.settings,)), ("map", (farm.map,)),
                        ("plan", (farm.plan,))):  # fmt: skip
        for path in filter(None, paths):
            told.update(f"{role} {path.name} {path.stat().st_size}\n".encode("utf-8", "surrogateescape"))
            with path.open("rb") as content:
                told.update(hashlib.file_digest(content, "sha256").digest())
    return told.hexdigest()


def take_over(farm: FarmFiles, wanted: Wanted, earlier: Path, out: Path) -> Done | None:
    """The farm as an earlier desk left it, where nothing that it follows from has changed; else None."""
    try:
        kept = json.loads((earlier / farm.folder / KEPT).read_text(encoding="utf-8"))
        if kept["key"] != key_of(farm, wanted):
            return None
        shutil.copytree(earlier / farm.folder, out / farm.folder)
        return Done(farm.name, farm.folder, "", True, int(kept["to_know"]), int(kept["births"]))
    except (OSError, ValueError, KeyError, TypeError):
        shutil.rmtree(out / farm.folder, ignore_errors=True)
        return None


def review_farm(farm: FarmFiles, wanted: Wanted, out: Path) -> Done:
    """Read a farm and write its folder below ``out``; whatever is wrong with it is told and stops no other farm."""
    gc.disable()  # as the review does, see cli/review.py
    try:
        return _reviewed(farm, wanted, out)
    except (CannotRead, OSError) as error:
        named = isinstance(error, OSError) and error.filename is not None
        failed = f"{Path(error.filename).name}: {error.strerror}" if named else str(error)  # type: ignore[union-attr]
    except Exception as error:
        failed = UNFORESEEN.format(what=f"{type(error).__name__}: {error}"[:200])
    finally:
        gc.enable()
        gc.collect()  # the next farm of this process finds no more in memory than the first
    return not_read(farm, failed, wanted, out)


def not_read(farm: FarmFiles, failed: str, wanted: Wanted, out: Path) -> Done:
    """The folder of a farm that could not be reviewed: a note that says why, and nothing half-written beside it."""
    shutil.rmtree(out / farm.folder, ignore_errors=True)
    (out / farm.folder).mkdir()
    write_note(note_of_failure(farm.name, failed, _voice_settings(farm, wanted)), out / farm.folder)
    return Done(farm.name, farm.folder, failed)


def _voice_settings(farm: FarmFiles, wanted: Wanted) -> Settings:
    """In which language a farm is written to whose records could not be read."""
    try:
        return read_settings(farm.settings) if farm.settings else wanted.settings
    except CannotRead:
        return wanted.settings


def _reviewed(farm: FarmFiles, wanted: Wanted, out: Path) -> Done:
    if not farm.records:
        raise CannotRead(
            f"{farm.name}: the folder holds no file of records; accepted are {', '.join(KINDS)}."
        )
    key = key_of(farm, wanted)
    season = read_season(list(farm.records), settings=farm.settings or wanted.settings, map=farm.map)
    season = _agreed(season, farm.plan)
    if season.births.empty:
        raise CannotRead(f"{farm.name}: the files hold no births.")
    focus = wanted.season if wanted.season in season.seasons else season.under_review
    review = build(season, focus=focus, parts=wanted.parts)
    write_review(review, out / farm.folder, parts=wanted.parts)
    note = note_of(farm.name, review)
    write_note(note, out / farm.folder)
    kept = _kept(farm.name, review, note, wanted)
    text = json.dumps({"schema": SCHEMA, "key": key, **kept}, ensure_ascii=False, allow_nan=False)
    (out / farm.folder / KEPT).write_text(text + "\n", encoding="utf-8")
    return Done(farm.name, farm.folder, "", False, kept["to_know"], kept["births"])


def _agreed(season: Season, plan: Path | None) -> Season:
    """The season with the plan of its folder; a plan in the settings as well is refused."""
    if plan is None:
        return season
    if season.settings.plan:
        raise CannotRead(f"{plan.name}: the settings hold a plan too ([[plan]]); keep one of the two")
    return replace(season, settings=replace(season.settings, plan=read_plan(plan, season.settings).actions))


def _kept(name: str, review: Review, note: Note, wanted: Wanted) -> dict[str, Any]:
    """What the desk keeps of a farm."""
    found = review.glance.get(SAME_MIX)
    second = review.season.compared[-1] if review.season.compared else ""
    moved = None
    if found is not None and found.share == found.share and second == review.focus:
        verdict = review.ledger.verdicts.get(f"years/rate/{second}", Verdict.TOO_FEW)
        ends = {part: plain(getattr(found, part)) for part in ("low", "high")}
        moved = {"versus": found.label, "estimate": found.share, **ends, "verdict": verdict.value}
    settings = review.season.settings
    return {
        "name": name,
        "births": len(review.season.births),
        "to_know": len(note.outcomes),
        "voice": {part: getattr(settings, part) for part in ("language", "spelling", "region")},
        "moved": moved,
        "plan": [[one.action, one.done, one.outcome.value] for one in review.kept],
        "beside": _beside(review),
        "measures": as_json(farm_measures(review.season, review.focus, wanted.settings)),
    }


def _beside(review: Review) -> str:
    """Where the loss that page one leads with lies beside published ones; "" where nothing is published."""
    losses = next((one.beside for one in review.sections if one.name == "losses"), None)
    row = foremost(losses[0]) if losses is not None and MAIN in review.glance else None
    return str(row["verdict"]) if row is not None else ""


def kept_in(folder: Path) -> tuple[OnDesk, dict[str, str]]:
    """A farm as its folder on the desk keeps it, and how its keeper is spoken to: language, spelling, region."""
    kept = json.loads((folder / KEPT).read_text(encoding="utf-8"))
    moved = kept["moved"]
    return (
        OnDesk(
            kept["name"],
            from_json(kept["measures"]),
            _moved(moved) if moved else None,
            tuple((action, done, Outcome(outcome)) for action, done, outcome in kept["plan"]),
            kept["beside"],
        ),
        kept["voice"],
    )


def _moved(told: dict[str, Any]) -> Moved:
    nan = float("nan")
    low, high = (nan if told[end] is None else float(told[end]) for end in ("low", "high"))
    return Moved(told["versus"], float(told["estimate"]), low, high, Verdict(told["verdict"]))


@dataclass(frozen=True)
class Note:
    """The note: its heading, what was read, what must be known of outcomes, what to mend, what to write down."""

    title: str
    read: str
    outcomes: tuple[str, ...]
    mend: tuple[str, ...]
    more: str
    record: str
    foot: str
    voice: Voice


def note_of(name: str, review: Review) -> Note:
    """The note of a farm that was read."""
    voice, found = review.voice, tuple(_matters(review))
    more = len(found) - MOST_MATTERS
    columns = to_record(review)[:MOST_ASKED]
    record = voice.say(
        "Of each {newborn}: {columns}.", columns=joined((asks(voice, one) for one in columns), "; ")
    )
    return Note(
        voice.say("A note on the records of {farm}", farm=name),
        _read(review),
        tuple(map(printable, outcomes_said(review))),
        tuple(_told(voice, one) for one in found[:MOST_MATTERS]),
        voice.say("Further matters, of less weight: {n}.", n=voice.count(more)) if more > 0 else "",
        record if columns else "",
        _foot(voice),
        voice,
    )


def note_of_failure(name: str, failed: str, settings: Settings) -> Note:
    """The note of a farm whose files could not be read: the one thing to mend first."""
    voice = voice_of(_Of(settings))
    said = voice.say("The files could not be read, so there is no review yet.")
    title = voice.say("A note on the records of {farm}", farm=name)
    return Note(title, said, (), (printable(failed),), "", "", _foot(voice), voice)


@dataclass(frozen=True)
class _Of:
    """What is spoken of where no records are at hand."""

    settings: Settings
    species: str = ""


def _foot(voice: Voice) -> str:
    return voice.say("Mend it in your own files and send them again; nothing was changed in them.")


def _read(review: Review) -> str:
    """How many rows of births were read and how they were used."""
    voice, births = review.voice, [one for one in review.season.balances if one.table == "births"]
    counted = {
        name: voice.count(sum(getattr(one, name) for one in births))
        for name in ("rows_read", "used", "used_with_missing", "set_aside", "no_record")
    }
    return voice.say(
        "Rows of births read: {rows_read}. Used whole: {used}; used with a field missing: {used_with_missing}; set "
        "aside: {set_aside}; no record: {no_record}.",
        **counted,
    )


def _matters(review: Review) -> Iterator[Matter]:
    for ending in ENDINGS:
        yield from matters(review.season.problems, ending)


def _told(voice: Voice, matter: Matter) -> str:
    """One matter in one line: where, what, what was found there, and what to do."""
    problem, remedy = heard(voice, matter.problem), heard(voice, matter.remedy)
    cells = ", ".join(f'"{value}"' for value, _ in matter.found[:MOST_VALUES])
    text = voice.say("{place}: {problem}. To mend: {remedy}.", place=_place(voice, matter), problem=problem,
                     remedy=remedy)  # fmt: skip
    return printable(joined((text, voice.say("Found: {cells}.", cells=cells))) if cells else text)


def _place(voice: Voice, matter: Matter) -> str:
    """File, sheet, rows and column, as far as they are known."""
    shown = ", ".join(matter.rows[:MOST_ROWS])
    more = len(matter.rows) - MOST_ROWS
    rows = voice.say("{rows} and {n} more", rows=shown, n=voice.count(more)) if more > 0 else shown
    parts = (
        matter.file or voice.say("All files"),
        matter.sheet and voice.say("sheet {sheet}", sheet=matter.sheet),
        rows and voice.say("rows {rows}" if len(matter.rows) > 1 else "row {rows}", rows=rows),
        matter.column and voice.say("column {column}", column=matter.column),
    )
    return ", ".join(filter(None, parts))


def write_note(note: Note, folder: Path) -> None:
    """`note.html`, to print, and `note.txt`, to put into a letter."""
    (folder / NOTE_HTML).write_text(_html(note), encoding="utf-8")
    (folder / NOTE_TXT).write_text(_text(note), encoding="utf-8")


def _html(note: Note) -> str:
    template = environment().get_template("note.html.j2")
    return template.render(note=note, voice=note.voice, say=note.voice.say, css=style(note.title, (), STYLES))


def _text(note: Note) -> str:
    say = note.voice.say
    blocks = [note.title, note.read]
    for heading, lines in (
        (say("To be known before the numbers are used"), note.outcomes),
        (say("To mend"), (*note.mend, *filter(None, (note.more,)))),
        (say("To write down next season"), tuple(filter(None, (note.record,)))),
    ):
        if lines:
            blocks.append("\n".join((f"{heading}:", *(f"- {line}" for line in lines))))
    return "\n\n".join((*blocks, note.foot)) + "\n"

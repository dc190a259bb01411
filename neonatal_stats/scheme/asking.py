"""Every question of a page put to an engine, one pass each, with what it cost; the answers of a killed run are kept.

Which questions there are follows from the columns of the births, and stands first. Answers are kept beside an output
that is not written yet, so that a run that was killed goes on where it stood, in a folder named after all that they
follow from: the files (paths, sizes, times), the settings, the code.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from time import perf_counter
from typing import Any

import ibis
import pandas as pd

import neonatal_stats
from neonatal_stats import __version__
from neonatal_stats.measures.windows import watched_to_h
from neonatal_stats.scheme.deriving import FED, LITTER, Clock, by_row, with_classes
from neonatal_stats.scheme.engines import counting, memory_told
from neonatal_stats.scheme.histories import ALIKE, Question, derived_for, histories
from neonatal_stats.scheme.records import NEEDED, files_of, without_farm_or_season
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.following.links import cluster_named
from neonatal_stats.season.following.seasons import UNNAMED_FARM, in_time
from neonatal_stats.season.settings import Settings

OUTCOMES, BY_SEASON, FARMS, FED_BY_MARK = "outcomes", "season", "farms", "fed"
MOTHERING = {"mothering": "birth_type", "mothering-delivery": "born_by"}
"""Questions about who was accepted, with what newborns are grouped by in each."""
GROUPS = {
    "birth_type": ("litter_size", "dam_id", "litter_id"),
    "sex": ("sex",),
    "sex_mix": ("sex",),
    "born_by": ("delivery",),
    "difficulty": ("delivery",),
    "parity_class": ("dam_parity",),
    "weight_class": ("birth_weight_kg",),
}
"""What newborns are grouped by, and the columns any of which it takes."""
MIX = ("birth_type", "parity_class", "born_by", "delivery", "weight_class")
"""What the mix of births may be made of on an engine."""


def seasons_in(overview: pd.DataFrame) -> tuple[str, ...]:
    """The seasons by time, the latest last."""
    return tuple(in_time(overview["season"], overview["last_born"]))


def outcomes(season: str) -> Question:
    """The first question: what became of all newborns of a season, by the hour and by cause."""
    return Question(causes=True, season=season)


def questions(
    columns: Collection[str],
    overview: pd.DataFrame,
    settings: Settings,
    *,
    season: str,
    end_h: float,
    more: Sequence[str] = (),
) -> dict[str, Question]:
    """The questions that follow the first (`outcomes`), in the order in which they are asked.

    Parameters
    ----------
    columns : of the births.
    overview : as `overview` below counts it.
    season : the season under review, of which all are asked but one.
    end_h : the age to which enough were watched in it (`measures.windows.watched_to_h`).
    more : columns of words to group by besides those that the vocabulary knows.
    """
    ends = ends_told(settings, end_h)
    there = {name: bool(set(needed) & set(columns)) for name, needed in GROUPS.items()}
    this = overview[overview["season"] == season]
    found: dict[str, Question] = {}
    if len(set(overview["season"])) > 1:
        found[BY_SEASON] = Question((BY_SEASON,), ends_h=ends_told(settings, settings.follow_up_h))
    by = [name for name, is_there in there.items() if is_there]
    by += ["species"] if len(set(this["species"])) > 1 else []
    for name in dict.fromkeys([*by, *more]):
        found[name] = Question((name,), ends_h=ends, season=season)
    if "mothered_up" in columns:
        for name, group in MOTHERING.items():
            if there[group]:
                found[name] = Question((group,), ends_h=(), event="failed_mothering", season=season)
    if {"fed_after_min", "fed_after_min_not_by"} & set(columns):
        found[FED_BY_MARK] = Question(("birth_type",), ends_h=(), event=FED, season=season)
    if len(set(this["farm"])) > 1:
        mix = tuple(name for name in settings.standard_mix if name in MIX and _made(name, there, columns))
        found[FARMS] = Question(mix, ends_h=ends, by_farm=True, season=season)
    return found


def _made(name: str, there: dict[str, bool], columns: Collection[str]) -> bool:
    return there.get(name, name in columns)


def ends_told(settings: Settings, end_h: float) -> tuple[float, ...]:
    """The ages by which a group's losses are told: the ends of the windows, and whether it was after ``end_h``."""
    return tuple(sorted({*settings.windows_h.values(), settings.follow_up_h, end_h + 1}))


OVERVIEW = "overview"
FURTHER = ("weight_class",)
"""Groups whose limits cost the engine one more pass within the same query."""


@dataclass(frozen=True)
class Cost:
    """What a question cost: passes over the data, newborns seen in them, seconds; ``again`` where it was kept."""

    name: str
    passes: int
    rows: int
    seconds: float
    again: bool


@dataclass(frozen=True, eq=False)
class Answers:
    """What an engine answered: the overview, and births of which each row stands for many, by question."""

    overview: pd.DataFrame
    histories: Mapping[str, pd.DataFrame]
    costs: tuple[Cost, ...]
    season: str
    cluster: str


def ask(
    engine: ibis.BaseBackend,
    births: ibis.Table,
    settings: Settings,
    *,
    place: Path,
    season: str = "",
    more: Sequence[str] = (),
    kept: Kept | None = None,
    memory: str | None = None,
    progress: Callable[[str], None] = lambda stage: None,
) -> Answers:
    """Ask all questions that the columns of the births can answer.

    Parameters
    ----------
    births : as `records.births_of` gives them.
    place : where they were read, for a sentence that names the file at fault.
    season : the season under review, by default the latest.
    more : columns of words to group by besides the usual ones.
    kept : where answers are kept and looked for; None keeps none.
    memory : what the engine was given, for the sentence that says it was not enough.
    progress : is told each question as it was answered.

    Raises
    ------
    CannotRead
        Where a season or a column is not there, some births have no farm, season or species, or memory is wanting.
    """
    for name in more:
        derived_for(births, settings, Question((name,)), Clock())
    asking = _Asking(engine, place, kept, memory, progress)
    there = asking.told(OVERVIEW, 1, lambda: overview(births, settings))
    seasons = seasons_in(there) if len(there) else ()
    if season and season not in seasons:
        raise CannotRead(
            f"--season: no births are of the season {season!r}; they are of {', '.join(seasons)}."
        )
    if not seasons:
        raise CannotRead("these files hold no births.")
    _farms_named(set(there["farm"]), place)
    under_review = season or seasons[-1]
    levels = {"season": seasons, "species": sorted(set(there["species"]))}
    cluster, clock = cluster_named(there["farm"].nunique(), settings), _clock(there, settings)
    asking.newborns = int(there["newborns"].sum())

    def answered(name: str, question: Question) -> pd.DataFrame:
        passes = 1 + sum(group in FURTHER for group in question.by)
        told = partial(histories, births, settings, question, cluster=cluster, clock=clock, levels=levels)
        return asking.told(name, passes, told)

    found = {OUTCOMES: answered(OUTCOMES, outcomes(under_review))}
    end_h = watched_to_h(found[OUTCOMES], settings, ALIKE)
    left = questions(births.columns, there, settings, season=under_review, end_h=end_h, more=more)
    asking.of = len(left) + 2
    found |= {name: answered(name, question) for name, question in left.items()}
    return Answers(there, found, tuple(asking.costs), under_review, cluster)


def _farms_named(farms: set[str], place: Path) -> None:
    """Births of several files whose farm nobody named may be of several farms, whose dams would be taken for one
    another."""
    if UNNAMED_FARM in farms and place.is_dir() and len(files_of(place)) > 1:
        raise CannotRead(
            f"{place}: births of at least one file name no farm; write the farm's name into its map, under [fixed] as "
            'farm = "Hill Farm", and make that file tidy again.'
        )


def _clock(there: pd.DataFrame, settings: Settings) -> Clock:
    """The clock of the records, from the years that they are of."""
    first, last = there["first_born"].min(), there["last_born"].max()
    if not settings.time_zone or pd.isna(first):
        return Clock()
    return Clock(settings.time_zone, (first.year, last.year))


class _Asking:
    """Asks one question after the other, keeps the answers and counts what they cost."""

    def __init__(
        self,
        engine: ibis.BaseBackend,
        place: Path,
        kept: Kept | None,
        memory: str | None,
        progress: Callable[[str], None],
    ) -> None:
        self.engine, self.place, self.kept = engine, place, kept
        self.memory, self.progress = memory, progress
        self.costs: list[Cost] = []
        self.newborns, self.of = 0, 0

    def told(self, name: str, passes: int, answer: Callable[[], pd.DataFrame]) -> pd.DataFrame:
        """The answer, as it was kept or as the engine gives it; ``passes`` that one query makes over the data."""
        before = self.kept.answer(name) if self.kept else None
        if before is not None:
            self._cost(Cost(name, before[1]["passes"], before[1]["rows"], before[1]["seconds"], True))
            return before[0]
        start = perf_counter()
        with memory_told(self.engine, self.memory), counting(self.engine) as executed:
            frame = answer()
        if name == OVERVIEW:
            if frame[list(NEEDED)].isna().any(axis=None):
                raise without_farm_or_season(self.place)
            self.newborns = int(frame["newborns"].sum())
        times = passes - 1 + len(executed)
        cost = Cost(name, times, times * self.newborns, round(perf_counter() - start, 3), False)
        if self.kept:
            facts: dict[str, Any] = {"passes": cost.passes, "rows": cost.rows, "seconds": cost.seconds}
            self.kept.keep(name, frame, facts)
        self._cost(cost)
        return frame

    def _cost(self, cost: Cost) -> None:
        self.costs.append(cost)
        which = f" ({len(self.costs)} of {self.of})" if self.of else ""
        if cost.again:
            self.progress(f"{cost.name}{which}: answered by an earlier run")
            return
        times = "1 pass" if cost.passes == 1 else f"{cost.passes} passes"
        newborns = cost.rows // max(cost.passes, 1)
        self.progress(f"{cost.name}{which}: {times} over {newborns:,} newborns, {cost.seconds:.1f} s")


COUNTS = ("newborns", "born_dead", "lost", "undated", "left_early")


def overview(births: ibis.Table, settings: Settings) -> pd.DataFrame:
    """Count the newborns and litters of every farm, season and species, in one pass.

    Returns
    -------
    One row a farm, season and species: those three, litters, the columns of `COUNTS` (``lost`` by the end of follow-up,
    born dead included; ``undated`` of them at an unknown age; ``left_early`` alive before the end of follow-up), and
    first_born and last_born, missing where no birth is dated.
    """
    derived = with_classes(by_row(births, settings))
    early = ~derived.died & (derived.age_h < settings.follow_up_h).fill_null(False)
    told = derived.select(
        *LITTER,
        "species",
        "litter_known",
        "born",
        born_dead=derived.stillborn,
        lost=derived.lost,
        undated=derived.died & ~derived.age_known,
        left_early=early,
    )
    by_litter = told.group_by(*LITTER, "species", "litter_known").aggregate(
        newborns=told.count(),
        **{name: told.count(where=told[name]) for name in COUNTS if name != "newborns"},
        first_born=told.born.min(),
        last_born=told.born.max(),
    )
    one_each = ibis.ifelse(by_litter.litter_known, ibis.literal(1, "int64"), by_litter.newborns)
    by_litter = by_litter.mutate(litters=one_each)
    found: pd.DataFrame = (
        by_litter.group_by("farm", "season", "species")
        .aggregate(
            **{name: by_litter[name].sum() for name in ("litters", *COUNTS)},
            first_born=by_litter.first_born.min(),
            last_born=by_litter.last_born.max(),
        )
        .execute()
    )
    counts = dict.fromkeys(("litters", *COUNTS), "int64")
    moments = dict.fromkeys(("first_born", "last_born"), "datetime64[us]")
    return found.astype(counts | moments).sort_values(["farm", "season", "species"], ignore_index=True)


SPILL = "spill"


@dataclass(frozen=True)
class Kept:
    """The folder in which the answers of one run are kept; it is made with the first."""

    folder: Path

    def answer(self, name: str) -> tuple[pd.DataFrame, dict[str, Any]] | None:
        """The frame and the facts that were kept under a name; None where there are none."""
        told = self.folder / f"{name}.json"
        if not told.is_file():
            return None
        facts: dict[str, Any] = json.loads(told.read_text(encoding="utf-8"))
        frame = pd.read_parquet(self.folder / f"{name}.parquet", engine="pyarrow")
        for column, words in facts.pop("levels").items():
            frame[column] = pd.Categorical(frame[column], words, ordered=True)
        return frame, facts

    def keep(self, name: str, frame: pd.DataFrame, facts: dict[str, Any]) -> None:
        """Keep a frame and facts that JSON can hold; what is half written is not found again."""
        self.folder.mkdir(parents=True, exist_ok=True)
        levels = {
            str(column): [str(word) for word in frame[column].cat.categories]
            for column in frame
            if isinstance(frame[column].dtype, pd.CategoricalDtype)
        }
        part = self.folder / f".{name}.part"
        frame.astype(dict.fromkeys(levels, object)).to_parquet(part, index=False, engine="pyarrow")
        os.replace(part, self.folder / f"{name}.parquet")
        part.write_text(json.dumps(facts | {"levels": levels}, ensure_ascii=False), encoding="utf-8")
        os.replace(part, self.folder / f"{name}.json")

    def answered(self) -> bool:
        """Whether an earlier run has answered anything."""
        return any(self.folder.glob("*.json"))


def kept_beside(out: Path, files: Iterable[Path], settings: Settings, *asked: object) -> Kept:
    """Where the answers for an output are kept: a folder beside it that ends with a fingerprint.

    Parameters
    ----------
    asked : whatever else the answers follow from.
    """
    out = Path(os.path.abspath(out))
    told = hashlib.sha256(f"{__version__}\n{settings!r}\n{asked!r}\n{_code()}\n".encode())
    for file in files:
        about = file.stat()
        told.update(
            f"{os.path.abspath(file)}\t{about.st_size}\t{about.st_mtime_ns}\n".encode(
                "utf-8", "surrogateescape"
            )
        )
    return Kept(out.parent / f"{_start(out)}{told.hexdigest()[:16]}")


def remove_kept(out: Path) -> None:
    """Remove all that runs for this output have kept, under whatever fingerprint."""
    out = Path(os.path.abspath(out))
    for folder in out.parent.iterdir() if out.parent.is_dir() else ():
        if folder.name.startswith(_start(out)) and folder.is_dir():
            shutil.rmtree(folder, ignore_errors=True)


def _start(out: Path) -> str:
    return f".{out.name}-answers-"


def _code() -> str:
    """A digest of the package's own code, so that an answer of another is not taken for this one's."""
    root = Path(neonatal_stats.__file__).parent
    told = hashlib.sha256()
    for file in sorted(root.rglob("*.py")):
        told.update(file.read_bytes())
    return told.hexdigest()

"""A season: the frames that every chapter reads, what was set aside and why, and the settings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from neonatal_stats.season.finding import Said
from neonatal_stats.season.following.follow import follow, followed_again, in_order, with_first_feed
from neonatal_stats.season.following.known import (
    ROW,
    known_births,
    known_events,
    known_further,
    known_mobs,
    known_open,
    open_counts,
)
from neonatal_stats.season.following.own import Values, age_h, own_column
from neonatal_stats.season.following.placing import NOBODY, when
from neonatal_stats.season.following.seasons import NOT_RECORDED, natural
from neonatal_stats.season.ledger import Balance, Source
from neonatal_stats.season.settings import READERS, Settings
from neonatal_stats.season.toml_file import WrongSetting, nearest
from neonatal_stats.vocabulary.columns import ALONE, LISTS

if TYPE_CHECKING:
    from neonatal_stats import Answer, Review

UNDECIDED_COLUMNS = ("farm", "season", "born", "not_written", "not_readable")
SHAPE_BIRTHS = ("cluster", "windows_h", "follow_up_d")
SHAPE_READING: tuple[str, ...] = (
    "season_first_month",
    "day_first",
    "time_zone",
    "causes",
    "cause_words",
    "ranges",
)
SHAPE_READING += ("ranges_by_species",)
"""Settings that shape what follows from the records, and how the records are read."""


@dataclass(frozen=True, eq=False)
class Season:
    """One or more seasons of birth records, ready to be reviewed.

    ``births`` has one row a newborn, in an order that does not depend on the order of the files' rows, with the
    tidy columns of the vocabulary that were recorded and the columns that `follow` adds (see `season.follow`).
    ``feeds``, ``samples``, ``weather``, ``colostrum``, ``examinations``, ``treatments`` and ``mobs`` (one row a farm,
    season and mob) are empty frames where there were none; all but the first and the third may also stand without
    births (`alone`). ``problems`` is the set-aside list with the columns of `PROBLEM_COLUMNS`. ``unmatched_deaths``
    counts deaths that were told and belong to no newborn here: of animals not among the births, or of a group.

    ``undecided`` has a row for each farm and season in which outcomes are open: farm, season, born (those reviewed and
    those open), not_written and not_readable; ``open_births`` are those newborns with the tidy columns that they have,
    and ``outcome`` "not written" or "not readable". ``outcome_remarks`` are the sentences that touch outcomes.

    ``recorded`` holds what was recorded of the same births, row by row, before anything followed from it, and
    ``followed_with`` the settings with which it followed. `with_settings` changes them; a season copied with settings
    that would have made other births is refused (`WrongSetting`). ``whole`` is the season of all
    records that this one was taken from (`in_focus`), None where it is itself the whole. ``known_until`` is the day up
    to which the records were taken as known (`known_by`), None where all of them were. ``own_columns`` are the columns
    of births that were added by `with_column`, which no chapter reads, and ``own_known_h`` the age in hours from which
    those are known that were not known at birth. ``beside`` are the columns of births files that
    mean nothing here, row by row of ``births`` under their own headings: `neonatal_stats.analysis` groups by them.
    """

    births: pd.DataFrame
    feeds: pd.DataFrame
    samples: pd.DataFrame
    weather: pd.DataFrame
    problems: pd.DataFrame
    balances: tuple[Balance, ...]
    sources: tuple[Source, ...]
    settings: Settings = field(default_factory=Settings)
    undecided: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(UNDECIDED_COLUMNS)))
    open_births: pd.DataFrame = field(default_factory=pd.DataFrame)
    outcome_remarks: tuple[Said, ...] = ()
    unmatched_deaths: int = 0
    recorded: pd.DataFrame | None = None
    followed_with: Settings | None = None
    whole: Season | None = None
    known_until: pd.Timestamp | None = None
    colostrum: pd.DataFrame = field(default_factory=pd.DataFrame)
    examinations: pd.DataFrame = field(default_factory=pd.DataFrame)
    treatments: pd.DataFrame = field(default_factory=pd.DataFrame)
    mobs: pd.DataFrame = field(default_factory=pd.DataFrame)
    own_columns: tuple[str, ...] = ()
    own_known_h: Mapping[str, float] = field(default_factory=dict)
    beside: pd.DataFrame = field(default_factory=pd.DataFrame)

    def __post_init__(self) -> None:
        """Keep the settings that shaped the births; others that would have shaped them otherwise are refused."""
        if self.followed_with is None:
            object.__setattr__(self, "followed_with", self.settings)
            return
        for name in (*SHAPE_BIRTHS, *SHAPE_READING):
            before, now = getattr(self.followed_with, name), getattr(self.settings, name)
            if before != now:
                raise WrongSetting(
                    f"settings, {name}: the births of this season were made with {before!r}; "
                    f"use season.with_settings({name}=...), or read the records again with these settings."
                )

    def with_settings(self, **changes: object) -> Season:
        """The same records under other settings; births follow anew from what was recorded where that is needed.

        Parameters
        ----------
        **changes : settings by name, each as `Settings` takes it: ``season.with_settings(follow_up_d=28, price=90.0)``.
            This season stays as it is.

        Raises
        ------
        WrongSetting
            For a name or value that is no setting, and for settings that shaped how the records were read: those need
            `read_season` again.
        """
        for name in changes:
            if name not in READERS:
                raise WrongSetting(f"with_settings: {name!r} is no setting{nearest(name, READERS)}")
        settings = replace(self.settings, **changes)  # type: ignore[arg-type]
        for name in SHAPE_READING:
            if getattr(settings, name) != getattr(self.settings, name):
                raise WrongSetting(
                    f"settings, {name}: it says how records are read; read them again with "
                    f"read_season(..., settings=Settings({name}=...))."
                )
        if all(getattr(settings, name) == getattr(self.settings, name) for name in SHAPE_BIRTHS):
            return replace(self, settings=settings)
        if self.recorded is None:
            raise WrongSetting(
                "with_settings: this season does not hold what was recorded; read the records again."
            )
        births = followed_again(self.births, self.recorded, settings)
        return replace(self, births=births, settings=settings, followed_with=settings)

    def with_column(
        self,
        name: str,
        values: Values,
        *,
        of: Literal["newborn_id", "dam_id"] = "newborn_id",
        known_at_h: float = 0.0,
    ) -> Season:
        """The same season with a column of your own among its births, for `neonatal_stats.analysis` to group by.

        Parameters
        ----------
        name : a name that the records do not use; a column of your own of that name is replaced.
        values : a Series or dict by identity (of newborns or, with ``of="dam_id"``, of dams), so that nothing hangs on
            the order of rows; or a function of the births that gives a Series with their index (or an array),
            ``lambda births: births["birth_weight_kg"].astype("Float64") > 5`` (of plain numbers pandas calls a blank
            not above 5); or one value a newborn, as an array in the order of ``season.births``. Newborns without a
            value, or with a word for "not recorded", have a missing one.
        known_at_h : the age in hours at which everybody alive had a value; 0 for what is known at birth. Groups of
            what shows itself later are not held against loss from birth on, since whoever died first had no time to
            be in them: the analysis refuses, and counts from a mark on (`neonatal_stats.analysis.landmark`).

        Raises
        ------
        ValueError
            For a name in use, for an age that is none, for values that fit neither the identities nor the rows, and for
            identities that stand at several newborns (in several seasons or farms).
        """
        own = [one for one in self.own_columns if one != name]
        births = self.births.drop(columns=[name]) if len(own) < len(self.own_columns) else self.births
        births = births.assign(**{name: own_column(births, self.with_beside, name, values, of)})
        known = {**self.own_known_h, name: age_h("known_at_h", known_at_h)}
        return replace(self, births=births, own_columns=(*own, name), own_known_h=known)

    def known_by(self, day: pd.Timestamp) -> Season:
        """The same records as they were known in the evening of a day: births, deaths, feeds and samples up to it.

        See `following.known.known_births` for what counts as known. The list of problems stays that of all records.

        Raises
        ------
        WrongSetting
            Where this season does not hold what was recorded.
        """
        if self.recorded is None:
            raise WrongSetting(
                "known_by: this season does not hold what was recorded; read the records again."
            )
        cut = known_births(self.recorded, day, self.settings.follow_up_h)
        births = follow(cut, self.settings)
        rows = pd.Series(births["newborn"].to_numpy(), index=births.pop(ROW).to_numpy())
        births = births.assign(
            **{name: self.births[name].to_numpy()[rows.index] for name in self.own_columns}
        )
        feeds, weather = (
            known_events(frame, moment, day, rows)
            for frame, moment in ((self.feeds, "fed_at"), (self.weather, "at"))
        )
        of_litter = pd.Series(births["litter"].to_numpy(), index=rows.to_numpy())
        litters = rows.map(of_litter).groupby(self.births["litter"].reindex(rows.index)).first()
        further = {
            table: known_further(getattr(self, table), when(table, getattr(self, table)), day, rows, litters)
            for table in LISTS
        }
        still_open = known_open(self.open_births, day)
        return replace(
            self,
            births=with_first_feed(births, feeds),
            beside=self.beside.take(rows.index.to_numpy()).reset_index(drop=True)
            if len(self.beside)
            else self.beside,
            recorded=in_order(cut.drop(columns=ROW)),
            feeds=feeds,
            samples=further["samples"],
            weather=weather,
            colostrum=further["colostrum"],
            examinations=further["examinations"],
            treatments=further["treatments"],
            mobs=known_mobs(self.mobs, day),
            open_births=still_open,
            undecided=open_counts(self.undecided, still_open, births),
            whole=None,
            known_until=day.normalize(),
        )

    def review(self, focus: str | int | None = None, *, made_on: date | None = None) -> Review:
        """The whole review of these records: `neonatal_stats.review`, asked at the package's own address.

        Parameters
        ----------
        focus : the season under review, by default the latest that holds enough births.
        made_on : the date to print, by default today.
        """
        from neonatal_stats import review

        return review(self, focus, made_on=made_on)

    @property
    def with_beside(self) -> pd.DataFrame:
        """The births with the columns that stand beside them; where both have a name, that of the births."""
        names = [name for name in self.beside if name not in self.births]
        return pd.concat([self.births, self.beside[names]], axis=1) if names else self.births

    def ask(self, chapter: str, focus: str | int | None = None) -> Answer:
        """One chapter of the review asked alone: `neonatal_stats.ask`, at the package's own address.

        Parameters
        ----------
        chapter : its name, of `neonatal_stats.chapters`, such as "losses".
        focus : the season under review, by default the latest that holds enough births.
        """
        from neonatal_stats import ask

        return ask(self, chapter, focus)

    def __getitem__(self, name: str | int) -> Season:
        """One season by its name: its births, feeds and samples; weather, problems and balances stay whole.

        Raises
        ------
        KeyError
            Where the records hold no such season; it names those they hold.
        """
        if name not in self:
            raise KeyError(f"no season {str(name)!r} in these records; they hold {', '.join(self.seasons)}")
        return in_focus(self, str(name))

    def __contains__(self, name: object) -> bool:
        return str(name) in self.seasons

    def __iter__(self) -> Iterator[str]:
        """The names of the seasons, as a dict gives its keys."""
        return iter(self.seasons)

    def _ipython_key_completions_(self) -> tuple[str, ...]:
        return self.seasons

    def __repr__(self) -> str:
        lost = int(self.births["lost"].sum())
        aside = sum(balance.set_aside for balance in self.balances)
        born = f"{lost:,} of {len(self.births):,} newborns lost"
        if self.alone:
            born = "no births; rows of " + ", ".join(
                f"{one} {len(getattr(self, one)):,}" for one in self.alone
            )
        return f"<Season {', '.join(self.seasons) or 'without births'}: {born}, {aside:,} rows set aside>"

    @property
    def all_well(self) -> bool:
        """True where every record was used whole, nothing was left out or lost and nothing waits for an answer."""
        lost = any(balance.used_with_missing or balance.set_aside for balance in self.balances)
        lost |= self.unmatched_deaths > 0 or any(source.unaccounted for source in self.sources)
        return not (lost or self.outcome_remarks or (self.problems["ended"] == "asked").any())

    def has(self, *columns: str) -> bool:
        """True where every one of these columns of births holds at least one value."""
        return not self.lacking(columns)

    def lacking(self, columns: Iterable[str]) -> tuple[str, ...]:
        """Those of the columns of births that were not recorded at all."""
        return tuple(c for c in columns if c not in self.births or not self.births[c].notna().any())

    @property
    def seasons(self) -> tuple[str, ...]:
        """The names of the seasons, by their latest births."""
        season = self.births["season"]
        if self.alone:
            held = pd.concat([getattr(self, table)["season"] for table in self.alone]).unique()
            return tuple(sorted(held, key=natural))
        if isinstance(season.dtype, pd.CategoricalDtype):
            return tuple(map(str, season.cat.remove_unused_categories().cat.categories))
        return tuple(sorted(season.dropna().unique()))

    @property
    def named(self) -> tuple[str, ...]:
        """The same without the births that belong to no season, unless there are no others."""
        return tuple(name for name in self.seasons if name != NOT_RECORDED) or self.seasons

    @property
    def under_review(self) -> str:
        """The season with the latest births that holds enough of them: as many as a group must have to be judged.

        Births that belong to no season are never under review beside others that do. "" where there are no births.
        """
        if self.alone:
            return next(reversed(self.named), "")
        births = self.births["season"].astype(str).value_counts()
        enough = min(self.settings.minimum_group, max((births[name] for name in self.named), default=0))
        return next((name for name in reversed(self.named) if births[name] >= enough), "")

    @property
    def compared(self) -> tuple[str, ...]:
        """The two seasons to compare: as set, else the one under review and the one before; one where it is alone."""
        if self.settings.compare:
            return self.settings.compare
        names = self.named
        last = max(names.index(self.under_review), min(1, len(names) - 1)) if names else 0
        return names[max(last - 1, 0) : last + 1]

    @property
    def farms(self) -> tuple[str, ...]:
        """The names of the farms, in order."""
        return tuple(sorted(self._words_of("farm")))

    @property
    def species(self) -> str:
        """The one species of the records, or "" where several stand in one table."""
        found = self._words_of("species")
        return next(iter(found)) if len(found) == 1 else ""

    @property
    def alone(self) -> tuple[str, ...]:
        """The tables that stand without births: those with rows where no birth is on record; none beside births."""
        return tuple(table for table in ALONE if len(getattr(self, table))) if self.births.empty else ()

    def _words_of(self, name: str) -> set[str]:
        """The words of a column of births, or of the tables that stand without them."""
        tables = [getattr(self, table) for table in self.alone] or [self.births]
        return {str(word) for table in tables if name in table for word in table[name].dropna().unique()}


def in_focus(season: Season, name: str) -> Season:
    """The births, feeds and samples of the season of that name; weather, problems and balances stay whole.

    Raises
    ------
    ValueError : where the records hold no such season; the sentence names those they hold.
    """
    if name not in season.seasons:
        raise ValueError(f"season: no records of {name!r}; the records hold {', '.join(season.seasons)}")
    return replace(in_seasons(season, (name,)), whole=season)


def in_seasons(season: Season, names: Iterable[str]) -> Season:
    """The births, mobs and rows of further tables of the seasons of these names; all else stays whole."""
    names = tuple(names)
    chosen = season.births["season"].astype(str).isin(names).to_numpy()
    births = season.births[chosen]
    position = pd.Series(np.arange(len(births)), index=births["newborn"].to_numpy())
    births = births.reset_index(drop=True).assign(newborn=np.arange(len(births)))
    return replace(
        season,
        births=births,
        recorded=None if season.recorded is None else season.recorded[chosen].reset_index(drop=True),
        beside=season.beside[chosen].reset_index(drop=True) if len(season.beside) else season.beside,
        feeds=_of_these(season.feeds, position),
        samples=_further_of(season.samples, position, names),
        colostrum=_further_of(season.colostrum, position, names),
        examinations=_further_of(season.examinations, position, names),
        treatments=_further_of(season.treatments, position, names),
        mobs=season.mobs[season.mobs["season"].isin(names)] if len(season.mobs) else season.mobs,
    )


def _further_of(rows: pd.DataFrame, position: pd.Series, names: tuple[str, ...]) -> pd.DataFrame:
    """The rows of these newborns, and those of no newborn that belong to these seasons."""
    if rows.empty:
        return rows
    number = rows["newborn"]
    here = number.isin(position.index) if len(position) else number < NOBODY
    kept = rows[here | ((number == NOBODY) | (len(position) == 0)) & rows["season"].isin(names)]
    if not len(position):
        return kept.reset_index(drop=True)
    return kept.assign(newborn=kept["newborn"].map(position).fillna(NOBODY).astype(np.int64)).reset_index(
        drop=True
    )


def _of_these(rows: pd.DataFrame, position: pd.Series) -> pd.DataFrame:
    if rows.empty:
        return rows
    kept = rows[rows["newborn"].isin(position.index)].reset_index(drop=True)
    return kept.assign(newborn=position.loc[kept["newborn"]].to_numpy())

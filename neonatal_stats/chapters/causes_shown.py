"""The causes drawn and in tables: ranked, against age, at each time of loss, by what they rest on, by birth type."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from itertools import pairwise
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.causes import LEADING_EVENTS, Causes
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Figure, draw_causes, draw_incidence, draw_tally, squares_stand_for
from neonatal_stats.drawing.colours import cause_looks
from neonatal_stats.measures.windows import BORN_DEAD, END, UNDATED, UNKNOWN
from neonatal_stats.tables import Table, columns
from neonatal_stats.vocabulary.terms import CAUSE_BASES
from neonatal_stats.words import Voice, joined, voice_of
from neonatal_stats.words.group_tables import curve_table
from neonatal_stats.words.losses_spoken import causes_stacked
from neonatal_stats.words.names import label


def figures(result: Causes) -> tuple[Figure, ...]:
    """The causes ranked; their incidence where ages are known; the tally."""
    return (_ranked_drawn(result), *_incidence_drawn(result), _ages_drawn(result))


def tables(result: Causes) -> tuple[Table, ...]:
    """Causes and ages first; then what they rest on, and birth types."""
    return (
        _causes_table(result),
        _ages_table(result),
        _stages_table(result),
        _basis_table(result),
        *_types_table(result),
    )


def _ranked_drawn(result: Causes) -> Figure:
    """Share of all born lost to each cause, largest first, and what it would be were all unknown losses of it."""
    voice, causes = voice_of(result), _ranked(result)
    say, looks, rows = voice.say, cause_looks(result.settings.causes), causes.to_dict("records")
    names = [label(voice, cause) for cause in causes["cause"]]
    told = [_told(voice, result, row) for row in rows]
    return draw_causes(
        causes.assign(
            label=names,
            look=pd.Series([looks[cause] for cause in causes["cause"]], causes.index, dtype=object),
            counts=[voice.part_of(row["events"], result.born) for row in rows],
            told=told,
        ),
        printer=voice,
        name="causes-ranked",
        title=say("Lost to each cause"),
        alt=say(
            "Share of {newborns} born lost to each cause, largest first: {told}.",
            told="; ".join(f"{name}: {one}" for name, one in zip(names, told, strict=True)),
        ),
        axis=say("lost to the cause, % of {newborns} born")
        if result.incidence.empty
        else say("lost to the cause by {end}, % of {newborns} born", end=voice.age(result.end_h)),
        words=(
            interval_heading(voice, result.settings.level),
            say("were all unknown losses of this cause"),
        ),
    )


def _ranked(result: Causes) -> pd.DataFrame:
    """The causes by their share of all born, the unknown last: share, low, high, and highest, of all born too."""
    of_born = {"at_end": "share", "at_end_low": "low", "at_end_high": "high"}
    frame = result.by_cause[["cause", "events", *of_born]].rename(columns=of_born)
    frame = frame.assign(cause=frame["cause"].astype(str)).sort_values(
        "share", ascending=False, kind="stable"
    )
    unknown = frame["cause"] == UNKNOWN
    lacking = float(frame.loc[unknown, "share"].sum())
    highest = (frame["share"] + lacking).where(~unknown & (lacking > 0))
    frame = frame.assign(highest=highest)
    return pd.concat([frame[~unknown], frame[unknown]], ignore_index=True)


def _told(voice: Voice, result: Causes, row: dict[Hashable, Any]) -> str:
    """Losses to a cause of all born, their share with its interval and its bound."""
    text = "{losses} of {born} born, {share} ({interval})"
    values = {
        "losses": voice.count(row["events"]),
        "born": voice.count(result.born),
        "share": voice.percent(row["share"]),
        "interval": voice.percent_range(row["low"], row["high"]),
    }
    if math.isnan(row["highest"]):
        return voice.say(text, **values)
    text = "{losses} of {born} born, {share} ({interval}), {bound} with all unknown losses"
    return voice.say(text, bound=voice.percent(row["highest"]), **values)


def _causes_table(result: Causes) -> Table:
    """Losses of each cause, of all losses; its share of all born, where ages are known."""
    voice = voice_of(result)
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    by_age = say("Share of all born, by {age}", age=voice.age(result.end_h))
    of_born = (
        columns.share("at_end", say("Share of all born") if result.incidence.empty else by_age),
        columns.interval("at_end_low", "at_end_high", say("{interval} of all born", interval=interval)),
    )
    declared = (
        columns.text("name", say("Cause"), raw="cause"),
        columns.count("events", say("Losses")),
        columns.count("n", say("Of all losses")),
        columns.share("share", say("Share of losses")),
        columns.interval("low", "high", interval),
        columns.share("highest", say("Share were all unknown of this cause")),
        *of_born,
    )
    note = say("One cause a loss. Shares of a known cause lie between the two columns of shares.")
    frame = _named(voice, result.by_cause)
    return Table("causes-losses", say("Losses by cause"), frame, declared, note=note, printer=voice)


ALL = "all causes"


def _named(voice: Voice, frame: pd.DataFrame) -> pd.DataFrame:
    """With the causes as printed; a row of sums keeps its words."""
    names = [voice.say("all causes") if cause == ALL else label(voice, cause) for cause in frame["cause"]]
    return frame.assign(name=names)


def _with_sums(counts: pd.DataFrame) -> pd.DataFrame:
    """Counts by cause, and below them a row of their sums."""
    total = {"cause": ALL, **counts.drop(columns="cause").sum().to_dict()}
    return pd.concat([counts.astype({"cause": object}), pd.DataFrame([total])], ignore_index=True)


def curves(result: Causes) -> tuple[Table, ...]:
    """Share lost to each cause by each age, and the share still alive: for other programs."""
    if result.incidence.empty:
        return ()
    voice = voice_of(result)
    found = result.incidence[result.incidence["cause"].isin(["alive", *result.causes])]
    title = voice.say("Lost to each cause, by age; the rows of cause alive hold the share still alive")
    keys = {"cause": voice.say("Cause")}
    return (curve_table(voice, "causes-incidence-curve", title, found, keys, result.settings.level),)


def _incidence_drawn(result: Causes) -> Iterator[Figure]:
    """Shares of all born lost to each cause against age, stacked; nothing where too few ages are known."""
    if result.incidence.empty:
        return
    drawn = causes_stacked(voice_of(result), result.incidence, result.causes, result.settings, result.end_h)
    yield draw_incidence(name="causes-incidence", **drawn)


def _ages_drawn(result: Causes) -> Figure:
    """Losses counted by cause and age window; windows without a loss are left out."""
    voice = voice_of(result)
    say, counts = voice.say, _wide(result)
    names = [name for name, n in zip(_window_names(result), counts.sum(), strict=True) if n]
    counts = counts.loc[:, counts.sum() > 0]
    rows, looks = [label(voice, cause) for cause in result.causes], cause_looks(result.settings.causes)
    told = "; ".join(f"{row} {voice.count(n)}" for row, n in zip(rows, counts.sum(axis=1), strict=True))
    each = squares_stand_for(int(counts.to_numpy().max()))
    one, several = "one square: one {newborn} lost", "one square: {n} {newborns} lost"
    return draw_tally(
        counts,
        rows=rows,
        columns=names,
        colours=[looks[cause][0] for cause in result.causes],
        printer=voice,
        name="causes-ages",
        title=say("Causes by age at loss"),
        alt=say("Losses counted by cause and age. All ages together: {told}.", told=told),
        one_square=say(several, n=voice.count(each)) if each > 1 else say(one),
    )


def _ages_table(result: Causes) -> Table:
    """The same counts in numbers, with their sums; windows without a loss stand in the CSV alone."""
    voice, wide = voice_of(result), _wide(result)
    say, sums = voice.say, wide.sum()
    windows = [f"window_{place}" for place in range(wide.shape[1])]
    by_window = [columns.count(*one) for one in zip(windows, _window_names(result), strict=True)]
    declared = (
        columns.text("name", say("Cause"), raw="cause"),
        *(one if n else columns.in_csv(one) for one, n in zip(by_window, sums, strict=True)),
        columns.count("all", say("All ages")),
    )
    counts = wide.set_axis(windows, axis=1).assign(all=wide.sum(axis=1)).reset_index()
    note = say(
        "A span takes in its start and not its end; the last takes in both. Spans without a loss are left out."
    )
    frame = _named(voice, _with_sums(counts))
    return Table("causes-ages", say("Losses by cause and age"), frame, declared, note=note, printer=voice)


def _wide(result: Causes) -> pd.DataFrame:
    """Losses counted, a row a cause and a column an age window, in the order of `_window_names`."""
    wide = result.by_age.pivot_table(index="cause", columns="window", values="events", sort=False)
    return wide.loc[result.causes, sorted(wide.columns)].astype(int)


def _window_names(result: Causes) -> list[str]:
    """Born dead, the age windows, and an unknown age, as printed."""
    voice = voice_of(result)
    spans = [voice.age_span(start, end) for start, end in pairwise(result.edges_h)]
    return [voice.say("born dead"), *spans, voice.say("age not known")]


def _stages_table(result: Causes) -> Table:
    """The largest known cause at each time of loss, as page one shows it."""
    voice = voice_of(result)
    say = voice.say
    names = {BORN_DEAD: say("born dead"), UNDATED: say("age not known"), END: say("later")}
    causes = [
        joined((label(voice, cause) for cause in str(row["cause"]).split("; ")), "; ")
        for row in result.by_stage.to_dict("records")
    ]
    frame = result.by_stage.assign(
        when=[names.get(stage) or say("by {window}", window=stage) for stage in result.by_stage["stage"]],
        causes=causes,
    )
    declared = (
        columns.text("when", say("Lost"), raw="stage"),
        columns.count("n", say("Losses")),
        columns.text("causes", say("Largest known cause"), raw="cause"),
        columns.count("events", say("Losses to it")),
        columns.count("unknown", say("Cause unknown")),
    )
    note = say(
        "Stillbirth tells when and not why: it counts as unknown here. Of causes that tie each took so many."
    )
    return Table(
        "causes-when",
        say("The largest cause at each time of loss"),
        frame,
        declared,
        note=note,
        printer=voice,
    )


def _basis_table(result: Causes) -> Table:
    """Losses of each cause by what the cause rests on."""
    voice = voice_of(result)
    say = voice.say
    declared = (
        columns.text("name", say("Cause"), raw="cause"),
        *(columns.count(basis, label(voice, basis)) for basis in CAUSE_BASES),
        columns.count("not given", say("not given")),
        columns.count("n", say("All")),
    )
    frame = _named(voice, _with_sums(result.by_basis))
    return Table("causes-basis", say("What the cause rests on"), frame, declared, printer=voice)


def _types_table(result: Causes) -> Iterator[Table]:
    """Each leading cause: lost to it, of born, in every birth type, and the test between them."""
    if result.by_type.empty:
        return
    voice = voice_of(result)
    say, frame = voice.say, _named(voice, result.by_type)
    declared = (
        columns.text("name", say("Cause"), raw="cause"),
        *(columns.counts(f"events_{one}", f"n_{one}", label(voice, one), "of") for one in result.types),
        columns.number("statistic", say("Chi-square")),
        columns.in_csv(columns.count("df", say("Degrees of freedom"))),
        columns.p("p", say("p")),
        columns.p("q", say("q")),
    )
    note = say(
        "Lost to the cause / born, and Gray's test between birth types with littermates allowed for. Causes "
        "with at least {n} losses; q allows for how many were tried ({tried}).",
        n=voice.count(LEADING_EVENTS),
        tried=voice.count(len(frame)),
    )
    title = say("Leading causes by birth type")
    yield Table("causes-birth-types", title, frame, declared, note=note, printer=voice)

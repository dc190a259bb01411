"""The plan followed up, counted: of each action the measure in the season before it and in its own, on the same mix.

An action is for one season: the one that it names, else the season under review. Its measure is held against the season
before; where the records do not hold that one, against the counts that the plan itself gives.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.many_groups import holm
from neonatal_stats.estimates.planning import fall_seen, seasons_needed
from neonatal_stats.estimates.verdict import Outcome, Verdict, follow_up, judge
from neonatal_stats.measures.before_after import USUAL_SWING, Change, after_alone, before_after, swing_of
from neonatal_stats.measures.contrasts import contrast_rows
from neonatal_stats.measures.plan_measures import NOTHING, Seen, seen
from neonatal_stats.measures.rates import Counted
from neonatal_stats.measures.risk_groups import flock_design_effect
from neonatal_stats.season.actions import Action, Share
from neonatal_stats.season.model import Season, in_seasons
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.plan import PlanMeasure, plan_measures

POWER = 0.80
NO_MEASURE, NO_SEASON, NO_BEFORE, FEW = "no measure", "no such season", "nothing before", "too few"
"""Why a measure was not followed up, beside those of `plan_measures.Seen`."""
CHANGE = (
    "before", "before_low", "before_high", "after", "after_low", "after_high", "mix", "detail", "asked", "asked_versus",
    "loss", "swing", "fall", "goal", "seasons",
)  # fmt: skip
"""What a row of ``changes`` holds after its verdict."""
ACTION = (
    "season", "action", "who", "by_when", "cost", "done", "measure", "stood", "stood_text", "target", "target_text",
    "outcome", "why", "key",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Agreed(Shown):
    """A plan followed up.

    ``actions`` one row an action, those of earlier seasons first, with the columns of `ACTION`: what was written, the
    `Outcome` of its measure, why there is none, and the key of its row in ``changes``. ``changes`` is a contrast frame,
    one row a season and measure: key, name (of the measure), season, versus (the season before, "" where its counts
    are the plan's), ...; q is Holm's p over the plan of that season; then the columns of `CHANGE`: the share before and
    after on the common mix with intervals, the columns of the mix, what a target or window is, of how many it was
    asked; of losses the swing allowed for, the smallest fall that a season of this size shows beyond chance and litters
    alone, and how many seasons before and after would show the goal. ``to_do`` are the actions for seasons to come,
    ``named`` every season of the records.
    """

    actions: pd.DataFrame
    changes: pd.DataFrame
    to_do: tuple[Action, ...]
    reviewed: str
    named: tuple[str, ...]
    counted: Counted
    settings: Settings
    species: str

    @property
    def of_the_season(self) -> pd.DataFrame:
        """The actions for the season under review."""
        return self.actions[self.actions["season"] == self.reviewed]


def answer(season: Season) -> Agreed:
    """Follow the plan of the settings up.

    Counted: of each measure the newborns of which it is known (`measures.plan_measures`), in the two seasons compared.
    """
    settings, reviewed = season.settings, season.compared[-1]
    followed = [action for action in settings.plan if not _to_come(action, season)]
    pairs = dict.fromkeys(
        (action.season or reviewed, action.measure) for action in followed if action.measure
    )
    known = {one.name: one for one in plan_measures(settings.windows_h, settings.causes)}
    told = {pair: _told(season, pair[0], known[pair[1]], _stood(followed, *pair, reviewed)) for pair in pairs}
    rows = {pair: row for pair, row in told.items() if not isinstance(row, str)}
    changes = _decided(rows, followed, reviewed, settings)
    followed.sort(key=lambda action: _place(action.season or reviewed, season))
    actions = [_action(action, action.season or reviewed, told, changes, known) for action in followed]
    named = {name for pair in pairs for name in (pair[0], _before(season, pair[0]))}
    return Agreed(
        actions=pd.DataFrame(actions, columns=list(ACTION)),
        changes=changes,
        to_do=tuple(action for action in settings.plan if _to_come(action, season) or _left_open(action)),
        reviewed=reviewed,
        named=season.named,
        counted=Counted(int(season.births["season"].astype(str).isin([*named, reviewed]).sum())),
        settings=settings,
        species=season.species,
    )


def _left_open(action: Action) -> bool:
    """An action that names no season and of which nobody wrote whether it was done stands open for the next."""
    return not action.season and not action.done


def _place(name: str, season: Season) -> float:
    """Where a season stands among those recorded; one that is not is later, unless its year says that it is earlier."""
    names = season.named
    if name in names:
        return names.index(name)
    years = [int(one) for one in (name, *names[:1]) if one.isdigit()]
    return -1.0 if len(years) == 2 and years[0] < years[1] else math.inf


def _to_come(action: Action, season: Season) -> bool:
    """Whether an action is for a season after the one under review; one that is said to be done or not is for none."""
    if action.done and action.season not in season.named:
        return False
    reviewed = season.compared[-1]
    return _place(action.season or reviewed, season) > _place(reviewed, season)


def _before(season: Season, name: str) -> str:
    """The season that one is held against: as it is compared, else the one before it; "" where there is none."""
    if len(season.compared) == 2 and season.compared[1] == name:
        return season.compared[0]
    place = _place(name, season)
    return season.named[int(place) - 1] if 0 < place < math.inf else ""


def _stood(followed: Sequence[Action], name: str, measure: str, reviewed: str) -> Share | None:
    """Where the measure stood, in counts, as the first action that gives them wrote it."""
    mine = (a.stood for a in followed if (a.season or reviewed, a.measure) == (name, measure))
    return next((stood for stood in mine if stood is not None and stood.n), None)


Told = Mapping[str, Any] | str
"""What is known of a measure: the cells of its row in ``changes``, or why there are none."""


def _told(season: Season, name: str, measure: PlanMeasure, stood: Share | None) -> Told:
    """One measure in the season before and in the season itself; before by the plan if nobody recorded it."""
    if name not in season.named:
        return NO_SEASON
    before = _before(season, name)
    found = seen(in_seasons(season, filter(None, (before, name))), measure)
    if found.why:
        return found.why
    sizes = {one: int((found.newborns["season"].astype(str) == one).sum()) for one in (before, name)}
    if not sizes[name]:
        return NOTHING
    recorded = bool(before and sizes[before])
    if not recorded and stood is None:
        return NO_BEFORE
    of = sizes[before] if recorded or stood is None else stood.n
    if min(sizes[name], of) < season.settings.minimum_group:
        return FEW
    swing = _swing(season, measure, name) if measure.loss else 0.0
    return _cells(
        found, measure, _changed(found, before, name, None if recorded else stood, swing, season), swing
    )


def _changed(
    found: Seen, before: str, name: str, stood: Share | None, swing: float, season: Season
) -> Change:
    """The change from the season before as it was recorded, or from the counts of the plan."""
    if stood is None:
        return before_after(found.newborns, before, name, season.settings, swing=swing)
    mine = found.newborns[found.newborns["season"].astype(str) == name]
    return after_alone(mine, name, (stood.events, stood.n), season.settings, swing=swing)


def _swing(season: Season, measure: PlanMeasure, name: str) -> float:
    """How far losses swing by themselves, by the seasons before the action; the usual where there are too few."""
    earlier = season.named[: season.named.index(name)]
    if not earlier:
        return USUAL_SWING
    found = seen(in_seasons(season, earlier), measure)
    return swing_of(found.newborns, season.settings.minimum_group).taken if not found.why else USUAL_SWING


def _cells(found: Seen, measure: PlanMeasure, change: Change, swing: float) -> dict[str, Any]:
    """The cells of a row of ``changes`` but for what losses could have shown and the verdict."""
    before, after = change.before, change.after
    effect = flock_design_effect(found.newborns["event"].to_numpy(bool), found.newborns["litter"].to_numpy())
    return {
        "name": measure.name,
        **change.cells(),
        **{"before": before.share, "before_low": before.low, "before_high": before.high},
        **{"after": after.share, "after_low": after.low, "after_high": after.high},
        "mix": ", ".join(change.mix),
        "detail": found.detail,
        "asked": found.asked.get(after.season, 0),
        "asked_versus": found.asked.get(before.season, math.nan),
        "loss": measure.loss,
        "swing": swing if measure.loss else math.nan,
        "effect": effect,
    }


def _decided(
    rows: Mapping[tuple[str, str], Mapping[str, Any]],
    followed: Sequence[Action],
    reviewed: str,
    settings: Settings,
) -> pd.DataFrame:
    """The measures with Holm's p over the plan of each season, and their verdicts."""
    cells = []
    for pair, row in rows.items():
        targets = [a.target for a in followed if (a.season or reviewed, a.measure) == pair and a.target]
        shown = _could_show(row, targets[0].value if targets else math.nan, settings)
        cells.append({"key": "/".join(("agreed", *pair)), **row, **shown})
    frame = contrast_rows(cells, ("key", "name", "season"), settings=settings, extra=CHANGE)
    adjusted = frame.groupby("season", sort=False)["p"].transform(lambda p: holm(p.to_numpy(float)))
    frame = frame.assign(q=adjusted.astype(float))
    verdicts = [_verdict(row, settings) for row in frame.to_dict("records")]
    return frame.assign(verdict=pd.Series(verdicts, index=frame.index, dtype=object))


def _verdict(row: Mapping[Any, Any], settings: Settings) -> Verdict:
    """Clear where Holm's p allows it at the level of the settings and the interval leaves out no change."""
    lost = int(row["events"] + row["events_versus"])
    return judge(
        float(row["low"]),
        float(row["high"]),
        float(row["p"]),
        null=0.0,
        events=lost if row["loss"] else int(row["n"] + row["n_versus"]),
        smallest_group=int(min(row["n"], row["n_versus"])),
        minimum_group=settings.minimum_group,
        q=float(row["q"]),
        false_discovery_share=1 - settings.level,
    )


def _could_show(row: Mapping[str, Any], target: float, settings: Settings) -> dict[str, float]:
    """Of losses what a season of this size could have shown, and how many seasons would show what was agreed."""
    nothing = {"fall": math.nan, "goal": math.nan, "seasons": math.nan}
    before = float(row["before"])
    if not row["loss"] or not 0 < before < 1:
        return nothing
    given: Any = {"power": POWER, "level": settings.level, "design_effect": float(row["effect"])}
    fall = fall_seen(before, float(row["n"]), 0, swing=float(row["swing"]), **given)
    if not 0 < target < before:
        return nothing | {"fall": fall}
    seasons = seasons_needed(before, target, float(row["n"]), swing=float(row["swing"]), **given)
    return {"fall": fall, "goal": target, "seasons": float(seasons)}


def _action(
    action: Action,
    name: str,
    told: Mapping[tuple[str, str], Told],
    changes: pd.DataFrame,
    known: Mapping[str, PlanMeasure],
) -> dict[str, Any]:
    """One row of ``actions``."""
    found = told.get((name, action.measure), NO_MEASURE)
    outcome, why, key = Outcome.NOT_RECORDED, found, ""
    target = action.target.value if action.target else math.nan
    if not isinstance(found, str):
        key, why = f"agreed/{name}/{action.measure}", ""
        row = changes.loc[changes["key"] == key].iloc[0]
        outcome = follow_up(
            float(row["estimate"]),
            float(row["after"]),
            target,
            clear=row["verdict"] is Verdict.CLEAR,
            more_is_better=known[action.measure].more_is_better,
        )
    plain = {part: getattr(action, part) for part in ("action", "who", "by_when", "cost", "done", "measure")}
    shares = {"stood": action.stood.value if action.stood else math.nan, "target": target}
    texts = {"stood_text": _text(action.stood), "target_text": _text(action.target)}
    return {"season": name, **plain, **shares, **texts, "outcome": outcome, "why": why, "key": key}


def _text(share: Share | None) -> str:
    return share.text if share else ""

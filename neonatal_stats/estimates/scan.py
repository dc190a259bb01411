"""Did more newborns die together in time, everywhere or in one place, than the season's usual swing explains?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neonatal_stats.estimates.arguments import Floats, Integers, codes, no_repeats, refuse, same_length
from neonatal_stats.estimates.day_windows import Counts, Layout, poisson_gain
from neonatal_stats.estimates.dealing import Newborns, Pack, dealt, packed
from neonatal_stats.estimates.results import critical

FEWEST = 5  # deaths of a place or cause that is scanned by itself
DEALS, FEWEST_DEALS = 299, 99
CELLS = 30_000_000
"""Deals times windows and places: large seasons are dealt less often, never under `FEWEST_DEALS`."""
ENOUGH = 10  # deals that reach the statistic, from which their share is p
FAR_ABOVE, FAR_ABOVE_OF_CAUSE = 3.0, 2.0
"""Times the loss of all other places over the season, to all causes and to one, beyond which a place is named though
its own days do not show a rise: where it begins by the time that half are born, they hardly can."""
BY_OTHERS = 1 / 3  # of the deaths too many: where the other places have fewer of them, not all places rose
WHOLE = -1


@dataclass(frozen=True, eq=False)
class Scan:
    """The window that stands out most.

    Parameters
    ----------
    place, cause : the place and the cause of death that it is of; `WHOLE` for all.
    first_day, last_day : the days that it holds, in the days of ``born_day``.
    deaths, litters : how many died in it, and from how many litters.
    expected : how many would have died, at their ages, had it been as on all other days and in all other places.
    of : deaths of its place and cause over the season.
    statistic : the log likelihood ratio of the window.
    p : what decides: ``p_window`` where the window is one of time, else the larger of it and ``p_time``.
    p_window : over all windows, places and causes, litters dealt over days and places.
    p_time : over the windows and causes of its place alone, litters dealt over the days within places.
    above : lower bound of how many times the loss of all other places that of its place is, over the season; NaN for
        all places together.
    in_time : its place moved with time, against its own other days; else it is named by ``above``, if at all.
    by_day, expected_by_day : (1 + causes, 1 + places, days) deaths by day from ``day_0`` on, all causes and all places
        first, and what litters dealt over days and places give on average.
    note : what could not be done; every p is then NaN.
    """

    place: int
    cause: int
    first_day: int
    last_day: int
    deaths: int
    litters: int
    expected: float
    of: int
    statistic: float
    p: float
    p_window: float
    p_time: float
    above: float
    in_time: bool
    deals: int
    day_0: int
    by_day: Integers
    expected_by_day: Floats
    note: str = ""


def calendar_scan(
    born_day: ArrayLike,
    age_d: ArrayLike,
    died: ArrayLike,
    *,
    cluster: ArrayLike,
    place: ArrayLike,
    cause: ArrayLike,
    stratum: ArrayLike,
    places: int,
    causes: int,
    level: float,
    deals: int | None = None,
    rng: np.random.Generator | int = 20260,
    repeats: ArrayLike | None = None,
) -> Scan:
    """Scan the days of a season, over all places and in each, for more deaths than litters dealt anew would give.

    Parameters
    ----------
    born_day : whole numbers (n,), the day of the calendar on which each was born alive, from any day on.
    age_d : whole numbers (n,), days of the calendar from birth to death, or to the end of watching.
    place, cause : whole numbers (n,); the first ``places`` and ``causes`` of them are scanned one by one, the others
        only with all. The cause of the living is not read.
    stratum : whole numbers (n,), what makes litters alike besides their number (the first newborn's).
    deals : how often litters are dealt; by default `DEALS`, fewer in large seasons.
    rng : random number generator or its number, fixed so that a review can be run again.

    Returns
    -------
    Scan, without a window (``deaths`` 0) and its p NaN where there are under `FEWEST` deaths.

    Method
    ------
    Scan statistic for Poisson counts over windows of days, places and causes: the log likelihood ratio of a rate raised
    in the window against all other days and places. Its p is that of the largest over all windows, litters of one kind
    dealt over days and places (`dealing`). A place that always loses more stands out there too, which is no outbreak.
    So a place is only named where its loss moved with time, by the same statistic against its own other days and
    litters dealt within places (p_time under 1 - level), or where it lost more than `FAR_ABOVE` times what the others
    did (of a single cause `FAR_ABOVE_OF_CAUSE`), by the lower bound of its interval. Among those whose window has p
    under 1 - level what stands out most is named, and all places rather than one with which the others rose. p is the
    share of the deals that reach the statistic; under `ENOUGH` of them it is that of a Gumbel distribution fitted to
    them by moments, and can be smaller than one over the deals.

    References
    ----------
    Kulldorff M (1997) Commun Stat Theory Methods 26:1481-1496. Kulldorff M et al. (2005) PLoS Med 2:e59 (given what
    each place lost). Abrams AM, Kleinman K, Kulldorff M (2010) Int J Health Geogr 9:61 (Gumbel).

    Examples
    --------
    Sixty litters of one, born a day apart; those born on days 20 to 24 die on their first day and nobody else does.

    >>> import numpy as np
    >>> from neonatal_stats.estimates import calendar_scan
    >>> day, none = np.arange(60), np.zeros(60, int)
    >>> died = ((day >= 20) & (day < 25)).astype(int)
    >>> of = dict(cluster=day, place=none, cause=none, stratum=none, places=0, causes=0, level=0.95)
    >>> found = calendar_scan(day, 40 * (1 - died), died, **of)
    >>> found.first_day, found.last_day, found.deaths, round(found.expected), found.p < 1e-4
    (20, 24, 5, 0, True)
    """
    no_repeats(repeats, "litters are dealt anew over the days, each by itself")
    newborns, why, day_0 = _checked(born_day, age_d, died, cluster, place, stratum, cause)
    own, season = packed(newborns, within=True), packed(newborns, within=False)
    days = int((newborns.born + newborns.age)[newborns.died].max(initial=0)) + 1
    days = max(days, int(own.born.max(initial=0)) + int(own.age.max(initial=0)) + 1)
    layout = Layout.of(why, causes, places, days)
    seen = layout.laid(own.day[:, None], own.at[:, None])
    expected = layout.usual(season)
    if len(own.day) < FEWEST:
        return _nothing(layout, seen, expected, day_0)
    times = deals or int(np.clip(CELLS // (layout.rows * layout.windows.shape[1]), FEWEST_DEALS, DEALS))
    look = _Look(layout, own, seen, layout.usual(own), expected, level)
    found = _places(look, season, times, np.random.default_rng(rng))
    return _told(look, found, times, day_0) if found else _nothing(layout, seen, expected, day_0)


@dataclass(frozen=True, eq=False)
class _Look:
    """What was seen and what is usual, (days, rows) each: litters dealt within places, and over all places."""

    layout: Layout
    pack: Pack
    seen: Counts
    usual: Floats
    expected: Floats
    level: float

    @property
    def total(self) -> Floats:
        """Deaths of each row over the season."""
        return np.asarray(self.seen[:, :, 0].sum(axis=0), dtype=np.float64)


def _checked(*given: ArrayLike) -> tuple[Newborns, Integers, int]:
    """Whole numbers of one length, birth days from 0 on; the cause of each death; the first day."""
    born = np.asarray(given[0], dtype=np.int64)
    names = ("age_d", "died", "cluster", "place", "stratum", "cause")
    others = dict(zip(names, (codes(v, n) for v, n in zip(given[1:], names, strict=True)), strict=True))
    same_length(born_day=born, **others)
    refuse("died", others["died"] > 1, others["died"], "must be 0 or 1")
    dead, day_0 = others["died"] == 1, int(born.min()) if len(born) else 0
    newborns = Newborns(
        born - day_0, others["age_d"], dead, others["cluster"], others["place"], others["stratum"]
    )
    return newborns, others["cause"][dead], day_0


@dataclass(frozen=True, eq=False)
class _Place:
    """A place and its window that stands out most: its number, its row, its ratio, and the deaths expected in it."""

    window: int
    row: int
    ratio: float
    inside: float
    p_window: float
    p_time: float
    above: float
    named: bool


def _places(look: _Look, season: Pack, times: int, rng: np.random.Generator) -> _Place | None:
    """The place that is named; None where no window has more deaths than expected."""
    layout, total = look.layout, look.total
    alone = np.where(total >= FEWEST, total, 0.0)
    shared = np.repeat(total.reshape(1 + layout.causes, -1)[:, 0], 1 + layout.places)
    day, _ = dealt(look.pack, times, rng)
    within = layout.highest((day, look.pack.at[:, None]), look.usual, alone)
    top = layout.highest(dealt(season, times, rng), look.expected, shared).max(axis=0)
    in_time = layout.table(look.seen, look.usual, alone)
    in_season = np.where(in_time > 0, layout.table(look.seen, look.expected, shared), 0.0)
    found = []
    for place in range(1 + layout.places):
        rows = np.arange(place, layout.rows, 1 + layout.places)
        window, cause = divmod(int(in_season[:, rows].argmax()), len(rows))
        ratio, moved = float(in_season[window, rows[cause]]), float(in_time[:, rows].max())
        if ratio > 0:
            p = (_p(ratio, top), _p(moved, within[place]))
            found.append(_place(look, window, int(rows[cause]), ratio, *p))
    return _chosen(look, found)


def _place(look: _Look, window: int, row: int, ratio: float, p_window: float, p_time: float) -> _Place:
    first, last = look.layout.windows[:, window]
    above = _above(look, row)
    far = FAR_ABOVE_OF_CAUSE if row > look.layout.places else FAR_ABOVE
    named = p_time < 1 - look.level or above > far
    inside = float(look.expected[first:last, row].sum())
    return _Place(window, row, ratio, inside, p_window, p_time, above, named)


def _chosen(look: _Look, found: list[_Place]) -> _Place | None:
    """Of those named whose window has p under 1 - level the place that stands out most; all places, where all together
    stand out more, or are named too and the others rose with it. Where none has such a p, the smallest.
    """
    named = [one for one in found if one.named]
    clear = [one for one in named if one.p_window < 1 - look.level]
    if not clear:
        return min(named or found, key=lambda one: (one.p_window, -one.ratio), default=None)
    whole = [one for one in clear if not one.row % (1 + look.layout.places)]
    places = [one for one in clear if one not in whole]
    if not places:
        return whole[0]
    place = max(places, key=lambda one: one.ratio)
    if not whole or whole[0].ratio >= place.ratio:
        return whole[0] if whole else place
    rose = any(_others_rose(look, place.row, one.window) for one in (place, whole[0]))
    return whole[0] if rose else place


def _others_rose(look: _Look, row: int, window: int) -> bool:
    """Did all places but that of a row lose more in a window, to the cause of the row, than on their own other days?

    The likelihood ratio of Poisson counts, of one window, against chi-square; and they must have `BY_OTHERS` of all
    deaths too many there.
    """
    first, last = look.layout.windows[:, window]
    pair = [row, row - row % (1 + look.layout.places)]
    (place, whole), (due, due_in_all) = (
        look.seen[first:last, pair, 0].sum(axis=0),
        look.expected[first:last, pair].sum(axis=0),
    )
    of = float(look.total[pair[1]] - look.total[row])
    rate = of / max(1e-9, float(look.expected[:, pair[1]].sum() - look.expected[:, row].sum()))
    inside, usual = float(whole - place), float(rate * (due_in_all - due))
    too_many = inside - usual
    if not 0 < usual < of or too_many < BY_OTHERS * (whole - rate * due_in_all) or too_many <= 0:
        return False
    ratio = poisson_gain(inside, usual) + poisson_gain(of - inside, of - usual)
    return bool(2 * ratio > critical(look.level) ** 2)


def _above(look: _Look, row: int) -> float:
    """Lower bound of the loss of a place over that of all others, given what its newborns' ages lead one to expect.

    Deaths vary as litters of them do: by the sum of squares over the sum of how many each litter lost.
    """
    place = row % (1 + look.layout.places)
    if not place:
        return float("nan")
    of = look.layout.with_cause(row)
    here = of & (look.pack.at == place - 1)
    lost = np.bincount(look.pack.of[here])
    spread = float((lost**2).sum()) / max(1.0, float(lost.sum()))
    n, others = here.sum() + 0.5, (of & ~here).sum() + 0.5
    expected = max(1e-9, float(look.expected[:, row].sum()))
    rest = max(1e-9, float(look.expected[:, row - place].sum()) - expected)
    error = np.sqrt(spread * (1 / n + 1 / others))
    return float(np.exp(np.log((n / expected) / (others / rest)) - critical(look.level) * error))


def _p(best: float, top: Floats) -> float:
    """The share of the deals that reach a statistic, this one counted in; of a Gumbel distribution where few do."""
    reached = int((top >= best - 1e-9).sum())
    spread = float(top.std(ddof=1)) if len(top) > 1 else 0.0
    if reached >= ENOUGH or spread == 0:
        return (1 + reached) / (1 + len(top))
    scale = spread * np.sqrt(6) / np.pi
    return float(-np.expm1(-np.exp(-(best - float(top.mean())) / scale - np.euler_gamma)))


def _told(look: _Look, found: _Place, times: int, day_0: int) -> Scan:
    layout, own = look.layout, look.pack
    first, end = layout.windows[:, found.window]
    cause, place = divmod(found.row, 1 + layout.places)
    of = layout.with_cause(found.row)
    here = of & ((own.at == place - 1) | (place == 0))
    inside = here & (own.day >= first) & (own.day < end)
    by_day = _by_day(layout, look.seen, look.expected)
    return Scan(
        place=place - 1,
        cause=cause - 1,
        first_day=day_0 + int(first),
        last_day=day_0 + int(end) - 1,
        deaths=int(inside.sum()),
        litters=len(np.unique(own.of[inside])),
        expected=float(found.inside * (of.sum() - inside.sum()) / (of.sum() - found.inside)),
        of=int(here.sum()),
        statistic=found.ratio,
        p=found.p_window if found.named else max(found.p_window, found.p_time),
        p_window=found.p_window,
        p_time=found.p_time,
        above=found.above,
        in_time=found.p_time < 1 - look.level,
        deals=times,
        day_0=day_0,
        by_day=by_day[0],
        expected_by_day=by_day[1],
    )


def _by_day(layout: Layout, seen: Counts, expected: Floats) -> tuple[Integers, Floats]:
    """Deaths by day as `Scan` has them."""
    shape = (1 + layout.causes, 1 + layout.places, layout.days)
    return seen[:, :, 0].T.reshape(shape).astype(np.int64), expected.T.reshape(shape)


def _nothing(layout: Layout, seen: Counts, expected: Floats, day_0: int) -> Scan:
    """No window: too few deaths, or none close together."""
    nan, n = float("nan"), int(seen[:, 0].sum())
    few = f"cannot be scanned: under {FEWEST} deaths"
    note = few if n < FEWEST else "no window has more deaths than expected"
    by_day = _by_day(layout, seen, expected)
    return Scan(WHOLE, WHOLE, 0, -1, 0, 0, nan, n, nan, nan, nan, nan, nan, False, 0, day_0, *by_day, note)

"""Time to what every newborn should do: the share that had stood or fed by each age, rising from none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from neonatal_stats.drawing.ages import FINEST, Row, make_room, numbers_below, thinned
from neonatal_stats.drawing.colours import PAPER, QUIET, RULE, SERIES
from neonatal_stats.drawing.figure import Figure
from neonatal_stats.drawing.house import BAND_ALPHA, DASHES, canvas, house
from neonatal_stats.drawing.lettering import End, words_above, words_below, write_ends
from neonatal_stats.drawing.svg import said
from neonatal_stats.tables import Printer

STEPS_H = (0.5, 1, 2, 4, 6, 12, 24)
MOST_BANDS = 2  # of more groups, bands would hide each other, and whiskers stand at the marks instead
ASIDE = 0.009  # half the distance between the whiskers of two groups, as a share of the panel's width


def draw_time_to(
    curves: Mapping[str, pd.DataFrame],
    *,
    printer: Printer,
    horizon_h: float,
    marks_h: Sequence[float],
    name: str,
    title: str,
    alt: str,
    axis: str,
    age_axis: str,
    waiting: str,
    too_few: Sequence[tuple[str, str]] = (),
    reference: tuple[str, Mapping[float, float]] | None = None,
) -> Figure:
    """Draw the share of each group in percent to which it had happened (standing, the first feed) by each age.

    A step line a group, in its interval as a band; of more than two groups intervals are whiskers at the marks. Below
    each age stands how many were still waiting and watched; a line does not thin out with them, since those to which it
    has happened stay known. Published shares are open grey diamonds on a strip of their own, over the same ages.

    Parameters
    ----------
    curves : printed name and ``curve`` frame (age_h, at_risk, share, low, high) of each group; shares from 0 to 1.
    horizon_h : age at which the panel ends.
    marks_h : ages drawn as thin vertical lines, each with its tick.
    axis, age_axis : words above and under the panel, with units.
    waiting : heading of the numbers under the axis ("waiting").
    too_few : name and words of each group too small to draw.
    reference : words above the strip and published shares by age, or None.
    """
    rows = [Row(label, SERIES[at % len(SERIES)], frame) for at, (label, frame) in enumerate(curves.items())]
    marks = sorted(mark for mark in marks_h if 0 < mark <= horizon_h)
    height = 2.5 + 0.17 * (len(rows) + len(too_few))
    with house():
        if reference is None:
            figure, panels = canvas(printer, height)
        else:
            figure, panels = canvas(printer, height + 1.1, rows=2, sharex=True, height_ratios=(2, 1))
            _reference(panels[1], printer, *reference, horizon_h)
        for at, row in enumerate(rows):
            _rising_line(panels[0], printer, row, (at, len(rows)), marks, horizon_h)
        words_above(panels[0], axis)
        words_below(panels[-1], age_axis)
        _frame(panels, printer, marks, horizon_h)
        below = [*rows, *(Row(label, QUIET, None, words) for label, words in too_few)]
        make_room(figure, panels[-1:], [row.name for row in below], len(below))
        numbers_below(printer, panels[-1:], below, waiting)
        write_ends(panels[0], [_end(row, horizon_h) for row in rows])
    return Figure(name, title, alt, figure)


def _rising_line(
    axes: Axes, printer: Printer, row: Row, at_of: tuple[int, int], marks: Sequence[float], horizon_h: float
) -> None:
    """A step line up to the horizon, with its interval as a band or at the marks."""
    ages, (share, low, high) = _shown(row, horizon_h)
    at, of = at_of
    (line,) = axes.step(ages, share, where="post", color=row.colour, lw=1.7, ls=DASHES[at % len(DASHES)])
    at_h = sorted({*marks, horizon_h})
    here = [int(np.flatnonzero(ages <= age)[-1]) for age in at_h]
    read = [_reading(printer, age, share[at], low[at], high[at]) for age, at in zip(at_h, here, strict=True)]
    said(line, f"{row.name}: {'; '.join(read)}")
    if of <= MOST_BANDS:
        axes.fill_between(ages, low, high, step="post", color=row.colour, alpha=BAND_ALPHA, lw=0)
        return
    for age, place, words in zip(at_h, here, read, strict=True):
        x = age + ASIDE * horizon_h * (2 * at - (2 * of if age == horizon_h else of) + 1)
        (whisker,) = axes.plot([x, x], [low[place], high[place]], color=row.colour, lw=1.1, marker="_", ms=4)
        said(whisker, f"{row.name}: {words}")


def _shown(row: Row, horizon_h: float) -> tuple[np.ndarray, list[np.ndarray]]:
    """Ages, share and both ends of its interval in percent, up to the horizon."""
    assert row.curve is not None
    shown = row.curve[row.curve["age_h"] <= horizon_h]
    ages = np.append(shown["age_h"].to_numpy(float), horizon_h)
    parts = [100 * np.append(x, x[-1:]) for x in shown[["share", "low", "high"]].to_numpy(float).T]
    return thinned(ages, parts, horizon_h * FINEST)


def _reading(printer: Printer, age: float, share: float, low: float, high: float) -> str:
    return (
        f"{printer.age(age)} {printer.percent(share / 100)} ({printer.percent_range(low / 100, high / 100)})"
    )


def _end(row: Row, horizon_h: float) -> End:
    _, (share, _, _) = _shown(row, horizon_h)
    return End(row.name, horizon_h, float(share[-1]), row.colour)


def _reference(
    strip: Axes, printer: Printer, words: str, shares: Mapping[float, float], horizon_h: float
) -> None:
    """Published shares on a strip of their own."""
    ages = [age for age in shares if age <= horizon_h]
    strip.plot(ages, [100 * shares[age] for age in ages], ls=":", lw=0.9, color=QUIET, zorder=2)
    for age in ages:
        (mark,) = strip.plot(
            age, 100 * shares[age], "D", color=QUIET, mfc=PAPER, ms=5, clip_on=False, zorder=3
        )
        said(mark, f"{printer.age(age)} {printer.percent(shares[age], 0)}")
    words_above(strip, words)


def _frame(panels: Sequence[Axes], printer: Printer, marks: Sequence[float], horizon_h: float) -> None:
    """All shares from 0 to 100; ticks at the marks, and between them where they leave room."""
    step = next((size for size in STEPS_H if horizon_h / size <= 6), 24)
    room = horizon_h / 18
    grid = [
        age
        for age in np.arange(0, horizon_h + step / 2, step)
        if all(abs(age - mark) >= room for mark in marks)
    ]
    ticks = sorted({*marks, *map(float, grid)})
    for panel in panels:
        panel.set_xlim(0, horizon_h)
        panel.set_ylim(0, 100)
        panel.set_yticks([0, 50, 100] if panel is not panels[0] else range(0, 101, 20))
        panel.set_xticks(ticks, [printer.number(tick, 0 if tick == round(tick) else 1) for tick in ticks])
        panel.grid(axis="y", color=RULE, lw=0.6)
        panel.set_axisbelow(True)
        for mark in marks:
            panel.axvline(mark, color=QUIET, lw=0.7, ls=":", zorder=0)
    for panel in panels[:-1]:
        panel.tick_params(axis="x", labelbottom=False)

"""The smallest pictures, without letters: a difference as a dot with its interval, a share as a bar, a season.

SVG made by hand, with the colours as variables of the page around it; the words and numbers stand beside them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

WIDE, HIGH = 120.0, 18.0
OCTAVES = 2.0  # a ratio is drawn to 2 ** OCTAVES either way
POINTS = 0.16  # a difference of shares is drawn to so much either way
SEASON_WIDE, SEASON_HIGH = 40.0, 64.0
ROUNDED = 0.05  # a season's scale ends at the next so many


@dataclass(frozen=True)
class Between:
    """A number with the ends of its interval; NaN for an end that is not known."""

    value: float
    low: float
    high: float


def difference(found: Between, *, ratio: bool, clear: bool, words: str) -> str:
    """A dot and its interval about the line of no difference, more to the right of it; an arrow where it goes on.

    Parameters
    ----------
    ratio : a ratio, drawn by its logarithm about 1; else a difference of shares about 0.
    clear : drawn solid and in the colour of what is clear; else as a ring, in ink.
    words : for who points at it.
    """
    low, value, high = (_place(one, ratio) for one in (found.low, found.value, found.high))
    low, high = (-1.0 if math.isnan(low) else low), (1.0 if math.isnan(high) else high)
    colour, middle = ("clear" if clear else "ink"), HIGH / 2
    ends = [max(-1.0, min(1.0, one)) for one in (low, high)]
    line = f"M{_x(ends[0]):.1f} {middle:g}H{_x(ends[1]):.1f}"
    arrows = _arrow(-1, middle) if low < -1 else ""
    arrows += _arrow(1, middle) if high > 1 else ""
    dot = "" if math.isnan(value) else _dot(max(-1.0, min(1.0, value)), middle, colour, clear)
    return (
        f'<svg class="glyph" viewBox="0 0 {WIDE:g} {HIGH:g}" aria-hidden="true"><title>{escape(words)}</title>'
        f'<path d="M{_x(0):g} 0V{HIGH:g}" stroke="var(--past)"/>'
        f'<path d="{line}{arrows}" stroke="var(--{colour})" stroke-width="1.6" fill="none"/>{dot}</svg>'
    )


def _place(value: float, ratio: bool) -> float:
    """From -1 to 1 within what is drawn; beyond it outside."""
    if not ratio:
        return value / POINTS
    if math.isnan(value):
        return value
    return math.log2(value) / OCTAVES if value > 0 else -math.inf


def _x(place: float) -> float:
    return WIDE / 2 + place * (WIDE / 2 - 4)


def _arrow(way: int, middle: float) -> str:
    tip = _x(way)
    return f"M{tip - 4 * way:.1f} {middle - 3.5:g}L{tip:.1f} {middle:g}L{tip - 4 * way:.1f} {middle + 3.5:g}"


def _dot(place: float, middle: float, colour: str, full: bool) -> str:
    fill = f"var(--{colour})" if full else "var(--paper)"
    return (
        f'<circle cx="{_x(place):.1f}" cy="{middle:g}" r="4" fill="{fill}" stroke="var(--{colour})" '
        'stroke-width="1.6"/>'
    )


def share(found: Between, *, target: float, words: str) -> str:
    """A share as a bar from 0 to all, its interval as a line through its end, its target as a tick where it has one."""
    middle, end = HIGH / 2, WIDE * found.value
    whisker = ""
    if not (math.isnan(found.low) or math.isnan(found.high)):
        whisker = (
            f'<path d="M{WIDE * found.low:.1f} {middle:g}H{WIDE * found.high:.1f}" stroke="var(--ink)" '
            'stroke-width="1.6"/>'
        )
    aim = ""
    if not math.isnan(target):
        aim = f'<path d="M{WIDE * target:.1f} 1V{HIGH - 1:g}" stroke="var(--clear)" stroke-width="2.4"/>'
    return (
        f'<svg class="glyph" viewBox="0 0 {WIDE:g} {HIGH:g}" aria-hidden="true"><title>{escape(words)}</title>'
        f'<path d="M.5 4.5H{WIDE - 0.5:g}V{HIGH - 4.5:g}H.5z" fill="none" stroke="var(--past)"/>'
        f'<path d="M0 4H{end:.1f}V{HIGH - 4:g}H0z" fill="var(--steel)"/>{whisker}{aim}</svg>'
    )


def top_of(losses: Sequence[Between]) -> float:
    """Where the scale of seasons that stand side by side ends: the next twentieth above all of their intervals."""
    ends = [one.value if math.isnan(one.high) else one.high for one in losses]
    return max(ROUNDED, ROUNDED * math.ceil(max(ends, default=0.0) / ROUNDED))


def placed(found: Between, band: tuple[float, float], *, target: float, words: str) -> str:
    """A share as a dot with its interval over a band of others, counted from 0; a target as a tick where it has one.

    The scale ends above all of them (`top_of`), so that the left end is none.
    """
    others = [Between(end, end, end) for end in (*band, target) if not math.isnan(end)]
    top, middle = top_of([found, *others]), HIGH / 2
    low, value, high, start, end, aim = (
        share / top * (WIDE - 6) + 1 for share in (found.low, found.value, found.high, *band, target)
    )
    shade = f'<path d="M{start:.1f} 2H{end:.1f}V{HIGH - 2:g}H{start:.1f}z" fill="var(--rule)" stroke="var(--past)"/>'
    tick = f'<path d="M{aim:.1f} 0V{HIGH:g}" stroke="var(--clear)" stroke-width="2.4"/>'
    line = f'<path d="M{low:.1f} {middle:g}H{high:.1f}" stroke="var(--ink)" stroke-width="1.6"/>'
    known = ((shade, start), (tick, aim), (line, low + high))
    return (
        f'<svg class="glyph placed" viewBox="0 0 {WIDE:g} {HIGH:g}" aria-hidden="true"><title>{escape(words)}</title>'
        f'<path d="M.5 0V{HIGH:g}M.5 {HIGH - 0.5:g}H{WIDE:g}" stroke="var(--past)" fill="none"/>'
        f"{''.join(drawn for drawn, place in known if not math.isnan(place))}"
        f'<circle cx="{value:.1f}" cy="{middle:g}" r="4" fill="var(--ink)"/></svg>'
    )


def season(loss: Between, *, top: float, reviewed: bool, words: str) -> str:
    """The loss of one season as a dot with its interval, counted up from 0 to ``top``; in ink where it is reviewed."""
    x, colour = SEASON_WIDE / 2, ("ink" if reviewed else "past")
    low, value, high = (_y(end, top) for end in (loss.low, loss.value, loss.high))
    line = "" if math.isnan(low) or math.isnan(high) else f"M{x:g} {low:.1f}V{high:.1f}"
    return (
        f'<svg class="season" viewBox="0 0 {SEASON_WIDE:g} {SEASON_HIGH:g}" aria-hidden="true">'
        f'<title>{escape(words)}</title><path d="M0 {SEASON_HIGH - 1:g}H{SEASON_WIDE:g}" stroke="var(--past)"/>'
        f'<path d="{line}" stroke="var(--{colour})" stroke-width="{2.4 if reviewed else 1.6}"/>'
        f'<circle cx="{x:g}" cy="{value:.1f}" r="{5 if reviewed else 4}" fill="var(--{colour})"/></svg>'
    )


def _y(lost: float, top: float) -> float:
    return SEASON_HIGH - 1 - lost / top * (SEASON_HIGH - 8)

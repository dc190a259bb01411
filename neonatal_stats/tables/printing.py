"""How a number is printed. Shares are 0 to 1 everywhere else; percent exists only here."""

from __future__ import annotations

import math

from neonatal_stats.tables.number_words import spoken

SMALL_GROUP = 20  # below this a share is written as a count, "3 of 7": a percent would pretend to more

NOT_KNOWN = "–"


def count(n: float) -> str:
    """A whole number, thousands set apart: 12 345."""
    return NOT_KNOWN if math.isnan(n) else f"{round(n):,}".replace(",", spoken().thousands)


def number(value: float, digits: int = 1) -> str:
    """A number with so many decimals."""
    if math.isnan(value):
        return NOT_KNOWN
    text = f"{value:.{digits}f}"
    return _point(text.lstrip("-") if float(text) == 0 else text)


def _point(text: str) -> str:
    return text.replace(".", spoken().decimal)


def span(low: str, high: str) -> str:
    """Two printed ends: "9.0 to 14.2"."""
    return f"{low} {spoken().to} {high}"


def part_of(events: float, n: float) -> str:
    """Numerator and denominator: "3 of 7"."""
    return f"{count(events)} {spoken().of} {count(n)}"


def percent(share: float, digits: int = 1) -> str:
    """A share as percent: 0.1234 reads 12.3 %."""
    return NOT_KNOWN if math.isnan(share) else f"{number(100 * share, digits)}\u00a0%"


def percent_range(low: float, high: float, digits: int = 1) -> str:
    """An interval of a share: "9.0 to 14.2 %"."""
    if math.isnan(low) or math.isnan(high):
        return NOT_KNOWN
    return span(number(100 * low, digits), percent(high, digits))


def points(difference: float) -> str:
    """A difference of two shares, in percentage points with its sign."""
    if math.isnan(difference):
        return NOT_KNOWN
    shown = f"{100 * difference:+.1f}"
    return _point(shown if float(shown) else shown[1:])


def counts(events: float, n: float) -> str:
    """Numerator, denominator and share, for a sentence whose interval belongs to a comparison.

    >>> counts(68, 600), counts(3, 7)
    ('68 of 600 (11.3\xa0%)', '3 of 7')
    """
    both = part_of(events, n)
    return both if n < SMALL_GROUP else f"{both} ({percent(events / n)})"


def share_of(events: float, n: float, low: float, high: float) -> str:
    """Numerator, denominator, and share with its interval; small groups as counts alone.

    "68 of 600 (11.3 %, 9.0 to 14.2 %)"; "3 of 7" where the group is smaller than 20.
    """
    if n < SMALL_GROUP or math.isnan(low):
        return part_of(events, n)
    return f"{part_of(events, n)} ({percent(events / n)}, {percent_range(low, high)})"


def ratio(value: float) -> str:
    """A ratio of risks, odds or hazards: two decimals under 10, one above."""
    return NOT_KNOWN if math.isnan(value) else number(value, 2 if abs(value) < 10 else 1)


def ratio_range(low: float, high: float) -> str:
    """An interval of a ratio; a side that the data cannot bound is said so."""
    if math.isnan(low) and math.isnan(high):
        return NOT_KNOWN
    if math.isnan(high):
        return f"{spoken().at_least} {ratio(low)}"
    if math.isnan(low):
        return f"{spoken().at_most} {ratio(high)}"
    return span(ratio(low), ratio(high))


def age(age_h: float) -> str:
    """An age in completed hours, or from two days on in completed days.

    >>> age(6), age(877)
    ('6\\xa0h', '36\\xa0d')
    """
    if math.isnan(age_h):
        return NOT_KNOWN
    return "\u00a0".join(_age(age_h))


def _age(age_h: float) -> tuple[str, str]:
    """The number and its unit."""
    in_hours = age_h < 48
    return str(math.floor(age_h if in_hours else age_h / 24)), spoken().hours if in_hours else spoken().days


def age_span(start_h: float, end_h: float) -> str:
    """An age window: "0 to 12 h", "3 to 7 d", "12 h to 2 d".

    >>> age_span(24, 72), age_span(72, 168)
    ('24\xa0h to 3\xa0d', '3 to 7\xa0d')
    """
    (start, unit), (_, end_unit) = _age(start_h), _age(end_h)
    return span(start if unit == end_unit else age(start_h), age(end_h))


def p_value(p: float) -> str:
    """A p-value, never alone and never "0.000"."""
    if math.isnan(p):
        return NOT_KNOWN
    return f"{spoken().under} {number(0.001, 3)}" if p < 0.001 else number(p, 3 if p < 0.1 else 2)

"""How a number is printed, in one language. Shares are 0 to 1 everywhere else; percent exists only here.

A `Printer` owns the words that stand inside its numbers, so that what it prints does not depend on where it is
called. A `words.Voice` is one: ``voice.percent(0.123)``.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from dataclasses import dataclass

SMALL_GROUP = 20  # below this a share is written as a count, "3 of 7": a percent would pretend to more
IN_DAYS_FROM_H = 48.0  # an age from here on is printed in days

NOT_KNOWN = "–"
MINUS = "\u2212"


@dataclass(frozen=True)
class NumberWords:
    """ "3 of 7", "9.0 to 14.2 %", "at least 1.20", "under 0.001", "6 h", "36 d", 12 345, "30 Mar"."""

    of: str = "of"
    to: str = "to"
    at_least: str = "at least"
    at_most: str = "at most"
    under: str = "under"
    hours: str = "h"
    days: str = "d"
    decimal: str = "."
    thousands: str = "\u202f"
    months: str = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec"
    day_of_month: str = "{day}\u00a0{month}"


ENGLISH = NumberWords()


@dataclass(frozen=True)
class Printer:
    """Prints numbers in the words of one language; English where none is given."""

    number_words: NumberWords = ENGLISH

    def word(self, text: str) -> str:
        """A text of the records as it is printed."""
        return text

    def count(self, n: float) -> str:
        """A whole number, thousands set apart: 12 345."""
        return self.number(n, 0)

    def number(self, value: float, digits: int = 1) -> str:
        """A number with so many decimals, thousands set apart, with a true minus sign.

        >>> Printer().number(-0.04), Printer().number(-1234.5), Printer().number(0.125, 2)
        ('0.0', '\u22121\u202f234.5', '0.12')
        """
        if math.isnan(value):
            return NOT_KNOWN
        text = f"{value:,.{digits}f}"
        return self.signs(text if text.strip("-0.") else text.lstrip("-"))

    def signs(self, text: str) -> str:
        """A number as a program writes it, "-1,234.5", with this language's signs."""
        words = self.number_words
        return text.translate({ord("-"): MINUS, ord(","): words.thousands, ord("."): words.decimal})

    def span(self, low: str, high: str) -> str:
        """Two printed ends: "9.0 to 14.2"."""
        return f"{low} {self.number_words.to} {high}"

    def range_of(self, low: float, high: float, show: Callable[[float], str]) -> str:
        """An interval, both ends printed by `show`; a dash for an end that is not known, one where neither is."""
        if math.isnan(low) and math.isnan(high):
            return NOT_KNOWN
        return self.span(show(low), show(high))

    def part_of(self, events: float, n: float) -> str:
        """Numerator and denominator: "3 of 7"."""
        return f"{self.count(events)} {self.number_words.of} {self.count(n)}"

    def percent(self, share: float, digits: int = 1) -> str:
        """A share as percent: 0.1234 reads 12.3 %."""
        return NOT_KNOWN if math.isnan(share) else f"{self.number(100 * share, digits)}\u00a0%"

    def percent_range(self, low: float, high: float, digits: int = 1) -> str:
        """An interval of a share: "9.0 to 14.2 %"; a dash where either end is not known."""
        if math.isnan(low) or math.isnan(high):
            return NOT_KNOWN
        return self.span(self.number(100 * low, digits), self.percent(high, digits))

    def points(self, difference: float) -> str:
        """A difference of two shares, in percentage points with its sign."""
        if math.isnan(difference):
            return NOT_KNOWN
        shown = f"{100 * difference:+.1f}"
        return self.signs(shown if float(shown) else shown[1:])

    def points_range(self, low: float, high: float) -> str:
        """An interval of a difference: "−1.2 to +3.4"."""
        return self.range_of(low, high, self.points)

    def counts(self, events: float, n: float) -> str:
        """Numerator, denominator and share, for a sentence whose interval belongs to a comparison.

        >>> Printer().counts(68, 600), Printer().counts(3, 7)
        ('68 of 600 (11.3\\xa0%)', '3 of 7')
        """
        both = self.part_of(events, n)
        return both if n < SMALL_GROUP else f"{both} ({self.percent(events / n)})"

    def share_of(self, events: float, n: float, low: float, high: float) -> str:
        """Numerator, denominator, and share with its interval; small groups as counts alone.

        "68 of 600 (11.3 %, 9.0 to 14.2 %)"; "3 of 7" where the group is smaller than 20.
        """
        if n < SMALL_GROUP or math.isnan(low):
            return self.part_of(events, n)
        return f"{self.part_of(events, n)} ({self.percent(events / n)}, {self.percent_range(low, high)})"

    def ratio(self, value: float) -> str:
        """A ratio of risks, odds or hazards: two decimals under 10, one above."""
        return NOT_KNOWN if math.isnan(value) else self.number(value, 2 if abs(value) < 10 else 1)

    def ratio_range(self, low: float, high: float) -> str:
        """An interval of a ratio; a side that the data cannot bound is said so."""
        if math.isnan(low) and math.isnan(high):
            return NOT_KNOWN
        if math.isnan(high):
            return f"{self.number_words.at_least} {self.ratio(low)}"
        if math.isnan(low):
            return f"{self.number_words.at_most} {self.ratio(high)}"
        return self.span(self.ratio(low), self.ratio(high))

    def age(self, age_h: float) -> str:
        """An age in completed hours, or from two days on in completed days.

        >>> Printer().age(6), Printer().age(877)
        ('6\\xa0h', '36\\xa0d')
        """
        return NOT_KNOWN if math.isnan(age_h) else "\u00a0".join(part for part in self._age(age_h) if part)

    def _age(self, age_h: float) -> tuple[str, str]:
        """The number and its unit."""
        if age_h < IN_DAYS_FROM_H:
            return str(math.floor(age_h)), self.number_words.hours
        return str(math.floor(age_h / 24)), self.number_words.days

    def age_span(self, start_h: float, end_h: float) -> str:
        """An age window: "0 to 12 h", "3 to 7 d", "12 h to 2 d"; a dash where an end is not known.

        >>> Printer().age_span(24, 72), Printer().age_span(72, 168)
        ('24\\xa0h to 3\\xa0d', '3 to 7\\xa0d')
        """
        if math.isnan(start_h) or math.isnan(end_h):
            return NOT_KNOWN
        (start, unit), (_, end_unit) = self._age(start_h), self._age(end_h)
        return self.span(start if unit == end_unit else self.age(start_h), self.age(end_h))

    def day(self, date: datetime.date) -> str:
        """A day of a season.

        >>> Printer().day(datetime.date(2026, 3, 30))
        '30\\xa0Mar'
        """
        month = self.number_words.months.split(" ")[date.month - 1]
        return self.number_words.day_of_month.format(day=date.day, month=month)

    def date(self, date: datetime.date) -> str:
        """A day with its year.

        >>> Printer().date(datetime.date(2026, 3, 30))
        '30\xa0Mar\xa02026'
        """
        return f"{self.day(date)}\u00a0{date.year}"

    def p_value(self, p: float) -> str:
        """A p-value, never alone and never "0.000"."""
        if math.isnan(p):
            return NOT_KNOWN
        if p < 0.001:
            return f"{self.number_words.under} {self.number(0.001, 3)}"
        return self.number(p, 3 if p < 0.1 else 2)

"""Moved to `tables.printing`; these names stay until drawing takes its printer from what it is given."""

from neonatal_stats.tables.printing import ENGLISH, NumberWords, numbers_in, spoken

__all__ = ["ENGLISH", "NumberWords", "numbers_in", "spoken"]

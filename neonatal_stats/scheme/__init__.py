"""A scheme's records, of more newborns than memory holds: the same numbers from an engine.

The engine filters, derives, groups and counts; the estimates of this package run on what it counted. What is derived is
stated once, as Ibis expressions that any engine can execute (`deriving`), and held equal row by row to what
`season.following` derives in memory. Needs the extra ``scheme``; nothing else imports this room at start.
"""

from neonatal_stats.season.finding import CannotRead

try:
    import ibis  # noqa: F401
except ImportError:
    raise CannotRead(
        "A scheme's records need Ibis and an engine, which are not installed; install the extra neonatal_stats[scheme]."
    ) from None

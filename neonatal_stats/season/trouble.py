"""What is raised when records, a map or settings cannot be read."""

from __future__ import annotations


class CannotRead(Exception):
    """One sentence for the person at the table: where, what was found, what is accepted, how to mend it."""

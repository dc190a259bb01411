"""Which version made a report."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError
from importlib.metadata import version as installed


def version() -> str:
    """The installed version; "unknown" when run from a folder that was never installed."""
    try:
        return installed("neonatal_stats")
    except PackageNotFoundError:
        return "unknown"

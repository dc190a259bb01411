"""The command line: parse, call, print, exit code."""

from neonatal_stats.cli.main import main

__all__ = ["main"]

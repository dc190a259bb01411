"""Which files were named: patterns are spelled out here where the shell (on Windows) does not."""

from __future__ import annotations

from pathlib import Path


def spelled_out(records: list[Path]) -> list[Path]:
    """Every file once, in the order named; a pattern with * or ? stands for its files in order of name."""
    found: list[Path] = []
    for record in records:
        is_pattern = any(sign in record.name for sign in "*?") and not record.exists()
        found += sorted(record.parent.glob(record.name)) if is_pattern else [record]
    return list(dict.fromkeys(found)) or records

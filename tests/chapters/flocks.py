"""Flocks written as counts: so many lost of so many, kind by kind, for the chapters that compare groups."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

Block = tuple[dict[str, Any], int, int]

DEAD_AFTER_H = 30


def flock(
    blocks: Sequence[Block], *, season: str = "2026", litter: int = 1, **common: Any
) -> list[dict[str, Any]]:
    """Rows of births: each block is (what they share, lost, newborns); losses at 30 h, the others seen to the end.

    Litters of `litter` newborns, filled in order, so that the lost stand together as little as they can: every
    litter number in a block is used once before any is used twice.
    """
    rows = []
    for number, (shared, lost, n) in enumerate(blocks):
        dams = max(1, n // litter)
        for place in range(n):
            dam = f"{season}-{number}-{place % dams}"
            fate = (
                {"died": "yes", "died_after_h": DEAD_AFTER_H}
                if place < lost
                else {"died": "no", "seen_after_h": 1100}
            )
            rows.append(
                {
                    "dam_id": dam,
                    "season": season,
                    "born_alive": "yes",
                    "litter_size": 1,
                    **fate,
                    **common,
                    **shared,
                }
            )
    return rows

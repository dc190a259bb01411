"""Who was counted and who was left out, and why: printed under every chapter."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Counted:
    """Newborns (or dams) counted, what they are, and those left out by reason; the parts add up."""

    n: int
    what: str = "{newborns}"
    left_out: tuple[tuple[str, int], ...] = ()

    @property
    def total(self) -> int:
        """Counted and left out together."""
        return self.n + sum(n for _, n in self.left_out)

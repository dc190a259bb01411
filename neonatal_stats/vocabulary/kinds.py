"""Kinds of flock and herd that are reared so differently that marks and questions differ: suckled, or taken off."""

from __future__ import annotations

SUCKLED = ("suckler", "beef")
TAKEN_OFF = ("dairy",)

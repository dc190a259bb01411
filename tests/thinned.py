"""Forms of a test that differ in nothing that matters: every so-manieth is run, and all with EVERY_FORM=yes.

A test that thins its forms says by what rule, and keeps one of every kind.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TypeVar

Form = TypeVar("Form")
EVERY_FORM = os.environ.get("EVERY_FORM") == "yes"


def thinned(forms: Sequence[Form], one_in: int) -> list[Form]:
    """The first of so many forms, the first of the next so many, and so on.

    >>> thinned("abcdefg", 3) if not EVERY_FORM else ["a", "d", "g"]
    ['a', 'd', 'g']
    """
    return list(forms[:: 1 if EVERY_FORM else one_in])

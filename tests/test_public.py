"""What is public is found by dir() and completion, has types and a docstring, and stands in the README."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import neonatal_stats
from neonatal_stats import Season, analysis, chapters, estimates

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
ADDRESSES = {"neonatal_stats": neonatal_stats, "analysis": analysis, "estimates": estimates}


def offered() -> Iterator[tuple[str, Any]]:
    for address, module in ADDRESSES.items():
        yield from ((f"{address}.{name}", getattr(module, name)) for name in module.__all__)


def functions_of(owner: Any) -> Iterator[Any]:
    """The function itself, or the public methods and properties of a class that this package wrote."""
    if inspect.isfunction(owner):
        yield owner
    elif inspect.isclass(owner):
        for name, member in inspect.getmembers(owner):
            function = member.fget if isinstance(member, property) else member
            if (
                not name.startswith("_")
                and inspect.isfunction(function)
                and function.__module__.startswith("neonatal_stats")
            ):
                yield function


@pytest.mark.parametrize("module", [*ADDRESSES.values(), chapters], ids=lambda module: module.__name__)
def test_dir_tells_what_is_public_and_nothing_else(module: Any) -> None:
    assert sorted(dir(module)) == sorted(module.__all__)
    with pytest.raises(AttributeError, match="no attribute 'nothing_of_the_kind'"):
        module.nothing_of_the_kind  # noqa: B018


def test_everything_public_has_a_docstring_and_types() -> None:
    bare = []
    for name, one in offered():
        if isinstance(one, str) or inspect.ismodule(one):
            continue
        if not inspect.getdoc(one):
            bare.append(name)
        for function in functions_of(one):
            hints = inspect.get_annotations(function)
            parameters = [p for p in inspect.signature(function).parameters if p not in ("self", "cls")]
            if not function.__doc__:
                bare.append(f"{name}.{function.__name__}: no docstring")
            if {*parameters, "return"} - set(hints):
                bare.append(f"{name}.{function.__name__}: {sorted({*parameters, 'return'} - set(hints))}")
    assert bare == []


def test_every_function_of_the_analysis_says_what_it_takes_counts_and_refuses() -> None:
    for name in analysis.__all__:
        one = getattr(analysis, name)
        if inspect.isfunction(one):
            said = inspect.getdoc(one) or ""
            assert all(word in said for word in ("Method\n", "Examples\n")), name
            assert f"`{name}(season" in README, name


def test_what_a_season_offers_stands_in_the_readme() -> None:
    for name in ("with_settings", "with_column", "review", "ask", "births", "problems"):
        assert hasattr(Season, name) or name in Season.__dataclass_fields__
        assert re.search(rf"\.{name}\b", README), name


def test_completion_offers_seasons_by_name() -> None:
    told = {"season": [2025, 2026], "dam_id": ["A", "B"], "died": [True, False]}
    season = neonatal_stats.read_season(pd.DataFrame(told))
    assert season._ipython_key_completions_() == ("2025", "2026")

"""What a language file has to translate, and what it still lacks: `python docs/list_templates.py de`.

Every text that a person reads is a constant English template that reaches `Voice.say`, or `say` of the problem list.
They are found by reading the source: what stands in a call of `say`, and where that is a name, what the name can hold.
"""

from __future__ import annotations

import ast
import json
import re
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import get_args

from neonatal_stats.measures.yardstick import published
from neonatal_stats.season.finding import Ended
from neonatal_stats.vocabulary.columns import TABLES, heading_said
from neonatal_stats.vocabulary.factors import FACTORS
from neonatal_stats.vocabulary.passive_transfer import (
    BRIX_TO_IGG,
    COLOSTRUM_MARKS,
    READ_BY_LABORATORY,
    SCHEMES,
)
from neonatal_stats.vocabulary.plan import MEASURES, PLAN
from neonatal_stats.vocabulary.published import COUNTED_IN, KINDS
from neonatal_stats.vocabulary.terms import SPECIES
from neonatal_stats.words.names import OWN_TERMS
from neonatal_stats.words.voice import catalogue

PACKAGE = Path(__file__).parents[1] / "neonatal_stats"
ROOMS = ("words", "chapters", "analysis", "report")
IN_PAGES = re.compile(r"""\bsay\(\s*(?:"([^"]*)"|'([^']*)')""")
HOLDERS = ("Templates",)
NAME = re.compile("[a-z]+(_[a-z]+)+")
REASONS = ("left_out", "TOO_EARLY, TOO_LATE, NO_AGE, UNDECIDED, LIMIT_OPEN")


@cache
def all_templates() -> dict[str, str]:
    """Every template, with the file that says it, in the order of the files."""
    found: dict[str, str] = {}
    for path in _files("*.py"):
        for template in _Module(path).said():
            found.setdefault(template, _name(path))
    for path in _files("*.j2"):
        for double, single in IN_PAGES.findall(path.read_text(encoding="utf-8")):
            found.setdefault(double or single, _name(path))
    for text in _from_below():
        found.setdefault(text, "vocabulary and measures")
    found = {text: _home(text, place) for text, place in found.items()}
    return {
        text: place for text, place in found.items() if re.search("[a-z]", text) and not NAME.fullmatch(text)
    }


def _home(template: str, said_by: str) -> str:
    """The file in which a template stands: a chapter's title and question are said by other files than their own."""
    standing = _standing().get(template, ())
    return said_by if said_by in standing or not standing else standing[0]


@cache
def _standing() -> dict[str, list[str]]:
    """The files of the rooms in which each text stands, in the order of the files."""
    held: dict[str, list[str]] = {}
    for path in _files("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                held.setdefault(node.value, []).append(_name(path))
    return held


def _from_below() -> Iterator[str]:
    """Words of the rooms below, which say nothing themselves: terms, headings, classes, reasons for leaving out."""
    yield from sorted(OWN_TERMS)
    for entry in FACTORS:
        yield from filter(None, (entry.words, entry.heading, entry.short, *entry.phrases.values(), entry.own))
    yield from (heading_said(column) for column in TABLES["births"])
    for measure in MEASURES:
        yield from (measure.name, measure.words, measure.of)
    for column in PLAN:
        yield from (heading_said(column), column.meaning, *column.words)
    yield from (mark.source for mark in COLOSTRUM_MARKS)
    for scheme in (*SCHEMES, READ_BY_LABORATORY):
        yield from (*scheme.classes, *scheme.target_signs, scheme.source, scheme.spread)
    yield from (conversion.source for conversion in BRIX_TO_IGG.values())
    for name in ("source", "definition", "region", "year", "kind", "counted_in"):
        yield from sorted(set(published()[name]))
    yield from (*KINDS, *COUNTED_IN)
    for room in ("measures", "chapters"):
        for path in sorted((PACKAGE / room).rglob("*.py")):
            yield from _reasons(ast.parse(path.read_text(encoding="utf-8")))


def _reasons(tree: ast.AST) -> Iterator[str]:
    """What a `Counted` counts, and why it or another count left some out: the reasons stand beside their number."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]).strip("()") in REASONS:
            yield from _strings(node.value)
        elif isinstance(node, ast.Call) and _called(node) == "Counted":
            yield from (text for given in _given(node)[1:] for text in _strings(given))
        elif (
            isinstance(node, ast.Tuple) and len(node.elts) == 2 and not isinstance(node.elts[1], ast.Constant)
        ):
            yield from (text for text in _strings(node.elts[0]) if " " in text)


def _given(call: ast.Call) -> list[ast.expr]:
    return [*call.args, *(keyword.value for keyword in call.keywords)]


def _files(pattern: str) -> list[Path]:
    return sorted(path for room in ROOMS for path in (PACKAGE / room).rglob(pattern))


def _name(path: Path) -> str:
    return str(path.relative_to(PACKAGE))


class _Module:
    """One source file, and what the names in it can hold."""

    def __init__(self, path: Path) -> None:
        self.tree = ast.parse(path.read_text(encoding="utf-8"))
        self.functions = [node for node in ast.walk(self.tree) if isinstance(node, ast.FunctionDef)]
        self.calls = [node for node in ast.walk(self.tree) if isinstance(node, ast.Call)]
        self.within: dict[ast.AST, ast.FunctionDef] = {}
        for function in self.functions:
            for node in ast.walk(function):
                self.within[node] = function  # the innermost one is met last
        self.open: set[tuple[str, ast.AST | None]] = set()

    def said(self) -> Iterator[str]:
        """What the calls of say in this file can say."""
        for call in self.calls:
            if _called(call) == "say" and call.args:
                yield from self.texts(call.args[0], self.within.get(call))
            elif _called(call) in HOLDERS:
                yield from (text for given in call.keywords for text in self.texts(given.value, None))

    def texts(self, node: ast.AST, function: ast.FunctionDef | None) -> list[str]:
        """The strings that an expression can hold."""
        if isinstance(node, ast.Constant):
            return [node.value] if isinstance(node.value, str) else []
        if isinstance(node, ast.BinOp):
            return _joined(node)
        if isinstance(node, ast.Name):
            return self.named(node.id, function)
        if isinstance(node, ast.Attribute) and not (isinstance(node.value, ast.Name) and node.attr.isupper()):
            return self.texts(node.value, function)
        if isinstance(node, ast.Attribute):
            return list(_constants().get(node.attr, ()))
        return [text for child in _holding(node) for text in self.texts(child, function)]

    def named(self, name: str, function: ast.FunctionDef | None) -> list[str]:
        """What a name holds: set in the function, given by its callers, or a constant of any file."""
        if (name, function) in self.open:
            return []
        self.open.add((name, function))
        found: list[str] = []
        if function is not None:
            for value in _assigned(function, name):
                found += self.texts(value, function)
            found += self.given(name, function)
        found = found or list(_constants().get(name, ()))
        self.open.discard((name, function))
        return found

    def given(self, name: str, function: ast.FunctionDef) -> list[str]:
        """What the callers in this file give for a parameter."""
        parameters = [argument.arg for argument in (*function.args.posonlyargs, *function.args.args)]
        found: list[str] = []
        for call in self.calls:
            if _called(call) != function.name:
                continue
            values = [keyword.value for keyword in call.keywords if keyword.arg == name]
            if name in parameters and parameters.index(name) < len(call.args):
                values.append(call.args[parameters.index(name)])
            for value in values:
                found += self.texts(value, self.within.get(call))
        for value in _defaults(function, name):
            found += self.texts(value, None)
        return found


def _defaults(function: ast.FunctionDef, name: str) -> Iterator[ast.expr]:
    arguments = function.args
    with_default = arguments.args[len(arguments.args) - len(arguments.defaults) :]
    pairs = [*zip(with_default, arguments.defaults, strict=True),
             *zip(arguments.kwonlyargs, arguments.kw_defaults, strict=True)]  # fmt: skip
    yield from (default for argument, default in pairs if argument.arg == name and default is not None)


def _called(call: ast.Call) -> str:
    return call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")


def _holding(node: ast.AST) -> list[ast.expr]:
    """The parts of an expression whose strings are its own; not conditions and not keys."""
    if isinstance(node, ast.IfExp):
        return [node.body, node.orelse]
    if isinstance(node, ast.Dict):
        return list(node.values)
    if isinstance(node, ast.Subscript | ast.Starred):
        return [node.value]
    if isinstance(node, ast.Tuple | ast.List | ast.Set):
        return list(node.elts)
    if isinstance(node, ast.BoolOp):
        return list(node.values)
    if isinstance(node, ast.Call):
        owner = [node.func.value] if isinstance(node.func, ast.Attribute) else []
        fallback = (
            node.args[1:] if _called(node) == "get" else [*node.args, *(k.value for k in node.keywords)]
        )
        return [*owner, *fallback]
    return []


def _assigned(function: ast.FunctionDef, name: str) -> Iterator[ast.expr]:
    """What is assigned to a name in a function, also by unpacking and by a loop over a constant."""
    for node in ast.walk(function):
        if isinstance(node, ast.Assign):
            for target in node.targets:
                yield from _unpacked(target, node.value, name)
        elif isinstance(node, ast.AnnAssign) and node.value is not None:
            yield from _unpacked(node.target, node.value, name)
        elif isinstance(node, ast.For | ast.comprehension) and name in _names(node.target):
            yield node.iter


def _names(target: ast.expr) -> set[str]:
    return {part.id for part in ast.walk(target) if isinstance(part, ast.Name)}


def _unpacked(target: ast.expr, value: ast.expr, name: str) -> Iterator[ast.expr]:
    if isinstance(target, ast.Name) and target.id == name:
        yield value
    elif isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        for one, its in zip(target.elts, value.elts, strict=False):
            yield from _unpacked(one, its, name)
    elif isinstance(target, ast.Tuple) and name in _names(target):
        yield value


@cache
def _shared() -> dict[str, tuple[str, ...]]:
    """Constants that are one text, of which other constants are made."""
    held: dict[str, tuple[str, ...]] = {}
    for path in _files("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant):
                held[ast.unparse(node.targets[0])] = (str(node.value.value),)
    return held


@cache
def _constants() -> dict[str, tuple[str, ...]]:
    """The strings that each module-level constant of the rooms holds."""
    held: dict[str, list[str]] = {}
    for path in _files("*.py"):
        module = ast.parse(path.read_text(encoding="utf-8"))
        for node in module.body:
            targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
            if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
                for target in targets:
                    if isinstance(target, ast.Name) and target.id.isupper():
                        held.setdefault(target.id, []).extend(_strings(node.value))
    return {name: tuple(texts) for name, texts in held.items()}


def _joined(node: ast.BinOp) -> list[str]:
    """Both sides of a + where each is one text, in this file or a constant of it."""
    sides = [_strings(side) for side in (node.left, node.right)]
    return ["".join(side[0] for side in sides)] if all(len(side) == 1 for side in sides) else []


def _strings(node: ast.expr) -> list[str]:
    if isinstance(node, ast.BinOp):
        return _joined(node)
    if isinstance(node, ast.Name):
        return list(_shared().get(node.id, ()))
    if isinstance(node, ast.Constant):
        return [node.value] if isinstance(node.value, str) else []
    return [text for child in _holding(node) for text in _strings(child)]


@cache
def problem_templates() -> dict[str, str]:
    """The sentences of the problem list: in `season`, each stands whole in a call of `say`."""
    found = dict.fromkeys(get_args(Ended), "season/finding.py")
    for path in sorted((PACKAGE / "season").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and _called(node) == "say":
                assert isinstance(node.args[0], ast.Constant), (
                    f"{path}, line {node.lineno}: say it in one piece"
                )
                found.setdefault(node.args[0].value, _name(path))
    return found


def lacking(language: str) -> dict[str, str]:
    """Templates that the language file does not hold, with the file that says each."""
    held = catalogue(language)
    return {text: place for text, place in all_templates().items() if text not in held.templates} | {
        text: place for text, place in problem_templates().items() if text not in held.problems
    }


def stale(language: str) -> list[str]:
    """Templates of the language file that nothing says any more."""
    held = catalogue(language)
    return [text for text in held.templates if text not in all_templates()] + [
        text for text in held.problems if text not in problem_templates()
    ]


def misplaced(language: str) -> list[str]:
    """What stands in the other of the two tables [templates] and [problems] than the one that is looked in."""
    held = catalogue(language)
    return [
        f"{json.dumps(text, ensure_ascii=False)} stands in [{here}] and belongs in [{there}]"
        for here, there, told, asked in (
            ("problems", "templates", held.problems, all_templates()),
            ("templates", "problems", held.templates, problem_templates()),
        )
        for text in lacking(language)
        if text in told and text in asked
    ]


def main(language: str) -> None:
    """Print what is missing as lines to paste into the file, then what is stale or stands in the wrong table."""
    shown = ""
    for name in dict.fromkeys(("", *SPECIES)):
        if name not in catalogue(language).species:
            print(f"# [species] has no line for {name}: its words in the order of its `forms`")
    for template, place in lacking(language).items():
        if place != shown:
            print(f"\n# {place}")
            shown = place
        print(f'{json.dumps(template, ensure_ascii=False)} = ""')
    for line in misplaced(language):
        print(f"\n# {line}")
    for template in stale(language):
        print(f"\n# no longer said: {json.dumps(template, ensure_ascii=False)}")
    said = len(all_templates()) + len(problem_templates())
    print(f"\n# {len(lacking(language))} missing, {len(stale(language))} stale, of {said}")


if __name__ == "__main__":
    main(*sys.argv[1:2] or ["de"])

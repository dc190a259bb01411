"""A map as text: new lines put into their sections, what a person has written before kept as it stands."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from neonatal_stats.season.grid import RawColumn
from neonatal_stats.season.records_map import OPEN

SECTION = re.compile(r"\s*\[([^\[\]]+)\]\s*(?:#.*)?")
LINE = re.compile(r"""\s*(?P<key>"(?:[^"\\]|\\.)*"|'[^']*'|[\w-]+)\s*=\s*(?P<value>"\?"|'\?')\s*(?:\#.*)?""")
SHOWN = 4
HEAD = """# A map of these records' headings and words. Each line: what the records say = what it means here.
# "?" is still open: write the column or word that is meant, or "" to leave the heading out or the word missing.
# Headings and words that need no line here are not listed. Give 1 and 2 their meaning only from the farm's own list.
"""


@dataclass(frozen=True)
class Line:
    """One line of a map: what the records say, what it means here ("?" = open) and the remark beside it."""

    section: str
    said: str
    meant: str
    beside: str = ""

    @property
    def open(self) -> bool:
        """True where it is for a person to say what is meant."""
        return self.meant == OPEN

    @property
    def text(self) -> str:
        """The line as TOML."""
        beside = f"  # {_harmless(self.beside)}" if self.beside else ""
        meant = self.meant if self.section == "dates" and self.meant.isdigit() else quoted_key(self.meant)
        return f"{quoted_key(self.said)} = {meant}{beside}"


def map_text(lines: list[Line], notes: list[str], old: str) -> str:
    """The text of a map: the lines by their sections, put into an old map where there is one. Always valid TOML."""
    if not old.strip():
        return HEAD + "".join(f"# {_harmless(note)}\n" for note in notes) + _sections(lines)
    blocks = _blocks(old)
    for line in lines:
        _put(blocks, line)
    text = "".join("".join(block) for _, block in blocks)
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return _anew(old, lines)
    return text


def left_open(text: str, lines: Sequence[Line]) -> Iterator[Line]:
    """The open lines of the whole map, those of the old one too."""
    beside = {(line.section, line.said): line.beside for line in lines}

    def walk(section: str, found: dict[str, object]) -> Iterator[Line]:
        for key, value in found.items():
            if isinstance(value, dict):
                yield from walk(f"{section}.{key}".lstrip("."), value)
            elif value == OPEN:
                near = beside.get((section, key)) or beside.get((f"births.{section}", key), "")
                yield Line(section, key, OPEN, near)

    yield from walk("", tomllib.loads(text))


def answered(text: str, line: Line) -> str:
    """A map's text with one open line closed; the year of dates is a number."""
    blocks = _blocks(text)
    _put(blocks, line)
    return "".join("".join(block) for _, block in blocks)


def _sections(lines: list[Line]) -> str:
    by_section: dict[str, list[str]] = {}
    for line in lines:
        by_section.setdefault(line.section, []).append(line.text)
    return "".join(f"\n[{section}]\n" + "\n".join(texts) + "\n" for section, texts in by_section.items())


def _blocks(old: str) -> list[tuple[str, list[str]]]:
    """The old text in blocks, each with the section that it belongs to ("" before the first)."""
    blocks: list[tuple[str, list[str]]] = [("", [])]
    for line in old.splitlines(keepends=True):
        found = SECTION.fullmatch(line.rstrip("\r\n"))
        if found:
            blocks.append((re.sub(r"\s", "", found[1]), []))
        blocks[-1][1].append(line if line.endswith("\n") else line + "\n")
    return blocks


def _put(blocks: list[tuple[str, list[str]]], line: Line) -> None:
    """Close an open line of the old map, or add a new one at the end of its section."""
    shared = line.section.partition(".")[2]
    for section, block in blocks:
        if section not in (line.section, shared):
            continue
        for at, text in enumerate(block):
            found = LINE.fullmatch(text.rstrip("\r\n"))
            if found and _key(found["key"]).casefold() == line.said.casefold():
                block[at] = line.text + "\n" if not line.open else text
                return
    for section, block in blocks:
        if section == line.section:
            end = max((at for at, text in enumerate(block) if text.strip()), default=0) + 1
            block.insert(end, line.text + "\n")
            return
    blocks.append((line.section, [f"\n[{line.section}]\n", line.text + "\n"]))


def _key(text: str) -> str:
    """What a key says."""
    if text[:1] in "\"'":
        return next(iter(tomllib.loads(f"{text} = 1")))
    return text


def _anew(old: str, lines: list[Line]) -> str:
    """An old map written in a manner that lines cannot be put into: its meaning, and the new lines."""
    known: list[Line] = []
    found = tomllib.loads(old)
    texts: list[str] = []
    _flat("", found, known, texts)
    already = {(line.section, line.said) for line in known if not line.open}
    new = [line for line in lines if (line.section, line.said) not in already]
    closed = {(line.section, line.said) for line in new}
    kept = [line for line in known if (line.section, line.said) not in closed]
    return "".join(texts) + _sections(kept + new)


def _flat(section: str, found: Mapping[str, object], known: list[Line], texts: list[str]) -> None:
    plain = {key: value for key, value in found.items() if not isinstance(value, dict | str)}
    if plain:
        values = "\n".join(f"{quoted_key(key)} = {_value(value)}" for key, value in plain.items())
        texts.append(f"\n[{section}]\n{values}\n" if section else values + "\n")
    for key, value in found.items():
        if isinstance(value, str):
            known.append(Line(section, key, value))
        elif isinstance(value, dict):
            _flat(f"{section}.{key}".lstrip("."), value, known, texts)


def _value(value: object) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    return quoted_key(value) if isinstance(value, str) else str(value)


def quoted_key(text: str) -> str:
    """A TOML string in one line, whatever the records hold."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + _harmless(escaped) + '"'


def _harmless(text: str) -> str:
    return "".join(sign if sign.isprintable() else f"\\U{ord(sign):08X}" for sign in text)


def shown(cells: RawColumn) -> str:
    """The first values of a column, as they stand beside a line."""
    values = [_short(cell) for cell in cells.distinct if cell is not None][:SHOWN]
    return ", ".join(values) or "nothing"


def _short(cell: object) -> str:
    text = " ".join("".join(sign if sign.isprintable() else " " for sign in str(cell)).split())
    return text if len(text) <= 30 else text[:27] + "..."

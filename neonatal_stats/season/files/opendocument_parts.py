"""What an ODS workbook's content says before it is unfolded: repeats, hidden rows and columns."""

from __future__ import annotations

from xml.parsers import expat

from neonatal_stats.season.files.archive import Archive
from neonatal_stats.season.files.workbook_parts import SheetParts
from neonatal_stats.season.grid import LONGEST_CELL, check_size
from neonatal_stats.season.trouble import CannotRead

HIDDEN = ("collapse", "filter")


def ods_parts(archive: Archive) -> dict[str, SheetParts]:
    """The sheets of an ODS workbook by name; a cell repeated beyond any season's size is refused."""
    reader = _ContentReader(archive.name)
    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler = reader.start, reader.end
    parser.CharacterDataHandler = reader.text
    try:
        archive.parse("content.xml", parser)
    except ValueError:
        raise CannotRead(f"{archive.name}: its cells are numbered in no known way; save it again.") from None
    archive.check_other_parts({"content.xml"})
    return reader.sheets


class _ContentReader:
    """Counts how far the filled cells of each sheet reach."""

    def __init__(self, name: str) -> None:
        self.sheets: dict[str, SheetParts] = {}
        self._file, self._sheet, self._now = name, "", SheetParts()
        self._row = self._rows_repeated = self._column = self._length = 0

    def start(self, name: str, a: dict[str, str]) -> None:
        if name == "table:table":
            self._sheet, self._row, self._now = a.get("table:name", ""), 0, SheetParts()
            self.sheets[self._sheet] = self._now
            self._columns = 0
        elif name == "table:table-column":
            repeated = int(a.get("table:number-columns-repeated", 1))
            if a.get("table:visibility") in HIDDEN:
                self._now.hidden_columns += range(self._columns + 1, self._columns + 1 + min(repeated, 2_000))
            self._columns += repeated
        elif name == "table:table-row":
            self._rows_repeated = int(a.get("table:number-rows-repeated", 1))
            if a.get("table:visibility") in HIDDEN and self._rows_repeated < 100_000:
                self._now.hidden_rows += range(self._row + 1, self._row + 1 + self._rows_repeated)
            self._row += self._rows_repeated
            self._column = 0
        elif name in ("table:table-cell", "table:covered-table-cell"):
            self._cell(a)

    def _cell(self, a: dict[str, str]) -> None:
        self._length = 0
        self._column += int(a.get("table:number-columns-repeated", 1))
        if "office:value-type" in a or "calcext:value-type" in a:
            self._now.rows, self._now.columns = (
                max(self._now.rows, self._row),
                max(self._now.columns, self._column),
            )
            check_size(f"{self._file}, sheet {self._sheet}", self._now.rows, self._now.columns)

    def end(self, name: str) -> None:
        """Nothing closes a count."""

    def text(self, data: str) -> None:
        self._length += len(data)
        if self._length > LONGEST_CELL:
            raise CannotRead(
                f"{self._file}: one cell is longer than {LONGEST_CELL:,} characters; shorten it and save it again."
            )

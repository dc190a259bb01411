"""A workbook's archive looked over before anything unpacks it: bounded in size, without document types."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from xml.parsers import expat

from neonatal_stats.season.trouble import CannotRead

MOST_UNPACKED = 600_000_000
MOST_PARTS = 5_000
CHUNK = 1 << 18


class Archive:
    """The parts of a workbook, each readable in chunks; sizes were checked when it was opened."""

    def __init__(self, name: str, data: bytes) -> None:
        """Open the archive and refuse one that would unpack to more than a season's records."""
        self.name = name
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
        except (zipfile.BadZipFile, NotImplementedError, ValueError):
            raise damaged(name) from None
        parts = self._zip.infolist()
        unpacked = sum(part.file_size for part in parts)
        if unpacked > MOST_UNPACKED or len(parts) > MOST_PARTS:
            raise CannotRead(
                f"{name}: it would unpack to {unpacked / 1e6:,.0f} MB in {len(parts):,} parts, more than the "
                f"{MOST_UNPACKED / 1e6:,.0f} MB accepted; keep only the sheets of the records and save it again."
            )
        if any(part.flag_bits & 1 for part in parts):
            raise CannotRead(f"{name}: it is locked with a password; save it without one.")

    @property
    def parts(self) -> list[str]:
        """The names of the parts."""
        return self._zip.namelist()

    def chunks(self, part: str) -> Iterator[bytes]:
        """A part, piece by piece; a part larger than it declares is refused."""
        try:
            with self._zip.open(part) as stream:
                while chunk := stream.read(CHUNK):
                    yield chunk
        except (
            zipfile.BadZipFile,
            EOFError,
            OSError,
            NotImplementedError,
            RuntimeError,
            ValueError,
            KeyError,
        ):
            raise damaged(self.name) from None
        except Exception as error:
            if type(error).__module__ == "zlib":
                raise damaged(self.name) from None
            raise

    def parse(self, part: str, parser: expat.XMLParserType) -> None:
        """Run a part through an XML parser that refuses document types, and with them entities."""
        parser.StartDoctypeDeclHandler = self._refuse
        try:
            for chunk in self.chunks(part):
                parser.Parse(chunk, False)
            parser.Parse(b"", True)
        except expat.ExpatError:
            raise damaged(self.name) from None

    def _refuse(self, *_: object) -> None:
        raise CannotRead(
            f"{self.name}: it declares a document type, which no spreadsheet writes; "
            "do not open it, and ask whoever sent it for a plain CSV."
        )

    def check_other_parts(self, seen: set[str]) -> None:
        """Unpack what was not parsed once, so that sizes are true and no part hides a document type."""
        for part in self.parts:
            if part in seen or part.endswith("/"):
                continue
            first = True
            for chunk in self.chunks(part):
                if first and part.endswith((".xml", ".rels")) and b"<!DOCTYPE" in chunk:
                    self._refuse()
                first = False


def damaged(name: str) -> CannotRead:
    """The sentence for a workbook that cannot be opened."""
    return CannotRead(
        f"{name}: the workbook is damaged, locked with a password or of another kind; "
        "open it, save it as XLSX without a password, and try again."
    )

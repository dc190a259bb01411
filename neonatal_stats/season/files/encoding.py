"""In which encoding a text file is written."""

from __future__ import annotations

from neonatal_stats.season.grid import Remark
from neonatal_stats.season.trouble import CannotRead

MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
WESTERN = {"ascii", "cp1252", "latin_1", "iso8859_15", "cp1250", "iso8859_2", "cp1257", "cp1254", "mac_roman"}


def encoding_of(name: str, data: bytes) -> tuple[str, tuple[Remark, ...]]:
    """UTF-8 or UTF-16 where the file is that throughout, else the likeliest of the older encodings, named."""
    for mark, encoding in MARKS:
        if data.startswith(mark):
            return _strictly(name, data, encoding), ()
    head = data[:4096]
    if head and head.count(0) > len(head) // 4:
        little = head[1::2].count(0) > head[::2].count(0)
        return _strictly(name, data, "utf-16-le" if little else "utf-16-be"), ()
    if b"\x00" in head:
        raise CannotRead(
            f"{name}: it is not a table but a binary file; save the records as CSV, XLSX, ODS or Parquet."
        )
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        return _older(data, error.start)
    return "utf-8", ()


def _strictly(name: str, data: bytes, encoding: str) -> str:
    try:
        data.decode(encoding)
    except UnicodeDecodeError as error:
        raise CannotRead(
            f"{name}: it begins as {encoding} text but byte {error.start:,} does not fit; save it again as UTF-8."
        ) from None
    return encoding


def _older(data: bytes, odd: int) -> tuple[str, tuple[Remark, ...]]:
    """The likeliest encoding by the text around the first byte that is no UTF-8; Windows-1252 for western ones."""
    from charset_normalizer import from_bytes

    best = from_bytes(data[max(0, odd - 50_000) : odd + 50_000]).best()
    encoding = "cp1252" if best is None or best.encoding in WESTERN else best.encoding
    problem = f"the file is not UTF-8; it was read as {encoding}"
    remedy = "look whether accented letters came out right; if not, save the file again as UTF-8"
    return encoding, (Remark("", problem, remedy),)

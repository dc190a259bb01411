"""Collections that are sent page by page: whether all their pages are there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from neonatal_stats.season.finding import CannotRead


@dataclass(frozen=True)
class Page:
    """What a page says of its collection: how many messages and pages there are, its own number, how many it holds."""

    file: str
    items: int | None
    pages: int | None
    number: int | None
    held: int
    has_next: bool


def pages_of(file: str, content: object) -> Iterator[Page]:
    """The pages in a file: a collection itself, or several under names of their own."""
    held = [content, *(content.values() if isinstance(content, dict) else ())]
    for each in held:
        if not isinstance(each, dict) or not isinstance(each.get("view"), dict):
            continue
        view, member = each["view"], each.get("member")
        yield Page(
            file,
            _count(view.get("totalItems")),
            _count(view.get("totalPages")),
            _count(view.get("currentPage")),
            len(member) if isinstance(member, list) else 0,
            bool(view.get("next")),
        )


def check_pages(pages: Sequence[Page]) -> None:
    """Refuse a collection of which pages are missing.

    Pages that give the same totals belong together; a page number that stands twice stands for two collections.
    """
    together: dict[tuple[int | None, int | None], list[Page]] = {}
    for page in pages:
        together.setdefault((page.items, page.pages), []).append(page)
    for (items, total), some in together.items():
        times = max(Counter(page.number for page in some if page.number is not None).values(), default=1)
        held = sum(page.held for page in some)
        numbers = {page.number for page in some if page.number is not None}
        if items is not None:
            whole = held >= items * times
        elif total is not None:
            whole = max(len(numbers), len(some) // times) >= total
        else:
            whole = len(some) > 1 or not some[0].has_next
        if not whole:
            raise CannotRead(_missing(some, held, items, total))


def _count(value: object) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def _missing(pages: Sequence[Page], held: int, items: int | None, total: int | None) -> str:
    names = ", ".join(dict.fromkeys(page.file for page in pages[:4]))
    many = f"{held:,} of {items:,} messages are here" if items is not None else "a next page is named in it"
    of = f" ({len(pages)} of {total} pages)" if total else ""
    return f"{names}: {many}{of}; fetch the other pages too and give all their files together."

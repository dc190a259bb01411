"""A real browser for the page: Debian's headless Chromium, driven by playwright.

One browser serves all pages of a file of tests, or of the files that share the demo reviews, each in a context of its
own that knows nothing of the others; `conftest.py` ends it after the last of them.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import pytest

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def program() -> str:
    """The Chromium of this machine; without one the test is skipped."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if found is None:
        pytest.skip("no Chromium is installed: apt-get install chromium opens the browser tests")
    return found


@contextmanager
def opened(
    page_file: Path, *, width: int = 1100, height: int = 900, script: bool = True, dark: bool = False
) -> Iterator[tuple[Any, list[str], list[str]]]:
    """The page opened from disk; yields (page, requests, console errors)."""
    with _running().new_context(
        viewport={"width": width, "height": height},
        java_script_enabled=script,
        color_scheme="dark" if dark else "light",
    ) as context:
        page = context.new_page()
        requests: list[str] = []
        errors: list[str] = []
        page.on("request", lambda request: requests.append(request.url))
        page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.goto(page_file.as_uri())
        yield page, requests, errors


_begun = ExitStack()
"""What is to be ended with the browser: its program and whoever drives it."""
_browsers: list[Any] = []


def _running() -> Any:
    """The browser that runs; begun where none does."""
    from playwright.sync_api import sync_playwright

    if not _browsers or not _browsers[0].is_connected():
        end()
        playwright = _begun.enter_context(sync_playwright())
        browser = playwright.chromium.launch(executable_path=program(), args=FLAGS)
        _browsers.append(_begun.enter_context(browser))
    return _browsers[0]


def end() -> None:
    """End the browser, where one runs."""
    _browsers.clear()
    _begun.close()


UNFOLD = "document.querySelectorAll('details').forEach(fold => fold.open = true)"

TEXTS = """() => {
  const found = [], walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode, range = document.createRange();
    range.selectNodeContents(node);
    const box = range.getBoundingClientRect();
    const holder = node.parentElement;
    const shown = box.right > 0 && holder.checkVisibility() && !holder.closest('title');
    if (node.textContent.trim() && shown) {
      found.push({words: node.textContent, top: box.top, drawn: holder.closest('svg') !== null});
    }
  }
  return found;
}"""


def words_seen(page: Any) -> list[str]:
    """The words that stand on a page as it is folded, without the letters of its figures."""
    return [word for text in page.evaluate(TEXTS) if not text["drawn"] for word in text["words"].split()]


def numbers_above(page: Any, height: int) -> list[str]:
    """The numbers on the first screen of this height, those in figures with them."""
    texts = [text["words"] for text in page.evaluate(TEXTS) if text["top"] < height]
    return re.findall(r"\d[\d.,\u202f]*", " ".join(texts))

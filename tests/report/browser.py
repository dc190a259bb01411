"""A real browser for the page: Debian's headless Chromium, driven by playwright."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

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


@contextmanager
def opened(page_file: Path, *, width: int = 1100, height: int = 900, script: bool = True) -> Iterator[object]:
    """The page opened from disk; yields (page, requests, console errors)."""
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None:
        pytest.skip("no Chromium is installed: apt-get install chromium opens the browser tests")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=FLAGS)
        context = browser.new_context(viewport={"width": width, "height": height}, java_script_enabled=script)
        page = context.new_page()
        requests: list[str] = []
        errors: list[str] = []
        page.on("request", lambda request: requests.append(request.url))
        page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.goto(page_file.as_uri())
        yield page, requests, errors
        browser.close()

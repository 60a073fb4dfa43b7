"""What all tests share: the browser, and this folder on the path so that tests can import the builders beside it."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


def browser_path() -> str | None:
    """Return an installed Chromium, or None."""
    names = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
    return next((found for name in names if (found := shutil.which(name))), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Yield a Chromium; without one the test is skipped, or fails where ROUNDPLAN_BROWSER=required."""
    path = browser_path()
    if path is None:
        if os.environ.get("ROUNDPLAN_BROWSER") == "required":
            pytest.fail("no Chromium on the path, but ROUNDPLAN_BROWSER=required")
        pytest.skip("no Chromium on the path")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield found
        found.close()


@pytest.fixture
def open_offline(browser: Any, tmp_path: Path) -> Iterator[Callable[..., Any]]:
    """Yield a function that opens a page with the network blocked.

    At the end the test fails if a page asked for anything outside itself, raised an error or wrote to the console.
    """
    opened: list[Any] = []
    asked: list[str] = []
    errors: list[str] = []

    def open_page(html: str, *, width: int = 1000, height: int = 800) -> Any:
        file = tmp_path / f"page{len(opened)}.html"
        file.write_text(html, encoding="utf-8")
        page = browser.new_page(viewport={"width": width, "height": height})
        opened.append(page)

        def route(request_route: Any) -> None:
            url = request_route.request.url
            if url == file.as_uri() or url.startswith("data:"):
                request_route.continue_()
            else:
                asked.append(url)
                request_route.abort()

        page.route("**/*", route)
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
        page.on("dialog", lambda dialog: (errors.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        page.goto(file.as_uri())
        return page

    yield open_page
    for page in opened:
        page.close()
    assert asked == [], "the page asked for something outside itself"
    assert errors == [], "the page raised an error"

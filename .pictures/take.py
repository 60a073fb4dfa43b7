"""Take the pictures of README.md anew: ``python .pictures/take.py outputs/demo`` (the test extra and a Chromium)."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

HERE = Path(__file__).parent
WIDTH = 1000
ARGUMENTS = ["--no-sandbox", "--disable-gpu"]


def take_map(browser: Browser, folder: Path) -> None:
    """Show the trips of the first crew only, so that a small picture stays readable."""
    page = browser.new_page(viewport={"width": WIDTH, "height": 1250})
    page.goto((folder / "map.html").as_uri())
    for crew in page.locator("input[name=crew]").all()[1:]:
        crew.uncheck()
    page.locator(".map-frame").screenshot(path=HERE / "map.png")


def take_report(browser: Browser, folder: Path) -> None:
    """Show what the plan reaches, from the top."""
    page = browser.new_page(viewport={"width": WIDTH, "height": 1030})
    page.goto((folder / "report.html").as_uri())
    page.screenshot(path=HERE / "report.png")


def main(folder: Path) -> None:
    """Take both pictures from a written plan."""
    path = shutil.which("chromium") or shutil.which("google-chrome")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        take_map(browser, folder.resolve())
        take_report(browser, folder.resolve())
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))

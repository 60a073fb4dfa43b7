"""Pages in a real browser: narrow screens, no network, hostile names, one side of A4."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from html_reading import hostile_pages, read_page, sample_pages
from html_sample import CONTACTS, sample_plan, sample_round

from roundplan.domain.role import Paper
from roundplan.handouts.facility import sheet as facility_sheet
from roundplan.handouts.marking import Changes, Seen, marking
from roundplan.handouts.paper import printed_on
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.sheets import release
from roundplan.handouts.slips import page as slip_page
from roundplan.handouts.speech import LANGUAGES, NUMBER_WORDS, speaking

FACILITIES = [facility.code for facility in sample_round().facilities]


def overflow(page: Any) -> int:
    width: int = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return width


@pytest.mark.parametrize("pages", [sample_pages, hostile_pages], ids=["plain", "hostile"])
def test_no_page_scrolls_sideways_on_a_phone(
    open_offline: Callable[..., Any], pages: Callable[[], dict[str, str]]
) -> None:
    for name, html in pages().items():
        page = open_offline(html, width=360)  # a small phone's width in CSS pixels (common practice, no source)
        assert overflow(page) <= 0, name
        assert page.evaluate("document.scripts.length") == 0
        assert page.title() != "broken"
        page.close()


def test_the_timeline_scrolls_in_a_box_of_its_own(open_offline: Callable[..., Any]) -> None:
    page = open_offline(sample_pages()["report"], width=360)
    box = page.locator(".timeline").first
    assert box.evaluate("e => e.scrollWidth > e.clientWidth")
    assert box.get_attribute("tabindex") == "0"


def test_rows_restack_on_a_phone_with_their_headings(open_offline: Callable[..., Any]) -> None:
    page = open_offline(sample_pages()["crew NORTH"], width=360)
    cell = page.locator("table.stack td").first
    assert cell.evaluate("e => getComputedStyle(e).display") == "block"
    assert "Reach" in cell.evaluate("e => getComputedStyle(e, '::before').content")


PAPERS = {Paper.A4: (595.28, 841.89), Paper.LETTER: (612, 792)}
"""Points: A4 is 210 × 297 mm (ISO 216), US letter 8.5 × 11 inches (ANSI/ASME Y14.1)."""


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("language", LANGUAGES)
def test_a_facilitys_sheet_is_one_side_of_the_rounds_paper(
    open_offline: Callable[..., Any], paper: Paper, language: str
) -> None:
    with printed_on(paper), speaking(language):
        pages = {f: facility_sheet.render(sample_plan(), sample_round(), f, contacts=CONTACTS) for f in FACILITIES}
    for html in pages.values():
        content = open_offline(html).pdf(prefer_css_page_size=True)
        assert len(re.findall(rb"/Type\s*/Page\b(?!s)", content)) == 1
        box = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", content)
        assert box is not None
        assert [float(side) for side in box.groups()] == pytest.approx(PAPERS[paper], abs=1)


SENTENCES = tuple(f"Team {n}: {'somebody with a long name, ' * 4}comes, no longer {n}." for n in range(1, 13))


@pytest.mark.parametrize("kind", ["facility", "slip", "letter"])
def test_a_changed_sheet_is_one_side_still(open_offline: Callable[..., Any], kind: str) -> None:
    """Every row is marked and the list is long: what the sheet has no room for is counted, not left out in silence."""
    index, code = PlanIndex(sample_plan(), sample_round()), sample_round().facilities[0].code
    with marking(Changes(since=1, lines=SENTENCES, before=Seen())):
        page = {
            "facility": lambda: facility_sheet.render(index.plan, index.training_round, code, contacts=CONTACTS),
            "slip": lambda: slip_page.render(index, code, contacts=CONTACTS),
            "letter": lambda: release.render(index, code, contacts=CONTACTS),
        }[kind]()
    content = open_offline(page).pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", content)) == 1
    said = read_page(page).text
    shown = sum(sentence in said for sentence in SENTENCES)
    left = re.search(r"(\w+) further changes?, marked below", said)
    counted = NUMBER_WORDS.index(left[1].lower()) if left else 0
    assert shown + counted == len(SENTENCES)
    assert "» new" in said

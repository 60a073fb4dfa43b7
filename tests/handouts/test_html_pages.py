"""What every page has in common: hostile names stay text, nothing is fetched, the outline is in order."""

from __future__ import annotations

import dataclasses
import re
from itertools import pairwise
from pathlib import Path

import pytest
from html_reading import Page, hostile_pages, read_page, sample_pages
from html_sample import HOSTILE, PRIVATE_PHONES, hostile_plan, hostile_round, sample_plan, sample_round

import roundplan.handouts
from roundplan.handouts import report
from roundplan.handouts.facility import sheet as facility_sheet
from roundplan.handouts.page import breakable, printable

NAMES = list(sample_pages())
TAGS = {
    "html",
    "head",
    "meta",
    "title",
    "style",
    "body",
    "header",
    "main",
    "footer",
    "nav",
    "section",
    "aside",
    "div",
    "p",
    "h1",
    "h2",
    "h3",
    "ul",
    "ol",
    "li",
    "a",
    "b",
    "strong",
    "span",
    "bdi",
    "table",
    "caption",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
    "svg",
    "desc",
    "g",
    "line",
    "rect",
    "text",
    "tspan",
    "polyline",
    "path",
}


@pytest.fixture(scope="module")
def pages() -> dict[str, Page]:
    return {name: read_page(html) for name, html in sample_pages().items()}


@pytest.fixture(scope="module")
def hostile() -> dict[str, Page]:
    return {name: read_page(html) for name, html in hostile_pages().items()}


@pytest.mark.parametrize("name", NAMES)
def test_hostile_names_stay_text(name: str, hostile: dict[str, Page], pages: dict[str, Page]) -> None:
    page = hostile[name]
    tags = [tag for tag, _ in page.tags if tag != "wbr"]  # where a long word may break
    assert set(tags) <= TAGS
    assert not [key for _, attributes in page.tags for key in attributes if key.startswith("on")]
    assert tags == [tag for tag, _ in pages[name].tags], "a name changed the page's structure"
    assert HOSTILE[2] in page.text


def test_every_hostile_text_is_printed_as_it_is(hostile: dict[str, Page]) -> None:
    together = " ".join(page.text for page in hostile.values())
    assert [text for text in HOSTILE if text not in together] == []


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_fetched_or_run(name: str, pages: dict[str, Page]) -> None:
    links = [a.get("href") or a.get("src") for _, a in pages[name].tags if "href" in a or "src" in a]
    assert all(link is not None and re.fullmatch(r"#.*|tel:\+?[0-9]{3,15}", link) for link in links)
    assert re.search(r"url\(|@import|https?://(?!www\.w3\.org/2000/svg)", sample_pages()[name]) is None


@pytest.mark.parametrize("name", NAMES)
def test_outline_language_and_labels(name: str, pages: dict[str, Page]) -> None:
    page = pages[name]
    assert dict(page.tags)["html"]["lang"] == "en"
    assert page.headings[0] == 1
    assert page.headings.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(page.headings))
    ids = [a["id"] for _, a in page.tags if "id" in a]
    assert len(ids) == len(set(ids))
    anchors = {(a["href"] or "")[1:] for tag, a in page.tags if tag == "a" and "tel:" not in (a["href"] or "")}
    assert anchors <= set(ids)
    for tag, attributes in page.tags:
        assert "aria-labelledby" not in attributes or set((attributes["aria-labelledby"] or "").split()) <= set(ids), (
            tag
        )


def test_no_page_but_the_managers_own_shows_a_phone_of_staff(pages: dict[str, Page]) -> None:
    for name, page in pages.items():
        assert [phone for phone in PRIVATE_PHONES if phone in page.text] == [], name
    assert "+000" not in pages["report"].text
    assert "+000 10 001" in pages["facility TUW"].text
    assert "+000 20 001" not in pages["facility TUW"].text
    assert "+000 20 004" in pages["trainer TR1"].text


def test_a_page_names_the_version_it_is_given() -> None:
    html = facility_sheet.render(sample_plan(), sample_round(), "TUW", version=2)
    assert "version 2, draft" in read_page(html).text
    announced = dataclasses.replace(sample_plan(), status="announced")
    assert "version 3." in read_page(facility_sheet.render(announced, sample_round(), "TUW")).text


def test_marks_that_reverse_the_reading_order_are_taken_out() -> None:
    assert printable("a\u202eb\x00c\x1b") == "abc"


def test_a_word_too_long_for_a_column_may_break_and_stays_text() -> None:
    assert breakable("Lughano Mkandawire-Hope, surgical provider") == "Lughano Mkandawire-Hope, surgical provider"
    assert breakable(f"a {'b' * 40} <i>") == f"a {'b' * 16}<wbr>{'b' * 16}<wbr>{'b' * 8} &lt;i&gt;"
    assert "<b" not in breakable("<b>" * 12)


def test_no_template_turns_escaping_off() -> None:
    templates = Path(roundplan.handouts.__file__).parent / "templates"
    assert all("|safe" not in f.read_text(encoding="utf-8").replace(" ", "") for f in templates.glob("*.j2"))


def test_the_same_plan_gives_the_same_report() -> None:
    assert report.render(hostile_plan(), hostile_round()) == report.render(hostile_plan(), hostile_round())


def _luminance(colour: str) -> float:
    """Relative luminance as in WCAG 2.2 (W3C Recommendation, from memory)."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("ink", ["ink", "blue", "soft", "rust"])
@pytest.mark.parametrize("paper", ["paper", "sheet"])
def test_text_colours_keep_the_contrast_of_wcag_aa(ink: str, paper: str) -> None:
    style = (Path(roundplan.handouts.__file__).parent / "templates" / "style.css").read_text(encoding="utf-8")
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", style))
    light, dark = sorted((_luminance(colours[ink]), _luminance(colours[paper])), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5  # WCAG 2.2, success criterion 1.4.3 (from memory)

"""Report, summary, labels and map in a real browser without a network: paper, phones, contrast, hostile names."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from typing import Any

import pytest
from html_sample import HOSTILE, hostile_plan, hostile_round, sample_plan, sample_round
from report_facts import parsed

from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts import maps, report
from roundplan.handouts.report import summary
from roundplan.handouts.store import labels

Opener = Callable[..., Any]
RENDERERS = {"report": report.render, "summary": summary.render, "labels": labels.render, "map": maps.render}

PAPERS = {"A4": (595.28, 841.89), "Letter": (612, 792)}
"""Points: ISO 216, and 8.5 × 11 inches (ANSI/ASME Y14.1)."""

CONTRAST = """
() => {
  const parts = text => (text.match(/[\\d.]+/g) || []).map(Number);
  const linear = c => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  const light = ([r, g, b]) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  const ratio = (a, b) => (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  const behind = node => {
    for (let e = node; e; e = e.parentElement) {
      const [r, g, b, a = 1] = parts(getComputedStyle(e).backgroundColor);
      if (a === 1 && r !== undefined) { return [r, g, b]; }
    }
    return [255, 255, 255];
  };
  const low = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const e = walker.currentNode.parentElement;
    const unseen = e.closest("script, style, title, desc, button:disabled") || !e.checkVisibility();
    if (unseen || !walker.currentNode.data.trim()) { continue; }
    const style = getComputedStyle(e), drawn = e.closest("svg");
    const dark = drawn && e.previousElementSibling && e.previousElementSibling.getAttribute("fill") === "#1d2733";
    const front = parts(drawn ? style.fill : style.color), back = dark ? [29, 39, 51] : behind(e);
    const size = parseFloat(style.fontSize), large = size >= 24 || (size >= 18.66 && style.fontWeight >= 700);
    const found = ratio(light(front), light(back));
    if (found < (large ? 3 : 4.5)) { low.push([e.tagName, walker.currentNode.data.trim().slice(0, 40), found]); }
  }
  return low;
}
"""
"""Text whose contrast is under that of WCAG 2.2, 1.4.3, level AA: 4.5, or 3 for large text."""


@pytest.mark.parametrize("name", RENDERERS)
def test_contrast_is_that_of_level_aa(open_offline: Opener, name: str) -> None:
    assert open_offline(RENDERERS[name](sample_plan(), sample_round())).evaluate(CONTRAST) == []


def test_the_contrast_test_finds_pale_text(open_offline: Opener) -> None:
    page = open_offline("<p style='color:#888'>pale</p><p style='color:#767676'>just enough</p>")
    assert [text for _, text, _ in page.evaluate(CONTRAST)] == ["pale"]  # 3.54 and 4.54 on white


def luminance(colour: str) -> float:
    """Return the relative luminance of ``#rrggbb`` (WCAG 2.2)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    a, b = sorted((luminance(one), luminance(other)))
    return (b + 0.05) / (a + 0.05)


def test_lines_and_bars_stand_out_from_what_is_behind() -> None:
    """Parts of a drawing need 3:1 (WCAG 2.2, 1.4.11)."""
    page = maps.render(sample_plan(), sample_round())
    land = "#efe9dc"
    strokes = re.findall(r"\[data-lines=\w+\] \.[\w-]+ \{ stroke: (#\w{6})", page)
    crews = re.findall(r'"color": "(#\w{6})"', page.split("geo_json")[-1]) or ["#1c3f6b", "#9a3b1b"]
    assert len(strokes) == 9
    assert [colour for colour in (*strokes, *crews) if contrast(colour, land) < 3] == []
    edges = set(re.findall(r'<rect [^>]*stroke="(#\w{6})"', report.render(sample_plan(), sample_round())))
    assert edges
    assert [colour for colour in edges if contrast(colour, "#fbf9f4") < 3] == []


def many_districts() -> tuple[Plan, TrainingRound]:
    """Return the sample with each facility in a district of its own and twenty more that send nobody."""
    r = sample_round()
    more = tuple(
        dataclasses.replace(r.facilities[3], code=f"X{n}", name=f"Rural Hospital of the River Number {n}",
                            district=f"District {n}") for n in range(20)
    )  # fmt: skip
    return sample_plan(), r.replace(facilities=(*r.facilities, *more))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("made", [lambda: (sample_plan(), sample_round()), many_districts], ids=["few", "many"])
def test_the_summary_is_one_page(open_offline: Opener, paper: str, made: Callable[[], Any]) -> None:
    content = open_offline(summary.render(*made())).pdf(format=paper)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", content)) == 1


@pytest.mark.parametrize("paper", PAPERS)
def test_ten_labels_a_page_on_either_paper(open_offline: Opener, paper: str) -> None:
    page = open_offline(labels.render(sample_plan(), sample_round()))
    made = page.locator(".labels li").count()
    assert made == 11  # three trips: four box models, three consumables, four loads
    content = page.pdf(format=paper)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", content)) == 2


@pytest.mark.parametrize("name", ["summary", "labels", "map"])
def test_no_page_scrolls_sideways_on_a_phone(open_offline: Opener, name: str) -> None:
    page = open_offline(RENDERERS[name](hostile_plan(), hostile_round()), width=360)
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0
    assert page.title() != "broken"


@pytest.mark.parametrize("name", RENDERERS)
@pytest.mark.parametrize("made", [(sample_plan, sample_round), (hostile_plan, hostile_round)], ids=["plain", "hostile"])
def test_pages_are_valid_html(name: str, made: tuple[Callable[[], Any], Callable[[], Any]]) -> None:
    plan, training_round = made[0](), made[1]()
    tree = parsed(RENDERERS[name](plan, training_round))
    ids = [element.get("id") for element in tree.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    for element in tree.iter():
        assert set((element.get("aria-labelledby") or "").split()) <= set(ids)
        assert not [key for key in element.attrib if key.startswith("on")]
    assert sum(element.tag == "h1" for element in tree.iter()) == 1


def test_hostile_names_are_text_on_summary_and_labels() -> None:
    text = "".join(parsed(summary.render(hostile_plan(), hostile_round())).itertext())
    assert HOSTILE[0] in text  # a district
    assert HOSTILE[2] in text  # the round
    text = "".join(parsed(labels.render(hostile_plan(), hostile_round())).itertext())
    assert all(hostile in text for hostile in HOSTILE[:3])  # three items


@pytest.mark.parametrize("name", RENDERERS)
def test_two_runs_give_the_same_page(name: str) -> None:
    assert RENDERERS[name](sample_plan(), sample_round()) == RENDERERS[name](sample_plan(), sample_round())


@pytest.mark.parametrize("name", RENDERERS)
def test_an_empty_plan_has_all_pages(name: str) -> None:
    text = "".join(parsed(RENDERERS[name](Plan(round_name="Empty"), sample_round())).itertext())
    assert "Empty" in text


def test_charts_say_and_draw_their_figures(open_offline: Opener) -> None:
    page = open_offline(report.render(sample_plan(), sample_round()))
    charts = page.locator("svg.bars-svg").all()
    assert len(charts) == 4
    for chart in charts:
        assert chart.get_attribute("role") == "img"
        assert chart.locator("title").first.text_content()
        assert chart.locator("desc").text_content()
        section = chart.locator("xpath=ancestor::section")
        assert section.locator("table").count() >= 1

    bars = page.locator("svg.bars-svg:has-text('Planned cost by line') rect").all()[1:]
    widths = [float(bar.get_attribute("width")) for bar in bars]
    planned = [89_300 + 90_000, 100_000, 1_250, 14_027.5]  # crew travel, participants, consumables, contingency
    assert widths == pytest.approx([344 * amount / 300_000 for amount in planned], abs=0.06)  # the longest is a budget

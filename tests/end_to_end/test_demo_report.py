"""Report, summary, map and labels of the demo round say what plan.json says."""

from __future__ import annotations

from pathlib import Path

from content_model import content_model_faults
from report_facts import Facts, parsed
from written_plans import Written


def test_pages_of_the_demo_say_what_the_plan_says(demo: Written) -> None:
    assert Facts(demo.plan, demo.training_round).faults() == []


def test_every_page_of_the_folder_is_valid_html(demo: Written) -> None:
    pages = demo.pages()
    assert len(pages) > 20
    for page in pages.values():
        parsed(page)


def test_no_page_of_the_folder_breaks_the_content_model(demo: Written, tmp_path: Path) -> None:
    assert content_model_faults(demo.pages(), tmp_path) == []


def test_the_files_are_those_pages(demo: Written) -> None:
    names = {path.name for path in demo.out.iterdir()}
    assert {"report.html", "summary.html", "map.html", "labels.html", "supplies.xlsx"} <= names

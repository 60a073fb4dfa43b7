"""No page puts an element where HTML does not allow it, in any language, with any names."""

from __future__ import annotations

from pathlib import Path

from content_model import content_model_faults
from html_reading import all_pages
from html_sample import hostile_plan, hostile_round, sample_plan, sample_round

from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts import maps
from roundplan.handouts.report import summary
from roundplan.handouts.speech import LANGUAGES, speaking
from roundplan.handouts.store import labels


def every_kind(plan: Plan, training_round: TrainingRound) -> dict[str, str]:
    """Return pages of all kinds by name."""
    more = {"map": maps.render, "summary": summary.render, "labels": labels.render}
    return {**all_pages(plan, training_round), **{name: render(plan, training_round) for name, render in more.items()}}


def test_pages_of_every_kind_in_every_language_and_with_hostile_names(tmp_path: Path) -> None:
    pages = {f"hostile/{name}.html": page for name, page in every_kind(hostile_plan(), hostile_round()).items()}
    for language in LANGUAGES:
        with speaking(language):
            made = every_kind(sample_plan(), sample_round())
        assert all(f'<html lang="{language}"' in page for page in made.values())
        pages.update({f"{language}/{name}.html": page for name, page in made.items()})
    assert len(pages) == 5 * len(made) >= 100
    assert content_model_faults(pages, tmp_path) == []


def test_a_fault_is_found(tmp_path: Path) -> None:
    page = "<!DOCTYPE html>\n<html lang='en'><head><title>x</title></head><body>{}</body></html>\n"
    bad = {
        "button in a link": "<a href='#x'><button type='button'>x</button></a>",
        "list": "<ul><p>x</p></ul>",
        "id twice": "<p id='x'>1</p><p id='x'>2</p>",
        "role": "<p role='widget'>x</p>",
    }
    pages = {f"{name}.html": page.format(body) for name, body in bad.items()}
    found = content_model_faults(pages, tmp_path)
    assert {fault.partition(".html")[0] for fault in found} == set(bad)

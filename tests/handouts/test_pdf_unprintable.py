"""Names that cannot be printed are said before anything is planned."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from html_sample import sample_round
from rounds import tiny_round

from roundplan.handouts.pdf.unprintable import unprintable_lines
from roundplan.intake import write_round
from roundplan.workflow import check_inputs


def test_names_of_every_table_are_looked_at() -> None:
    plain = sample_round()
    assert list(unprintable_lines(plain)) == []
    people = (dataclasses.replace(plain.people[0], name="Anda 中"), *plain.people[1:])
    cases = (dataclasses.replace(plain.cases[0], stop_rule="Ends 🚑"), *plain.cases[1:])
    changed = plain.replace(people=people, cases=cases)
    first, second = unprintable_lines(changed)
    assert first.startswith(f"staff, {people[0].code}, name, “Anda 中”: the fonts for print lack some")
    assert "[U+4E2D]" in first
    assert second.startswith(f"cases, {cases[0].code}, stop_rule, “Ends 🚑”")


def test_scripts_that_fonts_cover_are_no_warning() -> None:
    plain = sample_round()
    names = ("مستشفى الأمل", "አዲስ አበባ", "क्षितिज", "Ñandú ŋɔ́", "ߒߞߏ", "ⵜⴰⵎⴰⵣⵉⵖⵜ", "สวัสดี")
    people = tuple(dataclasses.replace(p, name=n) for p, n in zip(plain.people, names, strict=False))
    assert list(unprintable_lines(plain.replace(people=(*people, *plain.people[len(names) :])))) == []


def test_check_tells_of_them_among_the_warnings(tmp_path: Path) -> None:
    plain = tiny_round()
    places = (dataclasses.replace(plain.places[0], name="Store 中"), *plain.places[1:])
    write_round(plain.replace(places=places), tmp_path)
    checked = check_inputs(tmp_path)
    assert checked.findings == ()
    assert [line for line in checked.warnings if "Store 中" in line and "[U+4E2D]" in line]

"""Attendance forms: everybody and everything of a session, locked but for the cells to fill in, and read back."""

from __future__ import annotations

import io
from typing import Any

import openpyxl
import pytest
from html_sample import HOSTILE, hostile_plan, hostile_round
from openpyxl.utils import range_boundaries
from planned_rounds import phones, planned
from python_calamine import CalamineWorkbook

from roundplan.attendance.form import Choices
from roundplan.attendance.layout import FIRST_ROW, KEY_ROW, LISTS_SHEET, MARKS_SHEET, ROUND, Column, Part
from roundplan.attendance.reading import NotAForm, Returned, cell_text, read_form, row_code
from roundplan.domain.held import session_keys, split_key, team_key
from roundplan.domain.supply import ItemKind
from roundplan.handouts.attendance import workbook
from roundplan.handouts.attendance.forms import office_form, session_form
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import LANGUAGES, speaking


def read(content: bytes) -> Returned:
    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    return read_form({n: book.get_sheet_by_name(n).to_python(skip_empty_area=False) for n in book.sheet_names})


def text_of(content: bytes) -> str:
    cells = (cell for sheet in openpyxl.load_workbook(io.BytesIO(content)) for row in sheet.values for cell in row)
    return "\n".join(str(cell) for cell in cells if cell is not None)


@pytest.mark.parametrize("name", ["sample", "eight facilities"])
def test_a_form_has_every_seat_slot_and_item_of_its_session(name: str) -> None:
    index = planned(name)
    for session in index.plan.sessions:
        form = read(workbook.render_session(index, session.code))
        assert (form.session, form.version) == (session_keys(index.plan)[session.code], index.plan.version)
        assert split_key(form.session) == (session.venue, session.dates[0].isoformat())
        rows = {part: [row for row in form.rows if row.part is part] for part in Part}
        seats = [(team_key(t), s.role.value, s.person) for t in index.teams_of_session(session.code) for s in t.seats]
        assert [row.code for row in rows[Part.PEOPLE]] == seats
        assert [row.cells[Column.NAME] for row in rows[Part.PEOPLE]] == [index.name(person) for *_, person in seats]
        slots = {(s.date.isoformat(), str(s.station), str(s.number)) for s in session.slots}
        assert {row.code for row in rows[Part.SLOTS]} == slots
        assert len(rows[Part.SLOTS]) == len(session.slots)
        assert [row.code for row in rows[Part.DATES]] == [(day.isoformat(),) for day in session.dates]
        per = [
            i.code for i in index.training_round.items if i.kind is ItemKind.CONSUMABLE and i.per.value == "simulation"
        ]
        assert {(code,) for code in per} <= {row.code for row in rows[Part.KIT]}


@pytest.mark.parametrize("name", ["sample", "eight facilities"])
def test_a_form_names_nobody_of_other_facilities_and_no_telephone(name: str) -> None:
    index = planned(name)
    contacts = phones(index)
    for session in index.plan.sessions:
        text = text_of(workbook.render_session(index, session.code))
        home = {index.home(s.person) for t in index.teams_of_session(session.code) for s in t.seats}
        told = {p.facility for p in index.training_round.people if p.name in text}
        assert told <= home
        assert [who for who, contact in contacts.items() if contact.phone in text] == []


def test_only_the_cells_to_fill_in_are_open_and_their_lists_lead_somewhere() -> None:
    index = planned("sample")
    form = session_form(index, "S1")
    book = openpyxl.load_workbook(io.BytesIO(workbook.render_session(index, "S1")))
    lists = book[LISTS_SHEET]
    assert [sheet.title for sheet in book if sheet.sheet_state == "hidden"] == [LISTS_SHEET, MARKS_SHEET]
    for layout in form.sheets:
        sheet = book[layout.name]
        assert sheet.protection.sheet
        keys = {sheet.cell(KEY_ROW, column).value: column for column in range(1, sheet.max_column + 1)}
        assert sheet.row_dimensions[KEY_ROW].hidden
        listed: dict[str, tuple[str, ...]] = {}
        for rule in sheet.data_validations.dataValidation:
            _, top, _, bottom = range_boundaries(rule.formula1.partition("!")[2])
            column = range_boundaries(rule.formula1.partition("!")[2])[0]
            labels = tuple(str(lists.cell(row, column).value) for row in range(top, bottom + 1))
            for area in rule.sqref.ranges:
                listed.update({sheet.cell(r, c).coordinate: labels for r, c in area.cells})
        for number, row in enumerate(layout.rows, start=FIRST_ROW):
            for column in layout.columns:
                cell = sheet.cell(number, keys[column])
                assert cell.protection.locked is (column not in row.open), (layout.name, cell.coordinate)
                choices = row.choices.get(column, Choices(())).offered
                assert listed.get(cell.coordinate, ()) == tuple(label for label, _ in choices)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_can_be_read_back_and_every_answer_has_its_code(language: str) -> None:
    index = planned("sample")
    with speaking(language):
        for made, form in (
            (workbook.render_session(index, "S1"), session_form(index, "S1")),
            (workbook.render_office(index), office_form(index)),
        ):
            back = read(made)
            assert back.language == language
            assert {row.code for row in back.rows} <= {row.code for sheet in form.sheets for row in sheet.rows}
            for sheet in form.sheets:
                assert len(sheet.name) <= 31
                for row in sheet.rows:
                    for choices in row.choices.values():
                        codes = [(label, choices.code_of(label.upper())) for label, _ in choices.offered]
                        assert codes == list(choices.offered)


def test_a_form_is_the_same_every_time_and_knows_its_version() -> None:
    index = planned("sample")
    assert workbook.render_session(index, "S1") == workbook.render_session(index, "S1")
    assert workbook.render_office(index) == workbook.render_office(index)
    assert read(workbook.render_session(index, "S1", version=7)).version == 7
    assert read(workbook.render_office(index)).session == ROUND


def test_hostile_names_stay_text() -> None:
    index = PlanIndex(hostile_plan(), hostile_round())
    for content in (workbook.render_session(index, "S1"), workbook.render_office(index)):
        book = openpyxl.load_workbook(io.BytesIO(content))
        kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
        assert "f" not in kinds
        assert read(content).rows
    form = session_form(index, "S1")
    for row in (row for sheet in form.sheets for row in sheet.rows):
        for choices in row.choices.values():
            for label, code in choices.offered:
                assert choices.code_of(cell_text(label)) == code
    assert len(HOSTILE) > 3


@pytest.mark.parametrize(
    ("sheets", "words"),
    [
        ({}, "its hidden sheet is missing"),
        ({"roundplan": [], "names": []}, "this is a slip of replies"),
        ({MARKS_SHEET: [["layout", 1]]}, "this form lacks: round"),
        ({MARKS_SHEET: [["layout"], []]}, "this form has layout none"),
    ],
)
def test_what_is_no_form_is_refused(sheets: dict[str, list[list[Any]]], words: str) -> None:
    with pytest.raises(NotAForm, match=words):
        read_form(sheets)


@pytest.mark.parametrize("text", ["", "x", "{}", "[1]", '["a"', "[" * 5_000, '["' + "a" * 3_000 + '"]', "null"])
def test_a_code_that_cannot_be_read_is_none(text: str) -> None:
    assert row_code(text) == ()

"""A district's sheet, as a page and as a workbook."""

from __future__ import annotations

import io
from typing import Any

import pytest
from html_reading import read_page
from html_sample import CONTACTS, HOSTILE, hostile_plan, hostile_round, sample_plan, sample_round
from openpyxl import load_workbook

from roundplan.handouts.district import sheet as district_sheet
from roundplan.handouts.district import workbook as district_workbook
from roundplan.handouts.district.workbook import COVER_SHEET, HEAD_ROW, NAMES_SHEET, SEATS_SHEET


@pytest.fixture(scope="module")
def workbook() -> Any:
    return load_workbook(io.BytesIO(district_workbook.render(sample_plan(), sample_round(), "Kamzani")))


def rows(sheet: Any) -> list[dict[str, Any]]:
    heads = [cell.value for cell in sheet[HEAD_ROW]]
    return [dict(zip(heads, line, strict=True)) for line in sheet.iter_rows(min_row=HEAD_ROW + 1, values_only=True)]


def test_the_page_has_its_own_facilities_only() -> None:
    said = read_page(district_sheet.render(sample_plan(), sample_round(), "Lisamba", contacts=CONTACTS)).text
    names = {p.name for p in sample_round().people if p.name in said}
    assert {name.split()[-1] for name in names} == {"Phiri"}
    assert "Phonje Health Centre No team from here in this round" in said
    assert "+000 20 003" in said
    assert "+000 20 001" not in said
    assert "Reply (yes or no) Replaced by" in said


def test_one_row_a_seat_with_guest_and_swap(workbook: Any) -> None:
    seats = rows(workbook[SEATS_SHEET])
    assert len(seats) == 20  # two teams of KAM, two of TUW, five seats each
    guest = next(row for row in seats if row["Person code"] == "LUV10")
    assert guest["Name"] == "Jemu Phiri (guest from Luvanda Rural Hospital)"
    swap = next(row for row in seats if row["Person code"] == "TUW02")
    assert "has a day duty to swap" in swap["Notes"]
    assert {row["Reply (yes or no)"] for row in seats} == {None}


def test_cover_has_one_row_a_person_and_shift(workbook: Any) -> None:
    cover = rows(workbook[COVER_SHEET])
    expected = sum(len(c.named) for c in sample_plan().cover if c.facility in ("KAM", "TUW"))
    assert len(cover) == expected
    assert cover[0]["Date"].date().isoformat() == "2027-03-02"


@pytest.mark.parametrize("name", [SEATS_SHEET, COVER_SHEET])
def test_only_reply_cells_can_be_changed(workbook: Any, name: str) -> None:
    sheet = workbook[name]
    assert sheet.protection.sheet
    heads = [cell.value for cell in sheet[HEAD_ROW]]
    for row in sheet.iter_rows():
        for cell in row:
            reply = cell.row > HEAD_ROW and cell.column > len(heads) - 3
            assert cell.protection.locked is not reply, cell.coordinate


@pytest.mark.parametrize("name", [SEATS_SHEET, COVER_SHEET])
def test_every_reply_has_a_drop_down(workbook: Any, name: str) -> None:
    sheet = workbook[name]
    found = {v.formula1: v for v in sheet.data_validations.dataValidation}
    last = sheet.max_row
    for row in range(HEAD_ROW + 1, last + 1):
        reply, replaced = sheet.cell(row, sheet.max_column - 2), sheet.cell(row, sheet.max_column - 1)
        assert reply.coordinate in found['"yes,no"'].sqref
        staff = [v for v in found.values() if replaced.coordinate in v.sqref]
        assert [v.formula1.startswith(f"'{NAMES_SHEET}'!") for v in staff] == [True]


def test_names_to_choose_from_are_the_facilitys_own(workbook: Any) -> None:
    names = workbook[NAMES_SHEET]
    assert names.sheet_state == "hidden"
    column = [cell.value for cell in names["B"]]
    assert column[:2] == ["TUW", "Anda Zimba [TUW01]"]
    assert len(column) == 13  # code and twelve people


def test_hostile_text_is_no_formula() -> None:
    district = hostile_round().facilities[0].district
    content = district_workbook.render(hostile_plan(), hostile_round(), district)
    book = load_workbook(io.BytesIO(content))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)]
    assert {cell.data_type for cell in cells} == {"s"}
    texts = [cell.value for cell in cells]
    assert [text for text in HOSTILE[:2] if not any(text in cell for cell in texts)] == []
    starting = [cell for cell in cells if cell.value.startswith("=")]
    assert starting
    assert all(cell.quotePrefix for cell in starting)


def test_same_plan_same_bytes_and_a_district_without_teams() -> None:
    plan, r = sample_plan(), sample_round()
    assert district_workbook.render(plan, r, "Kamzani") == district_workbook.render(plan, r, "Kamzani")
    empty = load_workbook(io.BytesIO(district_workbook.render(plan, r, "Nowhere")))
    assert empty.sheetnames == [SEATS_SHEET, COVER_SHEET, NAMES_SHEET]

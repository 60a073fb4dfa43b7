from __future__ import annotations

import dataclasses
import datetime
import io
import time
import zipfile
from collections.abc import Callable
from datetime import date
from typing import Any

import openpyxl
import pandas as pd
import pytest
from html_sample import HOSTILE, hostile_plan, hostile_round, sample_plan, sample_round
from hypothesis import given, settings
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook

from roundplan.domain.plan import Plan
from roundplan.domain.role import Paper, Shift
from roundplan.handouts.manager import workbook as round_workbook
from roundplan.handouts.manager.frames import plan_frames
from roundplan.handouts.paper import printed_on
from roundplan.handouts.store import labels as label_page
from roundplan.handouts.store import workbook as supplies_workbook
from roundplan.handouts.xlsx import LONGEST_TEXT, put, save_bytes, write_table

RENDERERS = [round_workbook.render, supplies_workbook.render]


def reopened(content: bytes) -> dict[str, list[list[Any]]]:
    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    return {name: book.get_sheet_by_name(name).to_python() for name in book.sheet_names}


def column(sheet: list[list[Any]], head: str) -> list[Any]:
    return [row[sheet[0].index(head)] for row in sheet[1:]]


@pytest.fixture(scope="module")
def round_book() -> dict[str, list[list[Any]]]:
    return reopened(round_workbook.render(sample_plan(), sample_round()))


@pytest.fixture(scope="module")
def supplies_book() -> dict[str, list[list[Any]]]:
    return reopened(supplies_workbook.render(sample_plan(), sample_round()))


def test_the_round_workbook_has_its_sheets_and_rows(round_book: dict[str, list[list[Any]]]) -> None:
    assert list(round_book) == [
        "About", "Sessions", "Seats", "Slots", "Cover", "Legs", "Participants' journeys", "Trainers' days",
        "Supplies", "Costs", "Tiers", "Left out", "Budget", "Thin shifts", "To-do dates", "Defaults in force",
    ]  # fmt: skip
    plan = sample_plan()
    assert len(round_book["Seats"]) - 1 == sum(len(team.seats) for team in plan.teams)
    assert len(round_book["Cover"]) - 1 == sum(len(cover.named) for cover in plan.cover)
    assert column(round_book["Sessions"], "date") == [date(2027, 3, day) for day in (2, 4, 9)]
    assert column(round_book["Legs"], "depart")[0] == "06:45"
    assert column(round_book["Legs"], "arrive")[0] == "06:51"
    assert column(round_book["Left out"], "why")[1] == "the same two people would stay four shifts"
    assert column(round_book["Tiers"], "bound")[-1] == ""
    assert (column(round_book["Tiers"], "value")[-1], column(round_book["Tiers"], "unit")[-1]) == (294_577.5, "MWK")
    spent = dict(zip(column(round_book["Budget"], "line"), column(round_book["Budget"], "left"), strict=True))
    assert spent["participants"] == -20_000  # 80,000 budgeted, 100,000 planned
    assert any("Letters are out" in str(row[1]) for row in round_book["To-do dates"])
    assert any("common practice" in str(row) for row in round_book["Defaults in force"])


def test_money_is_in_units_of_the_currency_and_summed_by_a_formula(round_book: dict[str, list[list[Any]]]) -> None:
    amounts = column(round_book["Costs"], "amount")
    assert amounts[0] == 89_300
    book = openpyxl.load_workbook(io.BytesIO(round_workbook.render(sample_plan(), sample_round())))
    sheet = book["Costs"]
    last = 1 + len(sample_plan().costs)
    assert sheet.cell(last + 2, 6).value == f"=SUM(F2:F{last})"
    assert sheet.auto_filter.ref == f"A1:I{last}"
    assert sheet.freeze_panes == "A2"
    assert sheet.print_title_rows == "$1:$1"
    assert sheet["F2"].number_format == "#,##0.00"


def test_the_store_gets_picks_orders_walls_and_labels(supplies_book: dict[str, list[list[Any]]]) -> None:
    picks = supplies_book["Pick list"]
    assert [row[4:7] for row in picks[1:4]] == [
        ["box", "Box model", 2],
        ["skin", "Skin layer, cut", 4],
        ["gloves", "Gloves, training", 30],
    ]
    assert column(picks, "latex")[2] == "contains latex"
    sharp = sample_round().replace(
        items=tuple(dataclasses.replace(item, sharp=item.code == "skin") for item in sample_round().items)
    )
    marked = reopened(supplies_workbook.render(sample_plan(), sharp))["Pick list"]
    assert column(marked, "remark")[:3] == ["", "sharps: count out and in", ""]
    assert "sharps: count out and in" in label_page.render(sample_plan(), sharp)
    orders = supplies_book["Order list"]
    gloves = next(row for row in (dict(zip(orders[0], row, strict=True)) for row in orders) if row["item"] == "gloves")
    # 25 participants × 2 pairs = 50 less no stock: one pack of 50 at 4,000
    assert (gloves["packs to order"], gloves["price a pack in MWK"], gloves["cost in MWK"]) == (1, 4000, 4000)
    assert (gloves["weight, kg"], gloves["latex"]) == (1, "contains latex")  # 50 pairs of 20 g
    assert isinstance(gloves["order at the latest on"], date)
    assert column(orders, "supplier") == sorted(column(orders, "supplier"))
    needs = supplies_book["Stock and needs"]
    assert dict(zip(column(needs, "item"), column(needs, "needed"), strict=True))["gloves"] == 50
    packs = [bool(number) for number in column(needs, "packs to order")]
    assert packs == sorted(packs, reverse=True), "what has to be ordered stands first"
    totals = supplies_book["Suppliers"]
    assert column(totals, "cost in MWK")[-1] == sum(column(orders, "cost in MWK"))
    loads = supplies_book["Loads of trips"]
    assert column(loads, "payload less reserve, kg")[0] == 720  # 900 kg less a fifth
    assert column(supplies_book["Walls to assemble"], "minutes of work")[0] == 20 * column(
        supplies_book["Walls to assemble"], "walls"
    )[0]  # fmt: skip
    labels = [cell for row in supplies_book["Labels"] for cell in row if cell]
    assert len(labels) == 2 + 1 + 1 + 3  # box models of the three trips, and one for consumables each
    assert all(label.startswith("TRAINING ONLY – NOT FOR PATIENTS\n") for label in labels)


@pytest.mark.parametrize("render", RENDERERS)
def test_two_runs_give_the_same_bytes(render: Callable[..., bytes], monkeypatch: pytest.MonkeyPatch) -> None:
    first = render(sample_plan(), sample_round())
    later = time.localtime(time.time() + 86_400)
    monkeypatch.setattr(time, "localtime", lambda *_: later)
    assert render(sample_plan(), sample_round()) == first
    entries = zipfile.ZipFile(io.BytesIO(first)).infolist()
    assert {entry.date_time for entry in entries} == {(1980, 1, 1, 0, 0, 0)}


@pytest.mark.parametrize("render", RENDERERS)
def test_hostile_names_stay_text(render: Callable[..., bytes]) -> None:
    content = render(hostile_plan(), hostile_round())
    texts = {str(cell) for sheet in reopened(content).values() for row in sheet for cell in row}
    assert any(hostile in text for hostile in (HOSTILE[0], HOSTILE[1], HOSTILE[3]) for text in texts)
    for sheet in openpyxl.load_workbook(io.BytesIO(content)):
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "f" or str(cell.value).startswith("=SUM(")
                assert cell.hyperlink is None
                if isinstance(cell.value, str) and cell.data_type == "s" and cell.value.startswith("="):
                    assert cell.quotePrefix


@pytest.mark.parametrize("render", RENDERERS)
def test_a_plan_with_nothing_in_it_gives_headings(render: Callable[..., bytes]) -> None:
    for sheet in reopened(render(Plan(round_name="Empty"), sample_round())).values():
        assert len(sheet) <= 80


LETTERS = st.characters(codec="utf-8") | st.sampled_from("=+-@\t\r\n#\ud800\x00\u202e")


@settings(deadline=None)
@given(st.lists(st.text(LETTERS, max_size=12), min_size=1, max_size=5))
def test_any_text_comes_back_as_text(texts: list[str]) -> None:
    book = openpyxl.Workbook()
    for row, text in enumerate(["#N/A", "=1+1", *texts], 1):
        put(book.worksheets[0].cell(row, 1), text)
    sheet = openpyxl.load_workbook(io.BytesIO(save_bytes(book))).worksheets[0]
    for row, text in enumerate(["#N/A", "=1+1", *texts], 1):
        cell = sheet.cell(row, 1)
        assert cell.data_type in ("s", "n")
        kept = "".join(c for c in text.replace("\r\n", "\n").replace("\r", "\n") if c.isprintable() or c in "\n\t")
        shown = "".join(c for c in str(cell.value or "") if c.isprintable() or c in "\n\t")
        assert shown == kept


@pytest.mark.parametrize(
    ("value", "read"),
    [
        (3, 3),
        (-2.5, -2.5),
        (None, None),
        (float("nan"), None),
        (float("inf"), None),
        (True, "yes"),
        (Shift.DAY, "day"),
        (date(2027, 3, 2), datetime.datetime(2027, 3, 2)),
        ("2027-03-02", "2027-03-02"),
        ("007", "007"),
    ],
)
def test_numbers_and_dates_stay_what_they_are(value: Any, read: Any) -> None:
    book = openpyxl.Workbook()
    put(book.worksheets[0]["A1"], value)
    assert openpyxl.load_workbook(io.BytesIO(save_bytes(book))).worksheets[0]["A1"].value == read


@pytest.mark.parametrize(
    ("value", "number_format", "shown"),
    [
        (1_234_567, "#,##0.00", "1,234,567.00"),
        (1234567.891, "#,##0", "1,234,568"),
        (1234567.5, "#,##0.##", "1,234,567.5"),
        (-1234567.5, "#,##0.0", "-1,234,567.5"),
        (1234.5678, "0.0%", "123456.8%"),
        (0.1 + 0.2, None, "0.3"),
        (12345678901.0, None, "12345678901"),
        (True, "#,##0.00", "yes"),
    ],
)
def test_columns_are_as_wide_as_their_numbers_are_shown(value: Any, number_format: str | None, shown: str) -> None:
    sheet = openpyxl.Workbook().worksheets[0]
    write_table(sheet, ["n"], [[value]], number_formats={"n": number_format} if number_format else None)
    assert sheet.column_dimensions["A"].width == max(len(shown) + 2, 8)


def test_text_too_long_for_a_cell_says_so() -> None:
    cell = put(openpyxl.Workbook().worksheets[0]["A1"], "x" * (LONGEST_TEXT + 1))
    assert len(cell.value) == LONGEST_TEXT
    assert cell.value.endswith("(too long for one cell)")


def test_frames_have_dates_numbers_and_names() -> None:
    frames = plan_frames(sample_plan(), sample_round())
    assert {"seats", "slots", "cover", "legs", "costs", "tiers"} <= set(frames)
    assert pd.api.types.is_datetime64_any_dtype(frames["cover"]["date"])
    assert frames["costs"]["amount"].sum() == pytest.approx(294_577.5)
    assert frames["legs"].groupby("crew")["km"].sum().to_dict() == pytest.approx({"NORTH": 94, "SOUTH": 100})
    seats = frames["seats"].set_index(["team", "role"])
    guest = seats.loc[("T02", "newborn care")]
    assert guest["guest"]
    assert guest["home"] == "LUV"
    assert frames["seats"].loc[frames["seats"]["person"] == "TUW02", "duties_to_swap"].item() == "2027-03-02"
    empty = plan_frames(Plan(round_name="Empty"), sample_round())
    assert all(list(empty[name].columns) == list(frames[name].columns) for name in frames)


@pytest.mark.parametrize("render", RENDERERS)
def test_workbooks_print_on_the_paper_of_the_round(render: Callable[..., bytes]) -> None:
    for paper, number in ((Paper.A4, 9), (Paper.LETTER, 1)):  # ISO/IEC 29500-1, paperSize
        with printed_on(paper):
            book = openpyxl.load_workbook(io.BytesIO(render(sample_plan(), sample_round())))
        assert {int(sheet.page_setup.paperSize) for sheet in book} == {number}

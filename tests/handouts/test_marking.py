"""What changed is marked: by a word on pages, a sign in print, in workbooks and phone messages; the rest is not."""

from __future__ import annotations

import io
from dataclasses import replace

import openpyxl
from pdf_reading import whole
from revised_plans import folder_of, told_plan, with_cover, with_seat
from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan.handouts.marking import Changes, Seen, line_mark, marking, no_longer, noting, row_mark
from roundplan.handouts.pdf.blocks import Blank, Facts, Grid, Heading, Lines, Printed, Strong, Tick, Together, Wide
from roundplan.handouts.pdf.marked import marked, seen_in
from roundplan.handouts.pdf.press import print_pdf
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.slips import workbook
from roundplan.handouts.speech import speaking
from roundplan.handouts.store import workbook as supplies
from roundplan.slips.layout import FIRST_ROW


def changes(before: Seen, *lines: str) -> Changes:
    return Changes(since=4, lines=lines, before=before)


def test_a_row_is_new_changed_or_as_it_was() -> None:
    with noting() as before:
        assert row_mark("Team 1", ("Anda", "scrub")) == ""
        assert line_mark("Tuesday", "Leave at 07:00.") == ""
    with marking(changes(before)):
        assert row_mark("Team 1", ("Anda", "scrub")) == ""
        assert row_mark("Team 1", ("Anda", "anaesthetist")) == "changed"
        assert row_mark("Team 2", ("Anda", "scrub")) == "changed", "another team: another date and place"
        assert row_mark("Team 1", ("Bezi", "scrub")) == "new"
        assert row_mark("Team 1", ("", "")) == "", "rows to write in are nothing new"
        assert line_mark("Tuesday", "Leave at 07:00.") == ""
        assert line_mark("Tuesday", "Leave at 08:00.") == "changed"
        with speaking("pt"):
            assert row_mark("Team 1", ("Bezi", "scrub")) == "novo"
    assert row_mark("Team 1", ("Bezi", "scrub")) == "", "nothing is marked outside"


def test_rows_that_are_gone_are_told_and_those_that_changed_are_not() -> None:
    before = Seen(rows=dict.fromkeys([("T", "Anda", "scrub"), ("T", "Bezi", "scrub"), ("T", "Chiso", "")]))
    now = Seen(rows=dict.fromkeys([("T", "Anda", "anaesthetist"), ("T", "Chiso", "")]))
    assert no_longer(before, now) == ("No longer here: Bezi, scrub.",)


def printed(name: str, time: str = "07:00") -> Printed:
    """Return a document with every kind of block that a change can stand in."""
    rows = [
        [Tick(), name, [Strong("07:00"), "Base"]],
        [Strong(name), "", ""],
        [Blank(name), "x", "y"],
        [Wide(f"All of {name}")],
    ]
    blocks = [
        Heading("Tuesday", 1),
        Together([Lines([f"Leave at {time}.", "Take care."], marked=True)]),
        Facts([("Crew", name), ("Base", "here")]),
        Grid("People", ("a", "b", "c"), rows, (1, 1, 1)),
    ]
    return Printed(path="x.pdf", title="T", head="h", foot="f", pages="p", language="en", paper="a4", blocks=blocks)


def test_in_print_what_was_not_said_before_has_the_mark_before_it() -> None:
    before = seen_in(printed("Anda"))
    same = marked(printed("Anda"), changes(before, "Nothing at all."))
    assert list(same.blocks[1:]) == printed("Anda").blocks, "nothing is marked where nothing changed"
    text = whole(print_pdf(marked(printed("Bezi", "08:00"), changes(before, "Bezi for Anda.")))[0])
    for said in (
        "What changed since version 4", "Bezi for Anda.", "» Leave at 08:00.", "» Bezi", "» All of Bezi",
        "» stands before what is new or has changed.",
    ):  # fmt: skip
        assert said in text, said
    assert "» Take care" not in text
    assert "» here" not in text
    assert "[U+" not in text, "the sign stands in every typeface"


def test_a_slips_workbook_marks_rows_outside_codes_and_tells_the_changes_on_a_sheet_of_its_own() -> None:
    before = folder_of(told_plan(1))
    moved = with_cover(with_seat(hand_plan(), "GAMA-P1", person="GAMA-P2"), "GAMA", "GAMA-P2", "GAMA-P1")
    now = folder_of(told_plan(2, moved), before)
    with noting() as seen:
        plain = workbook.render_facility(before.index, "GAMA", numbers=before.numbers)
    with marking(changes(seen, "GAMA-P2 comes.")):
        book = openpyxl.load_workbook(
            io.BytesIO(workbook.render_facility(now.index, "GAMA", numbers=now.numbers, version=2))
        )
    assert "What changed" not in openpyxl.load_workbook(io.BytesIO(plain)).sheetnames
    told = [row[0] for row in book["What changed"].iter_rows(values_only=True)]
    assert told == [
        "What changed since version 4",
        "GAMA-P2 comes.",
        "» stands before what is new or has changed.",
    ]
    rows = list(book["Who goes"].iter_rows(min_row=FIRST_ROW, values_only=True))
    marks = {row[8]: next((cell for cell in row if str(cell).startswith("»")), None) for row in rows}
    assert marks["Name of GAMA-P2"] == "» changed; provisional until the roster comes"  # stayed before, now goes
    assert marks["Name of GAMA-N1"] is None
    assert all("»" not in str(row[5]) for row in rows)
    stays = list(book["Who stays"].iter_rows(min_row=FIRST_ROW, values_only=True))
    words = {row[10]: row[12] for row in stays}
    assert words == {"Name of GAMA-P1": "» changed", "Name of GAMA-A1": None, "Name of GAMA-N2": None}


def test_the_stores_lists_mark_what_is_to_be_packed_anew() -> None:
    plan = told_plan(1)
    trip = plan.trips[0]
    load = trip.loads[0]
    more = replace(trip, loads=(replace(load, quantity=load.quantity + 5), *trip.loads[1:]))
    with noting() as seen:
        supplies.render(plan, hand_round())
    with marking(changes(seen)):
        book = openpyxl.load_workbook(io.BytesIO(supplies.render(replace(plan, trips=(more,)), hand_round())))
    rows = list(book["Pick list"].iter_rows(min_row=2, values_only=True))
    marked_rows = [row for row in rows if any(str(cell).startswith("»") for cell in row)]
    assert len(marked_rows) == 1
    assert load.quantity + 5 in marked_rows[0]
    assert "What changed" in book.sheetnames


def test_marks_of_reading_direction_do_not_make_a_row_new() -> None:
    with noting() as before:
        row_mark("x", ("\u2068name\u2069", "y"))
    with marking(changes(before)):
        assert row_mark("x", ("name", "y")) == ""


def test_the_index_counts_provisional_seats_of_the_sessions_asked_about() -> None:
    """S1 has three provisional seats, of GAMA's team; S2 three, of BETA's."""
    index = PlanIndex(hand_plan(), hand_round())
    assert (index.provisional_seats(), index.provisional_seats({"S1"}), index.provisional_seats(())) == (6, 3, 0)

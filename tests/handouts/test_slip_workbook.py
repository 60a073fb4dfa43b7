"""A slip's workbook: every fact of the plan, locked but for the replies, and read back by three programs."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import planned_rounds
import pytest
from html_sample import HOSTILE, hostile_plan, hostile_round
from openpyxl.utils import range_boundaries
from planned_rounds import people_in, planned
from python_calamine import CalamineWorkbook

from roundplan.domain.role import Role
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.slips import workbook
from roundplan.handouts.slips.rows import facilities_of, has_replies, slip_of
from roundplan.handouts.speech import LANGUAGES, speaking
from roundplan.handouts.words import arrival, clock, moment
from roundplan.slips.layout import (
    COVER,
    FIRST_ROW,
    HEAD_ROW,
    HIDDEN_COLUMNS,
    KEY_ROW,
    MARKS_SHEET,
    NAMES_SHEET,
    OPEN_COLUMNS,
    SEATS,
    SHEETS,
    Column,
    Mark,
    Sheet,
)
from roundplan.slips.reading import NotASlip, read_slip
from roundplan.slips.reply_code import REPLY_WORDS, Word

Grid = dict[str, list[list[Any]]]


def grid(content: bytes) -> Grid:
    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    return {name: book.get_sheet_by_name(name).to_python(skip_empty_area=False) for name in book.sheet_names}


def marks(sheets: Grid) -> dict[str, Any]:
    return {row[0]: row[1] for row in sheets[MARKS_SHEET]}


def rows(sheets: Grid, sheet: Sheet) -> list[dict[Column, str]]:
    lines = sheets[marks(sheets)[sheet.mark.value]]
    keys = lines[KEY_ROW - 1]
    return [{Column(key): str(cell) for key, cell in zip(keys, line, strict=True)} for line in lines[FIRST_ROW - 1 :]]


@pytest.fixture(scope="module")
def sample() -> Any:
    return openpyxl.load_workbook(io.BytesIO(workbook.render_facility(planned("sample"), "TUW")))


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_every_seat_and_shift_is_on_the_slip_of_its_facility(name: str) -> None:
    index = planned(name)
    answered: list[tuple[str, str]] = []
    for facility in index.training_round.facilities:
        if not has_replies(index, facility.code):
            continue
        sheets = grid(workbook.render_facility(index, facility.code))
        shown = rows(sheets, SEATS)
        assert [(r[Column.TEAM_CODE], r[Column.PERSON_CODE], r[Column.ROLE_CODE]) for r in shown] == [
            (team.code, seat.person, seat.role.value) for team, seat in index.seats_at(facility.code)
        ]
        for row in shown:
            check_seat(index, row)
        answered += [(r[Column.TEAM_CODE], r[Column.PERSON_CODE]) for r in shown if r[Column.CODE]]
        check_cover(index, facility.code, sheets)
    expected = [(team.code, seat.person) for team in index.plan.teams for seat in team.seats]
    assert sorted(answered) == sorted(expected), "each seat is answered for once, by the holder's own facility"


def check_seat(index: PlanIndex, row: dict[Column, str]) -> None:
    team = index.teams[row[Column.TEAM_CODE]]
    outing = index.outing(team, row[Column.PERSON_CODE])
    assert row[Column.DATES_CODE].split(";") == [day.isoformat() for day in team.dates]
    assert row[Column.VENUE] == index.venue_name(team)
    assert row[Column.NAME].startswith(planned_rounds.name_of(row[Column.PERSON_CODE]))
    if outing is None or not outing.drives:
        assert (row[Column.LEAVES], row[Column.RETURNS]) == ("no journey", "no journey")
    else:
        out, back = outing.drives[0], outing.drives[-1]
        assert row[Column.LEAVES] == moment(out.date, clock(out.depart))
        assert row[Column.RETURNS] == moment(back.date, arrival(back.arrive))


def check_cover(index: PlanIndex, facility: str, sheets: Grid) -> None:
    named = [
        (cover.date.isoformat(), cover.shift.value, cover.kind.value, role.value, person)
        for cover in index.cover_at(facility)
        for role, person in cover.named
    ]
    keys = (Column.DATES_CODE, Column.SHIFT_CODE, Column.KIND_CODE, Column.ROLE_CODE, Column.PERSON_CODE)
    shown = rows(sheets, COVER)
    assert [tuple(row[key] for key in keys) for row in shown] == named
    shifts = rows(sheets, SHEETS[2])
    assert [(r[Column.DATES_CODE], r[Column.SHIFT_CODE]) for r in shifts] == list(
        dict.fromkeys((day, shift) for day, shift, *_ in named)
    )
    codes = {(r[Column.DATES_CODE], r[Column.SHIFT_CODE]): r[Column.CODE] for r in shifts}
    for row in shown:
        assert row[Column.CODE] == codes[row[Column.DATES_CODE], row[Column.SHIFT_CODE]]


def test_every_sheet_says_where_to_send_it_and_names_no_other_phone() -> None:
    index = planned("sample")
    contacts = planned_rounds.phones(index)
    for content in (
        workbook.render_facility(index, "TUW", contacts=contacts),
        workbook.render_district(index, "Kamzani", contacts=contacts),
    ):
        book = openpyxl.load_workbook(io.BytesIO(content))
        for sheet in (sheet for sheet in book if sheet.sheet_state == "visible"):
            head = " ".join(str(cell.value) for row in sheet.iter_rows(max_row=3) for cell in row if cell.value)
            assert f"Send it back to the programme manager, {contacts['manager'].phone}." in head
        assert planned_rounds.phones_in(str(grid(content)), contacts) == {"manager"}


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_a_slip_holds_no_other_facilitys_people_but_guests(name: str) -> None:
    index = planned(name)
    for facility in index.training_round.facilities:
        if has_replies(index, facility.code):
            text = str(grid(workbook.render_facility(index, facility.code)))
            teams = [team for team in index.plan.teams if team.facility == facility.code]
            guests = {seat.person for team in teams for seat in team.seats if seat.guest}
            lent = {row.person for row in index.training_round.relief if row.facility == facility.code}
            allowed = {p.code for p in index.training_round.staff_of(facility.code)} | guests | lent
            assert people_in(text, index) <= allowed


def test_a_districts_workbook_is_the_slips_of_its_facilities() -> None:
    index = planned("sample")
    sheets = grid(workbook.render_district(index, "Kamzani"))
    single = [grid(workbook.render_facility(index, facility.code)) for facility in facilities_of(index, "Kamzani")]
    assert len(single) == 2
    for sheet in SHEETS:
        assert rows(sheets, sheet) == [row for one in single for row in rows(one, sheet)]
    assert marks(sheets)[Mark.SCOPE.value] == "Kamzani"


def test_the_version_is_that_of_the_slips_own_last_change() -> None:
    index = planned("sample")
    newer = grid(workbook.render_facility(index, "TUW", version=7))
    assert int(marks(newer)[Mark.VERSION.value]) == 7
    assert rows(newer, SEATS)[0][Column.CODE] == slip_of(index, "TUW").seats[0].code  # codes stay with their seats
    assert "version 7" in str(newer["Who goes"][0])


def visible(book: Any) -> list[Any]:
    return [book[name] for name in ("Who goes", "Who stays", "Cover confirmed")]


def keys_of(sheet: Any) -> dict[int, Column]:
    return {cell.column: Column(cell.value) for cell in sheet[KEY_ROW]}


def check_protection(book: Any) -> int:
    """Check that cells to reply in, and these alone, are open; return how many there are."""
    assert all(sheet.protection.sheet for sheet in book)
    assert {sheet.title: sheet.sheet_state for sheet in book if sheet.sheet_state != "visible"} == {
        MARKS_SHEET: "hidden",
        NAMES_SHEET: "hidden",
    }
    found = 0
    for sheet in visible(book):
        keys = keys_of(sheet)
        code = next(column for column, key in keys.items() if key is Column.CODE)
        for line in sheet.iter_rows():
            for cell in line:
                answered = cell.row >= FIRST_ROW and sheet.cell(cell.row, code).value is not None
                is_open = answered and keys.get(cell.column) in OPEN_COLUMNS
                assert cell.protection.locked is not is_open, f"{sheet.title} {cell.coordinate}"
                found += is_open
    return found


def test_only_cells_to_reply_in_can_be_changed(sample: Any) -> None:
    assert sample.security.lockStructure
    slip = slip_of(planned("sample"), "TUW")
    own = sum(bool(row.code) for row in slip.seats)
    assert own == 9  # two teams of five, one of them with a guest
    assert check_protection(sample) == 3 * own + 3 * len(slip.cover) + 3 * len(slip.shifts)


def test_codes_are_hidden_and_headings_shown(sample: Any) -> None:
    for sheet in visible(sample):
        assert sheet.row_dimensions[KEY_ROW].hidden
        for column, key in keys_of(sheet).items():
            letter = openpyxl.utils.get_column_letter(column)
            hidden = HIDDEN_COLUMNS | {Column.FACILITY}  # of one facility alone its name stands in the title
            assert sheet.column_dimensions[letter].hidden is (key in hidden)
            assert sheet.cell(HEAD_ROW, column).value
        assert sheet.print_title_rows == f"${HEAD_ROW}:${HEAD_ROW}"
        assert (sheet.page_setup.orientation, sheet.page_setup.fitToWidth) == ("landscape", 1)


def offered(book: Any, sheet: Any, row: int, key: Column) -> list[str]:
    """Return what a cell's drop-down offers."""
    column = next(number for number, found in keys_of(sheet).items() if found is key)
    cell = sheet.cell(row, column)
    for rule in sheet.data_validations.dataValidation:
        if cell.coordinate in rule.sqref:
            if rule.formula1.startswith('"'):
                return rule.formula1.strip('"').split(",")
            where = rule.formula1.replace("$", "").rsplit("!")[-1].rsplit(".")[-1]
            left, top, right, bottom = range_boundaries(where)
            assert left == right
            return [book[NAMES_SHEET].cell(number, left).value for number in range(top, bottom + 1)]
    return []


def check_drop_downs(book: Any, index: PlanIndex) -> None:
    slip = slip_of(index, "TUW")
    seats = book["Who goes"]
    for number, row in enumerate(slip.seats, start=FIRST_ROW):
        expected = [f"{p.name} [{p.code}]" for p in row.substitutes]
        names = [name.removesuffix(", named to stay") for name in offered(book, seats, number, Column.REPLACED_BY)]
        assert names == expected
        assert offered(book, seats, number, Column.REPLY) == (["yes", "no", "replaced by"] if row.code else [])
    cover = book["Who stays"]
    for number, covered in enumerate(slip.cover, start=FIRST_ROW):
        expected = [f"{p.name} [{p.code}]" for p in covered.substitutes]
        assert offered(book, cover, number, Column.REPLACED_BY) == expected


def test_drop_downs_offer_the_replies_and_who_is_eligible(sample: Any) -> None:
    check_drop_downs(sample, planned("sample"))


def test_those_offered_hold_the_role_and_are_free() -> None:
    """TUW06 to TUW10 sit in the second team; of each role TUW01 to TUW12 hold 3, 3, 2, 2, 2."""
    slip = slip_of(planned("sample"), "TUW")
    found = {row.seat.role: [p.code for p in row.substitutes] for row in slip.seats if row.team.code == "T02"}
    assert found[Role.SURGICAL_PROVIDER] == ["TUW11"]
    assert found[Role.SURGICAL_ASSISTANT] == ["TUW12"]
    assert found[Role.ANAESTHETIST] == []


@pytest.mark.parametrize("name", planned_rounds.NAMES[1:])
def test_those_offered_may_take_the_seat_by_the_rules(name: str) -> None:
    """Checked against the inputs with nothing of the module that picks them."""
    index = planned(name)
    seated = {seat.person for team in index.plan.teams for seat in team.seats}
    found = 0
    for facility in index.training_round.facilities:
        for row in slip_of(index, facility.code).seats:
            for person in row.substitutes:
                found += 1
                assert (person.facility, row.seat.role in person.roles) == (facility.code, True)
                assert person.code not in seated
                assert not any(index.training_round.on_leave(person.code, day) for day in row.team.dates)
        for covered in slip_of(index, facility.code).cover:
            for person in covered.substitutes:
                assert covered.role in person.cover_roles
                assert person.code not in {code for _, code in covered.cover.named}
                assert not index.training_round.on_leave(person.code, covered.cover.date)
    assert found


def filled_in(content: bytes, said: dict[str, tuple[str, str]]) -> bytes:
    """Write replies into a slip as a coordinator would: by the code of the row, a reply and a name."""
    book = openpyxl.load_workbook(io.BytesIO(content))
    sheet = visible(book)[0]
    keys = {key: column for column, key in keys_of(sheet).items()}
    for row in range(FIRST_ROW, sheet.max_row + 1):
        code = sheet.cell(row, keys[Column.CODE]).value
        if code in said:
            sheet.cell(row, keys[Column.REPLY]).value, sheet.cell(row, keys[Column.REPLACED_BY]).value = said[code]
    confirmed = visible(book)[2]
    keys = {key: column for column, key in keys_of(confirmed).items()}
    confirmed.cell(FIRST_ROW, keys[Column.CONFIRMED_BY]).value = "Sr Ama"
    confirmed.cell(FIRST_ROW, keys[Column.CONFIRMED_WHEN]).value = "1 March, 16:30"
    saved = io.BytesIO()
    book.save(saved)
    return saved.getvalue()


def check_replies(sheets: Grid) -> None:
    slip = slip_of(planned("sample"), "TUW")
    first, second = slip.seats[0], slip.seats[1]
    returned = read_slip(sheets)
    assert (returned.version, returned.scope, len(returned.answers)) == (3, "TUW", 3)
    yes, replaced, confirmed = returned.answers
    assert (yes.code, yes.word, yes.substitute) == (first.code, Word.YES, None)
    assert (yes.key[Column.PERSON_CODE], yes.dates) == (first.seat.person, first.team.dates)
    assert (replaced.word, replaced.substitute) == (Word.REPLACED, second.substitutes[0].code)
    assert confirmed.sheet is Mark.CONFIRMATIONS
    assert confirmed.code == slip.shifts[0].code
    assert confirmed.key[Column.SHIFT_CODE] == slip.shifts[0].shift.value
    assert confirmed.written == {Column.CONFIRMED_BY: "Sr Ama", Column.CONFIRMED_WHEN: "1 March, 16:30"}


def answered() -> bytes:
    index = planned("sample")
    slip = slip_of(index, "TUW")
    book = openpyxl.load_workbook(io.BytesIO(workbook.render_facility(index, "TUW")))
    name = offered(book, book["Who goes"], FIRST_ROW + 1, Column.REPLACED_BY)[0]
    said = {slip.seats[0].code: ("yes", ""), slip.seats[1].code: ("replaced by", name)}
    return filled_in(workbook.render_facility(index, "TUW"), said)


def by_openpyxl(content: bytes) -> Grid:
    book = openpyxl.load_workbook(io.BytesIO(content))
    return {sheet.title: [list(row) for row in sheet.iter_rows(values_only=True)] for sheet in book}


@pytest.mark.parametrize("read", [grid, by_openpyxl])
def test_replies_are_read_back(read: Callable[[bytes], Grid]) -> None:
    check_replies(read(answered()))


@pytest.mark.skipif(shutil.which("soffice") is None, reason="no LibreOffice on the path")
def test_a_slip_that_was_saved_by_libreoffice_is_still_a_slip(tmp_path: Path) -> None:
    (tmp_path / "slip.xlsx").write_bytes(answered())
    home = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    to = ["--headless", "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", str(tmp_path / "out")]
    subprocess.run(["soffice", home, *to, str(tmp_path / "slip.xlsx")], check=True, capture_output=True, timeout=120)
    content = (tmp_path / "out" / "slip.xlsx").read_bytes()
    check_replies(grid(content))
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert check_protection(book)
    check_drop_downs(book, planned("sample"))


@pytest.mark.parametrize("language", LANGUAGES)
def test_replies_are_understood_in_every_language(language: str) -> None:
    with speaking(language):
        content = workbook.render_facility(planned("sample"), "TUW")
    sheets = grid(content)
    assert marks(sheets)[Mark.LANGUAGE.value] == language
    shown = [name for name in sheets if name not in (MARKS_SHEET, NAMES_SHEET)]
    assert [marks(sheets)[sheet.mark.value] for sheet in SHEETS] == shown
    lines = sheets[shown[0]]
    reply = lines[KEY_ROW - 1].index(Column.REPLY.value)
    for number, word in enumerate(Word):
        lines[FIRST_ROW - 1 + number][reply] = REPLY_WORDS[word][language]
    assert [answer.word for answer in read_slip(sheets).answers] == list(Word)


@pytest.mark.parametrize(
    ("broken", "why"),
    [
        (lambda sheets: sheets.pop(MARKS_SHEET), "no slip"),
        (lambda sheets: sheets.pop("Who stays"), "sheet cover"),
        (lambda sheets: sheets[MARKS_SHEET].__setitem__(0, ["layout", 99]), "layout 99"),
        (lambda sheets: sheets[MARKS_SHEET].pop(), "lacks: sheet confirmations"),
        (lambda sheets: sheets["Who goes"][KEY_ROW - 1].__setitem__(0, "?"), "hidden keys of its columns: sheet seats"),
        (lambda sheets: sheets["Who goes"].__delitem__(slice(2, None)), "hidden keys of its columns: sheet seats"),
    ],
)
def test_what_is_no_slip_is_refused(broken: Callable[[Grid], Any], why: str) -> None:
    sheets = grid(workbook.render_facility(planned("sample"), "TUW"))
    broken(sheets)
    with pytest.raises(NotASlip, match=why):
        read_slip(sheets)


def test_a_sheet_with_another_name_is_known_by_its_keys() -> None:
    sheets = grid(answered())
    check_replies({f"{name} (2)" if name == "Who goes" else name: lines for name, lines in sheets.items()})


def test_hostile_names_stay_text_and_are_found_again() -> None:
    index = PlanIndex(hostile_plan(), hostile_round())
    offered_names = {}
    for facility in index.training_round.facilities:
        content = workbook.render_facility(index, facility.code)
        cells = [
            cell
            for sheet in openpyxl.load_workbook(io.BytesIO(content))
            for line in sheet.iter_rows()
            for cell in line
            if isinstance(cell.value, str)
        ]
        assert {cell.data_type for cell in cells} == {"s"}
        assert all(cell.quotePrefix for cell in cells if cell.value.startswith(("=", "+", "-", "@")))
        assert all(cell.hyperlink is None for cell in cells)
        names = {row[0]: row[1] for row in grid(content)[NAMES_SHEET]}
        offered_names.update(names)
    assert {code for code in offered_names.values() if code} <= {p.code for p in index.training_round.people}
    assert [text for text in HOSTILE[:2] if not any(text in name for name in offered_names)] == []


def test_two_runs_give_the_same_bytes() -> None:
    first = planned("sample")
    again = PlanIndex(first.plan, first.training_round)
    for render, scope in ((workbook.render_facility, "TUW"), (workbook.render_district, "Kamzani")):
        assert render(first, scope) == render(again, scope)


def test_a_district_without_teams_gives_headings() -> None:
    sheets = grid(workbook.render_district(planned("sample"), "Nowhere"))
    assert read_slip(sheets).answers == ()
    assert [len(sheets[marks(sheets)[sheet.mark.value]]) for sheet in SHEETS] == [HEAD_ROW] * 3

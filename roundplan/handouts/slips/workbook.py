"""A slip as a workbook: locked but for the cells to reply in, with drop-downs, readable by a program.

What stands where is defined in :mod:`roundplan.slips.layout`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from roundplan.domain.decision import Contact
from roundplan.handouts.facility.groups import TRANSPORT_WORDS
from roundplan.handouts.marking import MARK, row_mark
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.slips.names import NameLists
from roundplan.handouts.slips.rows import CoverRow, SeatRow, ShiftRow, Slip, facilities_of, slip_of
from roundplan.handouts.slips.sheet import Filled, write_sheet
from roundplan.handouts.slips.words_of import offered, send_back_words, sheet_name, to_do
from roundplan.handouts.speech import language, say
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import capital, list_words, shift_words, version_words
from roundplan.slips.layout import (
    CONFIRMATIONS,
    COVER,
    HIDDEN_COLUMNS,
    LAYOUT,
    MARKS_SHEET,
    NAMES_SHEET,
    SEATS,
    SHEETS,
    Column,
    Mark,
    Sheet,
)
from roundplan.slips.numbering import Numbers

if TYPE_CHECKING:
    from openpyxl import Workbook


_MARKED = {SEATS.mark: Column.NOTES, COVER.mark: Column.WHY, CONFIRMATIONS.mark: Column.WHO_STAYS}
"""Columns in which a mark stands: no code, and nothing that a reply is told by."""


def render_facility(
    index: PlanIndex,
    facility: str,
    *,
    contacts: Mapping[str, Contact] | None = None,
    version: int | None = None,
    numbers: Numbers | None = None,
) -> bytes:
    """Return a facility's slip as an .xlsx file.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    facility : str
        Code of the facility.
    contacts : mapping of str to Contact or None
        Contacts by code; only the manager's is written, to send the slip back to.
    version : int or None
        Version of this slip's own last change; None = the plan's.
    numbers : Numbers or None
        Letters and numbers of reply codes; None = as if no slip had gone out before.
    """
    slip = slip_of(index, facility, version, numbers)
    return _render(index, (slip,), slip.facility.name, facility, (contacts or {}).get("manager"), version)


def render_district(
    index: PlanIndex,
    district: str,
    *,
    contacts: Mapping[str, Contact] | None = None,
    version: int | None = None,
    numbers: Numbers | None = None,
) -> bytes:
    """Return the slips of all facilities of a district as one .xlsx file.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    district : str
        Name of the district as in the facilities table.
    contacts : mapping of str to Contact or None
        Contacts by code; only the manager's is written, to send the slip back to.
    version : int or None
        Version of this slip's own last change; None = the plan's.
    numbers : Numbers or None
        Letters and numbers of reply codes; None = as if no slip had gone out before.
    """
    slips = tuple(slip_of(index, facility.code, version, numbers) for facility in facilities_of(index, district))
    return _render(index, slips, district, district, (contacts or {}).get("manager"), version)


def _render(
    index: PlanIndex, slips: Sequence[Slip], title: str, scope: str, manager: Contact | None, version: int | None
) -> bytes:
    from openpyxl import Workbook
    from openpyxl.workbook.protection import WorkbookProtection

    from roundplan.handouts.xlsx import save_bytes, write_changes

    workbook = Workbook()
    if workbook.active is not None:
        workbook.remove(workbook.active)
    names = NameLists(NAMES_SHEET)
    titled = say(
        "{round}, {version}: {district}",
        round=index.plan.round_name,
        version=version_words(index.plan, version),
        district=title,
    )
    rows = {
        SEATS.mark: [_seat(index, row, names) for slip in slips for row in slip.seats],
        COVER.mark: [_cover(index, row, names) for slip in slips for row in slip.cover],
        CONFIRMATIONS.mark: [_shift(index, row) for slip in slips for row in slip.shifts],
    }
    hidden = HIDDEN_COLUMNS if len(slips) > 1 else HIDDEN_COLUMNS | {Column.FACILITY}
    for sheet in SHEETS:
        head = (titled, to_do(sheet.mark), send_back_words(manager))
        filled = [_marked(row, sheet, hidden) for row in rows[sheet.mark]]
        write_sheet(workbook.create_sheet(sheet_name(sheet.mark)), sheet, head, filled, hidden)
    write_changes(workbook)
    names.write(workbook)
    _write_marks(workbook, index, scope, version)
    workbook.security = WorkbookProtection(lockStructure=True)
    workbook.active = 0
    return save_bytes(workbook)


def _marked(row: Filled, sheet: Sheet, hidden: frozenset[Column]) -> Filled:
    """Return a row with a mark in the column beside its name or shift, where its reader has not seen it so."""
    first = Column.NAME if Column.NAME in sheet.columns else Column.SHIFT
    others = [column for column in sheet.columns if column not in hidden | {first, Column.CODE}]
    word = row_mark(sheet.mark, [str(row.values.get(column) or "") for column in (first, *others)])
    if not word:
        return row
    column = _MARKED[sheet.mark]
    said = "; ".join(filter(None, (f"{MARK} {word}", str(row.values.get(column) or ""))))
    return replace(row, values={**row.values, column: said})


def _seat(index: PlanIndex, row: SeatRow, names: NameLists) -> Filled:
    facility = index.training_round.facility(row.facility)
    drives = (outing := index.outing(row.team, row.seat.person)) is not None and bool(outing.drives)
    values: dict[Column, Any] = {
        Column.FACILITY_CODE: row.facility,
        Column.TEAM_CODE: row.team.code,
        Column.PERSON_CODE: row.seat.person,
        Column.ROLE_CODE: row.seat.role.value,
        Column.DATES_CODE: ";".join(day.isoformat() for day in row.team.dates),
        Column.CODE: row.code,
        Column.FACILITY: facility.name,
        Column.TEAM: row.what,
        Column.NAME: row.name,
        Column.ROLE: role_word(row.seat.role),
        Column.DATES: row.dates,
        Column.VENUE: row.venue,
        Column.LEAVES: row.leaves,
        Column.RETURNS: row.returns,
        Column.TRAVEL: say(TRANSPORT_WORDS[facility.transport]) if drives and row.code else "",
        Column.SLOTS: row.slots,
        Column.STANDBY: row.standby,
        Column.NOTES: row.notes,
    }
    people = [(offered(index, person, row.team, row.seat), person.code) for person in row.substitutes]
    return Filled(values, names.range_of(people), open=bool(row.code))


def _cover(index: PlanIndex, row: CoverRow, names: NameLists) -> Filled:
    cover = row.cover
    values: dict[Column, Any] = {
        Column.FACILITY_CODE: cover.facility,
        Column.PERSON_CODE: row.person,
        Column.ROLE_CODE: row.role.value,
        Column.DATES_CODE: cover.date.isoformat(),
        Column.SHIFT_CODE: cover.shift.value,
        Column.KIND_CODE: cover.kind.value,
        Column.TEAM_CODE: cover.team,
        Column.CODE: row.code,
        Column.FACILITY: index.name(cover.facility),
        Column.SHIFT: capital(shift_words(cover.date, cover.shift)),
        Column.NAME: row.name,
        Column.ROLE: role_word(row.role),
        Column.WHY: row.why,
    }
    return Filled(values, names.range_of([(f"{p.name} [{p.code}]", p.code) for p in row.substitutes]))


def _shift(index: PlanIndex, row: ShiftRow) -> Filled:
    values: dict[Column, Any] = {
        Column.FACILITY_CODE: row.facility,
        Column.DATES_CODE: row.date.isoformat(),
        Column.SHIFT_CODE: row.shift.value,
        Column.CODE: row.code,
        Column.FACILITY: index.name(row.facility),
        Column.SHIFT: capital(shift_words(row.date, row.shift)),
        Column.WHO_STAYS: list_words(dict.fromkeys(_stayers(index, row))),
    }
    return Filled(values, None)


def _stayers(index: PlanIndex, row: ShiftRow) -> Iterator[str]:
    for cover in row.covers:
        yield from (index.name(person) for _, person in cover.named)


def _write_marks(workbook: Workbook, index: PlanIndex, scope: str, version: int | None) -> None:
    from roundplan.handouts.xlsx import put

    marks: Mapping[Mark, str | int] = {
        Mark.LAYOUT: LAYOUT,
        Mark.ROUND: index.plan.round_name,
        Mark.SCOPE: scope,
        Mark.VERSION: index.plan.version if version is None else version,
        Mark.STATUS: "draft" if index.plan.status == "draft" else "announced",
        Mark.LANGUAGE: language(),
        **{sheet.mark: sheet_name(sheet.mark) for sheet in SHEETS},
    }
    sheet = workbook.create_sheet(MARKS_SHEET)
    sheet.sheet_state = "hidden"
    sheet.protection.sheet = True
    for row, (key, value) in enumerate(marks.items(), start=1):
        put(sheet.cell(row, 1), key.value)
        put(sheet.cell(row, 2), value)

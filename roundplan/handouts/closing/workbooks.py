"""The final report as a workbook, and the workbook of what is still to be done, which does name people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from openpyxl import Workbook

from roundplan.closing.done import Done, SeatDone
from roundplan.closing.figures import Figures
from roundplan.domain.held import NoteKind, Result
from roundplan.domain.plan import Plan
from roundplan.handouts.attendance.words_of import HINDRANCES
from roundplan.handouts.closing.grid import Grid
from roundplan.handouts.closing.grids import grids
from roundplan.handouts.safety import DEBRIEFS
from roundplan.handouts.speech import message, say
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import version_words
from roundplan.handouts.xlsx import put, save_bytes, write_table

RESULTS = {
    Result.TRAINED: message("trained"),
    Result.PARTLY: message("partly"),
    Result.ABSENT: message("absent"),
    Result.CAME: message("came, without a simulation"),
    Result.NOT_SAID: message("not said"),
    Result.NOT_HELD: message("session not held"),
}


def render_figures(plan: Plan, figures: Figures) -> bytes:
    """Return the tables of the final report as an .xlsx file; they name nobody."""
    workbook = _new(plan)
    scale = 10**figures.digits
    pattern = "#,##0" + ("." + "0" * figures.digits if figures.digits else "")
    for grid in grids(figures):
        rows = [[_amount(grid, place, value, scale) for place, value in enumerate(row)] for row in grid.rows]
        formats = {grid.heads[place]: pattern for place in grid.money}
        write_table(workbook.create_sheet(grid.name), grid.heads, rows, number_formats=formats)
    return save_bytes(workbook)


def _amount(grid: Grid, place: int, value: Any, scale: int) -> Any:
    return value / scale if place in grid.money and value is not None else value


def render_follow_up(done: Done) -> bytes:
    """Return actions, incidents and what each person's part came to, as an .xlsx file for the programme manager."""
    workbook = _new(done.plan)
    heads = (say("Session"), say("Facility"), say("What"), say("Who sees to it"), say("Due date"), say("Done on"))
    write_table(workbook.create_sheet(say("Actions")), heads, list(_notes(done, NoteKind.ACTION)))
    write_table(workbook.create_sheet(say("Incidents")), heads[:5], [r[:5] for r in _notes(done, NoteKind.INCIDENT)])
    columns = (
        say("Who"),
        say("Facility"),
        say("Role"),
        say("Session"),
        say("Result"),
        say("Simulations"),
        say("Why not"),
    )
    write_table(workbook.create_sheet(say("People")), columns, [_person(done, seat) for seat in done.seats])
    return save_bytes(workbook)


def _new(plan: Plan) -> Workbook:
    """Return a workbook with a first sheet that says what it is."""
    workbook = Workbook()
    sheet = workbook.worksheets[0]
    sheet.title = say("About")[:31]
    put(sheet.cell(1, 1), f"{plan.round_name}, {version_words(plan)}")
    put(sheet.cell(2, 1), say(DEBRIEFS))
    sheet.column_dimensions["A"].width = 90
    return workbook


def _notes(done: Done, kind: NoteKind) -> Iterator[Sequence[Any]]:
    rows = (note for note in done.held.noted if note.kind is kind)
    for note in sorted(rows, key=lambda n: (n.due is None, n.due, n.facility, n.what)):
        facility = done.training_round.name_of(note.facility) if note.facility else say("The programme")
        yield _session_name(done, note.session), facility, note.what, note.owner, note.due, None


def _session_name(done: Done, key: str) -> str:
    if key not in done.sessions:
        return key
    return f"{done.training_round.name_of(done.sessions[key].venue)} {done.sessions[key].dates[0].isoformat()}"


def _person(done: Done, seat: SeatDone) -> Sequence[Any]:
    r = done.training_round
    return (
        r.name_of(seat.person),
        r.name_of(seat.facility),
        role_word(seat.role),
        _session_name(done, seat.session),
        say(RESULTS[seat.result]),
        len(seat.simulations),
        say(HINDRANCES[seat.why]) if seat.why else None,
    )

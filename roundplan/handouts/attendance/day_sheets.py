"""What happened on the day: dates held, who came, what was run."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.attendance.form import Choices, FormRow, FormSheet
from roundplan.attendance.layout import Column, Part
from roundplan.domain.held import team_key
from roundplan.domain.plan import Seat, Session, Slot, SlotKind, Team
from roundplan.handouts.attendance import words_of
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.sheets.session import SPARE_ROWS, seats_of, team_said
from roundplan.handouts.slips.substitutes import for_seat
from roundplan.handouts.speech import say
from roundplan.handouts.terms import role_word, shipped, slot_word
from roundplan.handouts.words import clock_span, full_date, short_date

SPARE = "spare"
"""First word of the code of an empty row."""


def sheet_of(index: PlanIndex, part: Part, columns: tuple[str, ...], rows: Iterator[FormRow]) -> FormSheet:
    """Return a sheet of a form."""
    currency = index.training_round.settings.round.currency
    words, heads = words_of.to_do(part, currency), words_of.heads(columns)
    return FormSheet(part, say(words_of.SHEETS[part]), words, columns, heads, tuple(rows))


def dates_sheet(index: PlanIndex, session: Session) -> FormSheet:
    """Return the sheet that asks whether each date was held."""
    columns = (Column.DATE, Column.HELD, Column.CAUSE, Column.REMARK)
    choices = {Column.HELD: words_of.came_choices(), Column.CAUSE: words_of.cause_choices()}
    rows = (
        FormRow((day.isoformat(),), {Column.DATE: full_date(day)}, frozenset(columns[1:]), choices)
        for day in session.dates
    )
    return sheet_of(index, Part.DATES, columns, rows)


def people_sheet(index: PlanIndex, session: Session) -> FormSheet:
    """Return the sheet that asks who came, with empty rows for those whom nobody expected."""
    simulations = words_of.simulation_columns(index.training_round.settings.session.simulations_per_team)
    columns = (Column.NAME, Column.ROLE, Column.CAME, *simulations, Column.INSTEAD, Column.WHY, Column.TEAM)
    return sheet_of(index, Part.PEOPLE, columns, _people(index, session, simulations))


def _people(index: PlanIndex, session: Session, simulations: tuple[str, ...]) -> Iterator[FormRow]:
    fixed = {
        Column.CAME: words_of.came_choices(),
        Column.WHY: words_of.hindrance_choices(),
        **dict.fromkeys(simulations, words_of.came_choices(whole=True)),
    }
    anybody: dict[str, str] = {}
    for team, seat in seats_of(index, session):
        others = _labels(index, team, seat)
        anybody.update(others)
        values = {
            Column.NAME: index.name(seat.person),
            Column.ROLE: role_word(seat.role),
            Column.TEAM: team_said(index, team),
        }
        code = (team_key(team), seat.role.value, seat.person)
        open_cells = frozenset({*fixed, Column.INSTEAD})
        instead = {Column.INSTEAD: Choices(tuple(others.items()), strict=False)}
        yield FormRow(code, values, open_cells, {**fixed, **instead})
    added = {
        **{column: choices for column, choices in fixed.items() if column != Column.WHY},
        Column.NAME: Choices(tuple(anybody.items()), strict=False),
        Column.ROLE: words_of.role_choices(),
        Column.TEAM: team_choices(index, session),
    }
    for number in range(1, SPARE_ROWS + 1):
        yield FormRow((SPARE, str(number)), {}, frozenset(added), added)


def _labels(index: PlanIndex, team: Team, seat: Seat) -> dict[str, str]:
    """Return who could have come instead: label and code."""
    return {f"{person.name} [{person.code}]": person.code for person in for_seat(index, team, seat)}


def team_choices(index: PlanIndex, session: Session) -> Choices:
    """Return the teams of a session."""
    teams = index.teams_of_session(session.code)
    return Choices(words_of.told_apart((team_said(index, team), team_key(team)) for team in teams))


def slots_sheet(index: PlanIndex, session: Session) -> FormSheet:
    """Return the sheet that asks what was run, slot by slot."""
    columns = (
        Column.TIME, Column.TEAM, Column.RUN, Column.OTHER_TEAM, Column.CASE, Column.OTHER_CASE, Column.PLANNED_WALL,
        Column.WALL, Column.WALL_END, Column.REMARK, Column.STATION,
    )  # fmt: skip
    dated = (Column.DATE, *columns) if len(session.dates) > 1 else columns
    return sheet_of(index, Part.SLOTS, dated, _slots(index, session))


def _slots(index: PlanIndex, session: Session) -> Iterator[FormRow]:
    cases = Choices(words_of.told_apart((shipped(c.name), c.code) for c in index.training_round.cases))
    choices = {
        Column.RUN: words_of.came_choices(whole=True),
        Column.OTHER_TEAM: team_choices(index, session),
        Column.OTHER_CASE: cases,
        Column.WALL_END: Choices((("1", "1"), ("2", "2"))),
    }
    open_cells = frozenset({*choices, Column.WALL, Column.REMARK})
    for slot in sorted(session.slots, key=lambda s: (s.date, s.station, s.start)):
        yield FormRow(slot_code(slot), _slot_values(index, slot), open_cells, choices)


def slot_code(slot: Slot) -> tuple[str, ...]:
    """Return the code of a slot's row: date, station, number."""
    return slot.date.isoformat(), str(slot.station), str(slot.number)


def _slot_values(index: PlanIndex, slot: Slot) -> dict[str, str]:
    team = team_said(index, index.teams[slot.team]) if slot.team in index.teams else slot_word(slot.kind)
    wall = "" if slot.wall is None else say("wall {wall}, end {end}", wall=slot.wall, end=slot.wall_end)
    return {
        Column.DATE: short_date(slot.date),
        Column.TIME: clock_span(slot.start, slot.end),
        Column.STATION: str(slot.station),
        Column.TEAM: team,
        Column.CASE: shipped(index.name(slot.case)) if slot.case and slot.kind is not SlotKind.RESERVE else "",
        Column.PLANNED_WALL: wall,
    }

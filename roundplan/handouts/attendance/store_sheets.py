"""What was used, noted and paid: kit, actions and incidents, spending, stores, staff who left."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from roundplan.attendance.form import Choices, FormRow, FormSheet, Value
from roundplan.attendance.layout import Column, Part
from roundplan.domain.held import NoteKind
from roundplan.domain.plan import Session
from roundplan.domain.supply import ItemKind
from roundplan.handouts.attendance import words_of
from roundplan.handouts.attendance.day_sheets import SPARE, sheet_of
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.supplies.quantities import reusables_of, session_needs

NOTE_ROWS = 8
SPENDING_ROWS = 12
OFFICE_ROWS = 60
"""Empty rows for actions and incidents, for what a session pays and for what the office pays (common practice, no
source)."""

PROGRAMME = "programme"
"""Code of whoever runs the round, where a facility could stand."""


def kit_sheet(index: PlanIndex, session: Session) -> FormSheet:
    """Return the sheet on which kit is counted when the session is packed up."""
    columns = (Column.ITEM, Column.LEFT, Column.USED, Column.PLANNED, Column.UNIT, Column.REMARK)
    return sheet_of(index, Part.KIT, columns, _kit(index, session))


def _kit(index: PlanIndex, session: Session) -> Iterator[FormRow]:
    needs = session_needs(session, index.plan, index.training_round)
    carried: Counter[str] = Counter()
    for trip in index.plan.trips:
        if any(session.code in day.sessions for day in trip.days):
            carried.update(reusables_of(trip, index.plan, index.training_round))
    for item in index.training_round.items:
        used_up = item.kind is ItemKind.CONSUMABLE
        planned = needs.get(item.code, 0) if used_up else carried[item.code]
        if planned:
            open_cells = {Column.LEFT, Column.REMARK, *([Column.USED] if used_up else [])}
            values: dict[str, Value] = {Column.ITEM: item.name, Column.UNIT: item.unit, Column.PLANNED: planned}
            yield FormRow((item.code,), values, frozenset(open_cells))


def notes_sheet(index: PlanIndex, session: Session) -> FormSheet:
    """Return the sheet of debrief actions and incidents."""
    columns = (Column.KIND, Column.FACILITY, Column.WHAT, Column.OWNER, Column.DUE)
    facilities = {t.facility: index.name(t.facility) for t in index.teams_of_session(session.code)}
    if index.training_round.is_facility(session.venue):
        facilities.setdefault(session.venue, index.name(session.venue))
    offered = [(name, code) for code, name in facilities.items()] + [(say("The programme"), PROGRAMME)]
    choices = {Column.KIND: words_of.kind_choices(), Column.FACILITY: Choices(words_of.told_apart(offered))}
    rows = (
        FormRow((NoteKind.ACTION.value, str(place)), {}, frozenset(columns), choices)
        for place in range(1, NOTE_ROWS + 1)
    )
    return sheet_of(index, Part.NOTES, columns, rows)


def spending_sheet(index: PlanIndex, rows: int = SPENDING_ROWS) -> FormSheet:
    """Return the sheet of money paid, with receipts."""
    columns = (Column.LINE, Column.WHAT, Column.AMOUNT, Column.RECEIPT, Column.PAID_ON)
    choices = {Column.LINE: words_of.line_choices()}
    made = (FormRow((SPARE, str(place)), {}, frozenset(columns), choices) for place in range(1, rows + 1))
    return sheet_of(index, Part.SPENDING, columns, made)


def stores_sheet(index: PlanIndex) -> FormSheet:
    """Return the sheet on which stores and bases are counted after the round."""
    columns = (Column.ITEM, Column.COUNTED, Column.UNIT, Column.BEFORE, Column.PLACE)
    return sheet_of(index, Part.STORES, columns, _stores(index))


def _stores(index: PlanIndex) -> Iterator[FormRow]:
    r = index.training_round
    before: dict[tuple[str, str], float] = defaultdict(float)
    for row in r.stock:
        before[row.item, row.place] += row.quantity
    loaded = {(load.item, load.place) for trip in index.plan.trips for load in trip.loads}
    loaded |= {(load.item, r.crew(trip.crew).base) for trip in index.plan.trips for load in trip.loads}
    for place in sorted({place for _, place in {*before, *loaded}}):
        for item in (item for item in r.items if (item.code, place) in {*before, *loaded}):
            values: dict[str, Value] = {
                Column.ITEM: item.name,
                Column.PLACE: index.name(place),
                Column.UNIT: item.unit,
                Column.BEFORE: before[item.code, place],
            }
            yield FormRow((item.code, place), values, frozenset({Column.COUNTED}))


def staff_sheet(index: PlanIndex) -> FormSheet:
    """Return the sheet that asks who has left."""
    columns = (Column.FACILITY, Column.NAME, Column.GONE)
    choices = {Column.GONE: words_of.came_choices(whole=True)}
    rows = (
        FormRow(
            (person.code,),
            {Column.FACILITY: index.name(person.facility), Column.NAME: person.name},
            frozenset({Column.GONE}),
            choices,
        )
        for person in sorted(index.training_round.people, key=lambda p: (p.facility, p.code))
    )
    return sheet_of(index, Part.STAFF, columns, rows)

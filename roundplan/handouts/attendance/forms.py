"""The forms of a plan: one a session, and the programme manager's own for the whole round."""

from __future__ import annotations

from roundplan.attendance.form import Form
from roundplan.attendance.layout import ROUND
from roundplan.domain.held import session_keys
from roundplan.handouts.attendance.day_sheets import dates_sheet, people_sheet, slots_sheet
from roundplan.handouts.attendance.store_sheets import (
    OFFICE_ROWS,
    kit_sheet,
    notes_sheet,
    spending_sheet,
    staff_sheet,
    stores_sheet,
)
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.sheets.session import title_of
from roundplan.handouts.speech import language, say


def session_form(index: PlanIndex, code: str) -> Form:
    """Return the form of a session.

    Parameters
    ----------
    code : str
        Code of the session.
    """
    session = index.sessions[code]
    sheets = (
        dates_sheet(index, session),
        people_sheet(index, session),
        slots_sheet(index, session),
        kit_sheet(index, session),
        notes_sheet(index, session),
        spending_sheet(index),
    )
    title = say("{session}, {what}", session=code, what=title_of(index, session))
    return Form(title, session_keys(index.plan)[code], language(), sheets)


def office_form(index: PlanIndex) -> Form:
    """Return the programme manager's form: spending of the office, stores counted, staff who left."""
    sheets = (spending_sheet(index, OFFICE_ROWS), stores_sheet(index), staff_sheet(index))
    return Form(say("After the round"), ROUND, language(), sheets)

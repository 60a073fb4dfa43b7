"""What stands in the sheets of a session that was told and is not held any more."""

from __future__ import annotations

from roundplan.domain.plan import Plan
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.sheets.frame import Section, render_sheet
from roundplan.handouts.sheets.session import title_of
from roundplan.handouts.speech import say
from roundplan.handouts.words import version_words


def session_withdrawn(plan: Plan, before: PlanIndex | None, code: str, *, version: int) -> bytes:
    """Return a sheet that says that a session is not held, as HTML.

    Parameters
    ----------
    plan : Plan
        The new plan.
    before : PlanIndex or None
        The plan in which the session was told; None where it is known no more.
    code : str
        Code of the session.
    version : int
        Version with which it was withdrawn.
    """
    cancelled, said = _words(code)
    title = _title(before, code)
    return render_sheet(plan, title, cancelled, [Section(lines=(said,))], version=version).encode()


def session_withdrawn_book(plan: Plan, before: PlanIndex | None, code: str, *, version: int) -> bytes:
    """Return the same as an .xlsx file."""
    from openpyxl import Workbook

    from roundplan.handouts.xlsx import put, save_bytes

    workbook = Workbook()
    sheet = workbook.worksheets[0]
    sheet.title = say("What changed")
    of_round = f"{plan.round_name}, {version_words(plan, version)}"
    for row, line in enumerate((_title(before, code), *_words(code), of_round), start=1):
        put(sheet.cell(row, 1), line)
    sheet.column_dimensions["A"].width = 90
    sheet.protection.sheet = True
    return save_bytes(workbook)


def _title(before: PlanIndex | None, code: str) -> str:
    session = before.sessions.get(code) if before else None
    return title_of(before, session) if before and session else say("Session {session}", session=code)


def _words(code: str) -> tuple[str, str]:
    cancelled = say("Session {session} is cancelled.", session=code)
    return cancelled, say("This session is not held any more. What was sent out for it before no longer holds.")

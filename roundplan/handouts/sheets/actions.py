"""A session's debrief actions: what is to be done at each facility, by whom, by when."""

from __future__ import annotations

from roundplan.domain.plan import Session
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.safety import DEBRIEFS
from roundplan.handouts.sheets.frame import SIGNED_MM, Section, render_sheet
from roundplan.handouts.sheets.session import title_of
from roundplan.handouts.speech import say

ROWS_A_FACILITY = 3
"""Actions a facility: more are seldom done (common practice, no source)."""

ROWS_OF_PROGRAMME = 2

SHARES = (0.2, 0.36, 0.2, 0.12, 0.12)


def render(index: PlanIndex, code: str, *, version: int | None = None) -> str:
    """Return a session's sheet of debrief actions as HTML.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    code : str
        Code of the session.
    version : int or None
        Version of this sheet's own last change; None = the plan's.
    """
    session = index.sessions[code]
    how = say(
        "Write at most three actions a facility while its team is still here: what will be done, who sees to it, and "
        "by which date. No patient is named and nobody is judged. Each person in charge gets a copy."
    )
    return render_sheet(
        index.plan,
        title_of(index, session),
        say("Debrief actions of session {session}.", session=code),
        [
            Section(lines=(how, say(DEBRIEFS))),
            Section(say("Actions"), table=_table(index, session), shares=SHARES, row_mm=SIGNED_MM),
            Section(say("Remarks"), ruled=2),
        ],
        sign=(say("Director"), say("Signature"), say("Looked at again on")),
        version=version,
    )


def _table(index: PlanIndex, session: Session) -> Table:
    facilities = dict.fromkeys(team.facility for team in index.teams_of_session(session.code))
    rows: list[tuple[Cell, ...]] = []
    for facility in facilities:
        rows += [(index.name(facility), "", "", "", "")] * ROWS_A_FACILITY
    rows += [(say("The programme"), "", "", "", "")] * ROWS_OF_PROGRAMME
    heads = (say("Where"), say("Action"), say("Owner"), say("Due date"), say("Done on"))
    return Table(say("Actions"), heads, rows)

"""A session's attendance register: who was expected, signs on each date, and with what result."""

from __future__ import annotations

from datetime import date

from roundplan.domain.plan import Session
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.sheets.frame import SIGNED_MM, Section, render_sheet
from roundplan.handouts.sheets.session import SPARE_ROWS, seats_of, team_said, title_of, trainers_of
from roundplan.handouts.speech import say
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import list_words, short_date


def render(index: PlanIndex, code: str, *, version: int | None = None) -> str:
    """Return a session's attendance register as HTML.

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
        "Everybody signs on each date, with the time of coming. The director writes the result at the end: trained, "
        "partly, or absent. Somebody who came in place of another stands in an empty row, with whose place it was."
    )
    return render_sheet(
        index.plan,
        title_of(index, session),
        say("Attendance register of session {session}.", session=code),
        [
            Section(lines=(how,)),
            Section(
                say("Participants"),
                table=_participants(index, session),
                shares=_shares(session, True),
                row_mm=SIGNED_MM,
            ),
            Section(
                say("Trainers and helpers"),
                table=_trainers(index, session),
                shares=_shares(session, False),
                row_mm=SIGNED_MM,
            ),
        ],
        sign=(say("Director"), say("Signature"), say("Date")),
        version=version,
    )


def _shares(session: Session, result: bool) -> tuple[float, ...]:
    """Return the columns' shares of the width: three of names, a signature a date, and the result."""
    left = 0.36 if result else 0.48
    return (0.22, 0.15, 0.15, *(left / len(session.dates) for _ in session.dates), *((0.12,) if result else ()))


def _signatures(session: Session) -> tuple[str, ...]:
    return tuple(say("{date}: time and signature", date=short_date(day)) for day in session.dates)


def _participants(index: PlanIndex, session: Session) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for team, seat in seats_of(index, session):
        name: Cell = index.name(seat.person)
        if seat.guest:
            name = (index.name(seat.person), say("guest from {facility}", facility=index.name(index.home(seat.person))))
        rows.append((name, role_word(seat.role), team_said(index, team), *_marks(session, team.dates), ""))
    rows += [("",) * (len(session.dates) + 4)] * SPARE_ROWS
    heads = (say("Who"), say("Role"), say("Team"), *_signatures(session), say("Result"))
    return Table(say("Participants"), heads, rows)


def _marks(session: Session, attended: tuple[date, ...]) -> tuple[str, ...]:
    """Return room to sign for each date attended, and a dash for the others."""
    return tuple("" if day in attended else "–" for day in session.dates)


def _trainers(index: PlanIndex, session: Session) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for trainer in trainers_of(index, session):
        leads = list_words(index.leads_of(session, trainer)) or say("trainer, no lead")
        aboard = [(trip, day) for trip, day, _ in index.days_aboard(trainer) if session.code in day.sessions]
        crews = ", ".join(dict.fromkeys(trip.crew for trip, _ in aboard))
        rows.append((index.name(trainer), leads, crews, *_marks(session, tuple(day.date for _, day in aboard))))
    helper = say("plays the patient, has agreed to it")
    rows += [("", helper, "", *("" for _ in session.dates))] * len(session.stations)
    heads = (say("Who"), say("Role"), say("Crew"), *_signatures(session))
    return Table(say("Trainers and helpers"), heads, rows)

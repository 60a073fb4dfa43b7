"""The tables of the final report, once for its page and its workbook: planned beside done."""

from __future__ import annotations

from datetime import date
from typing import Any

from roundplan.closing.done import Standing
from roundplan.closing.figures import Figures, GroupFigures, SessionFigures, took_place
from roundplan.domain.held import Cause
from roundplan.domain.role import Role
from roundplan.domain.supply import Per
from roundplan.handouts.attendance.words_of import CAUSES
from roundplan.handouts.closing.grid import Grid
from roundplan.handouts.speech import message, say
from roundplan.handouts.terms import cost_line, role_word
from roundplan.handouts.words import Money, capital, dates_words, list_words

STANDINGS = {
    Standing.HELD: message("held"),
    Standing.PARTLY: message("held in part"),
    Standing.CANCELLED: message("cancelled"),
    Standing.NOT_REPORTED: message("no form came back"),
}

PER = {
    Per.CREW: message("crew"),
    Per.STATION: message("station"),
    Per.SESSION: message("session"),
    Per.SIMULATION: message("simulation"),
    Per.WALL: message("wall"),
    Per.PARTICIPANT: message("participant"),
    Per.TRIP: message("trip"),
}


def grids(figures: Figures) -> tuple[Grid, ...]:
    """Return all tables in order."""
    made = (
        _whole(figures),
        _sessions(figures),
        _roles(figures),
        _facilities(figures),
        _items(figures),
        _money(figures),
    )
    return tuple(grid for grid in made if grid.rows)


def _whole(figures: Figures) -> Grid:
    sessions = figures.sessions
    rows = [
        (say("Sessions"), len(sessions), took_place(figures)),
        (say("Teams"), sum(s.teams for s in sessions), sum(s.teams_trained for s in sessions)),
        (say("People"), sum(s.people for s in sessions), sum(s.trained for s in sessions)),
        (say("Simulations"), sum(s.simulations for s in sessions), sum(s.run for s in sessions)),
        (say("Walls"), sum(s.walls for s in sessions), sum(s.walls_used for s in sessions)),
    ]
    caption = say(
        "People and teams count as done when trained: a person seated in every set simulation, a team with its minimum "
        "complete in each"
    )
    return Grid(say("In all"), caption, (say("What"), say("Planned"), say("Done")), rows)


def _sessions(figures: Figures) -> Grid:
    heads = (
        say("Session"),
        say("What became of it"),
        say("Teams planned"),
        say("Teams trained"),
        say("Simulations planned"),
        say("Simulations run"),
        say("People planned"),
        say("Trained"),
        say("Partly"),
        say("Absent"),
        say("Not said"),
        say("Session not held"),
    )
    rows = [
        (
            say("{place}, {dates}", place=s.venue, dates=dates_words(date.fromisoformat(day) for day in s.dates)),
            _became(s),
            s.teams,
            s.teams_trained,
            s.simulations,
            s.run,
            s.people,
            s.trained,
            s.partly,
            s.absent,
            s.not_said,
            s.not_held,
        )
        for s in figures.sessions
    ]
    return Grid(say("Sessions"), say("Each session, planned beside done"), heads, rows)


def _became(session: SessionFigures) -> str:
    """Say what became of a session, and why where it was not held whole."""
    words = say(STANDINGS[Standing(session.standing)])
    causes = [say(CAUSES[Cause(cause)]) if cause else say("cause not said") for cause in session.causes]
    return say("{standing}: {causes}", standing=words, causes=list_words(causes)) if causes else words


def _counts(row: GroupFigures) -> tuple[int, ...]:
    return row.planned, row.trained, row.partly, row.absent, row.not_said, row.not_held


def _roles(figures: Figures) -> Grid:
    heads = (
        say("Role"),
        say("Seats planned"),
        say("Trained"),
        say("Partly"),
        say("Absent"),
        say("Not said"),
        say("Session not held"),
    )
    rows: list[tuple[Any, ...]] = [(capital(role_word(Role(row.name))), *_counts(row)) for row in figures.roles]
    rows.append((say("All roles"), *(sum(_counts(row)[place] for row in figures.roles) for place in range(6))))
    return Grid(say("Roles"), say("People by role"), heads, rows, total=True)


def _facilities(figures: Figures) -> Grid:
    heads = (
        say("Facility"),
        say("District"),
        say("Teams planned"),
        say("Teams trained"),
        say("Seats planned"),
        say("Trained"),
        say("Partly"),
        say("Absent"),
        say("Not said"),
        say("Session not held"),
        say("Refresher from"),
        say("Overdue after"),
        say("Actions agreed"),
        say("Incidents"),
    )
    rows = [
        (
            row.name,
            row.district,
            row.teams,
            row.teams_trained,
            *_counts(row),
            _day(row.due),
            _day(row.alarm),
            row.actions,
            row.incidents,
        )
        for row in figures.facilities
    ]
    return Grid(say("Facilities"), say("Each facility, and when its refreshers are due"), heads, rows)


def _day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def _items(figures: Figures) -> Grid:
    heads = (
        say("Item"),
        say("Unit"),
        say("Planned for the round"),
        say("Used, where counted"),
        say("Sessions counted"),
        say("Per"),
        say("Quantity so far"),
        say("Quantity next"),
    )
    rows = [
        (row.name, row.unit, row.planned, row.used, row.sessions, say(PER[Per(row.per)]), row.before, row.after)
        for row in figures.items
    ]
    return Grid(say("Consumables"), say("What was used, and the quantities that follow"), heads, rows)


def _money(figures: Figures) -> Grid:
    heads = (
        say("Cost line"),
        say("Planned"),
        say("Budget"),
        say("Spent"),
        say("Spent less planned"),
        say("Payments"),
        say("Without receipt"),
    )
    rows: list[tuple[Any, ...]] = [
        (
            cost_line(row.line),
            row.planned,
            row.budgeted,
            row.spent,
            row.spent - row.planned,
            row.payments,
            row.without_receipt,
        )
        for row in figures.lines
    ]
    if rows:
        totals = [[row[place] for row in rows if row[place] is not None] for place in range(1, 7)]
        rows.append((say("All lines"), *(sum(known) if known else None for known in totals)))
    caption = say("Amounts in {currency}", currency=figures.currency)
    return Grid(say("Costs"), caption, heads, rows, frozenset({1, 2, 3, 4}), total=bool(rows))


def money_of(figures: Figures) -> Money:
    """Return what writes the amounts of a report the same way."""
    amounts = [amount for row in figures.lines for amount in (row.planned, row.budgeted or 0, row.spent)]
    return Money(figures.currency, figures.digits, amounts)

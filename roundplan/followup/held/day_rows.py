"""Rows of the day: dates held, who came, what was run."""

from __future__ import annotations

from roundplan.attendance.layout import SIMULATION, Column
from roundplan.domain.held import Came
from roundplan.domain.role import Role
from roundplan.followup.held.sayings import Row, Said
from roundplan.followup.matching import NotTaken

SPARE = "spare"
"""First word of the code of an empty row."""


def date_row(row: Row) -> Said:
    """Read whether a date was held."""
    (day,) = row.written.code
    held, cause = row.cells.word(Column.HELD), row.cells.word(Column.CAUSE)
    if held == Came.YES and cause:
        words = "a cause stands here, but the date is said to have been held"
        raise NotTaken("contradiction", words, "leave one of them out", Column.CAUSE, row.cells.text(Column.CAUSE))
    if cause and not held:
        words = "a cause stands here, but not whether the date was held"
        raise NotTaken("not-said", words, "answer no or partly", Column.HELD)
    doubt = None
    if held in (Came.NO, Came.PARTLY) and not cause:
        doubt = NotTaken(
            "no-cause", "nobody says why", "ask for the cause: patient first, staff, road, kit or other", Column.CAUSE
        )
    content = {"held": held, "cause": cause, "remark": row.cells.text(Column.REMARK, 2_000)}
    return row.said((day,), f"held on {day}", content, doubt)


def person_row(row: Row) -> Said:
    """Read who came, in a seat as planned or besides."""
    return _besides(row) if row.written.code[0] == SPARE else _expected(row)


def _expected(row: Row) -> Said:
    team, role, person = row.written.code
    came, why = row.cells.word(Column.CAME), row.cells.word(Column.WHY)
    instead, unknown = _person(row, Column.INSTEAD, Role(role))
    if instead and came == Came.YES:
        words = "somebody came instead, but the one expected is said to have come"
        raise NotTaken("contradiction", words, "answer no or partly", Column.INSTEAD, row.cells.text(Column.INSTEAD))
    if why and came == Came.YES:
        words = "it is said why somebody did not come, and that they came"
        raise NotTaken("contradiction", words, "leave one of them out", Column.WHY, row.cells.text(Column.WHY))
    came = came or (Came.NO if instead or why else "")
    simulations, doubt = _simulations(row, came)
    if not came:
        raise NotTaken("not-said", "it is not said whether this person came", "answer yes, no or partly", Column.CAME)
    name = row.training_round.name_of(person)
    content = {"came": came, "simulations": simulations, "instead": instead, "why": why}
    return row.said((team, role, person), f"{name}, {role}", content, unknown, doubt)


def _simulations(row: Row, came: str) -> tuple[str, NotTaken | None]:
    """Return the simulations that somebody sat in, as ``1;3``; blank where that follows from the answer."""
    columns = [column for column in row.cells.printed.open if column.startswith(SIMULATION)]
    marked = {column: row.cells.word(column) for column in sorted(columns, key=_number)}
    if came != Came.PARTLY:
        against = next(
            (column for column, word in marked.items() if word and (word == Came.YES) != (came == Came.YES)), None
        )
        if against is not None and came:
            words = f"this says otherwise than the answer {came}"
            raise NotTaken(
                "contradiction", words, "answer partly, and mark each simulation", against, row.cells.text(against)
            )
        return "", None
    if not any(marked.values()):
        doubt = NotTaken(
            "not-said", "it is not said which simulations; none is counted", "mark each simulation", Column.CAME
        )
        return "", doubt
    return ";".join(str(_number(column)) for column, word in marked.items() if word == Came.YES), None


def _number(column: str) -> int:
    return int(column.rpartition(" ")[2])


def _besides(row: Row) -> Said:
    """Read somebody whom nobody expected; a name alone says that they came."""
    name = row.cells.text(Column.NAME)
    if not name:
        raise NotTaken("not-said", "nobody is named here", "write who came", Column.NAME)
    role = row.cells.word(Column.ROLE)
    if not role:
        raise NotTaken("not-said", "the role is missing", "choose the role", Column.ROLE)
    team = row.cells.word(Column.TEAM) or _only_team(row)
    person, unknown = _person(row, Column.NAME, Role(role))
    marked = any(row.cells.text(c) for c in row.cells.printed.open if c.startswith(SIMULATION))
    came = row.cells.word(Column.CAME) or (Came.PARTLY if marked else Came.YES)
    simulations, doubt = _simulations(row, came)
    said = row.training_round.name_of(person)
    content = {"came": came, "simulations": simulations}
    return row.said((team, role, person, "besides"), f"{said}, {role}, not expected", content, unknown, doubt)


def _only_team(row: Row) -> str:
    offered = row.cells.printed.choices[Column.TEAM].offered
    if len(offered) == 1:
        return offered[0][1]
    raise NotTaken("not-said", "the team is missing", "choose the team", Column.TEAM)


def _person(row: Row, column: str, role: Role) -> tuple[str, NotTaken | None]:
    """Return the code of somebody named, or the name where no staff list has it, and what is doubtful about it."""
    text = row.cells.text(column)
    if not text:
        return "", None
    people = {person.code: person for person in row.training_round.people}
    code = row.cells.code(column)
    if code is None:
        named = [c for c, p in people.items() if p.name.casefold() == text.casefold()]
        ends = [c for c in people if text == c or text.endswith(f"[{c}]")]
        code = ends[0] if ends else named[0] if len(named) == 1 else None
    if code is None:
        words = "no staff list has this name; counted as having come, but not entered as trained"
        return text, NotTaken("unknown-person", words, "add the person to the staff table", column, text)
    if role not in people[code].roles:
        words = f"{people[code].name} is not authorised as {role} by the staff list; not entered as trained"
        return code, NotTaken("not-authorised", words, "correct the role here, or the staff table", column, text)
    return code, None


def slot_row(row: Row) -> Said:
    """Read what was run in a slot; what is blank went as planned."""
    day, station, number = row.written.code
    cells = row.cells
    run, wall, end = cells.word(Column.RUN), cells.whole(Column.WALL, 1), cells.word(Column.WALL_END)
    team, case = cells.word(Column.OTHER_TEAM), cells.word(Column.OTHER_CASE)
    if run == Came.NO and (team or case or wall):
        words = "it is said what was run here, and that nothing was"
        raise NotTaken("contradiction", words, "leave one of them out", Column.RUN, cells.text(Column.RUN))
    content = {
        "run": run,
        "team": team,
        "case": case,
        "wall": "" if wall is None else str(wall),
        "end": end,
        "remark": cells.text(Column.REMARK, 2_000),
    }
    return row.said((day, station, number), f"slot {number} of station {station} on {day}", content)

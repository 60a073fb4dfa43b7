"""A slip to print, fill in by hand and send back: one side of paper a facility."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Cover, CoverKind
from roundplan.handouts.facility.cover import named_words, short_shift, swap_words, teaching_words, why_words
from roundplan.handouts.facility.groups import groups
from roundplan.handouts.facility.stand_ins import stand_in_lines
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.sheets.frame import ROW_MM, Section, render_sheet
from roundplan.handouts.slips.rows import ShiftRow, Slip, offered_but_needed, slip_of
from roundplan.handouts.slips.words_of import reply_said, send_back_words, stay_line
from roundplan.handouts.speech import say
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import capital, list_words
from roundplan.slips.numbering import Numbers
from roundplan.slips.reply_code import Word

SEAT_SHARES = (0.07, 0.24, 0.17, 0.17, 0.14, 0.21)
STAY_SHARES = (0.07, 0.17, 0.50, 0.15, 0.11)
"""Shares of the width that the columns have."""


def render(
    index: PlanIndex,
    facility: str,
    *,
    contacts: Mapping[str, Contact] | None = None,
    version: int | None = None,
    numbers: Numbers | None = None,
) -> str:
    """Return a facility's slip as HTML.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    facility : str
        Code of the facility. Of other facilities' people only guests in its own teams appear.
    contacts : mapping of str to Contact or None
        Contacts by code; only the manager's is printed.
    version : int or None
        Version of this slip's own last change; None = the plan's.
    numbers : Numbers or None
        Letters and numbers of reply codes; None = as if no slip had gone out before.
    """
    slip = slip_of(index, facility, version, numbers)
    sections = [Section(lines=(how_words((contacts or {}).get("manager")),)), *_goes(index, slip), *_stays(index, slip)]
    if len(sections) == 1:
        sections.append(Section(lines=(say("Nobody from here goes or is named to stay in this round."),)))
    return render_sheet(
        index.plan,
        slip.facility.name,
        say("Slip for the district coordinator: reply for each person and each shift."),
        [*sections, Section(say("Remarks"), ruled=1)],
        sign=(say("Name of the coordinator"), say("Signature"), say("Date")),
        version=version,
    )


def _goes(index: PlanIndex, slip: Slip) -> Iterator[Section]:
    """Yield who goes, a section a team, then what else there is to know about them."""
    facility = slip.facility.code
    teams = dict.fromkeys(row.team.code for row in slip.seats)
    for number, (code, group) in enumerate(zip(teams, groups(index, facility), strict=True)):
        if not number:
            yield Section(say("Who goes"))
        yield Section(group.title, (" ".join(group.sentences),), seats_table(slip, code), SEAT_SHARES, True, ROW_MM)
    guests = (
        [say("Guests have no code here: their own facility replies.")] if any(not r.code for r in slip.seats) else []
    )
    notes = (
        *guests,
        *teaching_words(index, facility),
        *swap_words(index, facility),
        *_others(index, slip),
        *stand_in_lines(index, facility),
    )
    if notes:
        yield Section(lines=notes)


def _stays(index: PlanIndex, slip: Slip) -> Iterator[Section]:
    if slip.shifts:
        yield Section(say("Who stays"), table=stays_table(index, slip), shares=STAY_SHARES, row_mm=ROW_MM)


def how_words(manager: Contact | None) -> str:
    """Say what to fill in and where to send it."""
    said = say(
        "Under “Reply” write “{yes}”, “{no}”, or “{replaced}” and beside it who comes instead. The day before each "
        "shift, write who in charge confirmed that these people stay, and when.",
        yes=reply_said(Word.YES),
        no=reply_said(Word.NO),
        replaced=reply_said(Word.REPLACED),
    )
    return said + " " + send_back_words(manager)


def seats_table(slip: Slip, team: str) -> Table:
    """Return a team's seats, a code before and room to reply behind each."""
    rows: list[tuple[Cell, ...]] = []
    for row in (row for row in slip.seats if row.team.code == team):
        reply = "" if row.code else "–"
        rows.append((row.code or "–", row.name, role_word(row.seat.role), row.standby, reply, reply))
    heads = (say("Code"), say("Who"), say("Role"), say("Standby"), say("Reply"), say("Replaced by"))
    return Table(say("Seats of this team"), heads, rows)


def stays_table(index: PlanIndex, slip: Slip) -> Table:
    """Return who stays in each shift, with its code and room for who confirmed it and when."""
    rows: list[tuple[Cell, ...]] = [
        (row.code, short_shift(row.date, row.shift), _stayers(index, row), "", "") for row in slip.shifts
    ]
    heads = (say("Code"), say("Shift"), say("These stay"), say("Confirmed by"), say("On, at"))
    return Table(say("Who stays in each shift"), heads, rows)


def _stayers(index: PlanIndex, row: ShiftRow) -> Cell:
    """Return those who stay, a line for each thing that they stay for; what a wider line says is not said again."""
    lines: dict[tuple[str, ...], list[str]] = {}
    for cover in row.covers:
        if cover.kind is CoverKind.OWN and any(_holds(wider, cover) for wider in row.covers):
            continue
        why = why_words(index, cover)
        lines.setdefault((named_words(index, cover),), []).extend([why] if why else [])
    return tuple(
        say("{why}: {names}", why=capital("; ".join(whys)), names=names) if whys else names
        for (names,), whys in lines.items()
    )


def _holds(wider: Cover, own: Cover) -> bool:
    return wider.kind is CoverKind.REFERRAL and set(own.named) <= set(wider.named)


def _others(index: PlanIndex, slip: Slip) -> tuple[str, ...]:
    """Say who could come instead, by role, and of whom others must then stay."""
    needed = offered_but_needed(index, slip)
    by_role: dict[str, dict[str, str]] = {}
    for row in slip.seats:
        people = {
            person.code: say("{person} (named to stay)", person=person.name) if person.code in needed else person.name
            for person in row.substitutes
        }
        by_role.setdefault(role_word(row.seat.role), {}).update(people)
    said = [f"{role}: {list_words(people.values())}" for role, people in by_role.items() if people]
    if not said:
        return ()
    return (
        say("Could come instead, by the staff list: {people}.", people="; ".join(said)),
        *stay_line(needed),
    )

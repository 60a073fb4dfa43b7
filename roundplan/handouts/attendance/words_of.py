"""What attendance forms call things: headings, sheets, what to fill in, the words of drop-downs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from roundplan.attendance.form import Choices
from roundplan.attendance.layout import Column, Part, simulation_column
from roundplan.domain.decision import CostLine
from roundplan.domain.held import Came, Cause, Hindrance, NoteKind
from roundplan.domain.role import Role
from roundplan.handouts.speech import message, say
from roundplan.handouts.terms import cost_line, role_word
from roundplan.handouts.words import list_words

SHEETS = {
    Part.DATES: message("Held"),
    Part.PEOPLE: message("Who came"),
    Part.SLOTS: message("Simulations"),
    Part.KIT: message("Kit"),
    Part.NOTES: message("Actions and incidents"),
    Part.SPENDING: message("Spending"),
    Part.STORES: message("Stores"),
    Part.STAFF: message("Staff who left"),
}

CAME = {Came.YES: message("yes"), Came.NO: message("no"), Came.PARTLY: message("partly")}

CAUSES = {
    Cause.PATIENT: message("patient first"),
    Cause.STAFF: message("staff"),
    Cause.ROAD: message("road"),
    Cause.KIT: message("kit"),
    Cause.OTHER: message("other"),
}

HINDRANCES = {
    Hindrance.PATIENT: message("patient first"),
    Hindrance.LEAVE: message("leave or illness"),
    Hindrance.ROAD: message("road"),
    Hindrance.LEFT: message("left the facility"),
    Hindrance.OTHER: message("other"),
}

KINDS = {NoteKind.ACTION: message("debrief action"), NoteKind.INCIDENT: message("incident")}

HEADS = {
    Column.DATE: message("Date"),
    Column.HELD: message("Was it held?"),
    Column.CAUSE: message("If not, or in part: why?"),
    Column.REMARK: message("Remark"),
    Column.NAME: message("Name"),
    Column.ROLE: message("Role"),
    Column.TEAM: message("Team"),
    Column.CAME: message("Came?"),
    Column.INSTEAD: message("Who came instead"),
    Column.WHY: message("Why not"),
    Column.TIME: message("Time"),
    Column.STATION: message("Station"),
    Column.CASE: message("Case"),
    Column.PLANNED_WALL: message("Wall as planned"),
    Column.RUN: message("Was it run?"),
    Column.OTHER_TEAM: message("Other team"),
    Column.OTHER_CASE: message("Other case"),
    Column.WALL: message("Other wall"),
    Column.WALL_END: message("Other end"),
    Column.ITEM: message("Item"),
    Column.UNIT: message("Unit"),
    Column.PLANNED: message("As planned"),
    Column.USED: message("Used"),
    Column.LEFT: message("Left, counted"),
    Column.KIND: message("Kind"),
    Column.FACILITY: message("Facility"),
    Column.WHAT: message("What"),
    Column.OWNER: message("Who sees to it"),
    Column.DUE: message("Due date"),
    Column.LINE: message("Cost line"),
    Column.AMOUNT: message("Amount"),
    Column.RECEIPT: message("Receipt number"),
    Column.PAID_ON: message("Paid on"),
    Column.PLACE: message("Place"),
    Column.BEFORE: message("Before the round"),
    Column.COUNTED: message("Counted"),
    Column.GONE: message("Has left?"),
}


def heads(columns: tuple[str, ...]) -> Mapping[str, str]:
    """Return the headings of some columns."""
    known = {column: say(words) for column, words in HEADS.items()}
    return {c: known[c] if c in known else say("Simulation {number}", number=c.rpartition(" ")[2]) for c in columns}


def to_do(part: Part, currency: str) -> str:
    """Say what to fill in on a sheet."""
    said = {
        Part.DATES: say(
            "One answer for each date: yes, no or partly. Causes: {causes}.",
            causes=list_words(label for label, _ in cause_choices().offered),
        ),
        Part.PEOPLE: say(
            "Answer for each person: yes is for all simulations of the team. After partly, mark each simulation. "
            "Whoever else came stands in an empty row. Why not: {reasons}.",
            reasons=list_words(label for label, _ in hindrance_choices().offered),
        ),
        Part.SLOTS: say("Leave blank what went as planned. Answer no where a simulation was not run."),
        Part.KIT: say("Count when packing up. What is left is enough; what was used can be worked out from it."),
        Part.NOTES: say(
            "What is to be done, by whom, by when. Debriefs are confidential: name no patient and judge nobody; no "
            "scores."
        ),
        Part.SPENDING: say("One row a receipt and cost line, amounts in {currency}.", currency=currency),
        Part.STORES: say("What lies in the stores once everything is back, counted."),
        Part.STAFF: say("Answer yes for everybody who no longer works there."),
    }
    return said[part]


def told_apart(pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Return labels with their codes; a label that several codes have in common has its code behind."""
    offered = tuple(pairs)
    often = Counter(label for label, _ in offered)
    return tuple((label if often[label] == 1 else f"{label} [{code}]", code) for label, code in offered)


def came_choices(*, whole: bool = False) -> Choices:
    """Return what can be answered to whether somebody came; ``whole`` leaves out partly."""
    words = [came for came in Came if not (whole and came is Came.PARTLY)]
    return Choices(tuple((say(CAME[came]), came.value) for came in words))


def cause_choices() -> Choices:
    """Return the causes of a date that was not held."""
    return Choices(tuple((say(CAUSES[cause]), cause.value) for cause in Cause))


def hindrance_choices() -> Choices:
    """Return why somebody did not come."""
    return Choices(tuple((say(HINDRANCES[why]), why.value) for why in Hindrance))


def kind_choices() -> Choices:
    """Return what a note can be."""
    return Choices(tuple((say(KINDS[kind]), kind.value) for kind in NoteKind))


def role_choices() -> Choices:
    """Return the roles."""
    return Choices(tuple((role_word(role), role.value) for role in Role))


def line_choices() -> Choices:
    """Return the cost lines that money is paid on; contingency is none of them."""
    return Choices(tuple((cost_line(line.value), line.value) for line in CostLine if line is not CostLine.CONTINGENCY))


def simulation_columns(number: int) -> tuple[str, ...]:
    """Return the keys of the columns of so many simulations."""
    return tuple(simulation_column(place) for place in range(1, number + 1))

"""What each observer of a session looks at, dealt out once so that every document says the same."""

from __future__ import annotations

from datetime import date
from enum import Enum

from roundplan.domain.plan import Session
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import message


class Watch(Enum):
    """One thing to look at; four of them, so that a team of four who watch sees all."""

    COMMUNICATION = "communication"
    ROLES = "roles"
    TIMING = "timing"
    NEWBORN = "newborn"


WATCH_WORDS = {
    Watch.COMMUNICATION: message("communication"),
    Watch.ROLES: message("roles and help"),
    Watch.TIMING: message("times"),
    Watch.NEWBORN: message("newborn care"),
}
"""Each thing to look at in a word or two."""

WATCH_HINTS = {
    Watch.COMMUNICATION: message("What is said aloud, to whom, and whether it is answered."),
    Watch.ROLES: message("Who leads, who does what, who is free to help, when help is called."),
    Watch.TIMING: message("The clock: call for help, first cut, baby out, uterus closed; write each time down."),
    Watch.NEWBORN: message("Who takes the baby, warmth, first breaths, what the mother is told."),
}
"""What that means in a simulation."""


def watches(index: PlanIndex, session: Session, day: date) -> dict[str, Watch]:
    """Return what each observer of a date looks at all day, by code, in the order of teams and seats.

    Dealt out in turn, from one team to the next, so that any four who sit next to each other see all four; on each
    further date of a session everybody moves on by one.
    """
    seen = {code for slot in session.slots if slot.date == day for code in slot.observers}
    seated = [seat.person for team in index.teams_of_session(session.code, day) for seat in team.seats]
    ordered = [code for code in dict.fromkeys(seated) if code in seen]
    ordered += sorted(seen.difference(ordered))
    tasks, turn = tuple(Watch), session.dates.index(day)
    return {code: tasks[(place + turn) % len(tasks)] for place, code in enumerate(ordered)}

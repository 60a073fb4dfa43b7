"""A session's sheet for those who watch: what to look for, with room to write, and who watches when.

It asks open questions and has nothing to tick or to score; for safety steps it points to the facility's own checklist.
"""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.plan import Session, Slot, SlotKind
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.safety import DEBRIEFS, PATIENT_FIRST
from roundplan.handouts.sheets.frame import Section, render_sheet
from roundplan.handouts.sheets.session import team_said, title_of
from roundplan.handouts.speech import say
from roundplan.handouts.watching import WATCH_WORDS, Watch, watches
from roundplan.handouts.words import capital, clock_span, list_words, short_date

RULED = 2
"""Lines to write on under each question."""

WATCH_SHARES = (0.22, 0.1, 0.28, 0.4)


def render(index: PlanIndex, code: str, *, version: int | None = None) -> str:
    """Return a session's observers' sheet as HTML.

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
    return render_sheet(
        index.plan,
        title_of(index, session),
        say("Observers' sheet of session {session}: a copy for each observer and simulation.", session=code),
        [
            Section(lines=(_how(), say(PATIENT_FIRST), say(DEBRIEFS))),
            *(Section(heading, (question,), ruled=RULED) for heading, question in _questions()),
            Section(say("Who watches when"), table=_watching(index, session), shares=WATCH_SHARES),
        ],
        sign=(say("Team watched"), say("Time of the simulation")),
        version=version,
    )


def _how() -> str:
    return say(
        "Watch in silence and write what you see and hear, not what you think of it. Look above all at the one of the "
        "four that stands beside your name. In the debrief the team speaks first; then say one thing that went well "
        "and one question. For the safety steps keep your hospital's own checklist beside you: this sheet takes no "
        "step of it over."
    )


def _questions() -> Iterator[tuple[str, str]]:
    yield (
        capital(say(WATCH_WORDS[Watch.COMMUNICATION])),
        say("Which words made something clear to everybody? What was said to nobody in particular, or not answered?"),
    )
    yield (
        capital(say(WATCH_WORDS[Watch.ROLES])),
        say("Who led, and how did the others know? Who took a task on, and who had none or too many?"),
    )
    yield (
        capital(say(WATCH_WORDS[Watch.TIMING])),
        say(
            "Write the clock time of what mattered: call for help, start of the operation, birth, end. When did the "
            "team wait, and for what?"
        ),
    )
    yield (
        capital(say(WATCH_WORDS[Watch.NEWBORN])),
        say("Who was ready for the baby, and with what? What was done first after the birth, and who told the mother?"),
    )


def _watching(index: PlanIndex, session: Session) -> Table:
    rows = [_row(index, session, slot) for slot in sorted(session.slots, key=lambda s: (s.date, s.start, s.station))]
    heads = (say("Slot"), say("Station"), say("Who simulates"), say("Who watches"))
    return Table(say("Who watches when"), heads, [row for row in rows if row])


def _row(index: PlanIndex, session: Session, slot: Slot) -> tuple[Cell, ...]:
    if slot.kind is not SlotKind.SIMULATION or slot.team is None:
        return ()
    when = clock_span(slot.start, slot.end)
    if len(session.dates) > 1:
        when = f"{short_date(slot.date)} {when}"
    looks = watches(index, session, slot.date)
    watching = list_words(
        say("{name} ({what})", name=index.name(code), what=say(WATCH_WORDS[looks[code]])) for code in slot.observers
    )
    return when, str(slot.station), team_said(index, index.teams[slot.team]), watching or say("nobody named")

"""A facility's release letter: whom it is asked to let go, when, who stays meanwhile, and lines to sign."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from roundplan.domain.decision import Contact
from roundplan.handouts.facility.cover import cover_rows, referral_words, rosters_wanted, swap_words, teaching_words
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.safety import COVER_CONFIRMED, LOCAL_RULES, NO_AUTHORITY
from roundplan.handouts.sheets.frame import Section, render_sheet
from roundplan.handouts.slips.rows import SeatRow, slip_of
from roundplan.handouts.speech import say
from roundplan.handouts.terms import role_word

GOES_SHARES = (0.24, 0.17, 0.29, 0.15, 0.15)
STAYS_SHARES = (0.3, 0.7)


def wanted(index: PlanIndex, facility: str) -> bool:
    """Whether a facility has anybody to release: people with a seat, or staff who travel as trainers."""
    own = any(index.home(seat.person) == facility for _, seat in index.seats_at(facility))
    return own or bool(teaching_words(index, facility))


def render(
    index: PlanIndex,
    facility: str,
    *,
    contacts: Mapping[str, Contact] | None = None,
    version: int | None = None,
) -> str:
    """Return a facility's release letter as HTML.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    facility : str
        Code of the facility; of other facilities' people nobody is named.
    contacts : mapping of str to Contact or None
        Contacts by code; only the manager's is printed.
    version : int or None
        Version of this letter's own last change; None = the plan's.
    """
    slip = slip_of(index, facility, version)
    own = [row for row in slip.seats if row.code]
    answer_to = Section(lines=(_answer_to((contacts or {}).get("manager")),))
    if not wanted(index, facility):
        nobody = Section(lines=(say("Nobody from here has to be released in this round."),))
        sections = [nobody, *_stays(index, facility), answer_to]
        return render_sheet(index.plan, slip.facility.name, say("Release letter."), sections, version=version)
    return render_sheet(
        index.plan,
        slip.facility.name,
        say("Release letter."),
        [
            Section(lines=(_request(slip.facility.name),)),
            *_goes(index, facility, own),
            *_stays(index, facility),
            Section(lines=(say(NO_AUTHORITY), say(LOCAL_RULES))),
            answer_to,
            Section(say("Release"), (_declaration(),)),
        ],
        sign=(say("Name and position of the person in charge"), say("Signature and stamp"), say("Date")),
        version=version,
    )


def _request(facility: str) -> str:
    return say(
        "To the person in charge of {facility}: please release the people below for team training in caesarean birth, "
        "for the times given, travel included.",
        facility=facility,
    )


def _goes(index: PlanIndex, facility: str, own: list[SeatRow]) -> Iterator[Section]:
    lines = (*teaching_words(index, facility), *swap_words(index, facility))
    rows: list[tuple[Cell, ...]] = [
        (row.name, role_word(row.seat.role), _training(row), row.leaves, row.returns) for row in own
    ]
    heads = (say("Who"), say("Role"), say("Training"), say("Leaves"), say("Is back"))
    table = Table(say("Whom to release"), heads, rows)
    yield Section(say("Whom to release"), table=table, shares=GOES_SHARES)
    if lines:
        yield Section(lines=lines)


def _training(row: SeatRow) -> str:
    return say("{place}, {dates}", place=row.venue, dates=row.dates)


def _stays(index: PlanIndex, facility: str) -> Iterator[Section]:
    rows = cover_rows(index, facility)
    if rows:
        table = Table(say("Who stays in each shift"), (say("Shift"), say("These stay")), rows)
        referral = referral_words(index, facility)
        yield Section(say("Who stays"), (say(COVER_CONFIRMED), *_rosters(index, facility)), table, STAYS_SHARES)
        if referral:
            yield Section(lines=(referral,))


def _rosters(index: PlanIndex, facility: str) -> tuple[str, ...]:
    """Ask for the rosters that have not been seen."""
    wanted = rosters_wanted(index, facility)
    if not wanted:
        return ()
    return (say("Send the roster for {shifts}. Until it comes, all are assumed to be there.", shifts=wanted),)


def _answer_to(manager: Contact | None) -> str:
    reach = ", ".join(part for part in (manager.phone, manager.email) if part) if manager else ""
    if reach:
        return say("Questions, or somebody who cannot go: tell the programme manager, {contact}.", contact=reach)
    return say("Questions, or somebody who cannot go: tell the programme manager.")


def _declaration() -> str:
    return say(
        "I release the people named above for the times given, and those named to stay will be there, by day and by "
        "night. Should a patient need one of them, the patient comes first."
    )

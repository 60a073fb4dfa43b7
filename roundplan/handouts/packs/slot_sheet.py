"""A date of a session on one sheet: room, people, slots by the clock, cases with stop rules, how to stop."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from roundplan.domain.clock import MINUTE
from roundplan.domain.decision import Contact
from roundplan.domain.plan import Session, SessionDay, Slot, SlotKind
from roundplan.handouts.packs.session_people import (
    leaving_lines,
    team_words,
    teams_blocks,
    trainer_lines,
    trainers_of,
    watcher_over,
)
from roundplan.handouts.packs.terms import room_word
from roundplan.handouts.pdf.blocks import (
    Blank,
    Block,
    Cell,
    Columns,
    Ems,
    Grid,
    Heading,
    Line,
    Lines,
    Notice,
    Sheet,
    Strong,
    Wide,
)
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.run_sheet import watchers
from roundplan.handouts.road.travel_days import exposure_lines, session_line
from roundplan.handouts.safety import GO_OR_NOT, PATIENT_FIRST
from roundplan.handouts.speech import say, several
from roundplan.handouts.terms import pause_word, shipped
from roundplan.handouts.words import arrival, capital, clock, day_date, list_words

_LAST = 99
"""After every station."""

_SLOT_WIDTHS = (Ems(4.9), Ems(5.5), Ems(5.2), Ems(4.7), Ems(3.6), 3.4, Ems(), 2.3, 2.6)


def slot_sheet(index: PlanIndex, session: Session, day: SessionDay, contacts: Mapping[str, Contact]) -> Sheet:
    """Return the sheet of one date of a session: the same for all who work there, so that it can lie on the table.

    Parameters
    ----------
    contacts : mapping of str to Contact
        The venue's number is printed.
    """
    title = say("{venue}, {date}", venue=index.name(session.venue), date=day_date(day.date))
    three = Columns(
        (
            (Heading(say("Room"), 3), Lines(list(_room(index, session, day.date)))),
            (Heading(say("Trainers"), 3), Lines(list(trainer_lines(index, session)))),
            (Heading(say("Who plays the patient"), 3), Lines(list(_patient(index, session)))),
        ),
        (1, 1.1, 1.1),
    )
    parts: list[Block] = [
        Heading(title, 1),
        Lines([session_line(index, session, day.date)]),
        three,
        Notice(say("Who may stop, and how"), list(_stopping(index, session, day.date, contacts))),
        *teams_blocks(index, session, day.date),
        slots_grid(index, session, day),
    ]
    cases = _cases(index, session, day.date)
    return Sheet([*parts, cases] if cases.rows else parts)


def _room(index: PlanIndex, session: Session, day: date) -> Iterator[str]:
    if index.training_round.is_facility(session.venue):
        facility = index.training_round.facility(session.venue)
        if facility.session_room is not None:
            yield say("Room: {room}.", room=room_word(facility.session_room))
        if facility.minutes_to_theatre is not None:
            yield say("{minutes} min on foot to theatre.", minutes=facility.minutes_to_theatre)
    yield capital(several("{numeral} station.", "{numeral} stations.", len(session.stations)))
    yield from _bodies(index, session, day)


def _bodies(index: PlanIndex, session: Session, day: date) -> Iterator[str]:
    """Yield how many people are in the room, and how many it takes."""
    rules = index.training_round.settings.session
    stations = len(session.stations)
    participants = sum(len(team.seats) for team in index.teams_of_session(session.code, day))
    trainers = len(trainers_of(index, session, day))
    volunteers = rules.volunteers_per_station * stations
    yield several("{number} participant", "{number} participants", participants)
    yield several("{number} trainer", "{number} trainers", trainers)
    if volunteers:
        yield several(
            "{number} volunteer who plays the patient", "{number} volunteers who play the patient", volunteers
        )
    limit = index.training_round.site(session.venue).room_limit
    yield say(
        "{bodies} in the room, at most {limit}.",
        bodies=participants + trainers + volunteers,
        limit=limit if limit is not None else rules.room_limit * stations,
    )


def _patient(index: PlanIndex, session: Session) -> Iterator[Line]:
    if not index.training_round.settings.session.volunteers_per_station:
        yield say("Nobody: the box model lies on the table alone.")
        return
    for station in session.stations:
        if len(session.stations) > 1:
            yield Strong(say("Station {number}", number=station.number))
        yield Blank(say("Volunteer:"))
        watcher = watcher_over(index, session, station)
        yield say("Watched over by {name}.", name=index.name(watcher)) if watcher else Blank(say("Watched over by:"))
    yield Blank(say("Stop word agreed:"))
    yield say("Steps away before a blade or needle is opened.")


def _stopping(index: PlanIndex, session: Session, day: date, contacts: Mapping[str, Contact]) -> Iterator[Line]:
    yield say(PATIENT_FIRST)
    yield say(GO_OR_NOT)
    yield from (say("Who leaves first: {words}", words=line) for line in leaving_lines(index, session, day))
    contact = contacts.get(session.venue)
    if contact is not None and contact.phone:
        yield say("{venue}: {phone}", venue=index.name(session.venue), phone=contact.phone)
    yield Blank(say("Person in charge, by name:"))
    yield from (say("Needle-stick at {where}", where=line) for line in exposure_lines(index, (session.venue,)))


def slots_grid(index: PlanIndex, session: Session, day: SessionDay) -> Grid:
    """Return a date by the clock: opening, each slot with its parts, pauses, closing; stations side by side in time."""
    rules = index.training_round.settings.session
    timed: list[tuple[int, int, list[Cell]]] = [(day.start, 0, [clock(day.start), Wide(say("Opening"))])]
    timed += [(slot.start, slot.station, _slot_row(index, slot)) for slot in session.slots if slot.date == day.date]
    for pause in day.pauses:
        words = say("{what} until {time}", what=capital(pause_word(pause.kind)), time=clock(pause.end))
        timed.append((pause.start, 0, [clock(pause.start), Wide(words)]))
    closing = day.end - rules.closing * MINUTE
    ends = say("Closing, sharps counted in; end {time}", time=arrival(day.end))
    timed.append((closing, _LAST, [clock(closing), Wide(ends)]))
    heads = (
        say("Brief"), say("Simulate"), say("Debrief"), say("Reset"), say("End"), say("Team and case"), say("Wall"),
        say("Station and director"), say("Watch"),
    )  # fmt: skip
    return Grid(say("Slots"), heads, [row for *_, row in sorted(timed, key=lambda row: row[:2])], _SLOT_WIDTHS)


def _slot_row(index: PlanIndex, slot: Slot) -> list[Cell]:
    rules = index.training_round.settings.session
    if slot.kind is SlotKind.RESERVE:
        kept = say("Station {number}: kept free as a reserve until {time}", number=slot.station, time=arrival(slot.end))
        return [clock(slot.start), Wide(kept)]
    parts = (0, rules.brief, rules.simulate, rules.debrief)
    times = [clock(slot.start + MINUTE * sum(parts[: place + 1])) for place in range(len(parts))]
    team = index.teams[slot.team] if slot.team is not None else None
    who = team_words(index, team) if team else say("Demonstration by trainers")
    what: list[Line] = [Strong(who), shipped(index.name(slot.case)) if slot.case else say("case as agreed")]
    wall = "" if slot.wall is None else say("{number}, end {end}", number=slot.wall, end=slot.wall_end)
    where = say("Station {number}", number=slot.station)
    director: list[Line] = [where, index.name(slot.director)] if slot.director else [where]
    watching = list_words(watchers(index, slot, "")) or say("nobody named")
    return [*times, arrival(slot.end), what, wall, director, watching]


def _cases(index: PlanIndex, session: Session, day: date) -> Grid:
    rows: list[list[Cell]] = []
    slots = sorted((slot for slot in session.slots if slot.date == day), key=lambda slot: slot.start)
    for code in dict.fromkeys(slot.case for slot in slots if slot.case):
        case = index.training_round.case(code)
        name: list[Line] = [Strong(shipped(case.name))]
        if case.approved_on is None:
            name.append(say("approval still wanted"))
        bring = list_words(index.name(item) for item in case.extra_items) or say("nothing more")
        rows.append([name, shipped(case.stop_rule), bring])
    return Grid(say("Cases"), (say("Case"), say("Stop rule"), say("Bring")), rows, (2.4, 6, 1.6))

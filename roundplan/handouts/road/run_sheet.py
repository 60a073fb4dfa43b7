"""A session's run sheets as a trainer reads them: who runs what when at a station, on which wall, who watches."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.plan import Session, SessionDay, Slot, SlotKind
from roundplan.domain.supply import Per
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say, several
from roundplan.handouts.terms import pause_word, shipped, slot_word
from roundplan.handouts.words import capital, clock_span, day_date, list_words, quantity
from roundplan.supplies.quantities import session_needs


def run_table(index: PlanIndex, session: Session, day: SessionDay, station: int, trainer: str) -> Table:
    """Return a station's date: opening, slots, pauses and closing in the order of the clock."""
    rows = [(slot.start, _slot_row(index, slot, trainer)) for slot in index.slots_on(session, day.date, station)]
    rows += [(start, _idle_row(start, end, at)) for start, end, at in _idle(index, session, day, station)]
    rows += [(p.start, (clock_span(p.start, p.end), capital(pause_word(p.kind)), "", "", "")) for p in day.pauses]
    rows.sort(key=lambda row: row[0])
    settings = index.training_round.settings.session
    opening = (clock_span(day.start, day.start + 60 * settings.opening), say("Opening"), "", "", "")
    closing = (clock_span(day.end - 60 * settings.closing, day.end), say("Closing, sharps counted"), "", "", "")
    heads = (say("Time"), say("What"), say("Case"), say("Wall"), say("Director and observers"))
    caption = say("Station {station}, {date}", station=station, date=day_date(day.date))
    return Table(caption, heads, [opening, *(row for _, row in rows), closing])


def _idle(index: PlanIndex, session: Session, day: SessionDay, station: int) -> Iterator[tuple[int, int, list[int]]]:
    """Yield the slots in which a station has nothing while others run: start, end, where its people watch."""
    own = {slot.start for slot in index.slots_on(session, day.date, station)}
    people = {
        seat.person
        for team in index.teams_of_session(session.code, day.date)
        if team.station == station
        for seat in team.seats
    }
    others = [slot for slot in session.slots if slot.date == day.date and slot.start not in own]
    for start, end in sorted({(slot.start, slot.end) for slot in others}):
        yield start, end, [s.station for s in others if s.start == start and people.intersection(s.observers)]


def _idle_row(start: int, end: int, watched: list[int]) -> tuple[Cell, ...]:
    if not watched:
        return clock_span(start, end), say("No simulation here"), "", "", ""
    where = several(
        "No simulation here; watch at station {stations}",
        "No simulation here; watch at stations {stations}",
        len(watched),
        stations=list_words(map(str, watched)),
    )
    return clock_span(start, end), where, "", "", ""


def _slot_row(index: PlanIndex, slot: Slot, trainer: str) -> tuple[Cell, ...]:
    time = clock_span(slot.start, slot.end)
    if slot.kind is SlotKind.RESERVE:
        return time, say("Kept free as a reserve"), "", "", ""
    team = index.teams[slot.team] if slot.team is not None else None
    if team is None:
        who = capital(slot_word(slot.kind))
    else:
        who = say("{facility}, team {team}", facility=index.name(team.facility), team=team.number)
    wall = say("wall {wall}, end {end}", wall=slot.wall, end=slot.wall_end) if slot.wall is not None else ""
    people: tuple[str, ...] = ()
    if slot.director == trainer:
        people = (say("you direct"),)
    elif slot.director:
        people = (say("directs: {name}", name=index.name(slot.director)),)
    if slot.observers:
        people += (say("watch: {people}", people=list_words(watchers(index, slot, trainer))),)
    return time, who, shipped(index.name(slot.case)) if slot.case else say("as agreed"), wall, people


def watchers(index: PlanIndex, slot: Slot, trainer: str) -> Iterator[str]:
    """Yield who watches a slot: whole teams as such, anybody else by name."""
    left = dict.fromkeys(slot.observers)
    for team in index.teams_in_order:
        people = [seat.person for seat in team.seats]
        if len(people) > 1 and slot.date in team.dates and all(person in left for person in people):
            yield say("all of {facility}, team {team}", facility=index.name(team.facility), team=team.number)
            for person in people:
                del left[person]
    yield from (say("you") if code == trainer else index.name(code) for code in left)


def slot_words(index: PlanIndex) -> str:
    """Say what a slot is made of."""
    parts = index.training_round.settings.session
    return say(
        "A slot with a simulation: brief {brief} min, simulate {simulate} min, debrief {debrief} min, reset {reset} "
        "min.",
        brief=parts.brief,
        simulate=parts.simulate,
        debrief=parts.debrief,
        reset=parts.reset,
    )


def sharps_words(index: PlanIndex, session: Session) -> str:
    """Say what is packed to cut and sew with in the session, to be counted out and in."""
    needs = session_needs(session, index.plan, index.training_round)
    items = (index.training_round.item(code) for code, units in needs.items() if units)
    packed = [
        say("{quantity} of {item}", quantity=quantity(needs[i.code], i.unit), item=i.name)
        for i in items
        if i.per is Per.SIMULATION
    ]
    if not packed:
        return say("Count sharps out before the first slot and in at closing.")
    return say(
        "Packed for this session's simulations, wastage included: {items}. Count the sharps among them out before the "
        "first slot and in at closing.",
        items="; ".join(packed),
    )

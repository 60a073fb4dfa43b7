"""Variables of dates on which a crew may hold several sessions: drives between venues, clocks and leads by session."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import permutations
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from roundplan.domain.clock import DAY, HOUR
from roundplan.domain.crew import Crew
from roundplan.domain.role import Lead
from roundplan.domain.rules import Rule
from roundplan.solver.facts import Arc, Facts
from roundplan.solver.parts import ArcChoice, Onward, Scope, SessionClock, Var
from roundplan.solver.timetable import Piece

if TYPE_CHECKING:
    from roundplan.solver.choices import Choices


def between_venues(choices: Choices, crew: Crew, day: date, venues: Sequence[str]) -> None:
    """Make the moves from one venue to the next; in the relaxation only that there is one, and the least it takes."""
    facts, key = choices.facts, (crew.code, day)
    if choices.scope is Scope.OUTER:
        choices.onward[key] = [o for venue in venues if (o := _onward(choices, key, venue)) is not None]
        return
    for start, end in permutations(venues, 2):
        for number, arc in enumerate(joining_arcs(facts, start, end, day, crew)):
            used = choices.flag(f"between[{crew.code},{day},{start},{end},{number}]")
            choices.betweens[key].append(ArcChoice(arc, used))


def _onward(choices: Choices, key: tuple[str, date], venue: str) -> Onward | None:
    """Return that a crew may come to a venue from another one or go on, the nearest one being as far as it is."""
    least = choices.facts.nearest_venue(venue, key[1])
    if least is None or not leaves_room(choices.facts, least[1]):
        return None
    name = f"[{key[0]},{key[1]},{venue}]"
    return Onward(venue, choices.flag(f"comes{name}"), choices.flag(f"goes_on{name}"), *least)


def seconds_of(arc: Arc) -> int:
    """Return the seconds from departure to arrival, breaks included; none where nothing is driven."""
    return arc.passage.seconds if arc.passage is not None else 0


def joining_arcs(facts: Facts, start: str, end: str, day: date, crew: Crew) -> tuple[Arc, ...]:
    """Return the moves from one venue to another on a date that leave room for a session at both."""
    key = (start, end, day)
    if key not in facts.joins:
        facts.joins[key] = tuple(arc for arc in facts.arcs(start, end, day, crew) if _fits(facts, arc))
    return facts.joins[key]


def _fits(facts: Facts, arc: Arc) -> bool:
    if arc.passage is None or not arc.is_leg:
        return leaves_room(facts, 0)
    return leaves_room(facts, arc.passage.seconds, arc.passage.earliest, arc.passage.latest)


def leaves_room(facts: Facts, seconds: int, earliest: int = 0, latest: int = DAY) -> bool:
    """Whether a session fits before a drive of so many seconds, and one after it, on one date."""
    if not facts.pieces:
        return False
    ready = min(piece.end for piece in facts.pieces) + facts.pack_up
    arrive = max(ready, earliest) + seconds
    in_window = ready <= latest and arrive + facts.set_up <= max(piece.last for piece in facts.pieces)
    return in_window and 2 * session_least(facts) + seconds <= longest_duty(facts)


def session_least(facts: Facts) -> int:
    """Return the least seconds that a session takes, set-up and pack-up included."""
    return facts.set_up + facts.pack_up + min((p.ends(p.last) - p.last for p in facts.pieces), default=0)


def longest_teaching(facts: Facts) -> int:
    """Return the seconds from the set-up of the first session of a date to the pack-up of its last, at most."""
    if not facts.pieces:
        return 0
    first, last = min(p.first for p in facts.pieces), max(p.ends(p.last) for p in facts.pieces)
    return facts.set_up + last - first + facts.pack_up


def longest_duty(facts: Facts) -> int:
    """Return the longest duty day in seconds; with its rule left out no limit that matters."""
    return round(facts.settings.travel.duty_day * HOUR) if facts.on(Rule.LEG_FEASIBLE) else 2 * DAY


def idle_piece(facts: Facts) -> Piece:
    """Return the piece whose first start stands in the clock of a session that is not held."""
    return min(facts.pieces, key=lambda piece: (piece.first, piece.slots))


def session_clocks(choices: Choices, venues: Sequence[str], day: date) -> None:
    """Make one clock a session, which all its crews share."""
    facts = choices.facts
    starts = {x for p in facts.pieces for x in (p.first, p.last)}
    first, last, step = min(starts), max(starts), facts.settings.session.start_step
    origin = facts.settings.session.teach_from
    spread = cp_model.Domain(first, last)
    if step > 1:
        spread = cp_model.Domain.from_values(range(origin, last + 1, step))
    for venue in venues:
        if (venue, day) in choices.clocks:
            continue
        name = f"[{venue},{day}]"
        choices.clocks[venue, day] = SessionClock(
            start=choices.model.new_int_var_from_domain(spread, f"start{name}"),
            slots=choices.model.new_int_var(1, facts.most_slots, f"slots{name}"),
            end=choices.model.new_int_var(first, max(p.ends(p.last) for p in facts.pieces), f"end{name}"),
        )


def hint_clocks(choices: Choices, named: dict[str, int], values: list[int]) -> None:
    """Put the idle clock, and a crew's rest from teaching, where a solution names none."""
    for key, rests in choices.rests.items():
        if rests.name not in named:
            values[rests.index] = sum(values[c.used.index] for c in choices.transits[key])
    if not choices.clocks:
        return
    pieces, idle = choices.facts.pieces, idle_piece(choices.facts)
    for number, clock in enumerate(choices.clocks.values()):
        if clock.start.name not in named:
            for var, value in ((clock.start, idle.first), (clock.slots, idle.slots), (clock.end, idle.end)):
                values[var.index] = value
            if choices.piece_flags:
                values[choices.piece_flags[number * len(pieces) + pieces.index(idle)].index] = 1


def session_leads(choices: Choices) -> None:
    """Make the leads session by session: from one to the next on a date another trainer may lead."""
    for crew, venue, start in choices.hold:
        found: list[tuple[str, Lead, Var]] = []
        for trainer in choices.facts.round.trainers:
            if (trainer.code, crew, start) in choices.aboard:
                for lead in sorted(trainer.leads):
                    name = f"lead[{trainer.code},{crew},{venue},{start},{lead}]"
                    found.append((trainer.code, lead, choices.flag(name)))
        choices.session_leads[crew, venue, start] = found

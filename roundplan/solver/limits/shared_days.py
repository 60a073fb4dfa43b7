"""Dates on which a crew may hold several sessions: one way through them, each with a clock and leads of its own.

Nothing is stated here where sessions last whole days; :mod:`roads`, :mod:`sessions` and :mod:`trainers` do that.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from roundplan.domain.clock import DAY, HOUR
from roundplan.domain.crew import Crew
from roundplan.domain.role import Lead, Role
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.day_route import idle_piece, longest_duty, longest_teaching, seconds_of, session_least
from roundplan.solver.limits.sessions import present_on
from roundplan.solver.parts import ArcChoice, Linear, SessionClock, Var

Key = tuple[str, date]


def session_clocks(choices: Choices) -> None:
    """Start, slots and end of a session belong together: they lie on one piece of the day."""
    facts, model = choices.facts, choices.model
    if not facts.shares_days:
        return
    for (venue, day), clock in choices.clocks.items():
        idle, held = idle_piece(facts), choices.session[venue, day]
        for var, value in ((clock.start, idle.first), (clock.slots, idle.slots), (clock.end, idle.end)):
            model.add(var == value).only_enforce_if(~held)
        chosen = [choices.flag(f"piece[{venue},{day},{n}]") for n in range(len(facts.pieces))]
        model.add_exactly_one(chosen)
        choices.piece_flags += chosen
        for piece, flag in zip(facts.pieces, chosen, strict=True):
            model.add_linear_constraint(clock.start, piece.first, piece.last).only_enforce_if(flag)
            model.add(clock.slots == piece.slots).only_enforce_if(flag)
            shift: Linear = clock.start - piece.first if piece.moves else 0
            model.add(clock.end == piece.end + shift).only_enforce_if(flag)


def route(choices: Choices) -> None:
    """On each date a crew comes once to each venue where it teaches and leaves it once, all in one round."""
    facts, model = choices.facts, choices.model
    if not facts.shares_days or not facts.on(Rule.CREW_IN_ONE_PLACE):
        return
    for key, held in choices.teaching.items():
        for venue, _, hold in held:
            onward = [o for o in choices.onward[key] if o.venue == venue]
            comes = [c.used for c in choices.arcs_to(*key, venue)] + [o.comes for o in onward]
            leaves = [c.used for c in choices.arcs_from(*key, venue)] + [o.goes for o in onward]
            model.add(sum(comes) == hold)
            model.add(sum(leaves) == hold)
        if choices.onward[key]:
            model.add(sum(o.comes for o in choices.onward[key]) == sum(o.goes for o in choices.onward[key]))
        if choices.betweens[key]:
            _circuit(choices, key)


def _circuit(choices: Choices, key: Key) -> None:
    """State the round as a circuit: rest, sleeping place left, venues taught at, sleeping place reached, rest."""
    rests = choices.flag(f"rests[{key[0]},{key[1]}]")
    choices.rests[key] = rests
    choices.model.add(sum(c.used for c in choices.transits[key]) == rests)
    moves: dict[tuple[str, str], list[Var]] = defaultdict(list)
    for c in choices.mornings[key]:
        moves[f"from {c.arc.start}", f"at {c.arc.end}"].append(c.used)
        moves["rest", f"from {c.arc.start}"].append(c.used)
    for c in choices.evenings[key]:
        moves[f"at {c.arc.start}", f"to {c.arc.end}"].append(c.used)
        moves[f"to {c.arc.end}", "rest"].append(c.used)
    for c in choices.betweens[key]:
        moves[f"at {c.arc.start}", f"at {c.arc.end}"].append(c.used)
    loops = {"rest": rests} | {f"at {venue}": ~hold for venue, _, hold in choices.teaching[key]}
    arcs: list[tuple[str, str, Var]] = []
    for (start, end), used in moves.items():
        arcs.append((start, end, _either(choices, key, (start, end), used)))
        if "rest" in (start, end):
            loops[end if start == "rest" else start] = ~arcs[-1][2]
    nodes = {name: number for number, name in enumerate(loops)}
    choices.model.add_circuit(
        [(nodes[name], nodes[name], literal) for name, literal in loops.items()]
        + [(nodes[start], nodes[end], literal) for start, end, literal in arcs]
    )


def _either(choices: Choices, key: Key, ends: tuple[str, str], used: list[Var]) -> Var:
    """Return whether one of parallel moves is made: ortools 9.15 corrupts its memory over circuits with double arcs."""
    if len(used) == 1:
        return used[0]
    either = choices.flag(f"moves[{key[0]},{key[1]},{ends[0]},{ends[1]}]")
    choices.model.add(sum(used) == either)
    return either


def wheel_hours(choices: Choices) -> None:
    """No driver is at the wheel for longer than the day's limit; each leg has one driver."""
    facts, model = choices.facts, choices.model
    if not facts.shares_days or not facts.on(Rule.LEG_FEASIBLE):
        return
    most = round(facts.settings.travel.wheel_hours * HOUR)
    for crew in choices.crews:
        for day in facts.dates:
            key = (crew.code, day)
            arcs = choices.arcs_on(*key)
            wheel = sum(c.arc.wheel * c.used for c in arcs if c.arc.wheel) + sum(
                o.wheel * o.comes for o in choices.onward[key] if o.wheel
            )
            if arcs:
                model.add(wheel <= most * crew.drivers)
            if crew.drivers > 1 and choices.betweens[key]:
                _legs_by_driver(choices, crew, day, most)


def _legs_by_driver(choices: Choices, crew: Crew, day: date, most: int) -> None:
    """Deal the legs out, named by the venue they lead to (or home), so that no driver has more than the limit."""
    key = (crew.code, day)
    legs: dict[str, list[ArcChoice]] = {venue: choices.arcs_to(*key, venue) for venue, _, _ in choices.teaching[key]}
    legs[""] = choices.evenings[key]
    driven: dict[int, list[Var]] = {number: [] for number in range(crew.drivers)}
    for venue, arcs in legs.items():
        wheel = sum(c.arc.wheel * c.used for c in arcs if c.arc.wheel)
        drivers = [choices.flag(f"drives[{crew.code},{day},{venue},{number}]") for number in driven]
        choices.model.add_exactly_one(drivers)
        for number, flag in enumerate(drivers):
            share = choices.count(most, f"wheel[{crew.code},{day},{venue},{number}]")
            choices.model.add(share >= wheel).only_enforce_if(flag)
            driven[number].append(share)
    for shares in driven.values():
        choices.model.add(sum(shares) <= most)


def clock_of_the_day(choices: Choices) -> None:
    """Arrive in time to set up each session, leave it after packing up, in daylight and within the duty day."""
    facts, model = choices.facts, choices.model
    if not facts.shares_days:
        return
    for key, held in choices.teaching.items():
        if not held:
            continue
        depart, finish = choices.depart[key], choices.finish[key]
        for choice in choices.mornings[key]:
            seconds = seconds_of(choice.arc) + facts.set_up
            model.add(depart + seconds <= _clock(choices, key, choice.arc.end).start).only_enforce_if(choice.used)
            if choice.arc.passage is not None and choice.arc.is_leg:
                passage = choice.arc.passage
                model.add_linear_constraint(depart, passage.earliest, passage.latest).only_enforce_if(choice.used)
        for choice in choices.betweens[key]:
            _between(choices, key, choice)
        for choice in choices.evenings[key]:
            end = _clock(choices, key, choice.arc.start).end + facts.pack_up
            model.add(finish >= end + seconds_of(choice.arc)).only_enforce_if(choice.used)
            if choice.arc.passage is not None and choice.arc.is_leg:
                model.add(end <= choice.arc.passage.latest).only_enforce_if(choice.used)
                earliest = choice.arc.passage.earliest + choice.arc.passage.seconds
                model.add(finish >= earliest).only_enforce_if(choice.used)
        teaches = 1 - sum(c.used for c in choices.transits[key])
        model.add(finish - depart <= longest_duty(facts) + 2 * DAY * (1 - teaches))


def _clock(choices: Choices, key: Key, venue: str) -> SessionClock:
    return choices.clock(key[0], venue, key[1])


def _between(choices: Choices, key: Key, choice: ArcChoice) -> None:
    facts, model, arc = choices.facts, choices.model, choice.arc
    packed = _clock(choices, key, arc.start).end + facts.pack_up
    start = _clock(choices, key, arc.end).start - facts.set_up
    model.add(packed + seconds_of(arc) <= start).only_enforce_if(choice.used)
    if arc.passage is not None and arc.is_leg:
        model.add(packed <= arc.passage.latest).only_enforce_if(choice.used)
        model.add(start >= arc.passage.earliest + arc.passage.seconds).only_enforce_if(choice.used)


def time_of_the_day(choices: Choices) -> None:
    """Sessions and drives of a date fit the duty day, those in between the teaching window.

    Follows from the clocks of the day, but the linear relaxation sees it.
    """
    facts = choices.facts
    if not facts.shares_days or not facts.on(Rule.CREW_IN_ONE_PLACE):
        return
    duty, least = longest_duty(facts), session_least(facts)
    for crew in choices.crews:
        for day in facts.dates:
            key = (crew.code, day)
            held = choices.teaching[key]
            if not held:
                continue
            teaches = 1 - sum(c.used for c in choices.transits[key])
            inside = [seconds_of(c.arc) * c.used for c in choices.betweens[key] if seconds_of(c.arc)]
            inside += [o.seconds * o.comes for o in choices.onward[key] if o.seconds]
            inside += [least * hold for _, _, hold in held]
            ends = (*choices.mornings[key], *choices.evenings[key])
            outside = [seconds_of(c.arc) * c.used for c in ends if seconds_of(c.arc)]
            choices.model.add(sum(inside) + sum(outside) <= duty * teaches)
            if longest_teaching(facts) < duty:
                choices.model.add(sum(inside) <= longest_teaching(facts) * teaches)


def leads_held(choices: Choices) -> None:
    """Each crew alone holds the leads of its part of each session; from one session to the next they may change."""
    facts, model = choices.facts, choices.model
    if not facts.shares_days:
        return
    for (crew, venue, day), hold in choices.hold.items():
        leads = choices.leads_at(crew, venue, day)
        held: dict[Lead, list[Var]] = {lead: [var for _, x, var in leads if x is lead] for lead in Lead}
        for trainer, lead, var in leads:
            model.add_implication(var, choices.aboard[trainer, crew, day])
            model.add_implication(var, hold)
            others = [v for t, x, v in leads if t == trainer and x is not lead and {x, lead} != _BOTH]
            for other in others:
                model.add_bool_or(~var, ~other)
        if not facts.on(Rule.CREW_STAFFED):
            continue
        stations = choices.stations[crew, venue, day]
        model.add(sum(held[Lead.DIRECTOR]) == stations)
        model.add(sum(held[Lead.ANAESTHESIA]) == hold)
        model.add(sum(held[Lead.SURGERY]) == hold)
        model.add(choices.aboard_count(crew, day) >= facts.settings.trainers.per_station * stations)
        for sending in present_on(choices, venue, day):
            if Role.NEWBORN_CARE in facts.round.facility(sending.facility).usual_team:
                model.add(sum(held[Lead.NEWBORN_CARE]) >= hold + sending.used - 1)


_BOTH = {Lead.DIRECTOR, Lead.SURGERY}
"""The two leads that one trainer may hold together."""

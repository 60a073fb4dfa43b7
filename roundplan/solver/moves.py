"""Variables of crews on the road: where each sleeps, and its moves of each date."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from roundplan.domain.crew import Crew
from roundplan.solver import day_route
from roundplan.solver.facts import ONE_DAY, Arc
from roundplan.solver.parts import ArcChoice

if TYPE_CHECKING:
    from roundplan.solver.choices import Choices

Key = tuple[str, date]
"""Crew and date."""


def make_moves(choices: Choices) -> None:
    """Make nights, and moves to a venue in the morning, from it in the evening, or in transit."""
    facts = choices.facts
    for crew in choices.crews:
        sleeping = tuple(dict.fromkeys((crew.base, *facts.sleeping)))
        if choices.frame is not None:
            sleeping = choices.frame.sleeping(crew.code, crew.base, facts.sleeping)
        for day in (facts.dates[0] - ONE_DAY, *facts.dates):
            for site in sleeping:
                choices.night[crew.code, day, site] = choices.flag(f"night[{crew.code},{day},{site}]")
        for day in facts.dates:
            _moves_of(choices, crew, day, sleeping)


def _moves_of(choices: Choices, crew: Crew, day: date, sleeping: tuple[str, ...]) -> None:
    key, facts = (crew.code, day), choices.facts
    venues = dict.fromkeys(venue for venue, _, _ in choices.teaching[key])
    works = facts.crew_works(crew, day)
    for start in sleeping:
        for end in sleeping:
            if not works and not start == end == crew.base:
                continue
            for arc in facts.arcs(start, end, day, crew):
                _move(choices, choices.transits[key], key, arc, "transit")
        for venue in venues:
            for arc in facts.arcs(start, venue, day, crew):
                _move(choices, choices.mornings[key], key, arc, "morning")
            for arc in facts.arcs(venue, start, day, crew):
                _move(choices, choices.evenings[key], key, arc, "evening")
    if facts.shares_days and works:
        day_route.between_venues(choices, crew, day, tuple(venues))


def _move(choices: Choices, moves: list[ArcChoice], key: Key, arc: Arc, name: str) -> None:
    if not _may_drive(choices, key, arc):
        return
    number = sum(c.arc.start == arc.start and c.arc.end == arc.end for c in moves[-2:])
    used = choices.flag(f"{name}[{key[0]},{key[1]},{arc.start},{arc.end},{number}]")
    moves.append(ArcChoice(arc, used))


def _may_drive(choices: Choices, key: Key, arc: Arc) -> bool:
    if choices.frame is None or arc.start == arc.end == choices.facts.round.crew(key[0]).base:
        return True
    return choices.frame.allows(*key, arc.start, arc.end)

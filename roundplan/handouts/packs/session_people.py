"""Who is in a session: leads and their deputies, teams by seat, who watches over the volunteer, who leaves first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from roundplan.domain.plan import Seat, Session, SlotKind, Station, Team
from roundplan.domain.role import Lead
from roundplan.handouts.facility.cover import leave_first
from roundplan.handouts.pdf.blocks import Block, Cell, Columns, Grid, Heading, Strong, Wide
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.terms import lead_word, role_word
from roundplan.handouts.watching import WATCH_WORDS, Watch, watches
from roundplan.handouts.words import language, list_words

_ONE_TABLE = 3
"""Teams that stand one below the other."""


def trainers_of(index: PlanIndex, session: Session, on: date | None = None) -> tuple[str, ...]:
    """Return the trainers of a session, or of one of its dates, by code: all who are aboard."""
    aboard = (
        one.trainer
        for trip in index.plan.trips
        for day in trip.days
        if session.code in day.sessions and on in (None, day.date)
        for one in day.aboard
    )
    return tuple(dict.fromkeys(aboard))


def lead_words(session: Session, trainer: str) -> tuple[str, ...]:
    """Say each lead that a trainer holds in a session."""
    directs = [say("director of station {number}", number=s.number) for s in session.stations if s.director == trainer]
    held = [lead_word(lead.lead) for lead in session.leads if lead.trainer == trainer]
    return (*directs, *held)


def trainer_lines(index: PlanIndex, session: Session) -> Iterator[str]:
    """Yield each trainer of a session with their leads."""
    for code in trainers_of(index, session):
        name = index.name(code)
        held = lead_words(session, code)
        yield say("{name}: {leads}", name=name, leads=list_words(held)) if held else say("{name}: trainer", name=name)


@dataclass(frozen=True, slots=True)
class Deputy:
    """A trainer who may step in for another; ``closing``: only if this station, which they direct, stays closed."""

    trainer: str
    closing: int | None = None


def deputies(index: PlanIndex, session: Session) -> Iterator[tuple[str, str, tuple[Deputy, ...]]]:
    """Yield each lead of a session: what it is, who holds it, which others there may take it on.

    A director may lead surgery beside it; nobody else holds two leads.
    """
    holders = [
        (Lead.DIRECTOR, say("director of station {number}", number=s.number), s.director) for s in session.stations
    ]
    holders += [(held.lead, lead_word(held.lead), held.trainer) for held in session.leads]
    for lead, words, holder in holders:
        others = (code for code in trainers_of(index, session) if code != holder)
        able = (code for code in others if lead in index.training_round.trainer(code).leads)
        found = (_deputy(session, code, lead) for code in able)
        yield words, holder, tuple(one for one in found if one is not None)


def _deputy(session: Session, trainer: str, lead: Lead) -> Deputy | None:
    """Return how a trainer may take a lead on beside those that they hold; None where it would be one too many."""
    directs = [station.number for station in session.stations if station.director == trainer]
    held = [one.lead for one in session.leads if one.trainer == trainer]
    if _may_hold([*held, *[Lead.DIRECTOR for _ in directs], lead]):
        return Deputy(trainer)
    if directs and len(session.stations) > 1 and _may_hold([*held, lead]):
        return Deputy(trainer, directs[0])
    return None


def _may_hold(leads: list[Lead]) -> bool:
    return len(leads) == 1 or sorted(leads) == sorted((Lead.DIRECTOR, Lead.SURGERY))


def watcher_over(index: PlanIndex, session: Session, station: Station) -> str | None:
    """Return the trainer who watches over the volunteer of a station: one who directs none, a new one for each station.

    None where there are not enough.
    """
    directors = {s.director for s in session.stations}
    free = [code for code in trainers_of(index, session) if code not in directors]
    place = sorted(s.number for s in session.stations).index(station.number)
    return free[place] if place < len(free) else None


def reserve_starts(session: Session, day: date) -> tuple[int, ...]:
    """Return when the slots start that are kept free on a date (seconds after midnight)."""
    return tuple(sorted({s.start for s in session.slots if s.date == day and s.kind is SlotKind.RESERVE}))


def leaving_lines(index: PlanIndex, session: Session, day: date) -> Iterator[str]:
    """Yield for the venue whose own staff are seated who leaves a seat first; nothing where none are."""
    if index.training_round.is_facility(session.venue):
        yield from leave_first(index, session.venue, day)


def team_words(index: PlanIndex, team: Team) -> str:
    """Say a team: facility and number."""
    return say("{facility}, team {number}", facility=index.name(team.facility), number=team.number)


def teams_blocks(index: PlanIndex, session: Session, day: date) -> list[Block]:
    """Return the people of a date team by team, in one table or, where there are many teams, in two side by side."""
    looks = watches(index, session, day)
    parts = [_team_rows(index, team, looks) for team in index.teams_of_session(session.code, day)]
    trainers = [code for code in looks if code in set(trainers_of(index, session, day))]
    if trainers:
        rows: list[list[Cell]] = [[Wide(Strong(say("Trainers who watch")))]]
        rows += [[index.name(code), say("trainer"), "", say(WATCH_WORDS[looks[code]])] for code in trainers]
        parts.append(rows)
    title = Heading(say("Teams"), 3)
    if len(parts) <= _ONE_TABLE:
        return [title, _people_grid(parts, (3.4, 2, 2.2, 1.8))]
    half = -(-len(parts) // 2)
    sides = [[_people_grid(side, (2.5, 2.05, 2.15, 2.1))] for side in (parts[:half], parts[half:])]
    return [title, Columns(sides, (1, 1))]


def _people_grid(parts: list[list[list[Cell]]], widths: tuple[float, ...]) -> Grid:
    heads = (say("Who"), say("Role"), say("If absent"), say("When watching"))
    return Grid("", heads, [row for rows in parts for row in rows], widths)


def _team_rows(index: PlanIndex, team: Team, looks: Mapping[str, Watch]) -> list[list[Cell]]:
    """Return a team's head and seats: who, role, standby, what they look at while others simulate."""
    rows: list[list[Cell]] = [[Wide(Strong(list_of(_team_head(index, team))))]]
    marked = not all(seat.provisional for seat in team.seats)
    for seat in team.seats:
        task = say(WATCH_WORDS[looks[seat.person]]) if seat.person in looks else say("not asked to watch")
        rows.append([_who(index, team, seat, marked), role_word(seat.role), _standby(index, seat), task])
    return rows


def list_of(parts: Iterator[str]) -> str:
    """Join what is said of one thing, the parts set off from each other."""
    return "; ".join(parts)


def _team_head(index: PlanIndex, team: Team) -> Iterator[str]:
    working = index.training_round.working_language(index.training_round.facility(team.facility))
    yield say("{team}, at station {station}", team=team_words(index, team), station=team.station)
    yield say("works in {language}", language=language(working))
    spoken = [frozenset(index.training_round.person(seat.person).languages) for seat in team.seats]
    common = sorted(map(language, frozenset.intersection(*spoken) - {working})) if spoken else []
    if not all(spoken):
        yield say("languages not entered for all")
    elif common:
        yield say("all speak {languages} too", languages=list_words(common))
    empty = index.empty_seats(team)
    if empty:
        yield say("seat empty: {roles}", roles=list_words(map(role_word, empty)))
    if team.seats and all(seat.provisional for seat in team.seats):
        yield say("all provisional")


def _who(index: PlanIndex, team: Team, seat: Seat, marked: bool) -> str:
    """Name a person; say where a guest is from, and what they speak where it is not the team's working language."""
    person = index.training_round.person(seat.person)
    said = [person.name]
    if person.facility != team.facility:
        said.append(say("guest from {facility}", facility=index.name(person.facility)))
    working = index.training_round.working_language(index.training_round.facility(team.facility))
    if person.languages and working not in person.languages:
        said.append(say("speaks {languages}", languages=list_words(map(language, person.languages))))
    if seat.provisional and marked:
        said.append(say("provisional"))
    return ", ".join(said)


def _standby(index: PlanIndex, seat: Seat) -> str:
    return index.name(seat.standby) if seat.standby else say("nobody named")

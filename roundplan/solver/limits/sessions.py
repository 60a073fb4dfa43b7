"""Venues, rooms, stations, slots and the clock of a teaching day."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from roundplan.domain.rules import Rule
from roundplan.solver.attendance import Mode
from roundplan.solver.choices import Choices, Linear, Sending, Var


@dataclass(slots=True)
class StationDay:
    """One station on one date: how many teams, whether more than one, and back-to-back pairs."""

    teams: Linear
    several: Var
    pairs: Var


def venue_sessions(choices: Choices) -> None:
    """One session a venue and date; a crew holds at most one session a date; stations within the venue's."""
    facts, model = choices.facts, choices.model
    for (venue, start), session in choices.session.items():
        holds = [v for (_, code, s), v in choices.hold.items() if (code, s) == (venue, start)]
        model.add_max_equality(session, holds)
        stations = [v for (_, code, s), v in choices.stations.items() if (code, s) == (venue, start)]
        if facts.on(Rule.VENUE_CAPACITY):
            model.add(sum(stations) <= facts.round.site(venue).stations * session)
    for (crew, venue, start), most in choices.stations.items():
        hold = choices.hold[crew, venue, start]
        model.add(most >= hold)
        model.add(most <= stations_most(choices, venue) * hold)
    by_date: dict[tuple[str, date], list[Var]] = defaultdict(list)
    for (venue, start), session in choices.session.items():
        for day in facts.session_dates(start):
            by_date[venue, day].append(session)
    for together in by_date.values():
        if len(together) > 1:
            model.add_at_most_one(together)
    for held in choices.teaching.values():
        if len(held) > 1:
            model.add_at_most_one([var for _, _, var in held])


def stations_most(choices: Choices, venue: str) -> int:
    """Return the most stations that could run at a venue."""
    site = choices.facts.round.site(venue)
    return site.stations if choices.facts.on(Rule.VENUE_CAPACITY) else site.stations + 1


def teaching_day(choices: Choices) -> None:
    """Start, slots and end belong together; crews that share a session share its clock."""
    model, facts = choices.model, choices.facts
    rows = [(start, slots, end) for (start, slots), end in sorted(facts.day_table.items())]
    for key, start in choices.start.items():
        model.add_allowed_assignments([start, choices.slots[key], choices.end[key]], rows)
    for venue, start in choices.session:
        crews = [c for (c, code, s) in choices.hold if (code, s) == (venue, start)]
        for a, b in pairwise(crews):
            both = [choices.hold[a, venue, start], choices.hold[b, venue, start]]
            for day in facts.session_dates(start):
                for table in (choices.start, choices.slots, choices.end):
                    model.add(table[a, day] == table[b, day]).only_enforce_if(both)


def teams_need_session(choices: Choices) -> None:
    """Teams attend only where a session runs that leaves them notice; a session has a team."""
    facts, model = choices.facts, choices.model
    for sending in choices.sendings:
        starts = [
            s
            for s in facts.starts_of(sending.venue, sending.first)
            if (sending.venue, s) in choices.session and facts.notice_clear(sending.facility, sending.venue, s)
        ]
        model.add(sending.used <= sum(choices.session[sending.venue, s] for s in starts))
    for guesting in choices.guestings:
        starts = [s for s in facts.starts_of(guesting.venue, guesting.first) if (guesting.venue, s) in choices.session]
        model.add(guesting.used <= sum(choices.session[guesting.venue, s] for s in starts))
    slack = facts.settings.session.days - facts.settings.session.days_per_team
    for (venue, start), session in choices.session.items():
        firsts = facts.session_dates(start)[: slack + 1]
        model.add(sum(s.teams for x in firsts for s in choices.visitors[venue, x]) >= session)


def station_days(choices: Choices) -> None:
    """Deal teams to stations by first date; simulations, demonstrations and reserve fit the slots of the day."""
    facts = choices.facts
    slack = facts.settings.session.days - facts.settings.session.days_per_team
    dealt: dict[tuple[str, date], list[Var]] = defaultdict(list)
    for (venue, start), session in choices.session.items():
        firsts = facts.session_dates(start)[: slack + 1]
        stations = sum(v for (_, code, s), v in choices.stations.items() if (code, s) == (venue, start))
        runs = []
        for number in range(stations_most(choices, venue)):
            run = choices.flag(f"run[{venue},{start},{number}]")
            runs.append(run)
            teams = {
                first: choices.count(_most_teams(choices), f"dealt[{venue},{start},{number},{first}]")
                for first in firsts
            }
            for first, var in teams.items():
                dealt[venue, first].append(var)
            _one_station(choices, venue, start, number, run, teams)
        choices.model.add(sum(runs) == stations)
        for earlier, later in pairwise(runs):
            choices.model.add(earlier >= later)
        choices.model.add(runs[0] == session)
    for (venue, first), sendings in choices.visitors.items():
        choices.model.add(sum(s.teams for s in sendings) == sum(dealt[venue, first]))


def _most_teams(choices: Choices) -> int:
    """Return the most teams of one first date that a station takes."""
    facts = choices.facts
    if not (facts.on(Rule.SLOT_ORDER) and facts.on(Rule.SIMULATIONS_PER_TEAM)):
        return 4
    first = facts.dates[0]
    least = max(facts.sims_on(first, first), 1)
    return max(facts.most_slots // least, 0)


def _one_station(choices: Choices, venue: str, start: date, number: int, run: Var, teams: dict[date, Var]) -> None:
    facts, model = choices.facts, choices.model
    session = facts.settings.session
    most = _most_teams(choices)
    for var in teams.values():
        model.add(var <= most * run)
    crews = [c for (c, code, s) in choices.hold if (code, s) == (venue, start)]
    for day in facts.session_dates(start):
        there = sum(var for first, var in teams.items() if facts.sims_on(first, day))
        sims = sum(var * facts.sims_on(first, day) for first, var in teams.items())
        name = f"[{venue},{start},{number},{day}]"
        several, pairs = choices.flag(f"several{name}"), choices.count(8, f"pairs{name}")
        bound = most * len(teams)
        model.add(there <= 1 + bound * several)
        model.add(there >= 2 * several)
        choices.station_days[venue, start, number, day] = StationDay(there, several, pairs)
        demos = session.demonstrations
        need = sims + demos * run + session.reserve_slots * several
        spread = sum(max(2 * facts.sims_on(f, day) - 1, 0) * v for f, v in teams.items()) + demos * run
        high = 2 * bound * 4 + 8
        for crew in crews:
            hold = choices.hold[crew, venue, start]
            slots = choices.slots[crew, day]
            if facts.on(Rule.SLOT_ORDER) and facts.on(Rule.SIMULATIONS_PER_TEAM):
                model.add(need <= slots).only_enforce_if(hold)
                model.add(need <= facts.most_slots * run)
            model.add(pairs + high * several >= spread - slots).only_enforce_if(hold)


def room_limits(choices: Choices) -> None:
    """Learners by station and bodies by room, a chair for each usual seat, trainers and volunteers counted."""
    facts, model = choices.facts, choices.model
    if not facts.on(Rule.VENUE_CAPACITY):
        return
    session = facts.settings.session
    for venue, start in choices.session:
        site = facts.round.site(venue)
        crews = [c for (c, code, s) in choices.hold if (code, s) == (venue, start)]
        stations = sum(choices.stations[c, venue, start] for c in crews)
        for day in facts.session_dates(start):
            chairs = sum(
                len(facts.round.facility(s.facility).usual_team) * s.teams for s in present_on(choices, venue, day)
            )
            limit = 999 * (1 - choices.session[venue, start])
            model.add(chairs <= session.learners_per_station * stations + limit)
            room: Linear = site.room_limit if site.room_limit is not None else session.room_limit * stations
            trainers = [_trainers_there(choices, crew, venue, start, day) for crew in crews]
            model.add(chairs + sum(trainers) + session.volunteers_per_station * stations <= room + limit)


def _trainers_there(choices: Choices, crew: str, venue: str, start: date, day: date) -> Var:
    there = choices.count(len(choices.facts.round.trainers), f"trainers_at[{crew},{venue},{start},{day}]")
    aboard = choices.aboard_count(crew, day)
    choices.model.add(there >= aboard).only_enforce_if(choices.hold[crew, venue, start])
    return there


def present_on(choices: Choices, venue: str, day: date) -> list[Sending]:
    """Return the sendings whose teams are at a venue on a date."""
    return [
        sending
        for (code, first), sendings in choices.visitors.items()
        if code == venue and choices.facts.sims_on(first, day)
        for sending in sendings
    ]


def people_arrive_and_leave(choices: Choices) -> None:
    """A session starts when its people can be there and ends so that those who go home do so in daylight."""
    for used, sending_mode, venue, flags_key in _attending(choices):
        for day in sending_mode.dates:
            out, back = sending_mode.out_on(day), sending_mode.back_on(day)
            for crew in choices.crews:
                for hold in choices.teach(crew.code, venue, day):
                    key = (crew.code, day)
                    if out is not None:
                        choices.model.add(choices.start[key] >= out.earliest + out.seconds).only_enforce_if(used, hold)
                    if back is not None:
                        choices.model.add(choices.end[key] <= back.latest).only_enforce_if(used, hold)
                    _early_or_late(choices, used, hold, key, day, sending_mode, flags_key)


def _attending(choices: Choices) -> list[tuple[Var, Mode, str, tuple[str, date]]]:
    sendings = [(s.used, s.mode, s.venue, (s.facility, s.first)) for s in choices.sendings]
    guests = [(g.used, g.mode, g.venue, (g.facility, g.first)) for g in choices.guestings]
    return sendings + guests


def _early_or_late(
    choices: Choices, used: Var, hold: Var, key: tuple[str, date], day: date, mode: Mode,
    flags_key: tuple[str, date],
) -> None:  # fmt: skip
    """Tell the cover limits when people leave before the day shift or are back after it."""
    cover = choices.facts.settings.cover
    flags = choices.flags[flags_key]
    out, back = mode.out_on(day), mode.back_on(day)
    first = day == mode.dates[0]
    if not mode.before or not first:
        seconds = out.seconds if out is not None else 0
        forced = out is not None and out.latest < cover.day_from
        lodged = not first and len(mode.nights) > 0
        if not lodged and (forced or choices.facts.starts[0] - seconds < cover.day_from):
            flag = flags.get("pre" if first else "between")
            if forced:
                choices.model.add(flag == 1).only_enforce_if(used)
            else:
                choices.model.add(choices.start[key] - seconds >= cover.day_from).only_enforce_if(used, hold, ~flag)
    last = day == mode.dates[-1]
    if not mode.after and last:
        seconds = back.seconds if back is not None else 0
        earliest = back.earliest + seconds if back is not None else 0
        latest = max(max(choices.facts.day_table.values(), default=0) + seconds, earliest)
        if latest > cover.night_from:
            limit = cover.night_from - seconds
            choices.model.add(choices.end[key] <= limit).only_enforce_if(used, hold, ~flags["post"])
            if earliest > cover.night_from:
                choices.model.add(flags["post"] == 1).only_enforce_if(used)

"""Venues, rooms, stations, slots and the clock of a teaching day."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from itertools import pairwise

from roundplan.domain.clock import DAY
from roundplan.domain.rules import Rule
from roundplan.solver.attendance import Mode
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Arc
from roundplan.solver.parts import Linear, Sending, SessionClock, StationDay, Var


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
    for held in choices.teaching.values() if not facts.shares_days else ():
        if len(held) > 1:
            model.add_at_most_one([var for _, _, var in held])


def stations_most(choices: Choices, venue: str) -> int:
    """Return the most stations that could run at a venue."""
    site = choices.facts.round.site(venue)
    return site.stations if choices.facts.on(Rule.VENUE_CAPACITY) else site.stations + 1


def teaching_day(choices: Choices) -> None:
    """Start, slots and end belong together; crews that share a session share its clock."""
    model, facts = choices.model, choices.facts
    if facts.shares_days:
        return
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
    """Return the most teams that a station takes on one date."""
    facts = choices.facts
    if not (facts.on(Rule.SLOT_ORDER) and facts.on(Rule.SIMULATIONS_PER_TEAM)):
        return 4
    return teams_fit(choices, facts.most_slots)


def teams_fit(choices: Choices, slots: int) -> int:
    """Return how many teams a station takes in so many slots, demonstrations and reserve counted."""
    return choices.facts.teams_fit(slots)


def _one_station(choices: Choices, venue: str, start: date, number: int, run: Var, teams: dict[date, Var]) -> None:
    facts, model = choices.facts, choices.model
    session = facts.settings.session
    most = _most_teams(choices)
    for var in teams.values():
        model.add(var <= most * run)
    crews = [c for (c, code, s) in choices.hold if (code, s) == (venue, start)]
    slack = session.days - session.days_per_team
    for day in facts.session_dates(start):
        there = sum(var for first, var in teams.items() if facts.sims_on(first, day))
        sims = sum(var * facts.sims_on(first, day) for first, var in teams.items())
        name = f"[{venue},{start},{number},{day}]"
        several, pairs = choices.flag(f"several{name}"), choices.count(8, f"pairs{name}")
        bound = most * len(teams)
        model.add(there <= 1 + (most - 1 if slack == 0 else bound) * several)
        if facts.on(Rule.SLOT_ORDER) and facts.on(Rule.SIMULATIONS_PER_TEAM):
            model.add(there <= most * run)
        model.add(there >= 2 * several)
        busy = run if slack == 0 else choices.flag(f"busy{name}")
        if slack:
            model.add(there <= bound * busy)
            model.add(there >= busy)
        demos = session.demonstrations * busy
        need = sims + demos + session.reserve_slots * several
        choices.station_days[venue, start, number, day] = StationDay(there, busy, several, pairs, need)
        spread = sum(max(2 * facts.sims_on(f, day) - 1, 0) * v for f, v in teams.items()) + demos
        high = 2 * bound * 4 + 8
        for crew in crews:
            hold = choices.hold[crew, venue, start]
            slots = choices.clock(crew, venue, day).slots
            if facts.on(Rule.SLOT_ORDER) and facts.on(Rule.SIMULATIONS_PER_TEAM):
                model.add(need <= slots).only_enforce_if(hold)
                model.add(need <= facts.most_slots * run)
            model.add(pairs + high * several >= spread - slots).only_enforce_if(hold)


def teams_by_roads(choices: Choices) -> None:
    """A long drive before or after leaves room for fewer teams in a day: stated by arc and by visit, in whole teams.

    Follows from the clock of the day, but tells the linear relaxation at once what a drive costs.
    """
    facts, model = choices.facts, choices.model
    needed = (Rule.SLOT_ORDER, Rule.SIMULATIONS_PER_TEAM, Rule.CREW_IN_ONE_PLACE)
    if not all(facts.on(rule) for rule in needed):
        return
    most = teams_fit(choices, facts.most_slots)
    for (venue, start, _, day), station in choices.station_days.items():
        first, last = day == start, day == facts.session_dates(start)[-1]
        crews = [c for (c, code, s) in choices.hold if (code, s) == (venue, start)]
        mornings = [c for crew in crews for c in choices.arcs_to(crew, day, venue)]
        evenings = [c for crew in crews for c in choices.arcs_from(crew, day, venue)]
        after = [(teams_fit(choices, _slots_after(choices, c.arc, first)), c.used) for c in mornings]
        before = [(teams_fit(choices, _slots_before(choices, c.arc, last)), c.used) for c in evenings]
        onward = [o for crew in crews for o in choices.onward[crew, day] if o.venue == venue]
        after += [(most, o.comes) for o in onward]
        before += [(most, o.goes) for o in onward]
        model.add(station.teams <= sum(fit * used for fit, used in after))
        model.add(station.teams <= sum(fit * used for fit, used in before))
        for sending in present_on(choices, venue, day):
            late = _slots_of_visit(choices, sending.mode, day, facts.settings.cover.day_from)
            fewer = most - teams_fit(choices, late)
            flag = choices.flags[sending.facility, sending.first].get("pre" if first else "between")
            if fewer > 0 and flag is not None:
                model.add(station.teams <= most - fewer * (sending.used - flag))
            always = most - teams_fit(choices, _slots_of_visit(choices, sending.mode, day, 0))
            if always > 0:
                model.add(station.teams <= most - always * sending.used)


def _slots_after(choices: Choices, arc: Arc, first: bool) -> int:
    """Return the most slots of a day that begins with the arc."""
    ready = (arc.passage.earliest + arc.passage.seconds) if arc.is_leg and arc.passage else 0
    ready += choices.facts.set_up if first and arc.is_leg else 0
    return _most_slots(choices, ready, DAY)


def _slots_before(choices: Choices, arc: Arc, last: bool) -> int:
    """Return the most slots of a day that ends with the arc."""
    pack = choices.facts.pack_up if last else 0
    return _most_slots(choices, 0, arc.passage.latest - pack if arc.is_leg and arc.passage else DAY)


def _slots_of_visit(choices: Choices, mode: Mode, day: date, leave_from: int) -> int:
    """Return the most slots of a day whose participants leave home at some time at the earliest."""
    out, back = mode.out_on(day), mode.back_on(day)
    ready = max(out.earliest, leave_from) + out.seconds if out is not None else 0
    return _most_slots(choices, ready, back.latest if back is not None else DAY)


def _most_slots(choices: Choices, ready: int, until: int) -> int:
    return choices.facts.slots_between(ready, until)


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
                    clock = choices.clock(crew.code, venue, day)
                    if out is not None:
                        choices.model.add(clock.start >= out.earliest + out.seconds).only_enforce_if(used, hold)
                    if back is not None:
                        choices.model.add(clock.end <= back.latest).only_enforce_if(used, hold)
                    _early_or_late(choices, used, hold, clock, day, sending_mode, flags_key)


def _attending(choices: Choices) -> list[tuple[Var, Mode, str, tuple[str, date]]]:
    sendings = [(s.used, s.mode, s.venue, (s.facility, s.first)) for s in choices.sendings]
    guests = [(g.used, g.mode, g.venue, (g.facility, g.first)) for g in choices.guestings]
    return sendings + guests


def _early_or_late(
    choices: Choices, used: Var, hold: Var, clock: SessionClock, day: date, mode: Mode,
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
            flag = flags["pre" if first else "between"]
            if forced:
                choices.model.add(flag == 1).only_enforce_if(used)
            else:
                choices.model.add(clock.start - seconds >= cover.day_from).only_enforce_if(used, hold, ~flag)
    last = day == mode.dates[-1]
    if not mode.after and last:
        seconds = back.seconds if back is not None else 0
        earliest = back.earliest + seconds if back is not None else 0
        latest = max(max(choices.facts.day_table.values(), default=0) + seconds, earliest)
        if latest > cover.night_from:
            limit = cover.night_from - seconds
            choices.model.add(clock.end <= limit).only_enforce_if(used, hold, ~flags["post"])
            if earliest > cover.night_from:
                choices.model.add(flags["post"] == 1).only_enforce_if(used)

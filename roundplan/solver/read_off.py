"""From the values of the model's variables to an outline of the round."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import date

from roundplan.domain.decision import Do
from roundplan.domain.facility import Facility
from roundplan.domain.role import Role
from roundplan.solver.attendance import Mode
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Arc
from roundplan.solver.outline import CrewDayOutline, Group, Outline, OutlineSeat, SessionOutline
from roundplan.solver.parts import ArcChoice, Sending, Var

Value = Callable[[Var], int]


def read_off(choices: Choices, value: Value) -> Outline:
    """Return the outline that a solution stands for."""
    guests = _deal_guests(choices, value)
    own = _deal_own(choices, value, guests)
    sessions = tuple(
        _session(choices, value, venue, start, own)
        for (venue, start), held in sorted(choices.session.items(), key=lambda entry: (entry[0][1], entry[0][0]))
        if value(held)
    )
    days = tuple(
        found
        for crew in choices.crews
        for day in choices.facts.dates
        if (found := _crew_day(choices, value, crew.code, day)) is not None
    )
    return Outline(sessions, days if _trainer_pinned(choices) else tuple(_with_sessions(choices, days)))


def _trainer_pinned(choices: Choices) -> bool:
    """Whether a lock wants a trainer on the road, which a trip without a session could be for."""
    trainers = {trainer.code for trainer in choices.facts.round.trainers}
    return any(lock.do is Do.KEEP and lock.who in trainers for lock in choices.facts.round.locks)


def _with_sessions(choices: Choices, days: tuple[CrewDayOutline, ...]) -> Iterator[CrewDayOutline]:
    """Yield the dates of trips that have a session; a search cut short may send a crew out for nothing."""
    trip: list[CrewDayOutline] = []
    for day in days:
        trip.append(day)
        if day.night == choices.facts.round.crew(day.crew).base:
            if any(d.session is not None for d in trip):
                yield from trip
            trip = []
    yield from trip


def _chosen(arcs: list[ArcChoice], value: Value) -> Arc | None:
    return next((c.arc for c in arcs if value(c.used)), None)


def _crew_day(choices: Choices, value: Value, crew_code: str, day: date) -> CrewDayOutline | None:
    crew, key = choices.facts.round.crew(crew_code), (crew_code, day)
    morning = _chosen(choices.mornings[key], value)
    evening = _chosen(choices.evenings[key], value)
    transit = _chosen(choices.transits[key], value)
    session = next(((venue, start) for venue, start, hold in choices.teaching[key] if value(hold)), None)
    if session is None and (transit is None or transit.start == transit.end == crew.base):
        return None
    if session is not None:
        transit = None
    night = next(site for (code, x, site), v in choices.night.items() if (code, x) == key and value(v))
    aboard = tuple(t for (t, code, x), v in choices.aboard.items() if (code, x) == key and value(v))
    return CrewDayOutline(crew_code, day, morning, evening, transit, session, night, aboard)


def _deal_guests(choices: Choices, value: Value) -> dict[tuple[str, str, date], list[list[OutlineSeat]]]:
    """Deal the guests of each session and role out to the teams that have a seat for them."""
    dealt: dict[tuple[str, str, date], list[list[OutlineSeat]]] = {}
    people: dict[tuple[str, date, Role], list[str]] = defaultdict(list)
    home: dict[tuple[str, date, Role], list[str]] = defaultdict(list)
    for table, pools in ((choices.guest, people), (choices.home_guest, home)):
        for (code, first, role), var in table.items():
            if value(var):
                pools[choices.facts.round.person(code).facility, first, role].append(code)
    modes: dict[tuple[str, str, date], list[Mode]] = defaultdict(list)
    for g in choices.guestings:
        modes[g.facility, g.venue, g.first] += [g.mode] * value(g.count)
    sessions = sorted({key[1:] for key, count in choices.lent.items() if value(count)})
    for venue, first, role in sessions:
        lenders: dict[str, list[tuple[str, Mode]]] = {}
        for (lender, code, x, r), count in choices.lent.items():
            if (code, x, r) == (venue, first, role) and value(count):
                pool = home[lender, first, role] if lender == venue else []
                pool = pool or people[lender, first, role]
                ways = modes[lender, venue, first]
                lenders[lender] = [(pool.pop(0), ways.pop(0)) for _ in range(value(count))]
        places = [
            (host, i)
            for (host, code, x, r), seats in sorted(choices.guest_seats.items())
            if (code, x, r) == (venue, first, role)
            for i, seat in enumerate(seats)
            for _ in range(value(seat))
        ]
        for (host, i), (person, mode) in _matched(places, lenders):
            rows = dealt.setdefault((host, venue, first), [])
            while len(rows) <= i:
                rows.append([])
            rows[i].append(OutlineSeat(person, role, mode))
    return dealt


def _matched(
    places: list[tuple[str, int]], lenders: dict[str, list[tuple[str, Mode]]]
) -> list[tuple[tuple[str, int], tuple[str, Mode]]]:
    """Give each place a guest from another facility; those with the fewest places left to go first."""
    left, matched = list(places), []
    while any(lenders.values()):
        # Hall's condition holds for every lender, so serving the tightest one first never gets stuck.
        code = max(
            (c for c, guests in lenders.items() if guests),
            key=lambda c: (len(lenders[c]) - sum(host != c for host, _ in left), c),
        )
        busiest = max(
            (place for place in left if place[0] != code),
            key=lambda place: (len(lenders.get(place[0], ())), place),
        )
        left.remove(busiest)
        matched.append((busiest, lenders[code].pop(0)))
    return matched


def _deal_own(
    choices: Choices, value: Value, guests: dict[tuple[str, str, date], list[list[OutlineSeat]]]
) -> dict[int, Group]:
    """Return the group of each sending that is used, by its position in ``choices.sendings``."""
    groups: dict[int, Group] = {}
    for (code, first), sendings in choices.cohorts.items():
        facility = choices.facts.round.facility(code)
        used = [s for s in sendings if value(s.teams)]
        if not used:
            continue
        pools = {
            role: [p.code for p in choices.facts.round.staff_of(code) if _sits(choices, value, p.code, first, role)]
            for role in choices.facts.usual_seats(facility)
        }
        for sending, seats in zip(used, _split(choices, value, facility, used, pools, guests), strict=True):
            groups[choices.sendings.index(sending)] = Group(
                code, first, sending.mode, value(sending.teams), False, (tuple(seats),)
            )
    for number, sending in enumerate(choices.sendings):
        if sending.on_site and value(sending.teams):
            groups[number] = _home_group(choices, value, sending, guests)
    return groups


def _sits(choices: Choices, value: Value, person: str, first: date, role: Role) -> bool:
    var = choices.seat.get((person, first, role))
    return var is not None and bool(value(var))


def _split(
    choices: Choices,
    value: Value,
    facility: Facility,
    used: list[Sending],
    pools: dict[Role, list[str]],
    guests: dict[tuple[str, str, date], list[list[OutlineSeat]]],
) -> list[list[OutlineSeat]]:
    """Split a facility's people of one date between the sessions it sends teams to, each role by need first."""
    split: list[list[OutlineSeat]] = []
    lent = {s.venue: [seat for row in guests.get((s.facility, s.venue, s.first), ()) for seat in row] for s in used}
    for sending in used:
        seats: list[OutlineSeat] = []
        for role in pools:
            lacking = value(sending.teams)
            waiting = [seat for seat in lent[sending.venue] if seat.role is role][:lacking]
            for seat in waiting:
                lent[sending.venue].remove(seat)
            own = [OutlineSeat(pools[role].pop(0), role) for _ in range(min(lacking - len(waiting), len(pools[role])))]
            seats += waiting + own
        split.append(seats)
    for sending, seats in zip(used, split, strict=True):
        for role, room in choices.facts.usual_seats(facility).items():
            extra = [*(s for s in lent[sending.venue] if s.role is role), *(OutlineSeat(p, role) for p in pools[role])]
            space = room * value(sending.teams) - sum(seat.role is role for seat in seats)
            for seat in extra[:space]:
                seats.append(seat)
                if seat.guest_mode is None:
                    pools[role].remove(seat.person)
                else:
                    lent[sending.venue].remove(seat)
    return split


def _home_group(
    choices: Choices,
    value: Value,
    sending: Sending,
    guests: dict[tuple[str, str, date], list[list[OutlineSeat]]],
) -> Group:
    teams = choices.site_team[sending.facility, sending.first]
    lent = guests.get((sending.facility, sending.venue, sending.first), [])
    rows = []
    for i, team in enumerate(teams):
        if not value(team):
            continue
        seats = [
            OutlineSeat(code, role)
            for (code, first, role, number), var in choices.site_seat.items()
            if (first, number) == (sending.first, i)
            and choices.facts.round.person(code).facility == sending.facility
            and value(var)
        ]
        rows.append(tuple(seats + (lent[i] if i < len(lent) else [])))
    return Group(sending.facility, sending.first, sending.mode, value(sending.teams), True, tuple(rows))


def _session(choices: Choices, value: Value, venue: str, start: date, groups: dict[int, Group]) -> SessionOutline:
    facts = choices.facts
    crews = [
        c.code
        for c in choices.crews
        if (c.code, venue, start) in choices.hold and value(choices.hold[c.code, venue, start])
    ]
    clocks = {
        day: (value(choices.start[crews[0], day]), value(choices.slots[crews[0], day]))
        for day in facts.session_dates(start)
    }
    leads = tuple(
        (crew, lead, trainer)
        for (trainer, crew, s, lead), var in choices.leads.items()
        if s == start and crew in crews and value(var)
    )
    here = tuple(
        group
        for number, group in sorted(groups.items())
        if choices.sendings[number].venue == venue and start in facts.starts_of(venue, group.first)
    )
    stations = {crew: value(choices.stations[crew, venue, start]) for crew in crews}
    return SessionOutline(venue, start, stations, clocks, leads, here)

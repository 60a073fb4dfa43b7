"""From the values of the model's variables to an outline of the round."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import date

from roundplan.domain.decision import Do
from roundplan.domain.role import Role
from roundplan.solver.attendance import Mode
from roundplan.solver.choices import Choices
from roundplan.solver.compact import compacted
from roundplan.solver.dealing import Cohort, Share, deal
from roundplan.solver.facts import Arc
from roundplan.solver.outline import CrewDayOutline, Group, Outline, OutlineSeat, SessionOutline
from roundplan.solver.parts import ArcChoice, Sending, Var

Value = Callable[[Var], int]
Meeting = tuple[str, date]
"""Venue and start date of a session."""


def read_off(choices: Choices, value: Value) -> Outline:
    """Return the outline that a solution stands for."""
    if choices.facts.shares_days:
        value = compacted(choices, value)
    guests = _deal_guests(choices, value)
    return _outline(choices, value, _deal_own(choices, value, guests))


def read_off_roads(choices: Choices, value: Value) -> Outline:
    """Return the sessions and crews that a solution stands for, without the people who attend."""
    if choices.facts.shares_days:
        value = compacted(choices, value)
    return _outline(choices, value, {})


def _outline(choices: Choices, value: Value, own: dict[int, Group]) -> Outline:
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
    arcs = [c.arc for c in choices.betweens[key] if value(c.used)]
    session, more = _in_order([(v, start) for v, start, hold in choices.teaching[key] if value(hold)], morning, arcs)
    if session is None and (transit is None or transit.start == transit.end == crew.base):
        return None
    if session is not None:
        transit = None
    night = next(site for (code, x, site), v in choices.night.items() if (code, x) == key and value(v))
    aboard = tuple(t for (t, code, x), v in choices.aboard.items() if (code, x) == key and value(v))
    home = tuple(t for t in aboard if _goes_home(choices, value, t, key, night))
    return CrewDayOutline(crew_code, day, morning, evening, transit, session, night, aboard, more, home)


def _goes_home(choices: Choices, value: Value, trainer: str, key: tuple[str, date], night: str) -> bool:
    """Whether a trainer spends at home a night that the crew spends elsewhere."""
    home, facts = choices.goes_home.get((trainer, *key)), choices.facts
    elsewhere = night != facts.round.crew(key[0]).base
    elsewhere = elsewhere and not facts.near_sites(night, facts.round.trainer(trainer).lives_at)
    return home is not None and elsewhere and bool(value(home))


def _in_order(
    held: list[Meeting], morning: Arc | None, arcs: list[Arc]
) -> tuple[Meeting | None, tuple[tuple[Arc, Meeting], ...]]:
    """Return a date's first session, then the further ones in the order of the moves between them."""
    if len(held) < 2 or morning is None:
        rest = tuple((Arc(venue, venue, None), (venue, start)) for venue, start in held[1:])
        return next(iter(held), None), rest
    by_venue = {venue: (venue, start) for venue, start in held}
    first = by_venue[morning.end]
    leading = {arc.start: arc for arc in arcs}
    more: list[tuple[Arc, Meeting]] = []
    at = first[0]
    while at in leading and len(more) < len(held):
        more.append((leading[at], by_venue[leading[at].end]))
        at = leading[at].end
    return first, tuple(more)


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
        pooled = choices.facts.pools(role)
        matched = _by_home(choices, value, (venue, first, role), lenders) if pooled else _matched(places, lenders)
        for (host, i), (person, mode) in matched:
            rows = dealt.setdefault((host, venue, first), [])
            while len(rows) <= i:
                rows.append([])
            rows[i].append(OutlineSeat(person, role, mode))
    return dealt


def _by_home(
    choices: Choices, value: Value, key: tuple[str, date, Role], lenders: dict[str, list[tuple[str, Mode]]]
) -> list[tuple[tuple[str, int], tuple[str, Mode]]]:
    """Give each place in a pooled team a guest from the facility that the model has there."""
    return [
        ((host, i), lenders[home].pop(0))
        for (host, *at), homes in sorted(choices.guests_from.items())
        if tuple(at) == key
        for home, seats in homes.items()
        for i, seat in enumerate(seats)
        for _ in range(value(seat))
    ]


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
    numbers = {id(sending): number for number, sending in enumerate(choices.sendings)}
    for (code, first), sendings in choices.cohorts.items():
        used = [s for s in sendings if value(s.teams)]
        if not used:
            continue
        own = {
            role: [p.code for p in choices.facts.round.staff_of(code) if _sits(choices, value, p.code, first, role)]
            for role in choices.facts.usual_seats(choices.facts.round.facility(code))
        }
        shares = tuple(Share(s.venue, value(s.teams), value(s.people)) for s in used)
        lent = {s.venue: [seat for row in guests.get((code, s.venue, first), ()) for seat in row] for s in used}
        dealt = deal(Cohort(code, first, shares, own, lent), choices.facts)
        for sending, hands in zip(used, dealt, strict=True):
            groups[numbers[id(sending)]] = Group(code, first, sending.mode, False, hands)
    for number, sending in enumerate(choices.sendings):
        if sending.on_site and value(sending.teams):
            groups[number] = _home_group(choices, value, sending, guests)
    return groups


def _sits(choices: Choices, value: Value, person: str, first: date, role: Role) -> bool:
    var = choices.seat.get((person, first, role))
    return var is not None and bool(value(var))


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
    return Group(sending.facility, sending.first, sending.mode, True, tuple(rows))


def _session(choices: Choices, value: Value, venue: str, start: date, groups: dict[int, Group]) -> SessionOutline:
    facts = choices.facts
    crews = [
        c.code
        for c in choices.crews
        if (c.code, venue, start) in choices.hold and value(choices.hold[c.code, venue, start])
    ]
    clocks = {
        day: (value((clock := choices.clock(crews[0], venue, day)).start), value(clock.slots))
        for day in facts.session_dates(start)
    }
    leads = tuple(
        (crew, lead, trainer)
        for crew in crews
        for trainer, lead, var in choices.leads_at(crew, venue, start)
        if value(var)
    )
    here = tuple(
        group
        for number, group in sorted(groups.items())
        if choices.sendings[number].venue == venue and start in facts.starts_of(venue, group.first)
    )
    stations = {crew: value(choices.stations[crew, venue, start]) for crew in crews}
    return SessionOutline(venue, start, stations, clocks, leads, here)

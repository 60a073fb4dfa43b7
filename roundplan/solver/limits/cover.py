"""Cover: who is away in which shift, and that every keep-team can still be filled by those who stay."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import combinations

from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.role import MINIMUM_ROLES, OnSiteCover, Role, Shift
from roundplan.domain.rules import Rule
from roundplan.solver.attendance import Mode
from roundplan.solver.choices import Choices, Linear, Var
from roundplan.solver.facts import ONE_DAY, ShiftKey
from roundplan.solver.limits.sessions import stations_most

DAY, NIGHT = Shift.DAY, Shift.NIGHT


def make_flags(choices: Choices) -> None:
    """Make, for each facility and first date, the flags of what else than the session's day shifts is touched.

    ``eve`` the day shift before, ``pre`` the night before, ``between`` the nights between, ``post`` the night after,
    ``morrow`` the day shift after the last date; ``after`` the journey home on the day after.
    """
    modes: dict[tuple[str, date], list[tuple[Var, Mode]]] = defaultdict(list)
    for sending in choices.sendings:
        modes[sending.facility, sending.first].append((sending.used, sending.mode))
    for guesting in choices.guestings:
        modes[guesting.facility, guesting.first].append((guesting.used, guesting.mode))
    for key, entries in modes.items():
        goes = choices.flag(f"goes[{key[0]},{key[1]}]")
        choices.goes[key] = goes
        choices.model.add_max_equality(goes, [used for used, _ in entries])
        for used, mode in entries:
            for name in _always(choices, mode):
                flag = _flag(choices, key, name)
                choices.model.add_implication(used, flag)
            for name in _perhaps(choices, mode):
                _flag(choices, key, name)
        for flag in choices.flags[key].values():
            choices.model.add_implication(flag, goes)


def _flag(choices: Choices, key: tuple[str, date], name: str) -> Var:
    flags = choices.flags[key]
    if name not in flags:
        flags[name] = choices.flag(f"{name}[{key[0]},{key[1]}]")
    return flags[name]


def _always(choices: Choices, mode: Mode) -> Iterator[str]:
    if mode.before:
        yield "eve"
        yield "pre"
    if mode.nights and len(mode.dates) > 1:
        yield "between"
    if mode.after:
        yield "post"
        yield "after"
        back = mode.back[0]
        if max(back.earliest, 7 * 3600) + back.seconds > choices.facts.settings.cover.day_from:
            yield "morrow"


def _perhaps(choices: Choices, mode: Mode) -> Iterator[str]:
    cover, facts = choices.facts.settings.cover, choices.facts
    longest = max((p.seconds for p in mode.out), default=0)
    early = facts.starts[0] - longest < cover.day_from or any(p.latest < cover.day_from for p in mode.out)
    if early and not mode.before:
        yield "pre"
    if early and len(mode.dates) > 1:
        yield "between"
    latest = max(facts.day_table.values(), default=0) + max((p.seconds for p in mode.back), default=0)
    late = latest > cover.night_from or any(p.earliest + p.seconds > cover.night_from for p in mode.back)
    if late and not mode.after:
        yield "post"


def away_and_touched(choices: Choices) -> None:
    """Say for each person and shift whether they are away, and for each facility and shift whether it is touched."""
    literals: dict[tuple[str, ShiftKey], list[Var]] = defaultdict(list)
    for key, goes in choices.goes.items():
        for shift, flag in _shifts(choices, key):
            literals[key[0], shift].append(goes if flag is None else flag)
            _away_by_cohort(choices, key, shift, flag)
    _trainers_who_are_staff(choices, literals)
    for (code, shift), found in literals.items():
        touched = choices.flag(f"touched[{code},{shift[0]},{shift[1]}]")
        choices.model.add_max_equality(touched, found)
        choices.touched[code, shift] = touched


def _shifts(choices: Choices, key: tuple[str, date]) -> Iterator[tuple[ShiftKey, Var | None]]:
    """Yield the shifts that a cohort may touch, each with its flag (None = always)."""
    flags, first = choices.flags[key], key[1]
    days = choices.facts.settings.session.days_per_team
    last = first + (days - 1) * ONE_DAY
    for k in range(days):
        yield (first + k * ONE_DAY, DAY), None
        if k < days - 1 and "between" in flags:
            yield (first + k * ONE_DAY, NIGHT), flags["between"]
    if "eve" in flags:
        yield (first - ONE_DAY, DAY), flags["eve"]
    if "pre" in flags:
        yield (first - ONE_DAY, NIGHT), flags["pre"]
    if "post" in flags:
        yield (last, NIGHT), flags["post"]
    if "morrow" in flags:
        yield (last + ONE_DAY, DAY), flags["morrow"]


def _away(choices: Choices, person: str, shift: ShiftKey) -> Var:
    key = (person, shift)
    if key not in choices.away:
        choices.away[key] = choices.flag(f"away[{person},{shift[0]},{shift[1]}]")
    return choices.away[key]


def _away_by_cohort(choices: Choices, key: tuple[str, date], shift: ShiftKey, flag: Var | None) -> None:
    for person in choices.facts.round.staff_of(key[0]):
        seats = [
            table[person.code, key[1], role]
            for table in (choices.seat, choices.guest)
            for role in Role
            if (person.code, key[1], role) in table
        ]
        if not seats:
            continue
        away = _away(choices, person.code, shift)
        if flag is None:
            choices.model.add(sum(seats) <= away)
        else:
            choices.model.add(sum(seats) + flag - 1 <= away)


def _trainers_who_are_staff(choices: Choices, literals: dict[tuple[str, ShiftKey], list[Var]]) -> None:
    """Trainers who are staff are away on their dates with a crew and in the nights before and after."""
    facts, model = choices.facts, choices.model
    days = facts.settings.session.days_per_team
    for trainer in facts.round.trainers:
        if trainer.person is None:
            continue
        person = facts.round.person(trainer.person)
        for (code, _, day), aboard in choices.aboard.items():
            if code != trainer.code:
                continue
            for shift in ((day - ONE_DAY, NIGHT), (day, DAY), (day, NIGHT)):
                model.add_implication(aboard, _away(choices, person.code, shift))
                literals[person.facility, shift].append(aboard)
            for (who, first), seat in _all_seats(choices):
                if who == person.code and first - ONE_DAY <= day <= first + days * ONE_DAY:
                    model.add_implication(seat, ~aboard)


def _all_seats(choices: Choices) -> list[tuple[tuple[str, date], Var]]:
    """Return every seat variable with its person and first date."""
    tables = (choices.seat, choices.guest, choices.home_guest)
    found = [((code, first), var) for table in tables for (code, first, _), var in table.items()]
    return found + [((code, first), var) for (code, first, _, _), var in choices.site_seat.items()]


def cover_kept(choices: Choices) -> None:
    """In every touched shift those who stay can fill the keep-team at once."""
    if not choices.facts.on(Rule.COVER_KEPT):
        return
    for (code, shift), touched in choices.touched.items():
        team = choices.facts.keep_team(code, shift)
        people = choices.facts.present(code, shift)
        _stay(choices, team, people, shift, touched, {})


def _stay(
    choices: Choices,
    team: tuple[Role, ...],
    people: tuple[Person, ...],
    shift: ShiftKey,
    touched: Var,
    seated: dict[str, Linear],
) -> None:
    """State Hall's condition: for each set of roles enough people stay who can fill one of them.

    The condition is free of the touched flag where it holds with everybody home: a tight linear relaxation.
    """
    roles = sorted(set(team))
    for size in range(1, len(roles) + 1):
        for group in combinations(roles, size):
            demand = sum(role in group for role in team)
            able = [p for p in people if set(p.cover_roles) & set(group)]
            if len(able) < demand:
                choices.model.add(touched == 0)
                return
            gone = [choices.away[p.code, shift] for p in able if (p.code, shift) in choices.away]
            gone_seated = [seated[p.code] for p in able if p.code in seated]
            if gone or gone_seated:
                choices.model.add(sum(gone) + sum(gone_seated) <= len(able) - demand)


def cover_on_site(choices: Choices) -> None:
    """While one own team is seated at home, the others there and those on duty can fill the keep-team."""
    facts = choices.facts
    if not facts.on(Rule.COVER_ON_SITE):
        return
    for sending in choices.sendings:
        facility = facts.round.facility(sending.facility)
        if not sending.on_site or facts.on_site_cover(facility) is not OnSiteCover.OBSERVERS:
            continue
        alone = stations_most(choices, sending.venue) == 1
        lent = _home_guests(choices, facility, sending.first)
        for i, team in enumerate(choices.site_team[sending.facility, sending.first]):
            seated = _seated_in(choices, facility, sending.first, i)
            for code, seats in lent.items() if not alone else ():
                seated[code] = seated.get(code, 0) + seats
            for day in sending.mode.dates:
                shift = (day, DAY)
                _stay(choices, facts.keep_team(facility.code, shift), facts.present(facility.code, shift), shift, team,
                      seated)  # fmt: skip
        _take_turns(choices, sending.facility, sending.venue, sending.first)


def guests_at_home(choices: Choices) -> None:
    """While own people sit as guests in a team that trains at their facility, the others can fill the keep-team."""
    facts = choices.facts
    if not facts.on(Rule.COVER_ON_SITE):
        return
    for facility in facts.round.facilities:
        if facts.on_site_cover(facility) is not OnSiteCover.OBSERVERS:
            continue
        for first in sorted({f for code, f, _ in choices.home_guest if _of(choices, code, facility)}):
            lent = _home_guests(choices, facility, first)
            goes = choices.goes.get((facility.code, first))
            if goes is None:
                continue
            for k in range(facts.settings.session.days_per_team):
                shift = (first + k * ONE_DAY, DAY)
                people = facts.present(facility.code, shift)
                _stay(choices, facts.keep_team(facility.code, shift), people, shift, goes, lent)


def _of(choices: Choices, person: str, facility: Facility) -> bool:
    return choices.facts.round.person(person).facility == facility.code


def _home_guests(choices: Choices, facility: Facility, first: date) -> dict[str, Linear]:
    lent: dict[str, list[Var]] = defaultdict(list)
    for (code, x, _), var in choices.home_guest.items():
        if x == first and _of(choices, code, facility):
            lent[code].append(var)
    return {code: sum(seats) for code, seats in lent.items()}


def _seated_in(choices: Choices, facility: Facility, first: date, i: int) -> dict[str, Linear]:
    seated: dict[str, Linear] = {}
    for person in choices.facts.round.staff_of(facility.code):
        seats = [v for role in Role if (v := choices.site_seat.get((person.code, first, role, i))) is not None]
        if seats:
            seated[person.code] = sum(seats)
    return seated


def _take_turns(choices: Choices, facility: str, venue: str, first: date) -> None:
    """Own teams at home are never seated at the same time, so their slots must follow one another."""
    facts, session = choices.facts, choices.facts.settings.session
    teams = choices.site_team[facility, first]
    if len(teams) < 2:
        return
    for k in range(session.days_per_team):
        day = first + k * ONE_DAY
        sims = facts.sims_on(first, day)
        for crew in choices.crews:
            for hold in choices.teach(crew.code, venue, day):
                need = sum(teams) * sims + session.demonstrations + session.reserve_slots
                slots = choices.slots[crew.code, day]
                choices.model.add(need <= slots).only_enforce_if(hold, teams[1])


def cover_referral(choices: Choices) -> None:
    """The site that takes the emergencies keeps its team and one more anaesthetist and provider."""
    facts = choices.facts
    if not facts.on(Rule.COVER_REFERRAL):
        return
    more = (Role.ANAESTHETIST, Role.SURGICAL_PROVIDER)
    for (code, shift), touched in choices.touched.items():
        site = facts.round.facility(code).refers_to
        if site is None:
            continue
        team = facts.round.keep_team(facts.round.facility(site), shift[1]) + more
        people = facts.present(site, shift)
        roles = sorted(set(team))
        for size in range(1, len(roles) + 1):
            for group in combinations(roles, size):
                demand = sum(role in group for role in team)
                able = [p for p in people if set(p.cover_roles) & set(group)]
                gone = [choices.away[p.code, shift] for p in able if (p.code, shift) in choices.away]
                slack = len(able) - demand
                if slack < 0:
                    choices.model.add(touched == 0)
                elif len(gone) > slack:
                    choices.model.add(sum(gone) <= slack).only_enforce_if(touched)


def cover_run(choices: Choices) -> None:
    """Name the cover wherever a run of touched shifts could ask too much of one person."""
    facts = choices.facts
    if not facts.on(Rule.COVER_RUN) or not facts.on(Rule.COVER_KEPT):
        return
    for facility in facts.round.facilities:
        limit = facts.round.cover_run(facility)
        shifts = sorted((s for code, s in choices.touched if code == facility.code), key=_order)
        windows = list(_windows(shifts, limit + 1))
        named = {shift for window in windows for shift in window}
        table = {shift: _names(choices, facility, shift) for shift in sorted(named, key=_order)}
        for window in windows:
            for person in {p for shift in window for p in table[shift]}:
                run = [v for shift in window for v in table[shift].get(person, ())]
                if len(run) > limit:
                    choices.model.add(sum(run) <= limit)


def runs_need_people(choices: Choices) -> None:
    """Whoever lodges leaves a run of touched shifts; those who stay must be enough to take turns.

    Follows from naming the cover, but needs no names: over a window of one shift more than the limit, those who can fill
    a set of roles take at most ``limit`` shifts each.
    """
    facts = choices.facts
    if not facts.on(Rule.COVER_RUN) or not facts.on(Rule.COVER_KEPT):
        return
    days = facts.settings.session.days_per_team
    for (code, first), flags in choices.flags.items():
        facility = facts.round.facility(code)
        limit = facts.round.cover_run(facility)
        last = first + (days - 1) * ONE_DAY
        before = [(first - ONE_DAY, DAY), (first - ONE_DAY, NIGHT), (first, DAY)]
        after = [(last, DAY), (last, NIGHT), (last + ONE_DAY, DAY)]
        windows = [("eve", before), ("morrow", after)] if limit == 2 else []
        windows += [("pre", before[1:]), ("post", after[:2])] if limit == 1 else []
        for name, window in windows:
            if name in flags:
                _turns(choices, code, window, limit, flags[name], first)


def _turns(choices: Choices, code: str, window: list[ShiftKey], limit: int, flag: Var, first: date) -> None:
    facts = choices.facts
    teams = {shift: facts.keep_team(code, shift) for shift in window}
    there = {shift: {p.code for p in facts.present(code, shift)} for shift in window}
    roles = sorted({role for team in teams.values() for role in team})
    for size in range(1, len(roles) + 1):
        for group in combinations(roles, size):
            demand = sum(role in group for team in teams.values() for role in team)
            able = {
                p.code: p for shift in window for p in facts.present(code, shift) if set(p.cover_roles) & set(group)
            }
            turns = {who: min(limit, sum(who in there[shift] for shift in window)) for who in able}
            gone = [turns[who] * choices.away[who, (first, DAY)] for who in able if (who, (first, DAY)) in choices.away]
            slack = sum(turns.values()) - demand
            if slack < 0:
                choices.model.add(flag == 0)
                return
            if gone:
                choices.model.add(sum(gone) <= slack).only_enforce_if(flag)


def _order(shift: ShiftKey) -> int:
    return 2 * shift[0].toordinal() + (shift[1] is NIGHT)


def _windows(shifts: list[ShiftKey], length: int) -> Iterator[list[ShiftKey]]:
    for i in range(len(shifts) - length + 1):
        if _order(shifts[i + length - 1]) - _order(shifts[i]) == length - 1:
            yield shifts[i : i + length]


def _names(choices: Choices, facility: Facility, shift: ShiftKey) -> dict[str, list[Var]]:
    """Name one person for each role of the keep-team of a shift; return the variables by person."""
    facts, model = choices.facts, choices.model
    team = facts.keep_team(facility.code, shift)
    by_person: dict[str, list[Var]] = defaultdict(list)
    touched = choices.touched[facility.code, shift]
    for role in sorted(set(team)):
        names = []
        for person in facts.present(facility.code, shift):
            if role in person.cover_roles:
                var = choices.flag(f"covers[{person.code},{shift[0]},{shift[1]},{role}]")
                names.append(var)
                by_person[person.code].append(var)
        model.add(sum(names) == team.count(role) * touched)
    for code, names in by_person.items():
        away = choices.away.get((code, shift))
        seated = [
            v for (who, first, _, _), v in choices.site_seat.items() if who == code and _during(choices, first, shift)
        ]
        gone: Linear = (0 if away is None else away) + (sum(seated) if _observers(choices, facility) else 0)
        model.add(sum(names) + gone <= 1)
    return by_person


def _observers(choices: Choices, facility: Facility) -> bool:
    return choices.facts.on_site_cover(facility) is OnSiteCover.OBSERVERS and choices.facts.on(Rule.COVER_ON_SITE)


def _during(choices: Choices, first: date, shift: ShiftKey) -> bool:
    days = choices.facts.settings.session.days_per_team
    return shift[1] is DAY and timedelta(0) <= shift[0] - first < timedelta(days=days)


def thin_services(choices: Choices) -> None:
    """Count the touched shifts in which a minimum role is left with fewer than two people."""
    for (code, shift), touched in choices.touched.items():
        people = choices.facts.present(code, shift)
        thin = choices.flag(f"thin[{code},{shift[0]},{shift[1]}]")
        choices.thin[code, shift] = thin
        for role in MINIMUM_ROLES:
            able = [p for p in people if role in p.cover_roles]
            gone = [choices.away[p.code, shift] for p in able if (p.code, shift) in choices.away]
            if len(able) - len(gone) < 2:
                choices.model.add(len(able) - sum(gone) + 2 * thin >= 2 * touched)
        choices.model.add_implication(thin, touched)

"""Invented staff: who works at a facility, who is on leave, who is on duty by day and night, who was trained before.

Counts follow what programmes of this kind report in general terms (common practice, no source): 12 to 21 people a
facility, 15.5 on average, few anaesthetists, many with a second role.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from gen_names import FAMILY, GIVEN

from roundplan.domain.person import Absence, Duty, LedgerEntry, Person
from roundplan.domain.role import MINIMUM_ROLES, DutyKind, Include, Role

P, A, N, S, C, B = (*MINIMUM_ROLES, Role.SCRUB, Role.CIRCULATING, Role.NEWBORN_CARE)
ONE_DAY = timedelta(days=1)
ROSTER_DATES = 35
"""Rosters are known five weeks ahead; later dates have none."""
SECOND: dict[Role, tuple[tuple[Role, float], ...]] = {
    P: ((A, 0.45),),
    A: ((S, 0.4), (P, 0.08)),
    N: ((A, 0.1),),
    S: ((C, 0.55),),
    C: ((S, 0.35), (B, 0.1)),
    B: ((C, 0.35),),
}
"""A person's second role, with its share among those of the main role."""


@dataclass(frozen=True, slots=True)
class Size:
    """A kind of facility: teams wanted, usual team, and people by main role."""

    teams: int
    usual_team: tuple[Role, ...]
    people: tuple[tuple[Role, int], ...]


SIZES: tuple[tuple[float, Size], ...] = (
    (0.13, Size(1, (P, A, N, B), ((P, 3), (A, 4), (N, 2), (B, 3)))),
    (0.12, Size(1, (P, A, N, S, B), ((P, 3), (A, 4), (N, 2), (S, 2), (B, 2)))),
    (0.25, Size(2, (P, A, N, S, B), ((P, 3), (A, 4), (N, 3), (S, 2), (B, 2)))),
    (0.20, Size(2, (P, A, N, S, C), ((P, 3), (A, 4), (N, 3), (S, 2), (C, 2)))),
    (0.27, Size(3, (P, A, N, S, C, B), ((P, 4), (A, 5), (N, 3), (S, 2), (C, 2), (B, 2)))),
    (0.03, Size(4, (P, A, N, S, C, B), ((P, 5), (A, 5), (N, 4), (S, 2), (C, 2), (B, 2)))),
)
"""Facilities that are no district hospital, with their shares."""
HOSPITALS: tuple[tuple[float, Size], ...] = (
    (0.3, Size(3, (P, A, N, S, C, B), ((P, 4), (A, 6), (N, 4), (S, 2), (C, 2), (B, 2)))),
    (0.7, Size(4, (P, A, N, S, C, B), ((P, 5), (A, 6), (N, 4), (S, 2), (C, 2), (B, 3)))),
)


def deal(options: tuple[tuple[float, Size], ...], count: int, rng: Random) -> list[Size]:
    """Return so many sizes in random order, each as often as its share says (largest remainders)."""
    exact = [share * count for share, _ in options]
    whole = [int(x) for x in exact]
    rest = sorted(range(len(options)), key=lambda k: (whole[k] - exact[k], k))
    for k in rest[: count - sum(whole)]:
        whole[k] += 1
    dealt = [size for (_, size), times in zip(options, whole, strict=True) for _ in range(times)]
    rng.shuffle(dealt)
    return dealt


def make_people(facility: str, size: Size, languages: tuple[str, ...], rng: Random) -> tuple[Person, ...]:
    """Return a facility's staff."""
    people: list[Person] = []
    for main, count in size.people:
        for k in range(count):
            roles = (main, *_second(main, rng))
            learner = k == count - 1 and count > 3 and rng.random() < 0.12
            cover: tuple[Role, ...] = () if learner else roles[:1] if rng.random() < 0.1 else roles
            draw = rng.random()
            people.append(
                Person(
                    code=f"{facility}P{len(people) + 1:02d}",
                    name=f"{rng.choice(GIVEN)} {rng.choice(FAMILY)}",
                    facility=facility,
                    roles=roles,
                    cover_roles=cover,
                    languages=languages,
                    works_days=frozenset({0, 1, 2, 3}) if rng.random() < 0.03 else None,
                    second_seat=rng.random() < 0.02,
                    include=Include.MUST if draw < 0.03 else Include.NO if draw > 0.98 else Include.MAY,
                    learner=learner,
                )
            )
    return tuple(people)


def _second(main: Role, rng: Random) -> tuple[Role, ...]:
    draw = rng.random()
    for role, share in SECOND[main]:
        if draw < share:
            return (role,)
        draw -= share
    return ()


def by_main_role(people: tuple[Person, ...]) -> dict[Role, list[Person]]:
    """Return a facility's staff by main role, in the order of the table."""
    groups: dict[Role, list[Person]] = {}
    for person in people:
        groups.setdefault(person.roles[0], []).append(person)
    return groups


def make_leave(people: tuple[Person, ...], first_day: date, dates: int, rng: Random) -> tuple[Absence, ...]:
    """Return a facility's absences, about 8 % of all dates; never two at once among four or fewer of a main role."""
    found: list[Absence] = []
    for group in by_main_role(people).values():
        taken: list[tuple[date, date]] = []
        for person in group:
            for month in range(0, dates, 28):
                if rng.random() >= 0.27:
                    continue
                first = first_day + timedelta(days=month + rng.randrange(28))
                last = first + timedelta(days=rng.choice((4, 4, 6, 11, 13)))
                clash = any(a <= last and first <= b for a, b in taken)
                if (len(group) <= 4 and clash) or any(x.who == person.code and x.last >= first for x in found):
                    continue
                taken.append((first, last))
                kind = rng.choice(("leave", "leave", "leave", "course", "sick"))
                found.append(Absence(who=person.code, first=first, last=last, kind=kind))
    return tuple(found)


def make_roster(
    people: tuple[Person, ...], leave: tuple[Absence, ...], first_day: date, dates: int
) -> tuple[Duty, ...]:
    """Return a facility's duties from the eve of the first day, five weeks at most.

    Of four or more people of a main role one has the night, is off on the morrow, and one more is on call; of fewer,
    one is on call by turns. The others work on weekdays.
    """
    away = {(x.who, d) for x in leave for d in _dates(x.first, x.last)}
    found: list[Duty] = []
    for group in by_main_role(people).values():
        rested: str | None = None
        for number in range(min(dates, ROSTER_DATES) + 1):
            day = first_day + (number - 1) * ONE_DAY
            free = [p for p in group if (p.code, day) not in away]
            if not free:
                continue
            kinds = dict.fromkeys((p.code for p in free), DutyKind.OFF if day.weekday() > 4 else DutyKind.DAY)
            able = [p.code for p in free if p.code != rested and not p.learner] or [p.code for p in free]
            if rested in kinds:
                kinds[rested] = DutyKind.OFF
            rested = None
            if len(group) >= 4 and len(able) > 1:
                rested = able[number % len(able)]
                kinds[rested] = DutyKind.NIGHT
                kinds[able[(number + 1) % len(able)]] = DutyKind.ON_CALL
            else:
                kinds[able[number % len(able)]] = DutyKind.ON_CALL
            found += [Duty(person=code, date=day, kind=kind) for code, kind in kinds.items()]
    return tuple(sorted(found, key=lambda duty: (duty.person, duty.date)))


def _dates(first: date, last: date) -> Iterator[date]:
    while first <= last:
        yield first
        first += ONE_DAY


def make_ledger(people: tuple[Person, ...], first_day: date, rng: Random) -> tuple[LedgerEntry, ...]:
    """Return what an earlier round left at a facility: one team, trained long ago or not so long ago."""
    long_ago = rng.random() < 0.6
    when = first_day - timedelta(days=rng.randrange(430, 620) if long_ago else rng.randrange(150, 330))
    name = "First visits" if long_ago else "Second visits"
    team = [rng.choice(group) for group in by_main_role(people).values()]
    return tuple(
        LedgerEntry(person=p.code, role=p.roles[0], date=when, round=name, result="trained")
        for p in sorted(team, key=lambda p: p.code)
        if rng.random() < 0.85
    )

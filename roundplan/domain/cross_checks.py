"""Checks that need more than one table: every reference, every name space, every contradiction."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from roundplan.domain.counts import counted
from roundplan.domain.decision import LockKind
from roundplan.domain.flaw import Flaw
from roundplan.domain.role import MINIMUM_ROLES

if TYPE_CHECKING:
    from roundplan.domain.training_round import TrainingRound

_LOCK_WHO = {
    LockKind.SEAT: ("person",),
    LockKind.PERSON: ("person", "trainer"),
    LockKind.VISIT: ("facility",),
    LockKind.FACILITY: ("facility",),
}
"""Whom a lock can speak of, by its kind."""


def cross_check(training_round: TrainingRound) -> Iterator[Flaw]:
    """Yield everything that contradicts itself across tables."""
    for check in (_codes, _references, _facilities, _people, _locks, _settings):
        yield from check(training_round)


def _twice(table: str, column: str, codes: Iterable[str]) -> Iterator[Flaw]:
    for code, times in Counter(codes).items():
        if times > 1:
            yield Flaw(table, code, column, f"the code {code} stands in {times} rows", "give each row its own code")


def _codes(r: TrainingRound) -> Iterator[Flaw]:
    yield from _twice("facilities", "facility", (f.code for f in r.facilities))
    yield from _twice("places", "place", (p.code for p in r.places))
    yield from _twice("staff", "person", (p.code for p in r.people))
    yield from _twice("trainers", "trainer", (t.code for t in r.trainers))
    yield from _twice("crews", "crew", (c.code for c in r.crews))
    yield from _twice("supplies", "item", (i.code for i in r.items))
    yield from _twice("cases", "case", (c.code for c in r.cases))
    yield from _twice("budget", "line", (b.line.value for b in r.budget))
    facilities = {f.code for f in r.facilities}
    for place in r.places:
        if place.code in facilities:
            yield Flaw("places", place.code, "place", f"{place.code} is a facility too", "rename the place")


def _references(r: TrainingRound) -> Iterator[Flaw]:
    facilities = {f.code for f in r.facilities}
    sites = facilities | {p.code for p in r.places}
    people = {p.code for p in r.people}
    crews = {c.code for c in r.crews}
    trainers = {t.code for t in r.trainers}
    items = {i.code for i in r.items}

    def known(code: str | None, names: set[str], flaw_at: tuple[str, str, str], kind: str) -> Iterator[Flaw]:
        if code is not None and code not in names:
            yield Flaw(*flaw_at, f"there is no {kind} {code}", f"add {code} to its table or correct the code")

    for f in r.facilities:
        yield from known(f.refers_to, facilities, ("facilities", f.code, "refers_to"), "facility")
    for p in r.people:
        yield from known(p.facility, facilities, ("staff", p.code, "facility"), "facility")
    for d in r.duties:
        yield from known(d.person, people, ("duties", f"{d.person} / {d.date}", "person"), "person")
    for a in r.absences:
        at = ("absences", f"{a.who} / {a.first}", "who")
        yield from known(a.who, people | crews | trainers, at, "person, trainer or crew")
        if a.shift is not None and a.who not in people and a.who in crews | trainers:
            words = "only staff can be away for one shift"
            yield Flaw(
                "absences", f"{a.who} / {a.first}", "shift", words, "clear it: a trainer or crew is away all day"
            )
    for lent in r.relief:
        key = f"{lent.person} / {lent.first}"
        yield from known(lent.person, people, ("relief", key, "person"), "person")
        yield from known(lent.facility, facilities, ("relief", key, "facility"), "facility")
    for t in r.trainers:
        yield from known(t.lives_at, sites, ("trainers", t.code, "lives_at"), "facility or place")
        yield from known(t.person, people, ("trainers", t.code, "person"), "person")
        yield from known(t.crew, crews, ("trainers", t.code, "crew"), "crew")
    for c in r.crews:
        yield from known(c.base, sites, ("crews", c.code, "base"), "facility or place")
    for road in r.roads:
        key = f"{road.start} / {road.end}"
        yield from known(road.start, sites, ("roads", key, "from"), "facility or place")
        yield from known(road.end, sites, ("roads", key, "to"), "facility or place")
    for s in r.stock:
        yield from known(s.item, items, ("stock", f"{s.item} / {s.place}", "item"), "item")
        yield from known(s.place, sites, ("stock", f"{s.item} / {s.place}", "place"), "facility or place")
    for case in r.cases:
        for extra in case.extra_items:
            yield from known(extra, items, ("cases", case.code, "extra_items"), "item")
    for entry in r.ledger:
        yield from known(entry.person, people, ("ledger", f"{entry.person} / {entry.date}", "person"), "person")
    for number, lock in enumerate(r.locks, start=1):
        key = str(number)
        yield from known(lock.place, sites, ("locks", key, "place"), "facility or place")
        yield from known(lock.crew, crews, ("locks", key, "crew"), "crew")


def _facilities(r: TrainingRound) -> Iterator[Flaw]:
    for f in r.facilities:
        missing = [role for role in MINIMUM_ROLES if role not in f.usual_team]
        if missing and f.teams_wanted:
            words = "the usual team lacks " + ", ".join(missing)
            yield Flaw("facilities", f.code, "usual_team", words, "list all roles of the team, minimum included")
        if f.refers_to == f.code:
            yield Flaw("facilities", f.code, "refers_to", "a facility cannot refer to itself", "name another or none")


def _people(r: TrainingRound) -> Iterator[Flaw]:
    seen: dict[str, str] = {}
    for t in r.trainers:
        if t.person is not None and t.person in seen:
            yield Flaw("trainers", t.code, "person", f"{t.person} is trainer {seen[t.person]} too", "keep one row")
        if t.person is not None:
            seen[t.person] = t.code


def _locks(r: TrainingRound) -> Iterator[Flaw]:
    """Yield locks that say too little, or of somebody whom such a lock cannot speak of."""
    kinds = {
        "person": {p.code for p in r.people},
        "trainer": {t.code for t in r.trainers},
        "facility": {f.code for f in r.facilities},
    }
    for number, lock in enumerate(r.locks, start=1):
        key = str(number)
        if lock.kind is LockKind.SESSION:
            if lock.place is None and lock.date is None:
                yield Flaw("locks", key, "place", "a session lock needs a place or a date", "fill one in")
            if lock.who is not None:
                remedy = "clear it; place, date and crew say which session"
                yield Flaw("locks", key, "who", "a session lock speaks of nobody", remedy)
        elif lock.who is None:
            remedy = f"fill in the code of a {' or '.join(_LOCK_WHO[lock.kind])}"
            yield Flaw("locks", key, "who", f"a {lock.kind} lock needs a who", remedy)
        else:
            named = [name for name, codes in kinds.items() if lock.who in codes]
            yield from _lock_who(key, lock.kind, lock.who, named)


def _lock_who(key: str, kind: LockKind, who: str, named: list[str]) -> Iterator[Flaw]:
    able = " or ".join(_LOCK_WHO[kind])
    if not named:
        remedy = f"a {kind} lock speaks of a {able}: add {who} to its table or correct the code"
        yield Flaw("locks", key, "who", f"there is no {able} {who}", remedy)
    elif not set(named) & set(_LOCK_WHO[kind]):
        words = f"{who} is a {named[0]}, and a {kind} lock speaks of a {able}"
        yield Flaw("locks", key, "who", words, f"enter the code of a {able}")


def _settings(r: TrainingRound) -> Iterator[Flaw]:
    s = r.settings
    where = "round.toml"
    if s.round.last_day < s.round.first_day:
        yield Flaw(where, "", "round.last_day", "the round ends before it starts", "check both dates")
    if not 1 <= s.session.days <= 3:
        yield Flaw(where, "", "session.days", "a session lasts 1 to 3 dates", "enter 1, 2 or 3")
    if not 1 <= s.session.days_per_team <= s.session.days:
        yield Flaw(where, "", "session.days_per_team", "a team attends 1 date up to all of the session", "correct it")
    if s.session.simulations_per_team < s.session.days_per_team:
        words = "each date of a team needs a simulation"
        yield Flaw(where, "", "session.simulations_per_team", words, "raise it, or lower days_per_team")
    if s.session.teach_to <= s.session.teach_from:
        yield Flaw(where, "", "session.teach_to", "teaching ends before it starts", "check both times")
    if r.cases and len(r.cases) < s.session.simulations_per_team:
        wanted, there = counted(s.session.simulations_per_team, "simulation"), counted(len(r.cases), "case")
        words = f"a team runs {wanted}, each another case, and the table has {there}"
        yield Flaw("cases", "", "case", words, "add cases or lower simulations_per_team")
    if s.cover.night_from <= s.cover.day_from:
        yield Flaw(where, "", "cover.night_from", "the night must start after the day", "check both times")

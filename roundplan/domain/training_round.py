"""One round, all tables together, cross-checked once."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from roundplan.domain.crew import Crew
from roundplan.domain.cross_checks import cross_check
from roundplan.domain.decision import BudgetLine, Lock
from roundplan.domain.facility import Facility
from roundplan.domain.flaw import FlawsFound
from roundplan.domain.person import Absence, Duty, LedgerEntry, Person, Relief
from roundplan.domain.place import Place, Road, Site
from roundplan.domain.role import MINIMUM_ROLES, Include, Role, Shift
from roundplan.domain.settings import Settings
from roundplan.domain.supply import Case, Item, Stock
from roundplan.domain.trainer import Trainer


def add_months(day: date, months: int) -> date:
    """Return the same day of the month ``months`` later, or that month's last day."""
    index = day.year * 12 + day.month - 1 + months
    year, month = divmod(index, 12)
    first_of_next = date(year + (month == 11), (month + 1) % 12 + 1, 1)
    last = (first_of_next - timedelta(days=1)).day
    return date(year, month + 1, min(day.day, last))


@dataclass(frozen=True, slots=True, kw_only=True)
class TrainingRound:
    """All that is known before planning.

    Raises
    ------
    FlawsFound
        Once, with every cross-check that fails.
    """

    settings: Settings = field(default_factory=Settings)
    facilities: tuple[Facility, ...] = ()
    people: tuple[Person, ...] = ()
    duties: tuple[Duty, ...] = ()
    absences: tuple[Absence, ...] = ()
    relief: tuple[Relief, ...] = ()
    trainers: tuple[Trainer, ...] = ()
    places: tuple[Place, ...] = ()
    crews: tuple[Crew, ...] = ()
    roads: tuple[Road, ...] = ()
    items: tuple[Item, ...] = ()
    stock: tuple[Stock, ...] = ()
    cases: tuple[Case, ...] = ()
    ledger: tuple[LedgerEntry, ...] = ()
    locks: tuple[Lock, ...] = ()
    budget: tuple[BudgetLine, ...] = ()
    _index: dict[str, dict[Any, Any]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        flaws = tuple(cross_check(self))
        if flaws:
            raise FlawsFound(flaws)
        absences: dict[str, list[Absence]] = {}
        for absence in self.absences:
            absences.setdefault(absence.who, []).append(absence)
        duties: dict[tuple[str, date], list[Duty]] = {}
        for duty in self.duties:
            duties.setdefault((duty.person, duty.date), []).append(duty)
        staff: dict[str, list[Person]] = {f.code: [] for f in self.facilities}
        for person in self.people:
            staff[person.facility].append(person)
        trained: dict[str, date] = {}
        for entry in self.ledger:
            if entry.result == "trained":
                trained[entry.person] = max(entry.date, trained.get(entry.person, date.min))
        lent: dict[str, list[Relief]] = {}
        lent_to: dict[str, set[str]] = {}
        for row in self.relief:
            lent.setdefault(row.person, []).append(row)
            lent_to.setdefault(row.facility, set()).add(row.person)
        index: dict[str, dict[Any, Any]] = {
            "facility": {f.code: f for f in self.facilities},
            "person": {p.code: p for p in self.people},
            "trainer": {t.code: t for t in self.trainers},
            "place": {p.code: p for p in self.places},
            "crew": {c.code: c for c in self.crews},
            "item": {i.code: i for i in self.items},
            "case": {c.code: c for c in self.cases},
            "site": {s.code: s for s in (*self.facilities, *self.places)},
            "staff": {code: tuple(group) for code, group in staff.items()},
            "absence": absences,
            "duty": duties,
            "trained": trained,
            "lent": lent,
            "lent_to": lent_to,
        }
        object.__setattr__(self, "_index", index)
        index["alarmed"] = {f.code: self._overdue(f) for f in self.facilities}

    def replace(self, **changes: Any) -> TrainingRound:
        """Return a variant with some tables changed, cross-checked again."""
        return dataclasses.replace(self, **changes)

    def facility(self, code: str) -> Facility:
        """Return a facility by code."""
        found: Facility = self._index["facility"][code]
        return found

    def is_facility(self, code: str) -> bool:
        """Whether the code names a facility."""
        return code in self._index["facility"]

    def person(self, code: str) -> Person:
        """Return a person by code."""
        found: Person = self._index["person"][code]
        return found

    def trainer(self, code: str) -> Trainer:
        """Return a trainer by code."""
        found: Trainer = self._index["trainer"][code]
        return found

    def crew(self, code: str) -> Crew:
        """Return a crew by code."""
        found: Crew = self._index["crew"][code]
        return found

    def item(self, code: str) -> Item:
        """Return an item by code."""
        found: Item = self._index["item"][code]
        return found

    def case(self, code: str) -> Case:
        """Return a case by code."""
        found: Case = self._index["case"][code]
        return found

    def site(self, code: str) -> Site:
        """Return a facility or place by code."""
        found: Site = self._index["site"][code]
        return found

    def sites(self) -> tuple[Site, ...]:
        """Return all facilities, then all places."""
        return (*self.facilities, *self.places)

    def name_of(self, code: str) -> str:
        """Return the name behind any code of a person, trainer, facility, place, case or item; else the code."""
        for kind in ("person", "trainer", "site", "case", "item"):
            found = self._index[kind].get(code)
            if found is not None:
                return str(found.name)
        return code

    def staff_of(self, facility: str) -> tuple[Person, ...]:
        """Return a facility's own staff."""
        found: tuple[Person, ...] = self._index["staff"][facility]
        return found

    def ever_at(self, facility: str) -> tuple[Person, ...]:
        """Return those who may serve at a facility on some date: its own staff, and staff lent to it."""
        lent = self._index["lent_to"].get(facility)
        own = self.staff_of(facility)
        return own if not lent else tuple(p for p in self.people if p.facility == facility or p.code in lent)

    def on_leave(self, who: str, day: date) -> bool:
        """Whether an absence row covers the date, or its day shift, for a person, trainer or crew."""
        return self.off(who, day, Shift.DAY)

    def off(self, who: str, day: date, shift: Shift | None = None) -> bool:
        """Whether an absence row covers a shift; without a shift, all of the date."""
        rows = self._index["absence"].get(who, ())
        return any(a.covers(day) and a.shift in (None, shift) for a in rows)

    def duties_on(self, person: str, day: date) -> tuple[Duty, ...]:
        """Return a person's roster rows of the date."""
        return tuple(self._index["duty"].get((person, day), ()))

    def last_trained(self, person: str) -> date | None:
        """Return the date on which the person was last trained, by the ledger."""
        found: date | None = self._index["trained"].get(person)
        return found

    def located_at(self, person: str, day: date) -> str:
        """Return the facility at which the person serves on the date: lent, else their own."""
        for row in self._index["lent"].get(person, ()):
            if row.covers(day):
                return str(row.facility)
        return self.person(person).facility

    def announce_date(self) -> date:
        """Return the date from which notice counts; the round's first day where none is given."""
        settings = self.settings.round
        return settings.announce_on or settings.plan_date or settings.first_day

    def keep_team(self, facility: Facility, shift: Shift) -> tuple[Role, ...]:
        """Return the roles that must stay filled at a facility in a shift."""
        cover = self.settings.cover
        if shift is Shift.NIGHT:
            return facility.keep_team_night if facility.keep_team_night is not None else cover.keep_team_night
        if facility.keep_team is not None:
            return facility.keep_team
        if cover.keep_team is not None:
            return cover.keep_team
        newborn = (Role.NEWBORN_CARE,) if Role.NEWBORN_CARE in facility.usual_team else ()
        return MINIMUM_ROLES + newborn

    def cover_run(self, facility: Facility) -> int:
        """Return the most consecutive shifts that one person is named for."""
        return facility.cover_run if facility.cover_run is not None else self.settings.cover.run

    def working_language(self, facility: Facility) -> str:
        """Return the facility's working language: its first, else the round's."""
        return facility.languages[0] if facility.languages else self.settings.round.language

    def alarmed(self, facility: Facility) -> bool:
        """Whether any of its staff was last trained longer ago than the alarm, on the round's first day."""
        found: bool = self._index["alarmed"][facility.code]
        return found

    def _overdue(self, facility: Facility) -> bool:
        first_day = self.settings.round.first_day
        months = self.settings.teams.alarm_months
        last = (self.last_trained(p.code) for p in self.staff_of(facility.code))
        return any(day is not None and add_months(day, months) < first_day for day in last)

    def weight(self, facility: Facility) -> int:
        """Return priority, × 3 where training is overdue."""
        return facility.priority * (3 if self.alarmed(facility) else 1)

    def team_points(self, facility: Facility, number: int) -> int:
        """Return what a facility's further team adds: weight × 6 for the second, × 4 for each later one."""
        return self.weight(facility) * (6 if number == 2 else 4)

    def may_train(self, person: Person, day: date) -> bool:
        """Whether include and the refresher interval let the person be seated on the date."""
        if person.include is Include.NO:
            return False
        last = self.last_trained(person.code)
        if last is None or person.include is Include.MUST:
            return True
        return day >= add_months(last, self.settings.teams.refresher_months)

    def people_with(self, codes: Iterable[str]) -> tuple[Person, ...]:
        """Return people by code, in the order given."""
        return tuple(self.person(code) for code in codes)

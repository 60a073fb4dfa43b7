"""Invented small rounds from a seed: the same seed, the same round; every rule that shapes coverage turns up often.

Two to four facilities, one to three venues, three to six dates, one or two crews. All figures are invented.
"""

from __future__ import annotations

import dataclasses
from datetime import date
from random import Random
from typing import Any

from rounds import A, N, P, crew, day, facility, hall, host, person, place, road, settings, staff, thread, trainer

from roundplan.domain.crew import Crew
from roundplan.domain.dates import DaySet
from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.facility import Facility
from roundplan.domain.person import Absence, Duty, LedgerEntry, Person, Relief
from roundplan.domain.place import Place, Road
from roundplan.domain.role import DutyKind, Include, OnSiteCover, PlaceKind, Role, SessionRoom, Weekend
from roundplan.domain.settings import Settings
from roundplan.domain.supply import Item, Per, Stock
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound

NAMES = ("ALFA", "BETA", "GAMA", "DELT")
HOUR = 3600
USUAL = ((P, A, N), (P, A, N), (P, A, N), (P, A, N, Role.NEWBORN_CARE), (P, A, N, Role.SCRUB, Role.CIRCULATING))
TEAMS = {1: ("PPAANN", "PPPAANN", "PPPAAANNN", "PPAAN", "PAN"), 2: ("PPPAAANNN", "PPPPAAAANNNN", "PPPAANN"),
         3: ("PPPPAAAANNNN", "PPPPAAANNN")}  # fmt: skip


def small_round(seed: int, *, tiny: bool = False) -> TrainingRound:
    """Return the small round of a seed; a tiny one has two facilities, one crew and nothing that nobody enumerates."""
    return _Maker(Random(f"small round {seed}"), tiny).make()


class _Maker:
    """Draws one round; each table is drawn from what is there already."""

    def __init__(self, rng: Random, tiny: bool) -> None:
        self.rng, self.tiny = rng, tiny
        self.last = rng.randint(1, 2) if tiny else rng.randint(2, 5)
        self.days = min(rng.choices((1, 2, 3), (6, 3, 1))[0], self.last)
        self.per_team = rng.randint(1, self.days)
        self.shift = rng.choices((0, 2, 3), (5, 2, 2))[0]
        """Dates after a Monday on which the round begins: from the third on it spans a weekend."""
        self.codes = NAMES[: 2 if tiny else rng.choices((2, 3, 4), (5, 4, 1))[0]]
        self.stranded = self.some(0.3)
        """Whether a long way and few nights make it matter where trainers live."""

    def some(self, share: float) -> bool:
        """Whether a rare thing turns up."""
        return self.rng.random() < share

    def on(self, first: int = 0, last: int | None = None) -> date:
        """Return one of the round's dates, or a date near them."""
        return day(self.shift + self.rng.randint(first, self.last if last is None else last))

    def make(self) -> TrainingRound:
        """Return the round."""
        facilities, places = self._sites()
        people = self._people(facilities)
        trainers = self._trainers(people, [s.code for s in (*facilities, *places)])
        crews = self._crews()
        items, stock = self._supplies()
        return TrainingRound(
            settings=self._settings(),
            facilities=facilities,
            people=people,
            duties=self._duties(people),
            absences=self._absences(people, trainers, crews),
            relief=self._relief(people),
            trainers=trainers,
            places=places,
            crews=crews,
            roads=self._roads([s.code for s in (*facilities, *places)]),
            items=items,
            stock=stock,
            ledger=self._ledger(people),
            locks=self._locks(people, facilities),
        )

    # places -----------------------------------------------------------------------------------------------------

    def _sites(self) -> tuple[tuple[Facility, ...], tuple[Place, ...]]:
        facilities = tuple(self._facility(number, code) for number, code in enumerate(self.codes))
        places = [place("BASE", 0.0, 0.0)]
        if self.some(0.15):
            places.append(hall("HALL", 0.3, 0.45, **self._lodging(0.3)))
        if self.stranded or self.some(0.2):
            places.append(place("INN", *self.rng.choice(((0.3, 0.45), (0.305, 0.3), (0.005, 0.0))), PlaceKind.LODGING))
        return facilities, tuple(places)

    def _facility(self, number: int, code: str) -> Facility:
        rng = self.rng
        more: dict[str, Any] = {
            "teams_wanted": rng.choices((0, 1, 2, 3), (number, 9, 5, not self.tiny))[0],
            "priority": rng.randint(1, 5),
            "usual_team": rng.choice(USUAL),
            "district": rng.choice(("Midland", "Upland")),
            **self._lodging(0.5),
        }
        if self.some(0.15):
            more["refers_to"] = rng.choice([c for c in self.codes if c != code])
        if self.some(0.1):
            more["cover_run"] = rng.randint(1, 3)
        if self.some(0.1):
            more["keep_team"] = rng.choice(((P, N), (A,), (P, A, N)))
        if self.some(0.1):
            more["course_days"] = DaySet(weekdays=frozenset(rng.sample(range(5), 3)))
        if self.some(0.06):
            more["closed_days"] = DaySet(dates=frozenset({self.on()}))
        if self.some(0.08):
            more["languages"] = rng.choice((("fr",), ("sw", "en")))
        where = (0.3 + rng.choice((0.0, 0.005)), 0.3 * (number + 1))
        if number and not self.some(0.4):
            return facility(code, *where, **more)
        more["stations"] = rng.choices((1, 2), (1, 1))[0]
        more["minutes_to_theatre"] = rng.choice((3, 3, 3, 3, None))
        more["on_site_cover"] = rng.choice(tuple(OnSiteCover))
        more["session_room"] = rng.choices(tuple(SessionRoom), (6, 2, 1 if number else 0))[0]
        if self.some(0.15):
            more["room_limit"] = rng.choice((5, 7, 9, 14))
        return host(code, *where, **more)

    def _lodging(self, share: float) -> dict[str, Any]:
        if not self.some(share):
            return {}
        beds = {"lodging_beds": self.rng.choice((2, 4, 8))} if self.some(0.3) else {}
        return {"lodging_price": 6, **beds}

    def _roads(self, codes: list[str]) -> tuple[Road, ...]:
        found = []
        far = self.some(0.25)
        for i, start in enumerate(codes):
            for end in codes[i + 1 :]:
                first = {start, end} == {"ALFA", "BASE"}
                if not self.some(0.95 if first else 0.75) or "INN" in (start, end):
                    continue
                hours = self.rng.choice((0.5, 1.0, 1.5, 2.5, 4.0, 5.0) if far else (0.2, 0.5, 0.5, 1.0, 1.5, 2.5))
                if self.stranded and first:
                    hours = self.rng.choice((3.0, 4.0, 5.0))
                more: dict[str, Any] = {}
                if self.some(0.12):
                    closed = self.on()
                    more["closures"] = ((closed, closed),)
                if self.some(0.1):
                    more |= {"open_from": self.rng.randint(6, 10) * HOUR, "open_to": self.rng.randint(13, 18) * HOUR}
                found.append(road(start, end, hours, 40 * hours, **more))
        return tuple(found)

    # people -----------------------------------------------------------------------------------------------------

    def _people(self, facilities: tuple[Facility, ...]) -> tuple[Person, ...]:
        found: list[Person] = []
        for entry in facilities:
            letters = self.rng.choice(TEAMS[max(entry.teams_wanted, 1)])
            letters += {4: "BB", 5: "SSCC"}.get(len(entry.usual_team), "")
            found += staff(entry.code, letters)
            if self.some(0.3):
                roles = self.rng.choice(((A, P), (N, A), (P, A, N)))
                found.append(person(f"{entry.code}-X", entry.code, *roles))
        return tuple(self._changed(who) for who in found)

    def _changed(self, who: Person) -> Person:
        more: dict[str, Any] = {}
        if self.some(0.05):
            more["include"] = Include.NO
        if self.some(0.03):
            more["include"] = Include.MUST
        if self.some(0.05):
            more["second_seat"] = True
        if self.some(0.05):
            more["works_days"] = frozenset(self.rng.sample(range(7), 4))
        if self.some(0.04):
            more |= {"cover_roles": (), "learner": True}
        return dataclasses.replace(who, **more)

    def _duties(self, people: tuple[Person, ...]) -> tuple[Duty, ...]:
        rng, found = self.rng, []
        if self.some(0.15):
            code = rng.choice(self.codes)
            for who in (p for p in people if p.facility == code):
                for n in range(-1, self.last + 2):
                    kinds = (DutyKind.DAY, DutyKind.NIGHT, DutyKind.ON_CALL, DutyKind.OFF)
                    kind = rng.choices((*kinds, None), (5, 1, 4, 1, 1))[0]
                    if kind is not None:
                        found.append(Duty(person=who.code, date=day(self.shift + n), kind=kind))
        elif self.some(0.3):
            for who in rng.sample(people, 3):
                found.append(Duty(person=who.code, date=self.on(-1), kind=DutyKind.NIGHT))
        return tuple(found)

    def _absences(
        self, people: tuple[Person, ...], trainers: tuple[Trainer, ...], crews: tuple[Crew, ...]
    ) -> tuple[Absence, ...]:
        found = []
        for share, codes in ((0.5, [p.code for p in people]), (0.2, [t.code for t in trainers]),
                             (0.15, [c.code for c in crews])):  # fmt: skip
            for _ in range(3):
                if self.some(share):
                    first = self.on(-1)
                    last = max(first, self.on(-1))
                    found.append(Absence(who=self.rng.choice(codes), first=first, last=last))
        return tuple(found)

    def _relief(self, people: tuple[Person, ...]) -> tuple[Relief, ...]:
        if not self.some(0.1):
            return ()
        who = self.rng.choice(people)
        to = self.rng.choice([c for c in self.codes if c != who.facility])
        first = self.on()
        return (Relief(person=who.code, facility=to, first=first, last=max(first, self.on())),)

    def _ledger(self, people: tuple[Person, ...]) -> tuple[LedgerEntry, ...]:
        if not self.some(0.3):
            return ()
        dates = (date(2026, 3, 2), date(2025, 11, 30), date(2025, 12, 3), date(2024, 1, 1))
        return tuple(
            LedgerEntry(person=who.code, role=who.roles[0], date=self.rng.choice(dates))
            for who in self.rng.sample(people, 3)
        )

    # crews ------------------------------------------------------------------------------------------------------

    def _crews(self) -> tuple[Crew, ...]:
        found = []
        for code in ("CREW", "SECOND")[: self.rng.choices((1, 2), (3, not self.tiny))[0]]:
            more: dict[str, Any] = {
                "drivers": self.rng.choices((1, 2), (4, 1))[0],
                "box_models": self.rng.choice((1, 2, 2)),
            }
            if self.some(0.1):
                more["seats"] = self.rng.choice((4, 5))
            if self.some(0.1):
                more["payload_kg"] = self.rng.choice((500.0, 700.0))
            if self.some(0.15):
                more["available_from"] = self.on()
            if self.some(0.1):
                more["available_to"] = self.on(1)
            found.append(crew(code, **more))
        return tuple(found)

    def _trainers(self, people: tuple[Person, ...], codes: list[str]) -> tuple[Trainer, ...]:
        few = self.some(0.15)
        leads = ("ds", "a") if few else ("ds", "a", "dsn", "an")
        found = []
        spot = self.rng.choice([code for code in codes if code != "BASE"]) if self.stranded or self.some(0.1) else None
        for number, letters in enumerate(leads, start=1):
            more: dict[str, Any] = {}
            if spot is not None and self.some(0.75):
                more["lives_at"] = spot
            if self.some(0.1):
                more["nights_away_limit"] = self.rng.randint(0, 2)
            if self.some(0.08):
                more["available_from"] = self.on()
            if self.some(0.05):
                more["available_to"] = self.on(1)
            if self.some(0.15):
                more["languages"] = self.rng.choice((("fr",), ("en", "fr"), ("sw", "en")))
            if self.some(0.06) and not self.tiny and not any(t.person for t in found):
                more["person"] = self.rng.choice(people).code
            found.append(trainer(f"T{number}", letters, **more))
        return tuple(found)

    # the rest ---------------------------------------------------------------------------------------------------

    def _supplies(self) -> tuple[tuple[Item, ...], tuple[Stock, ...]]:
        if not self.some(0.15):
            return (), ()
        item = thread(self.rng.randint(1, 3), self.rng.choice((Per.SIMULATION, Per.TRIP, Per.SESSION)),
                      pack_price=None, lead_days=None)  # fmt: skip
        return (item,), (Stock(item="THREAD", place="BASE", quantity=self.rng.randint(1, 9)),)

    def _locks(self, people: tuple[Person, ...], facilities: tuple[Facility, ...]) -> tuple[Lock, ...]:
        found = []
        if self.some(0.1):
            found.append(Lock(do=Do.FORBID, kind=LockKind.VISIT, who=self.rng.choice(self.codes), date=self.on()))
        if self.some(0.05):
            found.append(Lock(do=Do.FORBID, kind=LockKind.PERSON, who=self.rng.choice(people).code))
        if self.some(0.06):
            wanting = [f.code for f in facilities if f.teams_wanted]
            found.append(Lock(do=Do.KEEP, kind=LockKind.FACILITY, who=self.rng.choice(wanting)))
        return tuple(found)

    def _settings(self) -> Settings:
        rng = self.rng
        guests, pooled = rng.choice(((0, False), (0, False), (1, False), (1, False), (2, False), (3, True)))
        session: dict[str, Any] = {"days": self.days, "days_per_team": self.per_team, "start_every": 30.0}
        session["simulations_per_team"] = max(self.per_team, rng.choices((1, 2, 3), (2, 5, 1))[0])
        if self.some(0.4):
            session["learners_per_station"] = rng.choice((3, 3, 5, 6))
        if self.some(0.2):
            session["teach_to"] = rng.randint(12, 14) * HOUR
        if self.some(0.15):
            session["demonstrations"] = 1
        if self.some(0.07):
            session["pause"] = ((12 * HOUR + 1800, 13 * HOUR),)
        cover = {"run": rng.choices((1, 2, 3), (1, 5, 1))[0], "spare_without_roster": int(self.some(0.04))}
        if self.some(0.1):
            cover["day_from"] = 7 * HOUR
        trainers: dict[str, Any] = {"weekend": rng.choice(tuple(Weekend))}
        if self.stranded or self.some(0.15):
            trainers |= {"nights_limit": rng.choice((0, 0, 1, 1, 2))}
        if self.some(0.15):
            trainers |= {"days_in_a_row": rng.randint(1, 3)}
        travel: dict[str, Any] = {}
        if self.some(0.2):
            travel["wheel_hours"] = rng.choice((2.5, 4.0, 6.0))
        if self.some(0.15):
            travel["duty_day"] = rng.choice((8.0, 10.0))
        if self.some(0.15):
            travel["day_limit"] = rng.choice((0.0, 1.0))
        window = {"first_day": day(self.shift), "last_day": day(self.shift + self.last)}
        if self.some(0.05):
            window |= {"announce_on": day(-20), "plan_date": day(-20)}
        if self.some(0.1):
            window |= {"working_days": frozenset(range(7))}
        prices = {"cap": rng.randint(300, 1500)} if self.some(0.1) else {}
        floor = {"floor_per_district": 1} if self.some(0.05) and not self.tiny else {}
        return settings(
            round=window, session=session, cover=cover, trainers=trainers, travel=travel, prices=prices, aims=floor,
            teams={"guests": guests, "guests_pooled": pooled, "empty_seats": rng.choice((0, 1, 1))},
        )  # fmt: skip

"""How much of a plan is decided again: the seats that are hurt, then their trips, then more and more round them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from roundplan.domain.plan import Team
from roundplan.domain.repair import RepairTask
from roundplan.solver.frame import Frame, Move
from roundplan.solver.parts import Visit
from roundplan.solver.repair.hurt import Hurt
from roundplan.solver.repair.offers import Offer, Offers
from roundplan.solver.repair.pins import Kind, Pin
from roundplan.solver.repair.stored import Cohort, Hold, Part, Stored
from roundplan.travel.distance import geodesic_km

LENDERS = 2
"""Facilities that may lend a session guests beside those that come to it anyway: the nearest."""
FAR_LENDERS = 8
"""The same where nobody nearer was found."""
HOSTS = 3
"""Other parts whose sessions a team may be sent to at first."""
BASE = 400
"""Facilities × venues × dates up to which the whole round may be one model."""


@dataclass(frozen=True, slots=True)
class Opening:
    """A part of the round that is decided again.

    Attributes
    ----------
    name : str
        In plain words.
    parts : tuple of Part
        What of the stored plan is taken out.
    frame : Frame or None
        What may be decided; None = all of the round.
    visits : frozenset of Visit or None
        Without a frame: the visits to consider.
    free : callable
        Whether a choice is left open; the others stay as stored.
    whole : bool
        Whether it is all of the round, so that what is proven of it is proven.
    wide : bool
        Whether it goes beyond an opening in which hurt teams could be left out: locks may be what stands against it.
    """

    name: str
    parts: tuple[Part, ...]
    frame: Frame | None
    visits: frozenset[Visit] | None
    free: Callable[[Pin], bool]
    whole: bool = False
    wide: bool = False


def told_in_time(stored: Stored, task: RepairTask, facility: str, venue: str, start: date) -> bool:
    """Whether a facility may attend a session: one that was announced, or a new one with notice from today on."""
    if any((session.venue, session.dates[0]) == (venue, start) for session in stored.plan.sessions):
        return True
    teams = stored.facts.settings.teams
    notice = teams.notice_on_site if stored.facts.near_sites(facility, venue) else teams.notice_off_site
    return start >= task.today and (start - task.today).days >= notice


class Frames:
    """Chooses what is decided again.

    Parameters
    ----------
    stored : Stored
        The plan taken apart.
    task : RepairTask
        What is to be repaired.
    hurt : Hurt
        What no longer holds.
    """

    def __init__(self, stored: Stored, task: RepairTask, hurt: Hurt) -> None:
        self.stored, self.task, self.hurt, self.facts = stored, task, hurt, stored.facts
        self._touched_people, self._touched_crews = self.hurt_cohorts(), self._hurt_crews()

    def openings(self) -> Iterator[Opening]:
        """Yield openings, each wider than the one before."""
        parts = tuple(p for p in self.stored.parts if self.hurt.in_part(p, self.stored))
        anything = self.kept(lambda pin: True)
        if self.facts.shares_days:  # frames know nothing of dates with several sessions
            here = frozenset(v for v in visits_of(self.stored.parts) if self.may_visit(*v))
            yield Opening("the same sessions", self.stored.parts, None, here, anything)
        elif self.hurt.whole and not self._small():
            for count in range(1, len(parts) + 1):
                some = parts[-count:]
                yield Opening("fewer trips", some, self.frame(some, visits_of(some)), None, self.kept(lambda pin: True))
        elif parts:
            yield from self._narrow(parts)
        if self._small():
            yield Opening("the whole round", self.stored.parts, None, self._lawful(), anything, whole=True)
        elif parts and not self.hurt.whole:
            yield from Wider(self, parts).openings()

    def _narrow(self, parts: tuple[Part, ...]) -> Iterator[Opening]:
        """Yield openings within the trips that are hurt."""
        frame = self.frame(parts, visits_of(parts))
        if not self.hurt.roads:
            yield Opening("seats and trainers", parts, frame, None, self.kept(self.hurt_only()))
        if self.hurt.seats and not self._small():
            far = self.frame(parts, visits_of(parts), lenders=FAR_LENDERS)
            yield Opening("guests from farther", parts, far, None, self.kept(self.hurt_only()))
        yield Opening("teams that are hurt", parts, frame, None, self.kept(self._hurt_teams()))
        yield Opening(
            "people, trainers and clocks", parts, frame, None, self.kept(self._same_sessions), wide=not self._small()
        )
        yield Opening("trips", parts, frame, None, self.kept(lambda pin: True))

    # what stays -----------------------------------------------------------------------------------------------------

    def kept(self, free: Callable[[Pin], bool]) -> Callable[[Pin], bool]:
        """Leave nothing open that is past."""
        return lambda pin: pin.day >= self.task.today and free(pin)

    def _same_sessions(self, pin: Pin) -> bool:
        return pin.kind is not Kind.VISIT and not pin.var.name.startswith(("hold[", "stations["))

    def hurt_only(self) -> Callable[[Pin], bool]:
        """Return what leaves the seats of hurt teams open, those of who may lend guests, and hurt trainers' places."""
        cohorts, crews = self.hurt_cohorts(), self._hurt_crews()
        dates = {first for _, first in cohorts}

        def free(pin: Pin) -> bool:
            if pin.kind is Kind.SEAT:
                return (pin.who, pin.day) in cohorts or (pin.day in dates and not pin.value)
            return pin.kind in (Kind.TRAINER, Kind.LEAD) and (pin.who, pin.day) in crews

        return free

    def touched(self, pin: Pin) -> bool:
        """Whether a choice is about what is hurt itself, so that it is other than it was whatever is decided."""
        people = pin.kind in (Kind.SEAT, Kind.VISIT)
        return (pin.who, pin.day) in (self._touched_people if people else self._touched_crews)

    def _hurt_crews(self) -> frozenset[tuple[str, date]]:
        """Return crews and dates of the trips on which a trainer cannot teach, or that cannot go."""
        sessions = {code for code, _ in self.hurt.trainers | self.hurt.crews} | self.hurt.crowded
        return frozenset(
            (trip.crew, day.date)
            for trip in self.stored.plan.trips
            if trip.code in self.hurt.trips or any(code in sessions for day in trip.days for code in day.sessions)
            for day in trip.days
        )

    def _hurt_teams(self) -> Callable[[Pin], bool]:
        """Return what leaves open whether hurt teams come at all, and all of crews that this takes."""
        sessions = self.hurt.crowded | {code for code, _ in self.hurt.crews}
        for trip in self.stored.plan.trips:
            if trip.code in self.hurt.trips:
                sessions |= {code for day in trip.days for code in day.sessions}
        cohorts = set(self.hurt_cohorts())
        for team in self.stored.plan.teams:
            if team.session in sessions:
                homes = (self.facts.round.person(seat.person).facility for seat in team.seats)
                cohorts |= {(code, team.dates[0]) for code in (team.facility, *homes)}
        return lambda pin: pin.kind not in (Kind.SEAT, Kind.VISIT) or (pin.who, pin.day) in cohorts

    def hurt_cohorts(self) -> frozenset[Cohort]:
        """Return people by facility and first date among whom somebody has to be found."""
        stored = self.stored
        home = self.facts.round.person
        found: set[Cohort] = set()
        hurt = self.hurt.teams | {code for code, _ in self.hurt.seats}
        for team in stored.plan.teams:
            near = {team.facility, *(home(seat.person).facility for seat in team.seats)}
            if near & self.hurt.cover or team.code in hurt or near & self._locked():
                found |= {(code, team.dates[0]) for code in near}
        return frozenset(found)

    def _locked(self) -> frozenset[str]:
        """Return the facilities that locks speak of which are not kept."""
        round_ = self.facts.round
        who = {round_.locks[number].who for number in self.hurt.locks}
        people = {p.facility for p in round_.people if p.code in who}
        return frozenset(people | {f.code for f in round_.facilities if f.code in who})

    # frames -----------------------------------------------------------------------------------------------------------

    def frame(
        self, parts: Collection[Part], visits: frozenset[Visit], more: Offer | None = None, lenders: int = LENDERS
    ) -> Frame:
        """Return the frame of some parts: their drives and sessions, what is offered beside, some visits, guests."""
        moves: dict[tuple[str, date], set[Move]] = defaultdict(set)
        for part in parts:
            for trip in part.trips:
                for stay in self.stored.stays(trip):
                    moves[trip.crew, stay.day.date] |= stay.moves() | {(stay.start, stay.night)}
        for key, found in more.moves.items() if more is not None else ():
            moves[key] |= found
        holds = frozenset[Hold]().union(*(part.holds for part in parts), more.holds if more is not None else ())
        guests = frozenset[Visit]().union(*(part.guest_homes for part in parts))
        lawful = frozenset(visit for visit in visits if self.may_visit(*visit))
        return Frame(
            visits=lawful,
            guests=guests | lawful | self._lenders(lawful, lenders),
            holds=holds,
            moves={key: frozenset(found) for key, found in moves.items()},
        )

    def _lenders(self, visits: Iterable[Visit], most: int) -> frozenset[Visit]:
        """Return the facilities nearest to each venue that may lend it guests."""
        if not self.facts.settings.teams.guests and not self.facts.settings.teams.guests_pooled:
            return frozenset()
        found: set[Visit] = set()
        for venue, first in sorted({visit[1:] for visit in visits}):
            site = self.facts.round.site(venue)
            order = sorted(self.facts.round.facilities, key=lambda f: (geodesic_km(f, site), f.code))
            able = (f.code for f in order if self.facts.attendance_possible(f.code, venue, first))
            found |= {(code, venue, first) for code, _ in zip(able, range(most), strict=False)}
        return frozenset(found)

    def may_visit(self, facility: str, venue: str, first: date) -> bool:
        """Whether a team may still be told to attend: not in the past, and new sessions with notice from today on."""
        starts = self.facts.starts_of(venue, first)
        return any(told_in_time(self.stored, self.task, facility, venue, start) for start in starts)

    def _small(self) -> bool:
        """Whether the whole round is one small model."""
        facts = self.facts
        venues = len(facts.venues) * len(facts.round.facilities)
        return venues * len(facts.dates) <= BASE or facts.shares_days

    def _lawful(self) -> frozenset[Visit]:
        return frozenset(visit for visit in self.facts.modes if self.may_visit(*visit))


def visits_of(parts: Iterable[Part]) -> frozenset[Visit]:
    """Return who attends in some parts, when and where."""
    return frozenset[Visit]().union(*(part.visits for part in parts))


class Wider:
    """Opens more of the plan round the parts that are hurt."""

    def __init__(self, frames: Frames, parts: tuple[Part, ...]) -> None:
        self.frames, self.parts = frames, parts
        self.stored, self.facts, self.hurt = frames.stored, frames.facts, frames.hurt

    def openings(self) -> Iterator[Opening]:
        """Yield other crews for the same sessions, other sessions for the same teams, new sessions, then all near."""
        frames, offers = self.frames, Offers(self.stored, self.frames.task, self._teams())
        kept, parts = frames.kept(lambda pin: True), self.parts
        if self.hurt.roads or self.hurt.trainers:
            others = offers.other_crews(parts)
            if others.holds:
                yield Opening("other crews", parts, frames.frame(parts, visits_of(parts), others), None, kept)
        near = self._near()
        hosts = near[:HOSTS]
        reached = offers.visits_to(hosts)
        if reached:
            together = (*parts, *hosts)
            frame = frames.frame(together, visits_of(together) | reached)
            yield Opening("other sessions", together, frame, None, frames.kept(self._only_hurt(hosts)))
        fresh = offers.new_sessions(frames.may_visit)
        if fresh.holds:
            frame = frames.frame(parts, visits_of(parts) | fresh.visits, fresh)
            yield Opening("new sessions", parts, frame, None, kept)
        for count in range(1, len(near) + 1):
            together = (*parts, *near[:count])
            frame = frames.frame(together, visits_of(together) | offers.visits_to(together) | fresh.visits, fresh)
            yield Opening("trips of the same time", together, frame, None, kept)

    def _teams(self) -> tuple[Team, ...]:
        """Return the teams that may have to go elsewhere."""
        trips = {
            code
            for trip in self.stored.plan.trips
            if trip.code in self.hurt.trips
            for d in trip.days
            for code in d.sessions
        }
        sessions = trips | {code for code, _ in self.hurt.trainers | self.hurt.crews}
        codes = {code for code, _ in self.hurt.seats} | self.hurt.teams
        cohorts = self.frames.hurt_cohorts()
        return tuple(
            t for t in self.stored.plan.teams
            if t.code in codes or t.session in sessions or (t.facility, t.dates[0]) in cohorts
        )  # fmt: skip

    def _near(self) -> list[Part]:
        """Return the other parts that are not past, the nearest in time first."""
        mine = [day for part in self.parts for day in part.dates]
        middle = sorted(mine)[len(mine) // 2]
        rest = [
            p for p in self.stored.parts if p not in self.parts and p.dates and p.dates[-1] >= self.frames.task.today
        ]
        return sorted(rest, key=lambda p: (min(abs(day - middle) for day in p.dates), p.dates, sorted(p.crews)))

    def _only_hurt(self, hosts: Collection[Part]) -> Callable[[Pin], bool]:
        """Leave open all of the hurt parts, and of the others who of the hurt facilities comes."""
        facilities = {team.facility for team in self._teams()}
        crews = {(crew, day) for part in hosts for crew in part.crews for day in part.dates}
        cohorts = frozenset().union(*(part.cohorts for part in hosts))

        def free(pin: Pin) -> bool:
            if pin.kind in (Kind.VISIT, Kind.SEAT):
                return pin.who in facilities or (pin.who, pin.day) not in cohorts
            return (pin.who, pin.day) not in crews

        return free

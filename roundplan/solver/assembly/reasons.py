"""Why facilities, further teams and named people are left out, in plain words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from roundplan.domain.counts import counted
from roundplan.domain.decision import Do, LockKind
from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.plan import Plan, Reason, Session, Status, Tier
from roundplan.domain.presence import seat_obstacle
from roundplan.domain.role import Include, Lead, Role
from roundplan.domain.rules import Aim, Rule
from roundplan.solver.assembly.why_not import POSSIBLE, Diagnosis, Obstacle
from roundplan.solver.attendance import Mode
from roundplan.solver.facts import Facts


def reasons(plan: Plan, facts: Facts, tiers: tuple[Tier, ...]) -> tuple[Reason, ...]:
    """Return one reason for each facility that sends fewer teams than wanted and each named person not seated.

    Parameters
    ----------
    plan : Plan
        The plan, its teams and sessions at least.
    facts : Facts
        The round seen by the solver.
    tiers : tuple of Tier
        What each aim reached; where the aim is not proven, the reason says so.
    """
    writer = _Writer(plan, facts, {tier.aim: tier for tier in tiers})
    return (*writer.facilities(), *writer.people())


@dataclass(slots=True)
class _Writer:
    plan: Plan
    facts: Facts
    tiers: Mapping[Aim, Tier]

    @property
    def seated(self) -> frozenset[str]:
        """Everybody who has a seat."""
        return frozenset(seat.person for team in self.plan.teams for seat in team.seats)

    def facilities(self) -> Iterator[Reason]:
        """Yield the reason for the first team that each facility lacks."""
        teams = Counter(team.facility for team in self.plan.teams)
        for facility in self.facts.round.facilities:
            number = teams[facility.code] + 1
            if number <= facility.teams_wanted:
                rule, words = self._why(facility, number)
                yield Reason(who=facility.code, rule=rule, words=words, team_number=number)

    def _why(self, facility: Facility, number: int) -> tuple[Rule | None, str]:
        locks = self.facts.round.locks
        if any((k.do, k.kind, k.who) == (Do.FORBID, LockKind.FACILITY, facility.code) for k in locks):
            return Rule.LOCKS, "a lock forbids its team"
        spoken = self._not_taught(facility)
        if spoken is not None:
            return Rule.CREW_STAFFED, spoken
        modes = [mode for key, found in self.facts.modes.items() if key[0] == facility.code for mode in found]
        if not modes:
            return self._unreachable(facility)
        diagnosis = Diagnosis(self.facts, facility, self.seated if self.facts.on(Rule.ONCE_ONLY) else frozenset())
        found = [(mode, diagnosis.on(mode)) for mode in modes]
        possible = [mode for mode, obstacle in found if obstacle.stage == POSSIBLE]
        if possible:
            return self._outrun(possible, number)
        return self._closest(found)

    def _not_taught(self, facility: Facility) -> str | None:
        """Say so if no trainer speaks its language, or none leads newborn care although its team has the role."""
        trainers, default = self.facts.round.trainers, self.facts.settings.round.language
        language = self.facts.round.working_language(facility)
        if not self.facts.on(Rule.CREW_STAFFED):
            return None
        if not any(language in (trainer.languages or (default,)) for trainer in trainers):
            return f"no trainer speaks its working language, {language}"
        newborn = Role.NEWBORN_CARE in facility.usual_team
        if newborn and not any(Lead.NEWBORN_CARE in trainer.leads for trainer in trainers):
            return "its team has a newborn care seat and no trainer can lead newborn care"
        return None

    def _closest(self, found: Sequence[tuple[Mode, Obstacle]]) -> tuple[Rule | None, str]:
        """Tell the obstacle of the date that gets furthest, and whether it is the same on all dates."""
        mode, obstacle = max(found, key=lambda row: row[1].stage)
        everywhere = {(o.stage, o.words) for _, o in found} == {(obstacle.stage, obstacle.words)}
        day = mode.dates[0]
        when = (
            "on every possible date"
            if everywhere
            else f"even on {day:%a} {day.day} {day:%b} {day.year}, the closest date"
        )
        return obstacle.rule, f"{when} {obstacle.words}{self._no_guest()}"

    def _no_guest(self) -> str:
        teams = self.facts.settings.teams
        return "; no guest was found for the seat either" if teams.guests or teams.guests_pooled else ""

    def _unreachable(self, facility: Facility) -> tuple[Rule | None, str]:
        """Say why no venue and date is open to a facility."""
        facts, session = self.facts, self.facts.settings.session
        starts = [(venue, s) for venue in facts.venues for s in facts.session_starts[venue.code]]
        if not facts.most_slots:
            return Rule.DAY_FITS, "no teaching day has room for the opening, one simulation and the closing"
        if not starts:
            return Rule.VENUE_OPEN, "no venue is open on any date on which a session could be held"
        firsts = [
            (v, s, day) for v, s in starts for day in facts.session_dates(s)[: session.days - session.days_per_team + 1]
        ]
        reach = [(v, s, d, m) for v, s, d in firsts for m in facts.attendance.modes(facility, v, d)]
        if not reach:
            travel = facts.settings.travel
            return Rule.PARTICIPANT_TRAVEL, (
                f"no venue can be reached in daylight on open roads within {travel.day_limit:g} h one way,"
                f" or within {travel.overnight_limit:g} h with lodging before and after"
            )
        if not any(facts.notice_clear(facility.code, v.code, s) for v, s, _, _ in reach):
            days = facts.settings.teams.notice_off_site
            return Rule.NOTICE, f"no date that it could attend leaves {counted(days, 'day')} from the announcement"
        return Rule.STAFF_AVAILABLE, "none of its course days is a date of a session that it could reach in time"

    def _outrun(self, possible: Sequence[Mode], number: int) -> tuple[Rule | None, str]:
        """Say what ran out although the facility itself could have sent a team."""
        aim = Aim.FIRST_TEAMS if number == 1 else Aim.FURTHER_TEAMS
        tier = self.tiers.get(aim)
        unproven = "" if tier is None or tier.status is Status.OPTIMAL else "; a longer search might still find a place"
        prices = self.facts.settings.prices
        spent = sum(entry.amount for entry in self.plan.costs)
        if (
            prices.cap is not None
            and self.facts.on(Rule.BUDGET_CAP)
            and len(self.plan.teams)
            and (spent + spent // (2 * len(self.plan.teams)) > prices.cap)
        ):
            return Rule.BUDGET_CAP, f"the money within the cap went to other teams{unproven}"
        held = [s for s in self.plan.sessions if any(_attends(mode, s) for mode in possible)]
        elsewhere = any(not any(_attends(mode, s) for s in held) for mode in possible)
        full = self._session_full(held[0], possible[0].facility) if held else None
        if full is not None and not elsewhere:
            return full[0], full[1] + unproven
        ran_out = "crews and trainers ran out of dates for one more session that it could attend"
        return Rule.CREW_IN_ONE_PLACE, "; ".join(filter(None, (ran_out, full and full[1]))) + unproven

    def _session_full(self, session: Session, code: str) -> tuple[Rule | None, str]:
        """Say why a session that a facility's people could attend does not take one more team."""
        facts, settings = self.facts, self.facts.settings.session
        place, stations = facts.round.site(session.venue), len(session.stations)
        first = session.dates[0]
        where = f"the session of {first.day} {first:%B} at {place.name}, which it could attend,"
        here = [team for team in self.plan.teams if team.session == session.code]
        chairs = [len(facts.round.facility(c).usual_team) for c in (code, *(team.facility for team in here))]
        most = facts.most_slots - settings.demonstrations - settings.reserve_slots
        least = min(Counter(team.station for team in here).get(station.number, 0) for station in session.stations)
        if sum(chairs) <= settings.learners_per_station * stations and (
            (least + 1) * facts.sims_on(session.dates[0], session.dates[0]) <= most
        ):
            return None, f"{where} could not take it together with its other teams, their cover and the crew's hours"
        if stations < place.stations:
            return Rule.CREW_STAFFED, f"{where} has no trainers or no box model for one more station"
        return Rule.VENUE_CAPACITY, f"{where} is full"

    def people(self) -> Iterator[Reason]:
        """Yield the reason for each person whom the manager named and who has no seat."""
        seated = self.seated
        for person in self.facts.round.people:
            if person.include is Include.MUST and person.code not in seated:
                rule, words = self._why_person(person)
                yield Reason(who=person.code, rule=rule, words=words)

    def _why_person(self, person: Person) -> tuple[Rule | None, str]:
        facts = self.facts
        firsts = sorted({key[2] for key in facts.modes if key[0] == person.facility})
        teams = [team for team in self.plan.teams if team.facility == person.facility]
        name = facts.round.name_of(person.facility)
        if firsts and not any(facts.can_sit(person, first) for first in firsts):
            words = [seat_obstacle(facts.round, person, first) or "not available" for first in firsts]
            return Rule.STAFF_AVAILABLE, f"on every possible date: {' or '.join(dict.fromkeys(words))}"
        if not set(person.roles) & set(facts.round.facility(person.facility).usual_team):
            return Rule.TEAM_MIRRORS_HOME, f"the usual team of {name} has no seat as {' or '.join(person.roles)}"
        if not teams:
            return None, f"{name} sends no team, and no other team has a seat free for a guest"
        dates = [team.dates[0] for team in teams]
        if not any(facts.can_sit(person, first) for first in dates):
            words = [seat_obstacle(facts.round, person, first) or "not available" for first in dates]
            return Rule.STAFF_AVAILABLE, f"when {name} sends its teams: {' or '.join(dict.fromkeys(words))}"
        if any(person.code == code for cover in self.plan.cover for _, code in cover.named):
            return Rule.COVER_KEPT, f"stays as cover at {name} while its teams are out"
        return None, f"the seats of {name} in these roles went to others"


def _attends(mode: Mode, session: Session) -> bool:
    """Whether people in this mode would be at the session."""
    return mode.venue == session.venue and set(mode.dates) <= set(session.dates)

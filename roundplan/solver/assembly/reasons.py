"""Why facilities, further teams and named people are left out, in plain words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from roundplan.domain.decision import Do, LockKind
from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.plan import Plan, Reason, Session, Status, Tier
from roundplan.domain.presence import seat_obstacle
from roundplan.domain.role import Include, Lead, Role
from roundplan.domain.rules import Aim, Rule
from roundplan.domain.saying import LanguageCode, Saying, phrase, saying
from roundplan.solver.assembly.why_not import POSSIBLE, Diagnosis, Obstacle
from roundplan.solver.attendance import Mode
from roundplan.solver.facts import Facts

Why = tuple[Rule | None, Saying | None, tuple[Saying, ...]]
"""The rule in the way, on which dates it is, and what is in the way."""


def reasons(
    plan: Plan, facts: Facts, tiers: tuple[Tier, ...], who: Collection[str] | None = None
) -> tuple[Reason, ...]:
    """Return one reason for each facility that sends fewer teams than wanted and each named person not seated.

    Parameters
    ----------
    plan : Plan
        The plan, its teams and sessions at least.
    facts : Facts
        The round seen by the solver.
    tiers : tuple of Tier
        What each aim reached; where the aim is not proven, the reason says so.
    who : collection of str, optional
        Codes of the facilities and people to look at; None = all.
    """
    writer = _Writer(plan, facts, {tier.aim: tier for tier in tiers}, who)
    return (*writer.facilities(), *writer.people())


@dataclass(slots=True)
class _Writer:
    plan: Plan
    facts: Facts
    tiers: Mapping[Aim, Tier]
    who: Collection[str] | None = None

    def _asked(self, code: str) -> bool:
        return self.who is None or code in self.who

    @property
    def seated(self) -> frozenset[str]:
        """Everybody who has a seat."""
        return frozenset(seat.person for team in self.plan.teams for seat in team.seats)

    def facilities(self) -> Iterator[Reason]:
        """Yield the reason for the first team that each facility lacks."""
        teams = Counter(team.facility for team in self.plan.teams)
        for facility in self.facts.round.facilities:
            number = teams[facility.code] + 1
            if number <= facility.teams_wanted and self._asked(facility.code):
                rule, when, said = self._why(facility, number)
                yield _reason(facility.code, rule, said, when=when, team_number=number)

    def _why(self, facility: Facility, number: int) -> Why:
        locks = self.facts.round.locks
        if any((k.do, k.kind, k.who) == (Do.FORBID, LockKind.FACILITY, facility.code) for k in locks):
            return Rule.LOCKS, None, (saying("a lock forbids its team"),)
        spoken = self._not_taught(facility)
        if spoken is not None:
            return Rule.CREW_STAFFED, None, (spoken,)
        modes = [mode for found in self.facts.visiting.of(facility.code).values() for mode in found]
        if not modes:
            rule, said = self._unreachable(facility)
            return rule, None, (said,)
        diagnosis = Diagnosis(self.facts, facility, self.seated if self.facts.on(Rule.ONCE_ONLY) else frozenset())
        found = [(mode, diagnosis.on(mode)) for mode in modes]
        possible = [mode for mode, obstacle in found if obstacle.stage == POSSIBLE]
        if possible:
            return self._outrun(possible, number)
        return self._closest(found)

    def _not_taught(self, facility: Facility) -> Saying | None:
        """Say so if no trainer speaks its language, or none leads newborn care although its team has the role."""
        trainers, default = self.facts.round.trainers, self.facts.settings.round.language
        language = self.facts.round.working_language(facility)
        if not self.facts.on(Rule.CREW_STAFFED):
            return None
        if not any(language in (trainer.languages or (default,)) for trainer in trainers):
            return saying("no trainer speaks its working language, {language}", language=LanguageCode(language))
        newborn = Role.NEWBORN_CARE in facility.usual_team
        if newborn and not any(Lead.NEWBORN_CARE in trainer.leads for trainer in trainers):
            return saying("its team has a newborn care seat and no trainer can lead newborn care")
        return None

    def _closest(self, found: Sequence[tuple[Mode, Obstacle]]) -> Why:
        """Tell the obstacle of the date that gets furthest, and whether it is the same on all dates."""
        mode, obstacle = max(found, key=lambda row: row[1].stage)
        everywhere = {(o.stage, o.said) for _, o in found} == {(obstacle.stage, obstacle.said)}
        if everywhere:
            when = saying("on every possible date")
        else:
            when = saying("even on {date}, the closest date,", date=mode.dates[0])
        said = (obstacle.said,) if obstacle.said is not None else ()
        return obstacle.rule, when, (*said, *self._no_guest())

    def _no_guest(self) -> Iterator[Saying]:
        teams = self.facts.settings.teams
        if teams.guests or teams.guests_pooled:
            yield saying("no guest was found for the seat either")

    def _unreachable(self, facility: Facility) -> tuple[Rule | None, Saying]:
        """Say why no venue and date is open to a facility."""
        facts, session = self.facts, self.facts.settings.session
        starts = [(venue, s) for venue in facts.venues for s in facts.session_starts[venue.code]]
        if not facts.most_slots:
            return Rule.DAY_FITS, saying("no teaching day has room for the opening, one simulation and the closing")
        if not starts:
            return Rule.VENUE_OPEN, saying("no venue is open on any date on which a session could be held")
        firsts = [
            (v, s, day) for v, s in starts for day in facts.session_dates(s)[: session.days - session.days_per_team + 1]
        ]
        reach = [(v, s, d, m) for v, s, d in firsts for m in facts.attendance.modes(facility, v, d)]
        if not reach:
            travel = facts.settings.travel
            return Rule.PARTICIPANT_TRAVEL, saying(
                "no venue can be reached in daylight on open roads within {day} h one way, or within {overnight} h "
                "with lodging before and after",
                day=travel.day_limit,
                overnight=travel.overnight_limit,
            )
        if not any(facts.notice_clear(facility.code, v.code, s) for v, s, _, _ in reach):
            days = facts.settings.teams.notice_off_site
            if days == 1:
                return Rule.NOTICE, saying("no date that it could attend leaves 1 day from the announcement")
            said = saying("no date that it could attend leaves {days} days from the announcement", days=days)
            if days == 1:
                said = saying("no date that it could attend leaves 1 day from the announcement")
            return Rule.NOTICE, said
        said = saying("none of its course days is a date of a session that it could reach in time")
        return Rule.STAFF_AVAILABLE, said

    def _outrun(self, possible: Sequence[Mode], number: int) -> Why:
        """Say what ran out although the facility itself could have sent a team."""
        aim = Aim.FIRST_TEAMS if number == 1 else Aim.FURTHER_TEAMS
        tier = self.tiers.get(aim)
        proven = tier is None or tier.status is Status.OPTIMAL
        unproven = () if proven else (saying("a longer search might still find a place"),)
        prices = self.facts.settings.prices
        spent = sum(entry.amount for entry in self.plan.costs)
        if (
            prices.cap is not None
            and self.facts.on(Rule.BUDGET_CAP)
            and len(self.plan.teams)
            and (spent + spent // (2 * len(self.plan.teams)) > prices.cap)
        ):
            return Rule.BUDGET_CAP, None, (saying("the money within the cap went to other teams"), *unproven)
        held = [s for s in self.plan.sessions if any(_attends(mode, s) for mode in possible)]
        elsewhere = any(not any(_attends(mode, s) for s in held) for mode in possible)
        full = self._session_full(held[0], possible[0].facility) if held else None
        if full is not None and not elsewhere:
            return full[0], None, (full[1], *unproven)
        ran_out = saying("crews and trainers ran out of dates for one more session that it could attend")
        return Rule.CREW_IN_ONE_PLACE, None, (ran_out, *((full[1],) if full is not None else ()), *unproven)

    def _session_full(self, session: Session, code: str) -> tuple[Rule | None, Saying]:
        """Say why a session that a facility's people could attend does not take one more team."""
        facts, settings = self.facts, self.facts.settings.session
        place, stations = facts.round.site(session.venue), len(session.stations)
        where = {"date": session.dates[0], "place": place.name}
        here = [team for team in self.plan.teams if team.session == session.code]
        chairs = [len(facts.round.facility(c).usual_team) for c in (code, *(team.facility for team in here))]
        most = facts.most_slots - settings.demonstrations - settings.reserve_slots
        least = min(Counter(team.station for team in here).get(station.number, 0) for station in session.stations)
        if sum(chairs) <= settings.learners_per_station * stations and (
            (least + 1) * facts.sims_on(session.dates[0], session.dates[0]) <= most
        ):
            return None, saying(
                "the session of {date} at {place}, which it could attend, could not take it together with its other "
                "teams, their cover and the crew's hours",
                **where,
            )
        if stations < place.stations:
            return Rule.CREW_STAFFED, saying(
                "the session of {date} at {place}, which it could attend, has no trainers or no box model for one more "
                "station",
                **where,
            )
        full = saying("the session of {date} at {place}, which it could attend, is full", **where)
        return Rule.VENUE_CAPACITY, full

    def people(self) -> Iterator[Reason]:
        """Yield the reason for each person whom the manager named and who has no seat."""
        seated = self.seated
        for person in self.facts.round.people:
            if person.include is Include.MUST and person.code not in seated and self._asked(person.code):
                rule, said = self._why_person(person)
                yield _reason(person.code, rule, (said,))

    def _why_person(self, person: Person) -> tuple[Rule | None, Saying]:
        facts = self.facts
        firsts = sorted({first for _, _, first in facts.visiting.of(person.facility)})
        teams = [team for team in self.plan.teams if team.facility == person.facility]
        name = facts.round.name_of(person.facility)
        if firsts and not any(facts.can_sit(person, first) for first in firsts):
            why = [seat_obstacle(facts.round, person, first) or phrase("not available") for first in firsts]
            return Rule.STAFF_AVAILABLE, saying("on every possible date: {why}", why=list(dict.fromkeys(why)))
        if not set(person.roles) & set(facts.round.facility(person.facility).usual_team):
            said = saying("the usual team of {facility} has no seat as {roles}", facility=name, roles=person.roles)
            return Rule.TEAM_MIRRORS_HOME, said
        if not teams:
            return None, saying(
                "{facility} sends no team, and no other team has a seat free for a guest", facility=name
            )
        dates = [team.dates[0] for team in teams]
        if not any(facts.can_sit(person, first) for first in dates):
            why = [seat_obstacle(facts.round, person, first) or phrase("not available") for first in dates]
            said = saying("when {facility} sends its teams: {why}", facility=name, why=list(dict.fromkeys(why)))
            return Rule.STAFF_AVAILABLE, said
        if any(person.code == code for cover in self.plan.cover for _, code in cover.named):
            return Rule.COVER_KEPT, saying("stays as cover at {facility} while its teams are out", facility=name)
        return None, saying("the seats of {facility} in these roles went to others", facility=name)


def _reason(
    who: str,
    rule: Rule | None,
    said: tuple[Saying, ...],
    *,
    when: Saying | None = None,
    team_number: int | None = None,
) -> Reason:
    """Return a reason with its words in English."""
    words = "; ".join(map(str, said))
    words = f"{when} {words}" if when is not None else words
    return Reason(who=who, rule=rule, words=words, team_number=team_number, when=when, said=said)


def _attends(mode: Mode, session: Session) -> bool:
    """Whether people in this mode would be at the session."""
    return mode.venue == session.venue and set(mode.dates) <= set(session.dates)

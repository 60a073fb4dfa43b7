"""Which announced team each team of a model is: who of it sits where, as variables, exactly."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from roundplan.domain.plan import Team
from roundplan.domain.role import Role
from roundplan.solver.choices import Choices
from roundplan.solver.limits.complete import Lent, one_complete
from roundplan.solver.parts import Linear, Scope, Sending, Var

GuestKey = tuple[str, str, Role, str, date]
"""Announced team, guest, role, venue and first date."""


ANYBODY = ""
"""In place of a guest's code: some guest who was not announced for the team."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a team may be: its sending, and which of the teams at home it is."""

    sending: Sending
    number: int | None
    team: Linear

    @property
    def at(self) -> tuple[str, date]:
        """Venue and first date."""
        return self.sending.venue, self.sending.first


class Identity:
    """Names the teams of a model: each is one announced team, and those are all there are.

    Attributes
    ----------
    is_at : dict of (team, position of place) to Var
        Whether an announced team is the one at a place.
    own : dict of (team, person, first date, role) to Var
        Whether somebody sits in it.
    guests : dict of GuestKey to Var
        Whether a guest does.
    kept : dict of team to Linear
        Whether there is such a team.
    """

    def __init__(self, choices: Choices, announced: tuple[Team, ...]) -> None:
        self.choices, self.announced = choices, announced
        self._nowhere = choices.scope is not Scope.WHOLE
        """Whether guests come from nowhere, as they do in relaxations."""
        self.places: dict[str, list[Place]] = defaultdict(list)
        self.is_at: dict[tuple[str, int], Var] = {}
        self.own: dict[tuple[str, str, date, Role], Var] = {}
        self.guests: dict[GuestKey, Var] = {}
        self.kept: dict[str, Linear] = {}
        self._make_places()
        for facility in sorted(self.places):
            teams = [team for team in announced if team.facility == facility]
            self._teams_at(facility, teams)
            self._own_seats(facility, teams)
        if self._nowhere:
            self._anybody()
        else:
            self._guests()
        for team in announced:
            self._complete(team)

    def positions(self, team: Team) -> list[tuple[Place, Var]]:
        """Return the places of a team with whether it is there."""
        places = self.places.get(team.facility, [])
        return [(place, self.is_at[team.code, number]) for number, place in enumerate(places)]

    def there(self, team: Team, venue: str, first: date) -> Linear:
        """Return whether a team attends at a venue from a date."""
        return sum(var for place, var in self.positions(team) if place.at == (venue, first))

    # making -------------------------------------------------------------------------------------------------------

    def _make_places(self) -> None:
        for sending in self.choices.sendings:
            key = (sending.facility, sending.first)
            teams = self.choices.site_team.get(key, []) if sending.on_site else []
            places = [Place(sending, number, team) for number, team in enumerate(teams)]
            self.places[sending.facility] += places or [Place(sending, None, sending.teams)]

    def _teams_at(self, facility: str, teams: list[Team]) -> None:
        model = self.choices.model
        for number, place in enumerate(self.places[facility]):
            for team in teams:
                name = f"is_at[{team.code},{place.sending.people.name},{place.number}]"
                self.is_at[team.code, number] = self.choices.flag(name)
            model.add(sum(self.is_at[team.code, number] for team in teams) == place.team)
        for team in teams:
            self.kept[team.code] = sum(var for _, var in self.positions(team))
            model.add(self.kept[team.code] <= 1)

    def _own_seats(self, facility: str, teams: list[Team]) -> None:
        """Give each seat that the facility's own people may take to one of the teams."""
        away: dict[tuple[str, date, Role], Linear] = {}
        home: dict[tuple[str, date, Role], list[Var]] = defaultdict(list)
        staff = {person.code for person in self.choices.facts.round.staff_of(facility)}
        for key, var in self.choices.seat.items():
            if key[0] in staff:
                away[key] = var
        for (code, first, role, _), var in self.choices.site_seat.items():
            if code in staff:
                home[code, first, role].append(var)
        for key in dict.fromkeys([*away, *home]):
            self._one_seat(key, teams, away.get(key, 0), home.get(key, []))
        self._heads(facility, teams)

    def _one_seat(self, key: tuple[str, date, Role], teams: list[Team], away: Linear, home: list[Var]) -> None:
        code, first, role = key
        model, mine = self.choices.model, []
        for team in teams:
            var = self.choices.flag(f"own_of[{team.code},{code},{first},{role}]")
            self.own[team.code, *key] = var
            mine.append(var)
            here = [(place, at) for place, at in self.positions(team) if place.sending.first == first]
            model.add(var <= sum(at for _, at in here))
            for place, at in here:
                if place.number is None:
                    if home:  # who sits away does not sit in a team at home
                        model.add(var + at <= 1 + away)
                    continue
                seat = self.choices.site_seat.get((*key, place.number), 0)
                model.add(var >= seat + at - 1)
                model.add(var <= seat + 1 - at)
        model.add(sum(mine) == away + sum(home))

    def _heads(self, facility: str, teams: list[Team]) -> None:
        """Tie the heads of each sending to those of the teams that are of it."""
        size = len(self.choices.facts.round.facility(facility).usual_team)
        sendings = {id(place.sending): place.sending for place in self.places[facility]}
        firsts: dict[date, list[Sending]] = defaultdict(list)
        for sending in sendings.values():
            firsts[sending.first].append(sending)
        heads: dict[int, list[Linear]] = defaultdict(list)
        for first, there in firsts.items():
            for team in teams:
                people = sum(var for (code, _, x, _), var in self.own.items() if (code, x) == (team.code, first))
                shares = []
                for sending in there:
                    share = self.choices.count(size, f"heads[{team.code},{sending.people.name}]")
                    at = sum(var for place, var in self.positions(team) if place.sending is sending)
                    self.choices.model.add(share <= size * at)
                    shares.append(share)
                    heads[id(sending)].append(share)
                self.choices.model.add(sum(shares) == people)
        for key, sending in sendings.items():
            self.choices.model.add(sending.people == sum(heads[key]))

    def _guests(self) -> None:
        """Give each guest who is lent to a team of another facility that has a seat for them."""
        choices, model = self.choices, self.choices.model
        by_seat: dict[int, list[Var]] = defaultdict(list)
        by_lender: dict[tuple[str, str, date, Role], list[Var]] = defaultdict(list)
        by_host: dict[tuple[str, str, date, Role], list[tuple[Team, str, Var]]] = defaultdict(list)
        for host, venue, first, role in choices.guest_seats:
            for team in (team for team in self.announced if team.facility == host):
                there = self.there(team, venue, first)
                for lender, *at in choices.lent:
                    if lender == host or at != [venue, first, role]:
                        continue
                    for code, seat in self._lendable(lender, venue, first, role):
                        var = choices.flag(f"guest_of[{team.code},{code},{venue},{first},{role}]")
                        model.add(var <= there)
                        self.guests[team.code, code, role, venue, first] = var
                        by_seat[seat.index].append(var)
                        by_lender[lender, venue, first, role].append(var)
                        by_host[host, venue, first, role].append((team, lender, var))
        for table in (choices.guest, choices.home_guest):
            for seat in table.values():
                model.add(sum(by_seat.get(seat.index, ())) == seat)
        for lent, count in choices.lent.items():
            model.add(sum(by_lender.get(lent, ())) == count)
        for seat_key, seats in choices.guest_seats.items():
            found = by_host.get(seat_key, [])
            model.add(sum(var for _, _, var in found) == sum(seats))
            for home, counts in choices.guests_from.get(seat_key, {}).items():
                model.add(sum(var for _, lender, var in found if lender == home) == sum(counts))
            self._at_home(seat_key, found)

    def _anybody(self) -> None:
        """Let guests come from nowhere; those who were announced are told from all others."""
        for (host, venue, first, role), seats in self.choices.guest_seats.items():
            most, found = self.choices.facts.round.facility(host).usual_team.count(role), []
            for team in (team for team in self.announced if team.facility == host):
                there = self.there(team, venue, first)
                known = [seat.person for seat in team.seats if seat.guest and seat.role is role]
                for person in (*known, ANYBODY):
                    name = f"guest_of[{team.code},{person},{venue},{first},{role}]"
                    var = self.choices.count(1 if person else most, name)
                    self.choices.model.add(var <= most * there)
                    self.guests[team.code, person, role, venue, first] = var
                    found.append(var)
            self.choices.model.add(sum(found) == sum(seats))

    def _lendable(self, lender: str, venue: str, first: date, role: Role) -> list[tuple[str, Var]]:
        choices = self.choices
        table = choices.guest
        if lender == venue and any(
            (p.code, first, role) in choices.home_guest for p in choices.facts.round.staff_of(lender)
        ):
            table = choices.home_guest
        keys = ((p.code, first, role) for p in choices.facts.round.staff_of(lender))
        return [(key[0], table[key]) for key in keys if key in table]

    def _at_home(self, key: tuple[str, str, date, Role], found: list[tuple[Team, str, Var]]) -> None:
        """Tie the guests of each team at home to those of the team that is there by number."""
        seats, model = self.choices.guest_seats[key], self.choices.model
        teams = {team.code: team for team, _, _ in found}
        for team in teams.values():
            mine = sum(var for other, _, var in found if other is team)
            for place, at in self.positions(team):
                if place.number is not None and place.at == key[1:3]:
                    most = len(self.choices.facts.round.facility(team.facility).usual_team)
                    model.add(mine <= seats[place.number] + most * (1 - at))
                    model.add(mine >= seats[place.number] - most * (1 - at))

    def _complete(self, team: Team) -> None:
        """State all that makes each team by itself one."""
        facility = self.choices.facts.round.facility(team.facility)
        own: dict[Role, Linear] = {}
        seats: dict[Role, Linear] = {}
        homes: dict[str, list[Var]] = defaultdict(list)
        for role in self.choices.facts.usual_seats(facility):
            own[role] = sum(v for (code, _, _, r), v in self.own.items() if (code, r) == (team.code, role))
            found = [
                (person, v) for (code, person, r, _, _), v in self.guests.items() if (code, r) == (team.code, role)
            ]
            if found:
                seats[role] = sum(var for _, var in found)
            if self.choices.facts.pools(role) and not self._nowhere:
                for person, var in found:
                    homes[self.choices.facts.round.person(person).facility].append(var)
        lent = Lent(seats, {home: sum(found) for home, found in homes.items()})
        one_complete(self.choices, f"team[{team.code}]", facility, own, lent, self.kept.get(team.code, 0))

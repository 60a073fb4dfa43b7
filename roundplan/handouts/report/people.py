"""What the report says of people: coverage by district and role, who is not trained, who stays, where it is thin."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from roundplan.audit.book import Book
from roundplan.domain.plan import CoverKind, Reason
from roundplan.domain.role import MINIMUM_ROLES, Include, Role, Shift
from roundplan.domain.rules import Rule
from roundplan.handouts.facility.cover import cover_rows
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.retelling import reason_words
from roundplan.handouts.speech import message, say, several
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import capital, list_words, number, short_date

HELPS = {
    Rule.CREW_IN_ONE_PLACE: message("Another crew, or more dates for crews and trainers."),
    Rule.CREW_STAFFED: message("More trainers, with the leads and languages wanted, or more box models."),
    Rule.ONCE_ONLY: message("Authorise or lend one more person for the role."),
    Rule.TEAM_MINIMUM: message("Authorise or lend one more person for the role."),
    Rule.TEAM_MIRRORS_HOME: message("Allow one more empty seat a team, or correct the usual team."),
    Rule.INCLUDE: message("Ask whether 'no' in the staff table has to stay."),
    Rule.STAFF_AVAILABLE: message("Move leave, duties or course days, or take more dates into the round."),
    Rule.COVER_KEPT: message("Relief staff on these dates, or a lighter keep-team if the facility agrees."),
    Rule.COVER_RUN: message("Relief staff, or more shifts in a row if the facility agrees in writing."),
    Rule.COVER_REFERRAL: message("More people on duty at the referral site on these dates."),
    Rule.ROSTER_KNOWN: message("The roster of the facility."),
    Rule.PARTICIPANT_TRAVEL: message("A venue nearer by, or lodging on the way."),
    Rule.NOTICE: message("Tell the facilities earlier, or take later dates into the round."),
    Rule.VENUE_CAPACITY: message("A larger room or one more station there."),
    Rule.VENUE_OPEN: message("A further venue, or dates on which one is open."),
    Rule.BUDGET_CAP: message("A higher cap."),
    Rule.LOCKS: message("Take the lock away."),
}
"""What a manager could change, by the rule that stands in the way first; it promises nothing."""


def coverage_table(index: PlanIndex) -> Table:
    """Return facilities, teams and people trained by district and by role, with a total."""
    r = index.training_round
    districts = list(dict.fromkeys(f.district for f in r.facilities))
    reached: dict[str, set[str]] = defaultdict(set)
    teams: Counter[str] = Counter()
    seats: Counter[tuple[str, Role]] = Counter()
    for team in index.plan.teams:
        home = r.facility(team.facility)
        reached[home.district].add(home.code)
        teams[home.district] += 1
        for seat in team.seats:
            seats[r.facility(index.home(seat.person)).district, seat.role] += 1
    written: list[tuple[str, ...]] = []
    for district in (*districts, None):
        within = districts if district is None else [district]
        wanting = sum(f.district in within and f.teams_wanted > 0 for f in r.facilities)
        found = sum(len(reached[name]) for name in within)
        by_role = [sum(seats[name, role] for name in within) for role in Role]
        figures = [sum(teams[name] for name in within), *by_role, sum(by_role)]
        written.append(
            (
                district or say("All districts"),
                say("{reached} of {wanting}", reached=found, wanting=wanting),
                *map(str, figures),
            )
        )
    heads = (say("District"), say("Facilities reached"), say("Teams"), *(capital(role_word(role)) for role in Role),
             say("Seats in all"))  # fmt: skip
    numbers = frozenset(range(1, len(heads)))
    caption = say("Facilities, teams and seats by district")
    return Table(caption, heads, written, numbers=numbers, grid=True, total=True)


@dataclass(frozen=True, slots=True)
class Coverage:
    """How many of those who could be trained are."""

    trained: int
    staff: int
    provisional: int

    @property
    def words(self) -> str:
        """The same as a sentence."""
        said = several(
            "{numeral} person of {staff} on the staff lists would be trained.",
            "{numeral} people of {staff} on the staff lists would be trained.",
            self.trained,
            staff=number(self.staff, 0),
        )
        seats = several("{numeral} seat is provisional.", "{numeral} seats are provisional.", self.provisional)
        return f"{capital(said)} {capital(seats)}" if self.provisional else capital(said)


def coverage(index: PlanIndex) -> Coverage:
    """Count people seated, people on the staff lists and provisional seats."""
    seated = {seat.person for team in index.plan.teams for seat in team.seats}
    return Coverage(len(seated), len(index.training_round.people), index.provisional_seats())


def not_trained_table(index: PlanIndex) -> Table:
    """Return facilities without a team, further teams wanted and ``must`` people left out, with the first reason."""
    rows = list(missing_teams(index)) + list(_missing_people(index))
    heads = (say("Who"), say("What"), say("Reason"), say("What could help"))
    return Table(say("Who is not trained, and the first reason found"), heads, rows)


def missing_teams(index: PlanIndex) -> Iterator[tuple[str, str, str, str]]:
    """Yield facilities that lack teams: name, which teams, the first reason found, what could help."""
    made = Counter(team.facility for team in index.plan.teams)
    for facility in index.training_round.facilities:
        first, wanted = made[facility.code] + 1, facility.teams_wanted
        if first <= wanted:
            reasons = [r for r in index.plan.reasons if r.who == facility.code and (r.team_number or 1) == first]
            yield (facility.name, _teams_missing(first, wanted), *_reason_words(reasons))


def _teams_missing(first: int, wanted: int) -> str:
    if first == 1:
        return say("no team")
    numbers = list_words(str(team) for team in range(first, wanted + 1))
    return several("no team {teams}", "no teams {teams}", wanted - first + 1, teams=numbers)


def _missing_people(index: PlanIndex) -> Iterator[tuple[Cell, ...]]:
    seated = {seat.person for team in index.plan.teams for seat in team.seats}
    for person in index.training_round.people:
        reasons = [reason for reason in index.plan.reasons if reason.who == person.code]
        if person.code not in seated and (reasons or person.include is Include.MUST):
            what = say("named as a must, not seated") if person.include is Include.MUST else say("not seated")
            yield ((person.name, index.name(person.facility)), what, *_reason_words(reasons))


def _reason_words(reasons: list[Reason]) -> tuple[str, str]:
    if not reasons:
        return say("no reason was worked out"), ""
    rule = reasons[0].rule
    return capital(reason_words(reasons[0])), say(HELPS[rule]) if rule in HELPS else ""


@dataclass(frozen=True, slots=True)
class FacilityCover:
    """Cover of one facility, shift by shift."""

    name: str
    lines: tuple[tuple[str, str, str], ...]


def facility_covers(index: PlanIndex) -> tuple[FacilityCover, ...]:
    """Return for each facility with named cover: shift, why if not the plain kind, and who stays."""
    named = {cover.facility for cover in index.plan.cover}
    found = []
    for facility in index.training_round.facilities:
        if facility.code in named:
            lines = []
            for shift, people in cover_rows(index, facility.code):
                when, why = (shift, "") if isinstance(shift, str) else (shift[0], shift[1])
                lines.append((when, why, str(people)))
            found.append(FacilityCover(facility.name, tuple(lines)))
    return tuple(found)


def shifts_covered(index: PlanIndex) -> int:
    """Return the facility-shifts for which the plan names cover of the facility's own."""
    return len({(c.facility, c.date, c.shift) for c in index.plan.cover if c.kind is CoverKind.OWN})


@dataclass(frozen=True, slots=True)
class ThinShift:
    """A shift of a facility in which one person, or nobody, is left in a minimum role."""

    facility: str
    date: date
    shift: Shift
    roles: tuple[Role, ...]


def thin_shifts(index: PlanIndex) -> tuple[ThinShift, ...]:
    """Return the shifts that the plan leaves thin, as the aim of taking little from services counts them."""
    book, r = Book(index.plan, index.training_round), index.training_round
    found = []
    for facility in r.facilities:
        for day, shift in book.touched.get(facility.code, ()):
            people = [p for p in book.at_hand(facility.code, (day, shift)) if not p.learner]
            roles = tuple(role for role in MINIMUM_ROLES if sum(role in p.cover_roles for p in people) < 2)
            if roles:
                found.append(ThinShift(facility.name, day, shift, roles))
    return tuple(found)


def thin_table(thin: tuple[ThinShift, ...]) -> Table:
    """Return by facility and role the shifts that are left thin."""
    shifts: dict[tuple[str, Role], list[str]] = defaultdict(list)
    for entry in thin:
        for role in entry.roles:
            shifts[entry.facility, role].append(brief_shift(entry.date, entry.shift))
    rows = [(name, role_word(role), ", ".join(dates)) for (name, role), dates in shifts.items()]
    heads = (say("Facility"), say("Role"), say("Shifts"))
    return Table(say("Where only one person is left in a minimum role"), heads, rows)


def brief_shift(day: date, shift: Shift) -> str:
    """Write a shift for narrow columns: the date alone is its day."""
    said = short_date(day)
    return say("{date} night", date=said) if shift is Shift.NIGHT else said

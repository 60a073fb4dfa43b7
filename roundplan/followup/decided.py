"""What has been replied, held or given free, written as rows of the ordinary tables: locks and absences.

A plan made from these tables keeps what was agreed and what is past, and asks nobody again who said no. Solver and
audit meet nothing but rows that a manager could have entered.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from roundplan.domain.decision import Do, LockKind
from roundplan.domain.plan import Plan, Session, Team
from roundplan.domain.role import Role, Shift
from roundplan.followup.asked import Asked, Kind
from roundplan.followup.standing import Standing, State
from roundplan.intake.changes import ChangedRow

SOURCE = "replies"
"""Where these rows stand, as findings name it."""

HeldSeat = tuple[str, str, Role]
"""A seat of the plan that was told: team, person, role."""


@dataclass(frozen=True, slots=True)
class Decided:
    """What is settled about a plan.

    Attributes
    ----------
    rows : tuple of ChangedRow
        Rows of ``locks`` and ``absences``.
    confirmed, released : frozenset of HeldSeat
        Seats that are under lock by their holders' yes, and those that had been and were given free.
    """

    rows: tuple[ChangedRow, ...]
    confirmed: frozenset[HeldSeat]
    released: frozenset[HeldSeat]


def decided(
    plan: Plan,
    standings: Sequence[Standing],
    today: date,
    free: frozenset[str],
    source: Mapping[int, str],
    cancelled: frozenset[str] = frozenset(),
) -> Decided:
    """Return what is settled about a plan that was told.

    Parameters
    ----------
    today : date
        Sessions that began before it are past and stay as they were.
    free : frozenset of str
        Subjects of seats whose owners gave them free.
    source : mapping of int to str
        Where each reply came from, in words, by its row in the record.
    cancelled : frozenset of str
        Codes of past sessions that were not held: not to be kept, so that their teams can be planned anew.
    """
    writer = _Writer(plan, today, free, source, cancelled)
    rows = (*writer.past(), *writer.seats(standings), *writer.cover(standings))
    ahead = [s for s in standings if s.asked.kind is Kind.SEAT and s.asked.dates[0] >= today]
    agreed = [s for s in ahead if s.state is State.CONFIRMED]
    return Decided(
        rows=tuple(ChangedRow(table, cells, SOURCE, number) for number, (table, cells) in enumerate(rows, start=1)),
        confirmed=frozenset(_held(s.asked) for s in agreed if s.asked.subject not in free),
        released=frozenset(_held(s.asked) for s in ahead if s.asked.subject in free),
    )


def _held(asked: Asked) -> HeldSeat:
    assert asked.role is not None
    return asked.team, asked.person, asked.role


Row = tuple[str, dict[str, str]]


class _Writer:
    """Writes the rows of one plan."""

    def __init__(
        self, plan: Plan, today: date, free: frozenset[str], source: Mapping[int, str], cancelled: frozenset[str]
    ) -> None:
        self.plan, self.today, self.free, self.source, self.cancelled = plan, today, free, source, cancelled
        self.sitting = {(seat.person, day) for team in plan.teams for seat in team.seats for day in team.dates}
        self.taken: set[tuple[str, date]] = set()

    def past(self) -> Iterator[Row]:
        """Yield what keeps sessions that have begun, and the seats of the teams that have; none that was cancelled."""
        for session in self.plan.sessions:
            if session.dates[0] < self.today and session.code in self.cancelled:
                for day in session.dates:
                    yield _lock(Do.FORBID, LockKind.SESSION, date=day, place=session.venue, why="was not held")
            elif session.dates[0] < self.today:
                yield from (self._session(session, crew) for crew in session.crews)
        venues = {session.code: session.venue for session in self.plan.sessions}
        for team in self.plan.teams:
            if team.dates[0] < self.today and team.session not in self.cancelled:
                yield from self._past_seats(team, venues[team.session])

    def _session(self, session: Session, crew: str) -> Row:
        why = "begun before this version"
        return _lock(Do.KEEP, LockKind.SESSION, date=session.dates[0], place=session.venue, crew=crew, why=why)

    def _past_seats(self, team: Team, venue: str) -> Iterator[Row]:
        for seat in team.seats:
            yield _lock(
                Do.KEEP, LockKind.SEAT, who=seat.person, role=seat.role, date=team.dates[0], place=venue,
                why="begun before this version",
            )  # fmt: skip

    def seats(self, standings: Iterable[Standing]) -> Iterator[Row]:
        """Yield what keeps seats that were agreed, and what keeps out whoever said no."""
        for standing in standings:
            asked = standing.asked
            if asked.kind is not Kind.SEAT or asked.dates[0] < self.today:
                continue
            kept = asked.subject not in self.free
            if standing.state is State.CONFIRMED and kept:
                yield self._seat(standing, asked.person, "confirmed")
            elif standing.state is State.REPLACED:
                if kept:
                    yield self._seat(standing, standing.substitute, "comes instead")
                yield from self._kept_out(standing, asked.person, "declined", asked.dates)
            elif standing.state is State.DECLINED:
                yield from self._kept_out(standing, asked.person, "declined", asked.dates)

    def _seat(self, standing: Standing, person: str, word: str) -> Row:
        asked = standing.asked
        assert asked.role is not None
        self.taken.update((person, day) for day in asked.dates)
        return _lock(
            Do.KEEP, LockKind.SEAT, who=person, role=asked.role, date=asked.dates[0], place=asked.venue,
            why=self._why(standing, word),
        )  # fmt: skip

    def _kept_out(self, standing: Standing, person: str, word: str, days: Iterable[date]) -> Iterator[Row]:
        for day in days:
            yield _lock(Do.FORBID, LockKind.PERSON, who=person, date=day, why=self._why(standing, word))

    def cover(self, standings: Sequence[Standing]) -> Iterator[Row]:
        """Yield what keeps those at home by day who agreed to stay, and who is not there in a shift.

        Written after the seats: whoever takes a seat is away for that, not absent.
        """
        agreed = {_shift(s.asked) for s in standings if s.asked.kind is Kind.SHIFT and s.state is State.CONFIRMED}
        said: set[tuple[str, date, Shift | None]] = set()
        for standing in standings:
            asked = standing.asked
            if asked.kind is not Kind.COVER or asked.dates[0] < self.today:
                continue
            for row, key in self._stay(standing, _shift(asked) in agreed):
                if key not in said:
                    said.add(key)
                    yield row

    def _stay(self, standing: Standing, shift_agreed: bool) -> Iterator[tuple[Row, tuple[str, date, Shift | None]]]:
        asked, day = standing.asked, standing.asked.dates[0]
        gone = standing.state in (State.DECLINED, State.REPLACED)
        if gone and (asked.person, day) not in self.taken:
            yield self._absent(standing), (asked.person, day, asked.shift)
        if standing.state is State.REPLACED:
            yield from self._at_home(standing, standing.substitute, "stays instead")
        elif not gone and (shift_agreed or standing.state is State.CONFIRMED) and asked.subject not in self.free:
            yield from self._at_home(standing, asked.person, "stays, confirmed")

    def _at_home(self, standing: Standing, person: str, word: str) -> Iterator[tuple[Row, tuple[str, date, None]]]:
        """Yield what keeps somebody in no seat by day; those who sit in a team of their own facility stay beside it."""
        day = standing.asked.dates[0]
        if standing.asked.shift is Shift.DAY and (person, day) not in self.sitting | self.taken:
            row = _lock(Do.FORBID, LockKind.PERSON, who=person, date=day, why=self._why(standing, word))
            yield row, (person, day, None)

    def _absent(self, standing: Standing) -> Row:
        asked = standing.asked
        day = asked.dates[0].isoformat()
        cells = {"who": asked.person, "from": day, "to": day, "kind": "cannot stay", "shift": str(asked.shift)}
        return "absences", cells

    def _why(self, standing: Standing, word: str) -> str:
        places = "; ".join(dict.fromkeys(self.source[kept.id] for kept in standing.replies if kept.id in self.source))
        return f"{word}: {places}" if places else word


def _shift(asked: Asked) -> tuple[str, date, Shift | None]:
    return asked.facility, asked.dates[0], asked.shift


def _lock(
    do: Do, kind: LockKind, *, date: date, why: str, who: str = "", role: Role | None = None, place: str = "",
    crew: str = "",
) -> Row:  # fmt: skip
    cells = {
        "do": do.value,
        "kind": kind.value,
        "who": who,
        "role": role.value if role else "",
        "date": date.isoformat(),
        "place": place,
        "crew": crew,
        "why": why,
    }
    return "locks", {name: text for name, text in cells.items() if text}

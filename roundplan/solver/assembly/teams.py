"""Gives the teams of an outline their codes and numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

from roundplan.domain.role import Role
from roundplan.solver.attendance import Mode
from roundplan.solver.outline import Group, Outline, OutlineSeat, SessionOutline


@dataclass(frozen=True, slots=True)
class Draft:
    """A team before its session is written out."""

    facility: str
    venue: str
    start: date
    mode: Mode
    on_site: bool
    seats: tuple[OutlineSeat, ...]
    code: str = ""
    number: int = 0

    @property
    def dates(self) -> tuple[date, ...]:
        """Dates attended."""
        return self.mode.dates

    @property
    def people(self) -> frozenset[str]:
        """Codes of those seated."""
        return frozenset(seat.person for seat in self.seats)


def draft_teams(outline: Outline) -> tuple[Draft, ...]:
    """Return all teams with codes in the order of date, venue and facility."""
    drafts = [d for session in outline.sessions for group in session.groups for d in _drafts(session, group)]
    drafts.sort(key=lambda d: (d.dates[0], d.start, d.venue, d.facility, sorted(d.people)))
    width = max(2, len(str(len(drafts))))
    numbers: Counter[str] = Counter()
    coded = []
    for index, draft in enumerate(drafts, start=1):
        numbers[draft.facility] += 1
        coded.append(replace(draft, code=f"T{index:0{width}d}", number=numbers[draft.facility]))
    return tuple(coded)


def _drafts(session: SessionOutline, group: Group) -> Iterator[Draft]:
    order = {role: index for index, role in enumerate(Role)}
    for seats in group.seats:
        ordered = tuple(sorted(seats, key=lambda s: (order[s.role], s.guest_mode is not None, s.person)))
        yield Draft(group.facility, session.venue, session.start, group.mode, group.on_site, ordered)

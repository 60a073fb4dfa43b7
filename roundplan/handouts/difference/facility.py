"""What a facility has to be told: its teams and its people's seats; the rest stands beside this module."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from roundplan.domain.plan import Seat, Team
from roundplan.domain.role import Role
from roundplan.handouts.difference.change import Change, Effect, Topic
from roundplan.handouts.difference.home import home_changes
from roundplan.handouts.difference.matching import Matched, seat_pairs
from roundplan.handouts.difference.staying import staying_changes
from roundplan.handouts.facility.groups import seat_name, standby_words, team_words, travel_words
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import dates_words, list_words


def facility_changes(matched: Matched, facility: str) -> Iterator[Change]:
    """Yield what is different for a facility: teams, then who stays, then what else its sheet says."""
    for old, new in matched.teams:
        before, after = _View.of(matched.before, old, facility), _View.of(matched.after, new, facility)
        if before is not None and after is not None:
            yield from _team(before, after)
        elif after is not None:
            yield after.change(Topic.TEAM, Effect.NEW, partial(_new_words, after))
        elif before is not None:
            yield before.change(Topic.TEAM, Effect.GONE, partial(_gone_words, before))
    yield from staying_changes(matched, facility)
    yield from home_changes(matched, facility)


class _View:
    """A team as one facility sees it: its own team whole, of another's the seats of its guests."""

    def __init__(self, index: PlanIndex, team: Team, facility: str, seats: tuple[Seat, ...]) -> None:
        self.index, self.team, self.facility, self.seats = index, team, facility, seats

    @classmethod
    def of(cls, index: PlanIndex, team: Team | None, facility: str) -> _View | None:
        """Return the view; None if the facility has nothing to do with the team."""
        if team is None:
            return None
        seats = tuple(seat for one, seat in index.seats_at(facility) if one.code == team.code)
        return cls(index, team, facility, seats) if seats else None

    def change(self, topic: Topic, effect: Effect, tell: partial[str], **more: str | Role) -> Change:
        """Return a change about the team."""
        keys = {"facility": self.facility, "team": self.team.code, "session": self.team.session}
        return Change(topic=topic, effect=effect, tell=tell, **keys, **more)  # type: ignore[arg-type]

    @property
    def what(self) -> str:
        """Say which team it is to the facility."""
        return team_words(self.index, self.team, self.facility)

    @property
    def when_and_where(self) -> str:
        """Say when and where the team trains."""
        if self.index.sessions[self.team.session].venue == self.facility:
            return say("{dates}, here", dates=dates_words(self.team.dates))
        return say("{dates}, at {venue}", dates=dates_words(self.team.dates), venue=self.index.venue_name(self.team))

    @property
    def people(self) -> str:
        """Name who sits in the team, each with the role."""
        return list_words(
            say("{name} ({role})", name=self.name(seat), role=role_word(seat.role)) for seat in self.seats
        )

    def name(self, seat: Seat) -> str:
        """Name who holds a seat; of a guest, where from."""
        return seat_name(self.index, seat, self.facility)

    def standby(self, seat: Seat) -> str:
        """Name the standby of a seat, if the facility may know."""
        return standby_words(self.index, seat, self.facility)

    @property
    def lines(self) -> list[str]:
        """Say hours and journeys."""
        return list(travel_words(self.index, self.team, self.facility))


def _team(before: _View, after: _View) -> Iterator[Change]:
    changed = Effect.CHANGED
    if before.when_and_where != after.when_and_where:
        yield after.change(Topic.TEAM, changed, partial(_moved_words, before, after))
    if before.lines != after.lines:
        yield after.change(Topic.TIMES, changed, partial(_times_words, before, after))
    for role, old, new in seat_pairs(before.seats, after.seats):
        yield from _seat(before, after, role, old, new)


def _seat(before: _View, after: _View, role: Role, old: Seat | None, new: Seat | None) -> Iterator[Change]:
    if new is None:
        assert old is not None
        tell = partial(_empty_words, before, after, old)
        yield after.change(Topic.SEAT, Effect.GONE, tell, person=old.person, role=role)
        return
    keys: dict[str, str | Role] = {"person": new.person, "role": role}
    if old is None:
        yield after.change(Topic.SEAT, Effect.NEW, partial(_filled_words, after, new), **keys)
        return
    if old.person != new.person:
        yield after.change(Topic.SEAT, Effect.CHANGED, partial(_seat_words, before, after, old, new), **keys)
    elif old.provisional != new.provisional:
        yield after.change(Topic.SEAT, Effect.CHANGED, partial(_provisional_words, after, new), **keys)
    if before.standby(old) != after.standby(new):
        yield after.change(Topic.STANDBY, Effect.CHANGED, partial(_standby_words, before, after, old, new), **keys)


def _new_words(view: _View) -> str:
    return say("New: {team}, {when}: {people}.", team=view.what, when=view.when_and_where, people=view.people)


def _gone_words(view: _View) -> str:
    return say("No longer: {team}, {when}: {people}.", team=view.what, when=view.when_and_where, people=view.people)


def _moved_words(before: _View, after: _View) -> str:
    return say(
        "{team}: {now}; no longer {then}.", team=after.what, now=after.when_and_where, then=before.when_and_where
    )


def _times_words(before: _View, after: _View) -> str:
    then = before.lines
    fresh = [line for line in after.lines if line not in then]
    if fresh:
        return say("{team}, new times: {lines}", team=after.what, lines=" ".join(fresh))
    now = after.lines
    dropped = " ".join(line for line in then if line not in now)
    if dropped:
        return say("{team}, no longer: {lines}", team=after.what, lines=dropped)
    return say("{team}, in this order: {lines}", team=after.what, lines=" ".join(now))


def _empty_words(before: _View, after: _View, old: Seat) -> str:
    role, name = role_word(old.role), before.name(old)
    return say("{team}, {role}: no longer {name}; the seat stays empty.", team=after.what, role=role, name=name)


def _filled_words(after: _View, new: Seat) -> str:
    role, name = role_word(new.role), after.name(new)
    return say("{team}, {role}: {name}; the seat was empty.", team=after.what, role=role, name=name)


def _seat_words(before: _View, after: _View, old: Seat, new: Seat) -> str:
    role, name = role_word(new.role), after.name(new)
    return say(
        "{team}, {role}: {name}, no longer {before}.", team=after.what, role=role, name=name, before=before.name(old)
    )


def _provisional_words(after: _View, new: Seat) -> str:
    values = {"team": after.what, "role": role_word(new.role), "name": after.name(new)}
    if new.provisional:
        return say("{team}, {role}: {name}, provisional until the roster comes.", **values)
    return say("{team}, {role}: {name}, no longer provisional.", **values)


def _standby_words(before: _View, after: _View, old: Seat, new: Seat) -> str:
    return say(
        "{team}, standby of {name} ({role}): {standby}; before: {before}.",
        team=after.what,
        name=after.name(new),
        role=role_word(new.role),
        standby=after.standby(new),
        before=before.standby(old),
    )

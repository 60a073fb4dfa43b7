"""What is different about a session for those who hold it: date, place, hours, who comes, who leads, slots."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from roundplan.domain.plan import Seat, Session, Slot, Team
from roundplan.domain.role import Role
from roundplan.handouts.difference.change import Change, Effect, Topic
from roundplan.handouts.difference.matching import Matched, by_role
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import clock, dates_words, list_words, short_date


def session_changes(matched: Matched, old: Session | None, new: Session | None) -> Iterator[Change]:
    """Yield what is different about a session that is in one of two plans or in both."""
    if new is None:
        assert old is not None
        yield _about(old, Topic.HELD, Effect.GONE, partial(_whole_words, matched.before, old, Effect.GONE))
    elif old is None:
        yield _about(new, Topic.HELD, Effect.NEW, partial(_whole_words, matched.after, new, Effect.NEW))
    else:
        if _when(matched.before, old) != _when(matched.after, new):
            yield _about(new, Topic.HELD, Effect.CHANGED, partial(_moved_words, matched, old, new))
        yield from people_changes(matched, old, new)
        yield from _slots(matched, old, new)


def people_changes(matched: Matched, old: Session, new: Session) -> Iterator[Change]:
    """Yield which teams and people come to a session other than before."""
    for then, now in _teams(matched, old, new):
        if now is not None and then is not None:
            yield from _seats(matched, new, then, now)
        elif now is not None:
            yield _about(new, Topic.TEAM, Effect.NEW, partial(_comes_words, matched.after, now), team=now.code)
        elif then is not None:
            yield _about(new, Topic.TEAM, Effect.GONE, partial(_stays_away_words, matched.before, then), team=then.code)


def team_changes(matched: Matched, old: Session, new: Session) -> Iterator[Change]:
    """Yield which teams come to a session other than before, for readers who need no names."""
    for then, now in _teams(matched, old, new):
        if now is not None and then is None:
            yield _about(new, Topic.TEAM, Effect.NEW, partial(_team_comes_words, matched.after, now), team=now.code)
        elif then is not None and now is None:
            yield _about(new, Topic.TEAM, Effect.GONE, partial(_stays_away_words, matched.before, then), team=then.code)


def _teams(matched: Matched, old: Session, new: Session) -> Iterator[tuple[Team | None, Team | None]]:
    """Yield the teams that come to either version of a session, matched."""
    for then, now in matched.teams:
        was = then if then is not None and then.session == old.code else None
        comes = now if now is not None and now.session == new.code else None
        if was is not None or comes is not None:
            yield was, comes


def session_name(index: PlanIndex, session: Session) -> str:
    """Say which session it is: dates and venue."""
    return say("{dates}, at {venue}", dates=dates_words(session.dates), venue=index.name(session.venue))


def _seats(matched: Matched, session: Session, then: Team, now: Team) -> Iterator[Change]:
    pairs = by_role(_holders(then.seats), _holders(now.seats))
    for role, left, come in pairs:
        tell = partial(_seat_words, matched, now, role, left, come)
        effect = Effect.GONE if come is None else Effect.NEW if left is None else Effect.CHANGED
        yield _about(session, Topic.SEAT, effect, tell, team=now.code, person=come or left or "", role=role)


def _holders(seats: tuple[Seat, ...]) -> list[tuple[Role, str]]:
    return [(seat.role, seat.person) for seat in seats]


def _slots(matched: Matched, old: Session, new: Session) -> Iterator[Change]:
    """Yield that slots are other than they were, teams matched: times, cases, who watches, which wall."""
    then, now = _in_order(old), _in_order(new)
    if [_slot_facts(slot, matched.later_team) for slot in then] != [_slot_facts(slot, {}) for slot in now]:
        yield _about(new, Topic.SLOTS, Effect.CHANGED, partial(_slots_words, matched.after, new))
    elif [slot.observers for slot in then] != [slot.observers for slot in now]:
        yield _about(new, Topic.SLOTS, Effect.CHANGED, partial(_watching_words, matched.after, new))


def _in_order(session: Session) -> list[Slot]:
    return sorted(session.slots, key=lambda slot: (slot.date, slot.station, slot.start))


def _slot_facts(slot: Slot, later_team: dict[str, str]) -> tuple[object, ...]:
    team = later_team.get(slot.team or "", slot.team)
    place = (slot.date, slot.station, slot.start, slot.end, slot.kind)
    return (*place, team, slot.case, slot.director, slot.wall, slot.wall_end)


def _about(session: Session, topic: Topic, effect: Effect, tell: partial[str], **more: str | Role) -> Change:
    date = session.dates[0]
    return Change(topic=topic, effect=effect, session=session.code, date=date, tell=tell, **more)  # type: ignore[arg-type]


def _when(index: PlanIndex, session: Session) -> str:
    """Say a session's place, and its hours date by date."""
    hours = (
        say("{date}, {start} to {end}", date=short_date(day.date), start=clock(day.start), end=clock(day.end))
        for day in session.days
    )
    return say("at {venue}, {hours}", venue=index.name(session.venue), hours=list_words(hours))


def _whole_words(index: PlanIndex, session: Session, effect: Effect) -> str:
    if effect is Effect.GONE:
        return say("No longer: session {when}.", when=_when(index, session))
    return say("New: session {when}.", when=_when(index, session))


def _moved_words(matched: Matched, old: Session, new: Session) -> str:
    return say("Session {now}; before: {then}.", now=_when(matched.after, new), then=_when(matched.before, old))


def _comes_words(index: PlanIndex, team: Team) -> str:
    when = session_name(index, index.sessions[team.session])
    people = list_words(say("{name} ({role})", name=index.name(s.person), role=role_word(s.role)) for s in team.seats)
    facility = index.name(team.facility)
    return say(
        "Session {session}: a team of {facility} comes too: {people}.", session=when, facility=facility, people=people
    )


def _team_comes_words(index: PlanIndex, team: Team) -> str:
    when, facility = session_name(index, index.sessions[team.session]), index.name(team.facility)
    return say("Session {session}: a team of {facility} comes too.", session=when, facility=facility)


def _stays_away_words(index: PlanIndex, team: Team) -> str:
    when, facility = session_name(index, index.sessions[team.session]), index.name(team.facility)
    return say(
        "Session {session}: team {team} of {facility} does not come.", session=when, team=team.number, facility=facility
    )


def _seat_words(matched: Matched, team: Team, role: Role, left: str | None, come: str | None) -> str:
    index = matched.after
    values = {
        "session": session_name(index, index.sessions[team.session]),
        "facility": index.name(team.facility),
        "role": role_word(role),
    }
    if come is None:
        gone = matched.before.name(left or "")
        return say(
            "Session {session}, {facility}, {role}: no longer {before}; the seat stays empty.", before=gone, **values
        )
    name = index.name(come)
    if left is None:
        return say("Session {session}, {facility}, {role}: {name}; the seat was empty.", name=name, **values)
    before = matched.before.name(left)
    return say("Session {session}, {facility}, {role}: {name}, no longer {before}.", name=name, before=before, **values)


def _slots_words(index: PlanIndex, session: Session) -> str:
    return say(
        "Session {session}: the slots are not as they were; see the slot sheet.", session=session_name(index, session)
    )


def _watching_words(index: PlanIndex, session: Session) -> str:
    when = session_name(index, session)
    return say("Session {session}: others watch some of the simulations; see the slot sheet.", session=when)

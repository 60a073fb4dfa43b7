"""What trainers and crews have to be told: date by date on the road, leads, who comes, what to load."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import partial

from roundplan.domain.plan import Aboard, CrewDay, Session, Trip
from roundplan.handouts.difference.change import Change, Effect, Topic
from roundplan.handouts.difference.matching import Matched
from roundplan.handouts.difference.session import session_changes, session_name, team_changes
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.travel_days import aboard_lines, day_lines, trainer_day
from roundplan.handouts.speech import say
from roundplan.handouts.words import capital, day_date, list_words, quantity


class _Day:
    """A date with a crew as its reader sees it: for a trainer without what they miss of it, for the crew the whole."""

    def __init__(self, index: PlanIndex, trip: Trip, day: CrewDay, aboard: Aboard | None) -> None:
        self.index, self.trip, self.day, self.aboard = index, trip, day, aboard

    @property
    def lines(self) -> list[str]:
        """Say the date by the clock."""
        if self.aboard is not None:
            return list(trainer_day(self.index, self.day, self.aboard).lines)
        return [*day_lines(self.index, self.day), *aboard_lines(self.index, self.day)]

    @property
    def title(self) -> str:
        """Say the date."""
        return capital(day_date(self.day.date))


def trainer_changes(matched: Matched, trainer: str) -> Iterator[Change]:
    """Yield what is different for a trainer."""
    before = {day.date: _Day(matched.before, trip, day, a) for trip, day, a in matched.before.days_aboard(trainer)}
    after = {day.date: _Day(matched.after, trip, day, a) for trip, day, a in matched.after.days_aboard(trainer)}
    yield from _days(before, after)
    taught = {code for one in after.values() for code in one.day.sessions}
    was_taught = {code for one in before.values() for code in one.day.sessions}
    for old, new in matched.sessions:
        if new is None or new.code not in taught:
            continue
        if old is not None and old.code in was_taught:
            yield from _session(matched, trainer, old, new)
        elif matched.after.leads_of(new, trainer):
            yield _lead_change(matched.after, trainer, new, Effect.NEW)


def _session(matched: Matched, trainer: str, old: Session, new: Session) -> Iterator[Change]:
    """Yield what is different about a session that a trainer holds; its date and hours stand with the day."""
    if matched.after.leads_of(new, trainer) != matched.before.leads_of(old, trainer):
        yield _lead_change(matched.after, trainer, new, Effect.CHANGED)
    yield from (change for change in session_changes(matched, old, new) if change.topic is not Topic.HELD)


def _lead_change(index: PlanIndex, trainer: str, session: Session, effect: Effect) -> Change:
    tell = partial(_lead_words, index, trainer, session)
    day = session.dates[0]
    return Change(topic=Topic.LEADS, effect=effect, session=session.code, person=trainer, date=day, tell=tell)


def crew_changes(matched: Matched, crew: str) -> Iterator[Change]:
    """Yield what is different for a crew."""
    yield from _days(_crew_days(matched.before, crew), _crew_days(matched.after, crew))
    for old, new in matched.sessions:
        if old is not None and new is not None and crew in old.crews and crew in new.crews:
            yield from team_changes(matched, old, new)
    for trip, later in matched.trips:
        if trip is not None and later is not None and later.crew == crew:
            yield from _loads(matched, trip, later)


def _crew_days(index: PlanIndex, crew: str) -> dict[date, _Day]:
    return {day.date: _Day(index, trip, day, None) for trip in index.trips_of(crew) for day in trip.days}


def _days(before: dict[date, _Day], after: dict[date, _Day]) -> Iterator[Change]:
    for day in sorted({*before, *after}):
        old, new = before.get(day), after.get(day)
        if new is None:
            assert old is not None
            yield _day_change(old, Effect.GONE, partial(_day_gone_words, old))
        elif old is None:
            yield _day_change(new, Effect.NEW, partial(_day_new_words, new))
        elif old.trip.crew != new.trip.crew:
            yield _day_change(new, Effect.CHANGED, partial(_other_crew_words, old, new))
        elif old.lines != new.lines:
            yield _day_change(new, Effect.CHANGED, partial(_day_words, old, new))


def _day_change(one: _Day, effect: Effect, tell: partial[str]) -> Change:
    person = one.aboard.trainer if one.aboard is not None else ""
    return Change(
        topic=Topic.DAY, effect=effect, trip=one.trip.code, person=person, date=one.day.date, tell=tell
    )  # fmt: skip


def _loads(matched: Matched, trip: Trip, later: Trip) -> Iterator[Change]:
    """Yield each item of which a trip takes another quantity, or from another place."""
    then, now = _quantities(trip), _quantities(later)
    for item in dict.fromkeys((*now, *then)):
        if then.get(item) != now.get(item):
            effect = Effect.GONE if item not in now else Effect.NEW if item not in then else Effect.CHANGED
            tell = partial(_load_words, matched, trip, later, item)
            yield Change(topic=Topic.LOAD, effect=effect, trip=later.code, item=item, tell=tell)


def _quantities(trip: Trip) -> dict[str, list[tuple[date, str, float]]]:
    found: dict[str, list[tuple[date, str, float]]] = {}
    for load in sorted(trip.loads, key=lambda load: (load.date, load.place)):
        found.setdefault(load.item, []).append((load.date, load.place, load.quantity))
    return found


def _day_words(old: _Day, new: _Day) -> str:
    then = old.lines
    fresh = [line for line in new.lines if line not in then]
    if fresh:
        return say("{date}, new: {lines}", date=new.title, lines=" ".join(fresh))
    now = new.lines
    dropped = " ".join(line for line in then if line not in now)
    return say("{date}, no longer: {lines}", date=new.title, lines=dropped)


def _day_new_words(new: _Day) -> str:
    lines = " ".join(new.lines)
    return say("{date}, new, with crew {crew}: {lines}", date=new.title, crew=new.trip.crew, lines=lines)


def _day_gone_words(old: _Day) -> str:
    return say("{date}: no longer with crew {crew}.", date=old.title, crew=old.trip.crew)


def _other_crew_words(old: _Day, new: _Day) -> str:
    return say(
        "{date}, with crew {crew}, no longer with crew {before}: {lines}",
        date=new.title,
        crew=new.trip.crew,
        before=old.trip.crew,
        lines=" ".join(new.lines),
    )


def _lead_words(index: PlanIndex, trainer: str, session: Session) -> str:
    leads, when = list_words(index.leads_of(session, trainer)), session_name(index, session)
    if leads:
        return say("Session {session}, you are: {leads}.", session=when, leads=leads)
    return say("Session {session}, you are: trainer, no lead.", session=when)


def _load_words(matched: Matched, trip: Trip, later: Trip, item: str) -> str:
    now, then = _said(matched.after, later, item), _said(matched.before, trip, item)
    rounds = (matched.after.training_round, matched.before.training_round)
    name = next(i.name for r in rounds for i in r.items if i.code == item)
    return say("Trip {trip}, load of {item}: {now}; before: {then}.", trip=later.code, item=name, now=now, then=then)


def _said(index: PlanIndex, trip: Trip, item: str) -> str:
    """Say how much of an item a trip takes, and where."""
    rows = _quantities(trip).get(item)
    if not rows:
        return say("none")
    unit = index.training_round.item(item).unit
    return list_words(
        say("{quantity} from {place}, {date}", quantity=quantity(q, unit), place=index.name(place), date=day_date(day))
        for day, place, q in rows
    )

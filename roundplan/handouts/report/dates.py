"""What the manager has to do by which date."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from roundplan.domain.clock import MINUTE
from roundplan.domain.plan import Session
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.money import packs_words, session_words
from roundplan.handouts.speech import say
from roundplan.handouts.words import duration, full_date, list_words
from roundplan.supplies.orders import Assembly, OrderLine
from roundplan.travel.calendar import WorkingCalendar

CONFIRM_DAYS = 7
"""Days before a session on which its seats are confirmed (common practice, no source)."""

CALL_DAYS = 2
"""Days before a session on which its people are called (common practice, no source)."""


def to_do_table(
    index: PlanIndex, calendar: WorkingCalendar, orders: tuple[OrderLine, ...], walls: tuple[Assembly, ...]
) -> Table:
    """Return letters, confirmations, calls, orders and walls by date; never on a rest day, then on the one before."""
    tasks = _tasks(index, calendar, orders, walls)
    rows: list[tuple[Cell, ...]] = [(full_date(day), tuple(tasks[day])) for day in sorted(tasks)]
    return Table(say("What to do, at the latest on"), (say("Date"), say("Task")), rows)


def first_task(
    index: PlanIndex, calendar: WorkingCalendar, orders: tuple[OrderLine, ...], walls: tuple[Assembly, ...]
) -> tuple[date, int] | None:
    """Return the first date by which something has to be done and the number of tasks; None where there are none."""
    tasks = _tasks(index, calendar, orders, walls)
    return (min(tasks), sum(map(len, tasks.values()))) if tasks else None


def _tasks(
    index: PlanIndex, calendar: WorkingCalendar, orders: tuple[OrderLine, ...], walls: tuple[Assembly, ...]
) -> dict[date, list[str]]:
    tasks: dict[date, list[str]] = {}
    found = (*_round_tasks(index), *_session_tasks(index), *_order_tasks(index, orders), *_wall_tasks(walls))
    for day, words in found:
        tasks.setdefault(_working(day, calendar), []).append(words)
    return tasks


def _round_tasks(index: PlanIndex) -> Iterator[tuple[date, str]]:
    """Yield what is done once for the round: facilities told, rosters and approvals got, contacts deleted."""
    r, sessions = index.training_round, index.sessions_in_order
    settings = r.settings.round
    told = settings.announce_on or settings.plan_date
    if told is not None and index.plan.status == "draft" and sessions:
        yield told, say("Tell all facilities: notice is counted from this date.")
    if sessions:
        confirm = sessions[0].dates[0] - timedelta(days=CONFIRM_DAYS)
        unseen = {index.home(s.person) for team in index.plan.teams for s in team.seats if s.provisional}
        if names := [f.name for f in r.facilities if f.code in unseen]:
            yield confirm, say("Rosters are in from {facilities}.", facilities=list_words(names))
        used = {slot.case for session in sessions for slot in session.slots if slot.case}
        if names := [f"“{case.name}”" for case in r.cases if case.code in used and not case.approved_by]:
            yield confirm, say("The clinical lead has approved {cases}.", cases=list_words(names))
    if settings.purge_on is not None:
        deleted = say("Phone numbers and e-mail addresses are deleted, and the documents that show them.")
        yield settings.purge_on, deleted


def _working(day: date, calendar: WorkingCalendar) -> date:
    while calendar.is_rest_day(day):
        day -= timedelta(days=1)
    return day


def _session_tasks(index: PlanIndex) -> Iterator[tuple[date, str]]:
    for session in index.sessions_in_order:
        first = session.dates[0]
        name = session_words(index, session)
        letters = say("Letters are out for {session}.", session=name)
        yield first - timedelta(days=_notice(index, session)), letters
        yield first - timedelta(days=CONFIRM_DAYS), say("Seats and standbys confirmed for {session}.", session=name)
        call = say("Call all facilities of {session}; recheck roads and stock.", session=name)
        yield first - timedelta(days=CALL_DAYS), call
        heard = say("Cover and go or no-go heard from all facilities of {session}.", session=name)
        yield first - timedelta(days=1), heard


def _notice(index: PlanIndex, session: Session) -> int:
    """Return the days of notice that a session asks for: the longer where some of its people travel."""
    teams = index.training_round.settings.teams
    away = any(outing.drives for team in index.teams_of_session(session.code) for outing in team.outings)
    return teams.notice_off_site if away else teams.notice_on_site


def _order_tasks(index: PlanIndex, orders: tuple[OrderLine, ...]) -> Iterator[tuple[date, str]]:
    for line in orders:
        if line.packs and line.latest_order_date is not None:
            item = index.training_round.item(line.item)
            packs = packs_words(line, item.unit)
            if line.supplier:
                words = say("Order {packs} of “{item}”, from {supplier}.", packs=packs, item=item.name,
                            supplier=line.supplier)  # fmt: skip
            else:
                words = say("Order {packs} of “{item}”.", packs=packs, item=item.name)
            yield line.latest_order_date, words


def _wall_tasks(walls: tuple[Assembly, ...]) -> Iterator[tuple[date, str]]:
    for row in walls:
        if row.walls:
            words = say("Walls for trip {trip} assembled: {walls}, {time} of work.", trip=row.trip, walls=row.walls,
                        time=duration(row.minutes * MINUTE))  # fmt: skip
            yield row.date - timedelta(days=1), words

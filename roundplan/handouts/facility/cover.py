"""What a facility's documents say of those who stay: cover by shift, who leaves a seat first, rosters wanted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from roundplan.domain.plan import Cover, CoverKind, Seat, Team
from roundplan.domain.presence import has_roster
from roundplan.domain.role import OnSiteCover, Role, Shift
from roundplan.handouts.page import Cell
from roundplan.handouts.plan_index import SHIFT_ORDER, PlanIndex
from roundplan.handouts.speech import numeral, say, several
from roundplan.handouts.terms import role_word, shift_word
from roundplan.handouts.words import capital, clock, dates_words, day_date, list_words, shift_words, short_date

MOST_DATES = 5
"""Dates named one by one when rosters are asked for; of more, the first and the last."""


def named_words(index: PlanIndex, cover: Cover) -> str:
    """Name those who stay with the role each fills."""
    return list_words(_person_and_role(index, person, role) for role, person in cover.named)


def _person_and_role(index: PlanIndex, person: str, role: Role) -> str:
    return say("{name} ({role})", name=index.name(person), role=role_word(role))


def why_words(index: PlanIndex, cover: Cover) -> str:
    """Say what cover is for beyond the facility's own emergencies; empty for the plain kind."""
    if cover.kind is CoverKind.REFERRAL and cover.for_facility is not None:
        return say("takes emergencies of {facility} too", facility=index.name(cover.for_facility))
    if cover.kind is CoverKind.SLOT and cover.team is not None:
        return _slot_words(index, cover, index.teams[cover.team])
    return ""


def _slot_words(index: PlanIndex, cover: Cover, team: Team) -> str:
    """Say during which team's simulations those who stay are free, and when these are."""
    slots = [s for s in index.slots_of_team(team) if s.date == cover.date]
    times = list_words(say("{start} to {end}", start=clock(s.start), end=clock(s.end)) for s in slots)
    if team.facility == cover.facility:
        if times:
            return say("free while team {team} simulates, {times}", team=team.number, times=times)
        return say("free while team {team} simulates", team=team.number)
    whose = index.name(team.facility)
    if times:
        return say("free while the team of {facility} simulates, {times}", facility=whose, times=times)
    return say("free while the team of {facility} simulates", facility=whose)


def cover_rows(index: PlanIndex, facility: str) -> list[tuple[Cell, ...]]:
    """Return who stays in each shift, in order; the same people are said once, with all that they stay for."""
    said: list[tuple[Cell, ...]] = []
    for cover, whys in _said_once(index, facility):
        shift = capital(shift_words(cover.date, cover.shift))
        said.append(((shift, "; ".join(whys)) if whys else shift, named_words(index, cover)))
    return said


def cover_by_role(index: PlanIndex, facility: str) -> tuple[tuple[Role, ...], list[tuple[Cell, ...]], tuple[str, ...]]:
    """Return the same in less room.

    Returns
    -------
    tuple
        The roles that are named; of each shift who fills each of them; what shifts marked with a number stay for.
    """
    covers = list(_said_once(index, facility))
    named = {role for cover, _ in covers for role, _ in cover.named}
    roles = tuple(role for role in Role if role in named)
    marks: dict[str, int] = {}
    rows: list[tuple[Cell, ...]] = []
    for cover, whys in covers:
        numbers = [marks.setdefault(why, len(marks) + 1) for why in whys]
        marked = " ".join(f"({number})" for number in numbers)
        fills = [tuple(index.name(person) for held, person in cover.named if held is role) for role in roles]
        cells = ("" if not names else names[0] if len(names) == 1 else names for names in fills)
        rows.append((f"{short_shift(cover.date, cover.shift)} {marked}".rstrip(), *cells))
    return roles, rows, tuple(f"({number}) {capital(why)}." for why, number in marks.items())


def short_shift(day: date, shift: Shift) -> str:
    """Write a shift for narrow columns: ``Mon 1 Mar, by day``, ``Mon 1 Mar to Tue 2 Mar, by night``."""
    if shift is Shift.DAY:
        return say("{date}, by day", date=short_date(day))
    return say("{evening} to {morning}, by night", evening=short_date(day), morning=short_date(day + timedelta(days=1)))


def _said_once(index: PlanIndex, facility: str) -> Iterator[tuple[Cover, list[str]]]:
    """Yield cover shift by shift, the same people once, with all that they stay for."""
    covers = index.cover_at(facility)
    rows: dict[tuple[date, Shift, frozenset[tuple[Role, str]]], tuple[Cover, list[str]]] = {}
    for cover in covers:
        if cover.kind is CoverKind.OWN and any(_holds(wider, cover) for wider in covers):
            continue
        key = (cover.date, cover.shift, frozenset(cover.named))
        _, whys = rows.setdefault(key, (cover, []))
        why = why_words(index, cover)
        whys.extend([why] if why and why not in whys else [])
    yield from rows.values()


def _holds(wider: Cover, own: Cover) -> bool:
    """Whether cover for a referring facility names all of the facility's own cover in the same roles."""
    same = (wider.date, wider.shift) == (own.date, own.shift)
    return same and wider.kind is CoverKind.REFERRAL and set(own.named) <= set(wider.named)


def swap_words(index: PlanIndex, facility: str) -> tuple[str, ...]:
    """Name the duties that have to be swapped, one sentence a date and shift."""
    people: dict[tuple[date, Shift], list[str]] = {}
    for swap in index.plan.swaps:
        if index.home(swap.person) == facility:
            people.setdefault((swap.date, swap.shift), []).append(index.name(swap.person))
    ordered = sorted(people.items(), key=lambda entry: (entry[0][0], SHIFT_ORDER[entry[0][1]]))
    return tuple(_swap_line(day, shift, list_words(names)) for (day, shift), names in ordered)


def _swap_line(day: date, shift: Shift, names: str) -> str:
    if shift is Shift.DAY:
        return say("Swap the day duty of {date}: {names}.", date=day_date(day), names=names)
    return say("Swap the night duty of {date}: {names}.", date=day_date(day), names=names)


def seated_here(index: PlanIndex, facility: str) -> dict[date, set[str]]:
    """Return the facility's own people who sit in a team trained in the facility itself, by date."""
    seated: dict[date, set[str]] = {}
    for team, seat in index.seats_at(facility):
        if index.sessions[team.session].venue == facility and index.home(seat.person) == facility:
            for day in team.dates:
                seated.setdefault(day, set()).add(seat.person)
    return seated


def leave_first(index: PlanIndex, facility: str, only: date | None = None) -> tuple[str, ...]:
    """Say who leaves a seat first when a patient comes, for each date (or one) on which own people train here."""
    home = index.training_round.facility(facility)
    said, nobody = [], []
    for day, seated in sorted(seated_here(index, facility).items()):
        if only is not None and day != only:
            continue
        # Cover for a facility that refers here may name people in a seat too; that during simulations never does.
        counted = dict.fromkeys(
            _person_and_role(index, person, role)
            for cover in index.cover_at(facility)
            if cover.date == day and cover.shift is Shift.DAY and cover.kind is not CoverKind.SLOT
            for role, person in cover.named
            if person in seated
        )
        when, who = dates_words((day,)), list_words(counted)
        if counted and home.on_site_cover is OnSiteCover.INTERRUPTIBLE:
            said.append(say("{date}: {people} first; the simulation stops at once.", date=when, people=who))
        elif counted:
            said.append(say("{date}: {people} when not simulating.", date=when, people=who))
        else:
            nobody.append(day)
    if nobody:
        when = dates_words(nobody)
        said.append(say("{date}: nobody needs to leave a seat; those who stay on duty are in no team.", date=when))
    return tuple(said)


def days_taken(index: PlanIndex, team: Team, seat: Seat) -> frozenset[date]:
    """Return the dates on which a seat takes its holder away or seats them."""
    outing = index.outing(team, seat.person)
    drives = outing.drives if outing else ()
    nights = outing.nights if outing else ()
    return frozenset({*team.dates, *(drive.date for drive in drives), *(evening for evening, _ in nights)})


def named_to_stay(index: PlanIndex, person: str, team: Team, seat: Seat) -> bool:
    """Whether a person, by code, is named as cover on a date that the seat takes."""
    return bool(days_taken(index, team, seat) & index.staying_on.get(person, frozenset()))


def teaching_words(index: PlanIndex, facility: str) -> tuple[str, ...]:
    """Name the facility's staff who travel as trainers, with the dates on which they are no cover."""
    said = []
    for trainer in index.training_round.trainers:
        if trainer.person is not None and index.home(trainer.person) == facility:
            days = [day.date for _, day, _ in index.days_aboard(trainer.code)]
            if days:
                name = index.name(trainer.person)
                said.append(say("{name} is away as a trainer: {dates}.", name=name, dates=dates_words(days)))
    return tuple(said)


def referral_words(index: PlanIndex, facility: str) -> str:
    """Say which site takes the facility's emergencies meanwhile and what it keeps; empty where none does."""
    covers = [c for c in index.plan.cover if c.kind is CoverKind.REFERRAL and c.for_facility == facility]
    if not covers:
        return ""
    ordered = sorted(covers, key=lambda c: (c.date, SHIFT_ORDER[c.shift]))
    touched = {(c.date, c.shift) for c in index.cover_at(facility) if c.kind is CoverKind.OWN}
    site = index.name(covers[0].facility)
    if touched <= {(c.date, c.shift) for c in ordered}:
        return say(
            "{site} keeps one anaesthetist and one surgical provider more for your patients in each shift above.",
            site=site,
        )
    shifts = list_words(dict.fromkeys(short_shift(c.date, c.shift) for c in ordered))
    return say(
        "{site} keeps one anaesthetist and one surgical provider more for your patients: {shifts}.",
        site=site,
        shifts=shifts,
    )


def rosters_wanted(index: PlanIndex, facility: str) -> str:
    """Name the shifts touched for which no roster has been seen; empty if all are known."""
    covers = [c for c in index.cover_at(facility) if c.kind is CoverKind.OWN]
    unknown = [(c.date, c.shift) for c in covers if not has_roster(index.training_round, facility, c.date, c.shift)]
    days = [day for day, _ in unknown]
    if len(set(days)) > MOST_DATES:
        return say(
            "all days and nights from {first_day} to {last_day}",
            first_day=short_date(min(days)),
            last_day=short_date(max(days)),
        )
    return shifts_by_date(unknown)


def shifts_by_date(shifts: Iterable[tuple[date, Shift]]) -> str:
    """Name shifts in little room: ``Mon 1 Mar (day and night) and Tue 2 Mar (day)``."""
    by_date: dict[date, dict[str, None]] = {}
    for day, shift in shifts:
        by_date.setdefault(day, {})[shift_word(shift)] = None
    return list_words(
        say("{date} ({shifts})", date=short_date(day), shifts=list_words(words)) for day, words in by_date.items()
    )


def run_words(index: PlanIndex, facility: str) -> str:
    """Return what the facility has to agree to in writing: a longer run of shifts than the round allows."""
    own = index.training_round.facility(facility).cover_run
    usual = index.training_round.settings.cover.run
    if own is None or own <= usual:
        return ""
    return several(
        "One person may be named as cover for up to {own} shifts in a row here; the round's limit is {numeral} shift.",
        "One person may be named as cover for up to {own} shifts in a row here; the round's limit is {numeral} shifts.",
        usual,
        own=numeral(own),
    )

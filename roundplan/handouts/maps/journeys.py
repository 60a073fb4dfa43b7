"""What travels on the map, day by day: crews' legs, hop by hop with surface and daylight, and participants' drives."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from roundplan.domain.clock import MINUTE
from roundplan.domain.plan import Drive
from roundplan.domain.role import Surface
from roundplan.handouts.daylight_left import Light, Margin, margin
from roundplan.handouts.maps.clipping import Point
from roundplan.handouts.maps.lines import LineStyle, Locator
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say, several
from roundplan.handouts.surfaces import Surfaces
from roundplan.handouts.words import arrival, clock, day_date, duration, kilometres, long_date

_BOW_OF_PARTICIPANTS = -0.05


@dataclass(frozen=True, slots=True)
class Journey:
    """One drive as the map shows it.

    Attributes
    ----------
    head : str
        Who drives, in words.
    hops : tuple of (Surface or None, list of Point)
        The line in pieces, each with its surface; pieces without length are left out.
    surface : str
        The surfaces in words.
    crew : str or None
        Code of the crew; None for participants.
    number : int
        Number of a crew's leg within its trip, from 1; 0 for participants.
    trip : str
        Code of the trip; empty for participants.
    homeward : bool
        Whether participants drive home.
    """

    head: str
    drive: Drive
    hops: tuple[tuple[Surface | None, list[Point]], ...]
    margin: Margin
    surface: str
    crew: str | None = None
    number: int = 0
    trip: str = ""
    homeward: bool = False

    @property
    def path(self) -> list[Point]:
        """The whole line."""
        joined: list[Point] = []
        for _, points in self.hops:
            joined += points[1:] if joined else points
        return joined

    @property
    def token(self) -> str:
        """Class of everything that belongs to the drive's date."""
        return day_token(self.drive.date)


def day_token(day: date) -> str:
    """Return the class of what belongs to a date."""
    return f"d{day:%Y%m%d}"


def surface_token(surface: Surface | None) -> str:
    """Return the class of a line by its surface."""
    return f"surface-{surface.value if surface else 'unknown'}"


def light_token(light: Light) -> str:
    """Return the class of a line by the daylight left on arrival."""
    return f"light-{light.value}"


def crew_legs(index: PlanIndex, locator: Locator, styles: dict[str, LineStyle]) -> Iterator[Journey]:
    """Yield the crews' legs that lead anywhere, crew by crew, numbered within each trip in the order driven."""
    surfaces = Surfaces(index)
    for crew, style in styles.items():
        for trip in index.trips_of(crew):
            number = 0
            for leg in (leg for day in trip.days for leg in day.legs):
                hops = _hops(surfaces, locator, leg.drive, style.bow)
                if hops:
                    number += 1
                    head = say("Crew {crew}, trip {trip}, leg {number}", crew=crew, trip=trip.code, number=number)
                    yield Journey(
                        head, leg.drive, hops, margin(index, leg.drive, crew=True), surfaces.words(leg.drive),
                        crew, number, trip.code,
                    )  # fmt: skip


def participant_journeys(index: PlanIndex, locator: Locator) -> Iterator[Journey]:
    """Yield participants' drives to their venues and home."""
    surfaces = Surfaces(index)
    for team in index.teams_in_order:
        for outing in team.outings:
            for drive in outing.drives:
                hops = _hops(surfaces, locator, drive, _BOW_OF_PARTICIPANTS)
                if hops:
                    yield Journey(
                        _who(index, drive, outing.facility, len(outing.people)), drive, hops,
                        margin(index, drive, crew=False), surfaces.words(drive),
                        homeward=drive.start != outing.facility,
                    )  # fmt: skip


def _who(index: PlanIndex, drive: Drive, home: str, people: int) -> str:
    if drive.start == home:
        return several(
            "Participants from {facility}, {numeral} person",
            "Participants from {facility}, {numeral} people",
            people,
            facility=index.name(home),
        )
    return several(
        "Participants back to {facility}, {numeral} person",
        "Participants back to {facility}, {numeral} people",
        people,
        facility=index.name(home),
    )


def _hops(
    surfaces: Surfaces, locator: Locator, drive: Drive, bow: float
) -> tuple[tuple[Surface | None, list[Point]], ...]:
    found = ((hop.surface, locator.hop(hop.start, hop.end, bow)) for hop in surfaces.hops(drive))
    return tuple((surface, points) for surface, points in found if points)


def daylight_words(found: Margin) -> str:
    """Say how much daylight is left on arrival."""
    if found.left < 0:
        return say("after dark by {time}", time=duration(-found.left))
    return duration(found.left - found.left % MINUTE)


def journey_lines(index: PlanIndex, journey: Journey) -> tuple[str, ...]:
    """Return what is said of a drive when its line is touched."""
    drive = journey.drive
    return (
        say("{date}: {start} to {end}", date=day_date(drive.date), start=index.name(drive.start),
            end=index.name(drive.end)),
        say("leaves {depart}, arrives {arrive}, {length}", depart=clock(drive.depart), arrive=arrival(drive.arrive),
            length=kilometres(drive.km)),
        say("surface: {surface}", surface=journey.surface),
        say("daylight left on arrival: {time}", time=daylight_words(journey.margin)),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class DayOnTheRoad:
    """One date in words: its class, its heading, its drives."""

    token: str
    date: date
    title: str
    table: Table


def days_on_the_road(index: PlanIndex, journeys: Sequence[Journey]) -> tuple[DayOnTheRoad, ...]:
    """Return the drives of each date as a table; dates with sessions alone have a table without rows."""
    by_date: dict[date, list[Journey]] = defaultdict(list)
    for session in index.sessions_in_order:
        for day in session.dates:
            by_date[day] = []
    for journey in journeys:
        by_date[journey.drive.date].append(journey)
    written = long_date if len({day.year for day in by_date}) > 1 else day_date
    return tuple(_day(index, day, written(day), by_date[day]) for day in sorted(by_date))


def _day(index: PlanIndex, day: date, title: str, journeys: list[Journey]) -> DayOnTheRoad:
    heads = (say("Who"), say("From and to"), say("Leaves"), say("Arrives"), say("Length"), say("Surface"),
             say("Daylight left"))  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            journey.head,
            say("{start} to {end}", start=index.name(journey.drive.start), end=index.name(journey.drive.end)),
            clock(journey.drive.depart),
            arrival(journey.drive.arrive),
            kilometres(journey.drive.km),
            journey.surface,
            daylight_words(journey.margin),
        )
        for journey in sorted(journeys, key=lambda j: (j.drive.depart, j.head, j.drive.end))
    ]
    caption = say("Drives of {date}", date=title)
    return DayOnTheRoad(day_token(day), day, title, Table(caption, heads, rows, numbers=frozenset({2, 3, 4})))

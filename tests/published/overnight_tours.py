"""Published overnight tours as ordinary rounds: one crew, one short session a client, nights at two places.

Source: the travelling salesperson problem with hotel selection, set 2 (Vansteenwegen, Souffriau and Sörensen 2012,
https://doi.org/10.1057/jors.2011.32), optimality of its values proved in Barbosa and Uchoa 2020 (Computers &
Operations Research 123:104986). The points are Solomon's (1987), point 0 the depot, then the first customers.
Distances are Euclidean, truncated to one decimal; a day's travel and service together are at most ``limit``; nights
are spent at the depot or at client 1; fewest days first, then least travel, which leaves the service out.

One unit of distance is one minute on the road and one kilometre; services are whole units, so a session is as many
minutes. What the problem does not know is switched off by settings of the round: daylight, breaks, set-up, pack-up,
opening, closing, lunch, journeys of participants. A day costs more than all travel, so that fewest days come first.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import permutations
from math import floor, hypot
from pathlib import Path

MINIMUM = ("surgical provider", "surgical assistant", "anaesthetist")
DAY_PRICE = 100_000
"""Minor units a crew's day; a unit of distance costs 10, so that a decimal of it is one minor unit."""
WINDOW = 3
"""Dates of the round: one more than any of the published tours takes."""


@dataclass(frozen=True)
class Tour:
    """One published instance.

    Attributes
    ----------
    points : tuple of (float, float, float)
        x, y and service of the depot and the clients.
    days, travel : int, float
        Published optimum; 0 where there is none.
    """

    name: str
    points: tuple[tuple[float, float, float], ...]
    limit: float
    days: int = 0
    travel: float = 0.0

    def distance(self, a: int, b: int) -> float:
        """Return the Euclidean distance of two points, truncated to one decimal."""
        (x, y, _), (u, v, _) = self.points[a], self.points[b]
        return floor(10 * hypot(x - u, y - v)) / 10

    @property
    def cost(self) -> int:
        """Minor units of the published optimum."""
        return self.days * DAY_PRICE + round(10 * self.travel)


def data_folder() -> Path | None:
    """Return the folder with the published tables: OVERNIGHT_TOURS, else ../shared/published; None if not there."""
    named = os.environ.get("OVERNIGHT_TOURS")
    folder = Path(named) if named else Path(__file__).parents[2].parent / "shared" / "published"
    return folder if (folder / "overnight_tours_best.csv").is_file() else None


def published_tours(folder: Path) -> list[Tour]:
    """Return every instance of the published tables."""
    points: dict[str, dict[int, tuple[float, float, float]]] = {}
    limits: dict[str, float] = {}
    with (folder / "overnight_tours_points.csv").open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            points.setdefault(row["set"], {})[int(row["point"])] = (
                float(row["x"]),
                float(row["y"]),
                float(row["service"]),
            )
            limits[row["set"]] = float(row["day_limit"])
    tours = []
    with (folder / "overnight_tours_best.csv").open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            name, clients = row["set"], int(row["clients"])
            chosen = tuple(points[name][n] for n in range(clients + 1))
            tours.append(Tour(f"{name}.{clients}", chosen, limits[name], int(row["days"]), float(row["travel_length"])))
    return tours


def write_inputs(tour: Tour, folder: Path, dates: int = WINDOW) -> Path:
    """Write the tables of the round that is the tour; every client wants one team, taught at home.

    Parameters
    ----------
    dates : int
        Dates of the round.
    """
    folder.mkdir(parents=True, exist_ok=True)
    clients = range(1, len(tour.points))
    codes = ["DEPOT", *(f"C{n:02d}" for n in clients)]
    site = {n: (f"{0.1 * tour.points[n][1]:.2f}", f"{30 + 0.1 * tour.points[n][0]:.2f}") for n in (0, *clients)}
    tables: dict[str, Iterable[Iterable[object]]] = {
        "facilities": [
            ("facility", "name", "district", "latitude", "longitude", "teams_wanted", "usual_team", "stations",
             "session_room", "minutes_to_theatre", "on_site_cover", "lodging_price"),
            *((codes[n], f"Client {n}", "Plane", *site[n], 1, "; ".join(MINIMUM), 1, "spare room", 1, "interruptible",
               0 if n == 1 else "") for n in clients),
        ],
        "staff": [
            ("person", "name", "facility", "roles"),
            *((f"{codes[n]}-{k}", f"Person {n} {k}", codes[n], role) for n in clients
              for k, role in enumerate(MINIMUM, start=1)),
        ],
        "places": [
            ("place", "name", "kind", "latitude", "longitude", "lodging_price"),
            ("DEPOT", "Depot", "base;lodging", *site[0], 0),
        ],
        "trainers": [
            ("trainer", "name", "lives_at", "leads"),
            ("T1", "Trainer One", "DEPOT", "director;surgery"),
            ("T2", "Trainer Two", "DEPOT", "anaesthesia"),
        ],
        "crews": [
            ("crew", "base", "seats", "payload_kg", "box_models", "price_per_km", "price_per_day"),
            ("CREW", "DEPOT", 4, 1000, 1, "0.10", DAY_PRICE // 100),
        ],
        "roads": [
            ("from", "to", "km", "hours"),
            *((codes[a], codes[b], tour.distance(a, b), f"{tour.distance(a, b) / 60:.7f}") for a in (0, *clients)
              for b in clients if a < b),
        ],
        "supplies": [("item", "name", "kind", "per", "quantity", "unit")],
        "cases": [("case", "name", "stop_rule"), ("ANY", "Any case", "on the stop word")],
    }  # fmt: skip
    for name, rows in tables.items():
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(rows)
    (folder / "round.toml").write_text(_settings(tour, dates), encoding="utf-8")
    return folder


def _settings(tour: Tour, dates: int) -> str:
    service = round(tour.points[1][2])
    return f"""
[round]
name = "{tour.name}"
first_day = 2027-03-01
last_day = 2027-03-{dates:02d}
plan_date = 2027-03-01
currency = "USD"
time_zone = "UTC"
[session]
short_sessions = true
start_every = 0
teach_from = "00:00"
teach_to = "24:00"
opening = 0
brief = 0
simulate = {service}
debrief = 0
reset = 0
lunch = 0
closing = 0
simulations_per_team = 1
volunteers_per_station = 0
[teams]
guests = 0
notice_on_site = 0
notice_off_site = 0
[cover]
day_from = "00:00"
night_from = "24:00"
[travel]
daylight = false
day_limit = 0
overnight_limit = 0
break_every = 0
set_up = 0
pack_up = 0
wheel_hours = 24
duty_day = {tour.limit / 60 + 0.00005:.4f}
[prices]
participant_day = "none"
participant_night = "none"
trainer_day = "none"
trainer_night = "none"
driver_day = "none"
driver_night = "none"
fare_per_km = "none"
lunch = "none"
venue_day = "none"
printing = "none"
"""


def shortest_order(lengths: list[list[int]]) -> int:
    """Return the length of the shortest round through all points from point 0, by trying every order."""
    others = range(1, len(lengths))
    return min(
        sum(lengths[a][b] for a, b in zip((0, *order), (*order, 0), strict=True)) for order in permutations(others)
    )

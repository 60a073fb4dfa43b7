"""The tables of sites and what moves between them: facilities, places, crews, roads."""

from __future__ import annotations

from roundplan.domain.crew import Crew
from roundplan.domain.facility import Facility
from roundplan.domain.place import Place, Road
from roundplan.domain.role import (
    OnSiteCover,
    PlaceKind,
    SessionRoom,
    Surface,
    Transport,
)
from roundplan.intake.day_kinds import CLOCK, DATE, DAYS
from roundplan.intake.kinds import CODE, MONEY, TEXT, number, whole
from roundplan.intake.table import SITES, Column, Table, available
from roundplan.intake.word_kinds import (
    COUNTS,
    LANGUAGES,
    ROLES,
    YES_NO,
    one_of,
    some_of,
)

LATITUDE, LONGITUDE = number(-90, 90), number(-180, 180)
STATIONS, BODIES, BEDS = whole(0, 50), whole(1, 500), whole(0, 10_000)

FACILITIES = Table(
    "facilities",
    "facilities",
    Facility,
    ("facility",),
    "hospitals and health centres whose staff are trained",
    (
        Column("facility", CODE, "code of the facility", "RIV", True, "code"),
        Column("name", TEXT, "its name", "Riverside District Hospital", True),
        Column("district", TEXT, "district it belongs to", "Riverside", True),
        Column("latitude", LATITUDE, "degrees north (south is negative), WGS 84", "-12.628", True),
        Column("longitude", LONGITUDE, "degrees east (west is negative), WGS 84", "33.792", True),
        Column("teams_wanted", whole(0, 99), "most teams it is to send", "2", True),
        Column(
            "usual_team",
            ROLES,
            "seats of its usual team; a role written twice is two seats",
            "surgical provider; surgical assistant; anaesthetist; scrub",
            True,
        ),
        Column("priority", whole(1, 5), "5 matters most; blank = 3", "4"),
        Column("languages", LANGUAGES, "languages, the working language first; blank = the round's", "ny; en"),
        Column("stations", STATIONS, "stations it can host at once; 0 = cannot host", "1"),
        Column("session_room", one_of(SessionRoom, "session room"), "where it would hold a session", "spare room"),
        Column("room_limit", BODIES, "bodies that room takes; blank = the round's limit", "20"),
        Column("minutes_to_theatre", whole(0, 600), "walk from that room to theatre; blank = over the limit", "4"),
        Column(
            "on_site_cover",
            one_of(OnSiteCover, "way of covering on site"),
            "how far staff training at home count as cover; blank = observers",
            "observers",
        ),
        Column("keep_team", ROLES, "roles that stay filled by day; blank = the round's", "surgical provider; scrub"),
        Column("keep_team_night", ROLES, "roles that stay filled by night; none = no service at night", "none"),
        Column("cover_run", whole(1, 60), "most shifts in a row for one person as cover; blank = the round's", "2"),
        Column("refers_to", CODE, "facility that takes its emergencies", "LAK", refers=("facilities",)),
        Column("course_days", DAYS, "days on which it sends teams; blank = any", "TU; TH; 2027-02-05"),
        Column("day_price", MONEY, "price of a session date there; blank = the round's", "25000"),
        Column("lodging_price", MONEY, "price of a person-night; blank = no lodging", "18000"),
        Column("lodging_beds", BEDS, "people who can sleep there; blank = not limited", "8"),
        Column("transport", one_of(Transport, "transport"), "how its people travel; blank = hired", "public"),
        Column("transport_price", MONEY, "price of a person-kilometre; blank = the round's fare", "420"),
        Column("closed_days", DAYS, "days without a session there", "MO; 2027-02-02/2027-02-05"),
        Column("exposure_contact", TEXT, "whom to call after a needle-stick there", "Matron on duty"),
        Column("staff_counts", COUNTS, "heads by role while names are not known", "anaesthetist 2; scrub 3"),
    ),
    required=True,
)

PLACES = Table(
    "places",
    "places",
    Place,
    ("place",),
    "places that are no facility: bases, venues, lodgings, stores, junctions",
    (
        Column("place", CODE, "code of the place; no facility may have it", "DEPOT", True, "code"),
        Column("name", TEXT, "its name", "Training store", True),
        Column("kind", some_of(PlaceKind, "kind of place"), "what it serves for", "base; store", True, "kinds"),
        Column("latitude", LATITUDE, "degrees north (south is negative), WGS 84", "-12.636", True),
        Column("longitude", LONGITUDE, "degrees east (west is negative), WGS 84", "33.801", True),
        Column("stations", STATIONS, "stations it can host at once; blank = none", "2"),
        Column("room_limit", BODIES, "bodies the room takes; blank = the round's limit", "40"),
        Column("day_price", MONEY, "price of a session date there; blank = the round's", "60000"),
        Column("lodging_price", MONEY, "price of a person-night; blank = the round's, for a lodging", "36000"),
        Column("lodging_beds", BEDS, "people who can sleep there; blank = not limited", "14"),
        Column("closed_days", DAYS, "days without a session there", "SA; SU"),
        Column("exposure_contact", TEXT, "whom to call after a needle-stick there", "Casualty, district hospital"),
    ),
)

CREWS = Table(
    "crews",
    "crews",
    Crew,
    ("crew",),
    "vehicles with driver, box models and consumables",
    (
        Column("crew", CODE, "code of the crew", "NORTH", True, "code"),
        Column("base", CODE, "facility or place where its trips start and end", "DEPOT", True, refers=SITES),
        Column("seats", whole(1, 100), "seats, the driver's included", "7", True),
        Column("payload_kg", number(0, 100_000), "what the vehicle may carry, people included, kg", "900", True),
        Column("space_l", number(0, 1_000_000), "loading space, litres; blank = not limited", "1500"),
        Column("box_models", whole(0, 100), "box models it has", "2", True),
        Column("price_per_km", MONEY, "price a kilometre", "950", True),
        Column("price_per_day", MONEY, "price a day out; blank = 0", "45000"),
        Column("drivers", whole(1, 10), "drivers on board; blank = 1", "1"),
        *available("the crew"),
    ),
    required=True,
)

ROADS = Table(
    "roads",
    "roads",
    Road,
    ("from", "to"),
    "stretches of road; a row repeated adds a closure",
    (
        Column("from", CODE, "facility or place at one end", "RIV", True, "start", SITES),
        Column("to", CODE, "facility or place at the other end", "LAK", True, "end", SITES),
        Column("km", number(0, 20_000), "length, km", "48"),
        Column("hours", number(0, 200), "driving hours; where given they stand instead of km", "1.25"),
        Column("surface", one_of(Surface, "surface"), "surface", "gravel"),
        Column("closed_from", DATE, "first date of a closure", "2027-02-03"),
        Column("closed_to", DATE, "last date of a closure", "2027-02-06"),
        Column("open_from", CLOCK, "a crossing works from", "06:30"),
        Column("open_to", CLOCK, "a crossing works until", "17:30"),
        Column("oneway", YES_NO, "only in the direction written", "no"),
    ),
)

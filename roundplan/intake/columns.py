"""Every table and column of the inputs: what it means, an example, how its cells are read.

The reader, the blank tables, the guide sheet and the snapshot are all made from :data:`TABLES`.
"""

from __future__ import annotations

from dataclasses import dataclass

from roundplan.domain.crew import Crew
from roundplan.domain.decision import BudgetLine, Contact, CostLine, Do, Lock, LockKind
from roundplan.domain.facility import Facility
from roundplan.domain.person import Absence, Duty, LedgerEntry, Person, Relief
from roundplan.domain.place import Place, Road
from roundplan.domain.role import (
    DutyKind,
    Include,
    Lead,
    OnSiteCover,
    PlaceKind,
    Role,
    SessionRoom,
    Surface,
    Transport,
)
from roundplan.domain.supply import Case, Item, ItemKind, Per, Stock
from roundplan.domain.trainer import Trainer
from roundplan.intake.day_kinds import CLOCK, DATE, DAYS, WEEKDAYS
from roundplan.intake.kinds import CODE, MONEY, TEXT, Kind, number, whole
from roundplan.intake.word_kinds import (
    CODES,
    COUNTS,
    LANGUAGES,
    OWN_ROLES,
    ROLES,
    YES_NO,
    one_of,
    one_of_words,
    some_of,
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table.

    Attributes
    ----------
    name : str
        Heading.
    kind : Kind
        How its cells are read.
    meaning, example : str
        What the guide says.
    required : bool
        Whether the column must exist and each row must fill it in.
    field : str
        Name of the field in the domain type; the heading where empty.
    refers : tuple of str
        Tables whose codes the cell names.
    """

    name: str
    kind: Kind
    meaning: str
    example: str
    required: bool = False
    field: str = ""
    refers: tuple[str, ...] = ()

    @property
    def attribute(self) -> str:
        """Field of the domain type."""
        return self.field or self.name


@dataclass(frozen=True, slots=True)
class Table:
    """One table.

    Attributes
    ----------
    name : str
        Name of the file or sheet.
    attribute : str
        Field of the round that holds its rows; empty for contacts, which the round does not hold.
    makes : type
        Domain type of a row.
    key : tuple of str
        Columns that identify a row when a cross-check speaks of it; empty = the number of the row.
    """

    name: str
    attribute: str
    makes: type
    key: tuple[str, ...]
    meaning: str
    columns: tuple[Column, ...]
    required: bool = False

    def column(self, name: str) -> Column:
        """Return a column by its heading."""
        return next(column for column in self.columns if column.name == name)


SITES = ("facilities", "places")
LATITUDE, LONGITUDE = number(-90, 90), number(-180, 180)
STATIONS, BODIES, BEDS = whole(0, 50), whole(1, 500), whole(0, 10_000)
QUANTITY = number(0, 1_000_000)
SIZE = number(0, 1_000_000, above_low=True)


def _from_to(what: str) -> tuple[Column, Column]:
    return (
        Column("from", DATE, f"first date {what}, included", "2027-02-01", True, "first"),
        Column("to", DATE, f"last date {what}, included", "2027-02-05", True, "last"),
    )


def _available(what: str) -> tuple[Column, Column]:
    return (
        Column("available_from", DATE, f"first date on which {what} can be used; blank = any", "2027-02-01"),
        Column("available_to", DATE, f"last date on which {what} can be used; blank = any", "2027-03-12"),
    )


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

STAFF = Table(
    "staff",
    "people",
    Person,
    ("person",),
    "staff of the facilities: those who train and those who stay as cover",
    (
        Column("person", CODE, "code of the person", "RIV-01", True, "code"),
        Column("name", TEXT, "name as colleagues know it", "Tamara Phiri", True),
        Column("facility", CODE, "facility where the person works", "RIV", True, refers=("facilities",)),
        Column("roles", OWN_ROLES, "roles authorised to sit in, the main one first", "anaesthetist", True),
        Column("cover_roles", ROLES, "roles they can cover; blank = as roles; none = never covers", "anaesthetist"),
        Column("languages", LANGUAGES, "languages spoken", "ny; en"),
        Column("works_days", WEEKDAYS, "weekdays for training; blank = the round's; never limits cover", "MO; WE"),
        Column("second_seat", YES_NO, "may also sit as a guest in another team", "no"),
        Column("include", one_of(Include, "choice"), "whether to seat them; blank = may", "must"),
        Column("learner", YES_NO, "a learner never covers", "no"),
    ),
    required=True,
)

DUTIES = Table(
    "duties",
    "duties",
    Duty,
    ("person", "date"),
    "the roster, where there is one",
    (
        Column("person", CODE, "code of the person", "RIV-01", True, refers=("staff",)),
        Column("date", DATE, "date; a night is dated by its evening", "2027-02-01", True),
        Column("shift", one_of(DutyKind, "shift"), "what the roster says", "night", True, "kind"),
    ),
)

ABSENCES = Table(
    "absences",
    "absences",
    Absence,
    ("who", "from"),
    "leave of people and trainers, vehicles out of use",
    (
        Column("who", CODE, "person, trainer or crew", "RIV-01", True, refers=("staff", "trainers", "crews")),
        *_from_to("away"),
        Column("kind", TEXT, "why, in a word", "leave"),
    ),
)

RELIEF = Table(
    "relief",
    "relief",
    Relief,
    ("person", "from"),
    "staff lent to another facility",
    (
        Column("person", CODE, "code of the person", "RIV-02", True, refers=("staff",)),
        Column("facility", CODE, "facility they are lent to", "LAK", True, refers=("facilities",)),
        *_from_to("of the loan"),
    ),
)

TRAINERS = Table(
    "trainers",
    "trainers",
    Trainer,
    ("trainer",),
    "trainers who travel with the crews",
    (
        Column("trainer", CODE, "code of the trainer", "T1", True, "code"),
        Column("name", TEXT, "name", "Chikondi Mwale", True),
        Column("lives_at", CODE, "facility or place where they join and leave trips", "LAK", True, refers=SITES),
        Column("leads", some_of(Lead, "lead"), "what they can lead", "director; surgery", True),
        Column("languages", LANGUAGES, "languages spoken", "ny; en"),
        *_available("the trainer"),
        Column("nights_away_limit", whole(0, 60), "most nights away in a row; blank = the round's", "5"),
        Column("day_price", MONEY, "fee or allowance a day; blank = the round's", "40000"),
        Column("person", CODE, "code in the staff table, if also facility staff", "LAK-03", refers=("staff",)),
        Column("crew", CODE, "the only crew they may join; blank = any", "NORTH", refers=("crews",)),
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
        *_available("the crew"),
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

SUPPLIES = Table(
    "supplies",
    "items",
    Item,
    ("item",),
    "what a round uses up or carries",
    (
        Column("item", CODE, "code of the item", "skin", True, "code"),
        Column("name", TEXT, "what it is", "Skin layer, cut to size", True),
        Column("kind", one_of(ItemKind, "kind of item"), "comes back or is used up", "consumable", True),
        Column("per", one_of(Per, "measure"), "what the quantity goes by", "wall", True),
        Column("quantity", QUANTITY, "units for each of these", "1", True),
        Column("unit", TEXT, "unit", "piece", True),
        Column("pack_size", SIZE, "units in a sealed pack; blank = 1", "10"),
        Column("pack_price", MONEY, "price a pack; blank = cannot be bought", "28000"),
        Column("supplier", TEXT, "who sells it", "Market tailor"),
        Column("lead_days", whole(0, 400), "working days from order to delivery; blank = not in time", "7"),
        Column("unit_weight_kg", number(0, 10_000), "weight of a unit, kg", "0.12"),
        Column("unit_volume_l", number(0, 100_000), "volume of a unit, litres", "0.5"),
        Column("spare", QUANTITY, "units to hold beyond the need", "2"),
        Column("wastage_percent", number(0, 100, below_high=True), "share lost, %", "10"),
        Column("uses", SIZE, "life of a reusable, in simulations; blank = outlasts the round", "50"),
        Column("latex", YES_NO, "holds latex", "no"),
        Column("sharp", YES_NO, "cuts or pricks: counted out and in at each session", "no"),
        Column("expiry", DATE, "expires on", "2028-06-30"),
    ),
    required=True,
)

STOCK = Table(
    "stock",
    "stock",
    Stock,
    ("item", "place"),
    "what lies in store or is under way",
    (
        Column("item", CODE, "code of the item", "skin", True, refers=("supplies",)),
        Column("place", CODE, "facility or place where it lies", "DEPOT", True, refers=SITES),
        Column("quantity", QUANTITY, "units", "24", True),
        Column("due", DATE, "date of a delivery under way; blank = there now", "2027-01-25"),
    ),
)

CASES = Table(
    "cases",
    "cases",
    Case,
    ("case",),
    "cases that teams simulate; each needs approval before use",
    (
        Column("case", CODE, "code of the case", "obstructed", True, "code"),
        Column("name", TEXT, "its name", "Obstructed labour", True),
        Column("stop_rule", TEXT, "when the director ends it", "when the baby is out and bleeding is stopped", True),
        Column("roles", ROLES, "roles it needs beyond the minimum", "newborn care"),
        Column("extra_items", CODES, "items it needs besides the usual", "red-fluid", refers=("supplies",)),
        Column("approved_by", TEXT, "who approved it for use here", "Regional clinical lead"),
        Column("approved_on", DATE, "date of the approval", "2026-11-27"),
    ),
    required=True,
)

LEDGER = Table(
    "ledger",
    "ledger",
    LedgerEntry,
    ("person", "date"),
    "who was trained before",
    (
        Column("person", CODE, "code of the person", "RIV-01", True, refers=("staff",)),
        Column("role", one_of(Role, "role"), "role in which they trained", "anaesthetist", True),
        Column("date", DATE, "date of the training", "2026-03-10", True),
        Column("round", TEXT, "name of that round", "First round"),
        Column("result", one_of_words(("trained", "partly", "absent"), "result"), "blank = trained", "trained"),
    ),
)

LOCKS = Table(
    "locks",
    "locks",
    Lock,
    (),
    "what the plan must keep or must not do",
    (
        Column("do", one_of(Do, "choice"), "keep or forbid", "forbid", True),
        Column("kind", one_of(LockKind, "kind of lock"), "what it speaks of", "session", True),
        Column("who", CODE, "person, trainer or facility", "RIV-01", refers=("staff", "trainers", "facilities")),
        Column("role", one_of(Role, "role"), "role, for a seat", "scrub"),
        Column("date", DATE, "date; blank = any", "2027-02-12"),
        Column("place", CODE, "venue; blank = any", "LAK", refers=SITES),
        Column("crew", CODE, "crew; blank = any", "NORTH", refers=("crews",)),
        Column("why", TEXT, "reason, for the readers", "Floor is being laid"),
    ),
)

BUDGET = Table(
    "budget",
    "budget",
    BudgetLine,
    ("line",),
    "money set aside by cost line",
    (
        Column("line", one_of(CostLine, "cost line"), "cost line", "crew travel", True),
        Column("amount", MONEY, "amount", "2400000", True),
        Column("note", TEXT, "note", "Fuel and wear"),
    ),
)

CONTACTS = Table(
    "contacts",
    "",
    Contact,
    ("who",),
    "phone and email, kept apart from everything else",
    (
        Column("who", TEXT, "person, trainer, facility, district, supplier, or manager", "manager", True),
        Column("phone", TEXT, "phone", "+265 000 000 101"),
        Column("email", TEXT, "email", "round@training.example"),
    ),
)

TABLES: tuple[Table, ...] = (
    FACILITIES,
    STAFF,
    DUTIES,
    ABSENCES,
    RELIEF,
    TRAINERS,
    PLACES,
    CREWS,
    ROADS,
    SUPPLIES,
    STOCK,
    CASES,
    LEDGER,
    LOCKS,
    BUDGET,
    CONTACTS,
)
BY_NAME: dict[str, Table] = {table.name: table for table in TABLES}

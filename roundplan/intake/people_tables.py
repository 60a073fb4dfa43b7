"""The tables of people: staff, their duties and absences, trainers, who was trained before, contacts."""

from __future__ import annotations

from roundplan.domain.decision import Contact
from roundplan.domain.person import Absence, Duty, LedgerEntry, Person, Relief
from roundplan.domain.role import (
    DutyKind,
    Include,
    Lead,
    Role,
    Shift,
)
from roundplan.domain.trainer import Trainer
from roundplan.intake.day_kinds import DATE, WEEKDAYS
from roundplan.intake.kinds import CODE, MONEY, TEXT, whole
from roundplan.intake.table import SITES, Column, Table, available, from_to
from roundplan.intake.word_kinds import (
    LANGUAGES,
    OWN_ROLES,
    ROLES,
    YES_NO,
    one_of,
    one_of_words,
    some_of,
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
        *from_to("away"),
        Column("kind", TEXT, "why, in a word", "leave"),
        Column("shift", one_of(Shift, "shift"), "of staff: day or night alone; blank = both", "night"),
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
        *from_to("of the loan"),
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
        *available("the trainer"),
        Column("nights_away_limit", whole(0, 60), "most nights away in a row; blank = the round's", "5"),
        Column("day_price", MONEY, "fee or allowance a day; blank = the round's", "40000"),
        Column("person", CODE, "code in the staff table, if also facility staff", "LAK-03", refers=("staff",)),
        Column("crew", CODE, "the only crew they may join; blank = any", "NORTH", refers=("crews",)),
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

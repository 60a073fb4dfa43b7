"""The tables of what a round uses and what is decided about it: supplies, stock, cases, locks, budget."""

from __future__ import annotations

from roundplan.domain.decision import BudgetLine, CostLine, Do, Lock, LockKind
from roundplan.domain.role import (
    Role,
)
from roundplan.domain.supply import Case, Item, ItemKind, Per, Stock
from roundplan.intake.day_kinds import DATE
from roundplan.intake.kinds import CODE, MONEY, TEXT, number, whole
from roundplan.intake.table import SITES, Column, Table
from roundplan.intake.word_kinds import (
    CODES,
    ROLES,
    YES_NO,
    one_of,
)

QUANTITY = number(0, 1_000_000)
SIZE = number(0, 1_000_000, above_low=True)

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

"""Every table and column of the inputs: what it means, an example, how its cells are read.

The reader, the blank tables, the guide sheet and the snapshot are all made from :data:`TABLES`.
"""

from __future__ import annotations

from roundplan.intake.people_tables import ABSENCES, CONTACTS, DUTIES, LEDGER, RELIEF, STAFF, TRAINERS
from roundplan.intake.site_tables import CREWS, FACILITIES, PLACES, ROADS
from roundplan.intake.supply_tables import BUDGET, CASES, LOCKS, STOCK, SUPPLIES
from roundplan.intake.table import Table

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

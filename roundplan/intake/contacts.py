"""Whom the contacts belong to."""

from __future__ import annotations

from roundplan.intake.finding import Finding, did_you_mean
from roundplan.intake.raw import RawTables
from roundplan.intake.rows import TableRead, finding_at

MANAGER = "manager"


def check_contacts(reads: dict[str, TableRead], raw: RawTables, findings: list[Finding]) -> None:
    """Find contacts of nobody in the tables, contacts twice, and contacts without phone and email."""
    if not {"facilities", "staff", "trainers"} <= raw.present:
        return
    known = [MANAGER]
    for table, column in (
        ("staff", "person"),
        ("trainers", "trainer"),
        ("facilities", "facility"),
        ("facilities", "district"),
        ("supplies", "supplier"),
        ("places", "place"),
        ("crews", "crew"),
    ):
        known += raw.codes(table, column)
    names = set(known)
    first: dict[str, int] = {}
    for built in reads["contacts"].built:
        row, who = built.row, built.made.who
        if who not in names:
            remedy = did_you_mean(who, known, "use a code of the tables, a district, a supplier, or manager")
            findings.append(finding_at(row, "unknown-code", "who", "nobody in the tables is called so", remedy))
        if who in first:
            words = f"{who} stands in row {first[who]} too"
            findings.append(finding_at(row, "code-twice", "who", words, "keep one row"))
        first.setdefault(who, row.number)

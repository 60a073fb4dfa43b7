"""People whose names are not known yet, made from ``staff_counts``."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.person import Person
from roundplan.domain.role import Role
from roundplan.intake.rows import TableRead


def placeholders(facilities: TableRead, staff: TableRead, digits: int) -> Iterator[Person]:
    """Yield a placeholder for each head counted in a role for which the facility has no named person."""
    named = {(person.facility, role) for built in staff.built for person in [built.made] for role in person.roles}
    bad = facilities.bad
    kind = facilities.table.column("staff_counts").kind
    for built in facilities.built:
        row = built.row
        text = row.cells.get("staff_counts", "")
        if not text or (row.file, row.number, "staff_counts") in bad:
            continue
        for role, count in kind.read(text, digits):
            if (built.made.code, role) not in named:
                for number in range(1, count + 1):
                    yield placeholder(built.made.code, role, number)


def placeholder(facility: str, role: Role, number: int) -> Person:
    """Return the person who stands for one counted head."""
    return Person(
        code=f"{facility}-{role.value.replace(' ', '-')}-{number}",
        name=f"{role.value.capitalize()} {number}, name wanted",
        facility=facility,
        roles=(role,),
        cover_roles=(role,),
        placeholder=True,
    )

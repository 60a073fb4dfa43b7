"""What a table is: its columns, how each is read, what it makes, and columns that several tables share."""

from __future__ import annotations

from dataclasses import dataclass

from roundplan.intake.day_kinds import DATE
from roundplan.intake.kinds import Kind


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


def from_to(what: str) -> tuple[Column, Column]:
    """Return the first and last date of something."""
    return (
        Column("from", DATE, f"first date {what}, included", "2027-02-01", True, "first"),
        Column("to", DATE, f"last date {what}, included", "2027-02-05", True, "last"),
    )


def available(what: str) -> tuple[Column, Column]:
    """Return the dates between which something can be used."""
    return (
        Column("available_from", DATE, f"first date on which {what} can be used; blank = any", "2027-02-01"),
        Column("available_to", DATE, f"last date on which {what} can be used; blank = any", "2027-03-12"),
    )

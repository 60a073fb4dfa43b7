"""Replies as they were heard and as they are taken."""

from __future__ import annotations

from dataclasses import dataclass

from roundplan.followup.asked import Asked
from roundplan.intake.finding import Finding
from roundplan.slips.reading import Answer
from roundplan.slips.reply_code import Word

__all__ = ["Finding", "Heard", "Place", "Reply"]


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands: file, sheet (empty where there is one only), and row or line."""

    file: str
    sheet: str
    row: int

    @property
    def source(self) -> str:
        """File and sheet in words."""
        return f"{self.file}, sheet {self.sheet}" if self.sheet else self.file

    def __str__(self) -> str:
        return f"{self.source}, row {self.row}"


@dataclass(frozen=True, slots=True)
class Heard:
    """One row of a slip, or one typed reply."""

    place: Place
    said: Answer | str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """A reply that is good to take.

    Attributes
    ----------
    word : Word or None
        None = a remark alone.
    substitute : str
        Code of who comes or stays instead; only with ``replaced by``.
    confirmed_by, confirmed_when : str
        Of a shift's cover, as written.
    """

    asked: Asked
    place: Place
    word: Word | None
    substitute: str = ""
    confirmed_by: str = ""
    confirmed_when: str = ""
    remark: str = ""

    @property
    def content(self) -> tuple[str, str, str, str, str]:
        """What was replied, without where it stood."""
        return (self.word or "", self.substitute, self.confirmed_by, self.confirmed_when, self.remark)

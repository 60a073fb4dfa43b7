"""What a cross-check finds wrong, before anyone knows in which sheet row it stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Flaw:
    """One thing that is wrong.

    Attributes
    ----------
    table : str
        Table name, or ``round.toml``.
    key : str
        What identifies the row: its code, or several joined by `` / ``; empty for the whole table.
    field : str
        Column, or ``section.key`` of round.toml.
    words : str
        What is wrong, in plain words.
    remedy : str
        What to do about it.
    """

    table: str
    key: str
    field: str
    words: str
    remedy: str = ""


class FlawsFound(ValueError):
    """Raised once with everything that is wrong with a round."""

    def __init__(self, flaws: Sequence[Flaw]) -> None:
        self.flaws = tuple(flaws)
        super().__init__("; ".join(f"{flaw.table} {flaw.key} {flaw.field}: {flaw.words}" for flaw in self.flaws))

"""Trainers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from roundplan.domain.role import Lead


@dataclass(frozen=True, slots=True, kw_only=True)
class Trainer:
    """A trainer who may join a crew.

    Attributes
    ----------
    lives_at : str
        Code of the facility or place where the trainer joins and leaves trips, besides the crew's base.
    nights_away_limit : int or None
        Most nights away in a row; None = the round's.
    day_price : int or None
        Minor units a day; None = the round's ``trainer_day``.
    person : str or None
        Code of the same human being in the staff table.
    crew : str or None
        The only crew the trainer may join.
    """

    code: str
    name: str
    lives_at: str
    leads: frozenset[Lead]
    languages: tuple[str, ...] = ()
    available_from: date | None = None
    available_to: date | None = None
    nights_away_limit: int | None = None
    day_price: int | None = None
    person: str | None = None
    crew: str | None = None

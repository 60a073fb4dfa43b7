"""What a hand planner sees in one week of one crew: its trainers, the facilities it invites, the places it may sleep.

Roads, calendar and ways to attend are those of the whole round; the tables are cut down to what the week can touch.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping
from datetime import date
from functools import cached_property

from rivals.standing import homes_of

from roundplan.domain.crew import Crew
from roundplan.domain.person import Person
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.facts import Facts


def within(training_round: TrainingRound, crew: Crew, trainers: tuple[Trainer, ...], codes: Collection[str],
           left: Mapping[str, int]) -> TrainingRound:  # fmt: skip
    """Return the tables of some facilities, one crew and its trainers; no roads, which are looked up elsewhere.

    Parameters
    ----------
    codes : collection of str
        Facilities whose people the week may take or need as cover.
    left : mapping
        Teams that each invited facility may still send; the others send none.
    """
    touched = set(codes) | homes_of(trainers, training_round)
    wanted = touched | {s for f in training_round.facilities if f.code in touched and (s := f.refers_to) is not None}
    wanted |= {c for c in (crew.base, *(t.lives_at for t in trainers)) if training_round.is_facility(c)}
    facilities = tuple(
        dataclasses.replace(f, teams_wanted=left.get(f.code, 0), refers_to=f.refers_to if f.code in touched else None)
        for f in training_round.facilities
        if f.code in wanted
    )
    staff = [p for f in facilities for p in training_round.staff_of(f.code)]
    people = {p.code for p in staff}
    return TrainingRound(
        settings=dataclasses.replace(
            training_round.settings, teams=dataclasses.replace(training_round.settings.teams, guests=0)
        ),
        facilities=facilities,
        people=tuple(staff),
        duties=tuple(duty for duty in training_round.duties if duty.person in people),
        absences=tuple(
            a for a in training_round.absences if a.who in people or a.who == crew.code or _is_one(a.who, trainers)
        ),
        trainers=trainers,
        places=training_round.places,
        crews=(crew,),
        items=training_round.items,
        stock=training_round.stock,
        cases=training_round.cases,
        ledger=tuple(entry for entry in training_round.ledger if entry.person in people),
    )


def _is_one(code: str, trainers: tuple[Trainer, ...]) -> bool:
    return any(t.code == code for t in trainers)


class WeekFacts(Facts):
    """The facts of a week.

    Parameters
    ----------
    whole : Facts
        The facts of the round, whose roads and calendar are used.
    cut : TrainingRound
        The tables of the week; see :func:`within`.
    dates : tuple of date
        The week.
    seated : collection of str
        People who have had their training, who stay at home and cover.
    sleeping : tuple of str
        Sites where the crew may sleep.
    """

    def __init__(self, whole: Facts, cut: TrainingRound, dates: tuple[date, ...], seated: Collection[str],
                 sleeping: tuple[str, ...]) -> None:  # fmt: skip
        kept = {name: value for name, value in vars(whole).items() if not _worked_out(name)}
        vars(self).update(kept)
        self.round = cut
        self.settings = cut.settings
        self.dates = dates
        self._present, self._obstacles = {}, {}
        self._seated, self._sites = seated, sleeping

    @cached_property
    def sleeping(self) -> tuple[str, ...]:
        """Sites where the crew may sleep."""
        return self._sites

    def can_sit(self, person: Person, first: date) -> bool:
        """Whether a person can be seated; nobody twice."""
        return person.code not in self._seated and super().can_sit(person, first)


def _worked_out(name: str) -> bool:
    """Whether an attribute of the facts is worked out when first asked for, from the tables of the whole round."""
    return isinstance(getattr(Facts, name, None), cached_property)

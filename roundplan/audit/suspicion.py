"""The gatherer of structural breaches: known codes, possible dates and times, things that stand twice."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable
from dataclasses import replace
from datetime import date
from typing import TypeVar

from roundplan.audit.breach import Breach, day_words
from roundplan.domain.clock import DAY
from roundplan.domain.counts import counted
from roundplan.domain.plan import Drive
from roundplan.domain.rules import Rule
from roundplan.domain.training_round import TrainingRound

T = TypeVar("T")

MARGIN_DAYS = 60
"""Days before and after the round within which anything of its plan must lie."""


class Suspicion:
    """Gathers what does not hang together.

    Attributes
    ----------
    found : list of Breach
        In the order found.
    """

    def __init__(self, training_round: TrainingRound) -> None:
        self.found: list[Breach] = []
        self.round = training_round
        self.people = frozenset(person.code for person in training_round.people)
        self.trainers = frozenset(trainer.code for trainer in training_round.trainers)
        self.crews = frozenset(crew.code for crew in training_round.crews)
        self.facilities = frozenset(facility.code for facility in training_round.facilities)
        self.sites = frozenset(site.code for site in training_round.sites())
        self.items = frozenset(item.code for item in training_round.items)
        self.cases = frozenset(case.code for case in training_round.cases)
        settings = training_round.settings.round
        self._first = max(settings.first_day.toordinal() - MARGIN_DAYS, date.min.toordinal() + 2)
        self._last = min(settings.last_day.toordinal() + MARGIN_DAYS, date.max.toordinal() - 2)

    def say(self, rule: Rule, words: str, place: str | None = None, day: date | None = None) -> None:
        """Note a breach."""
        self.found.append(Breach(rule, words, (), place if place in self.sites else None, day))

    def known(self, code: str | None, names: Collection[str], rule: Rule, kind: str, where: str) -> bool:
        """Return whether a code is known, and note it if it is not."""
        if code in names:
            return True
        self.say(rule, f"{where} names {kind} {code}, which the inputs do not have")
        return False

    def possible_date(self, day: date, rule: Rule, where: str) -> bool:
        """Return whether a date lies about the round, and note it if it does not."""
        if self._first <= day.toordinal() <= self._last:
            return True
        self.say(rule, f"{where} has the date {day.isoformat()}, which is far outside the round")
        return False

    def clock(self, seconds: int, rule: Rule, where: str) -> int:
        """Return a time of day; one outside the day is noted and moved to its end."""
        if 0 <= seconds <= DAY:
            return seconds
        self.say(rule, f"{where} has a time of {counted(seconds, 'second')} after midnight, which is outside the day")
        return min(max(seconds, 0), DAY)

    def once(self, things: Iterable[T], key: Callable[[T], object], rule: Rule, where: str) -> tuple[T, ...]:
        """Return the first thing of each key, and note the others."""
        kept: dict[object, T] = {}
        for thing in things:
            name = key(thing)
            if name in kept:
                written = day_words(name) if isinstance(name, date) else name
                self.say(rule, f"{where} has {written} twice")
            else:
                kept[name] = thing
        return tuple(kept.values())

    def in_order(self, things: tuple[T, ...], key: Callable[[T], date], rule: Rule, where: str) -> tuple[T, ...]:
        """Return things by date, and note it if they were not."""
        ordered = tuple(sorted(things, key=key))
        if ordered != things:
            self.say(rule, f"the dates of {where} are not in order")
        return ordered

    def drive(self, drive: Drive, rule: Rule, where: str) -> Drive | None:
        """Return the drive with possible times; None if its places, date or length make no sense."""
        words = f"{where}, drive from {drive.start} to {drive.end} on {drive.date.isoformat()},"
        ends = [self.known(code, self.sites, rule, "the place", words) for code in (drive.start, drive.end)]
        if not (all(ends) and self.possible_date(drive.date, rule, words)):
            return None
        if not (math.isfinite(drive.km) and drive.km >= 0):
            self.say(rule, f"{words} has a length of {drive.km} km", drive.start, drive.date)
            return None
        depart, arrive = self.clock(drive.depart, rule, words), self.clock(drive.arrive, rule, words)
        if arrive < depart:
            self.say(rule, f"{words} arrives before it departs", drive.start, drive.date)
            arrive = depart
        return replace(drive, depart=depart, arrive=arrive)

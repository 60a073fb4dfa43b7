"""Of repairs that are equally good, the one that leaves most crews' dates and facilities' people as they were."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from ortools.sat.python import cp_model

from roundplan.solver.parts import Linear, Var
from roundplan.solver.repair.pins import Kind, Pin
from roundplan.solver.solving import evaluate

Group = tuple[bool, str, date]
"""Whether it is about people (else about a crew), whose, and the date."""


class Quiet:
    """Groups of choices that stay together as they were: those of a crew's date, those of a facility's first date.

    Parameters
    ----------
    model : CpModel
        The model that the choices are of.
    pins : iterable of Pin
        The choices that are open.
    """

    def __init__(self, model: cp_model.CpModel, pins: Iterable[Pin]) -> None:
        self.groups: dict[Group, list[Pin]] = defaultdict(list)
        self.model = model
        for pin in pins:
            self.groups[pin.kind in (Kind.SEAT, Kind.VISIT), pin.who, pin.day].append(pin)

    def disturbed(self) -> Linear:
        """Return how many groups are not all as they were."""
        flags = []
        for (people, who, day), pins in self.groups.items():
            flag = self.model.new_bool_var(f"disturbed[{people},{who},{day}]")
            flags.append(flag)
            for pin in pins:
                for away in _away(pin):
                    self.model.add(away <= _most(pin.var) * flag)
        return sum(flags)

    def keep(self, values: Sequence[int]) -> None:
        """Hold the groups that a solution leaves as they were."""
        for pins in self.groups.values():
            if all(evaluate(pin.var, values) == pin.value for pin in pins):
                for pin in pins:
                    self.model.add(pin.var == pin.value)


def _away(pin: Pin) -> list[Linear]:
    return [pin.var - pin.value, pin.value - pin.var]


def _most(var: Var) -> int:
    least, *_, most = (int(end) for end in var.proto.domain)
    return max(abs(most), most - least, 1)

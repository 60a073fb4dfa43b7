"""One round under changed settings: what is changed, and what became of its search."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from roundplan.domain.plan import Plan, Reason
from roundplan.domain.training_round import TrainingRound


class ChangeKind(StrEnum):
    """What a change changes."""

    SETTING = "setting"
    CREW = "without crew"
    TRAINER = "without trainer"
    TABLE = "other table"
    ROADS = "slower roads"
    ILL = "trainer ill"
    LOST = "vehicle lost"
    NO_GUESTS = "no guests"


@dataclass(frozen=True, slots=True)
class Change:
    """One change.

    Attributes
    ----------
    subject : str
        ``section.key`` of a setting, code of a crew or trainer, name of a table; what kinds of their own need none.
    name : str
        What readers call the subject.
    value : str
        The setting's new value, or the factor on road times.
    """

    kind: ChangeKind
    subject: str = ""
    name: str = ""
    value: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be compared with the round as entered.

    Attributes
    ----------
    settings : sequence of str
        ``section.key=value``; a key given again is one more column.
    without : sequence of str
        Codes of crews or trainers, one column each.
    tables : sequence of Path
        Files that stand for the table of the same name, one column each.
    stress : bool
        Add the ready-made stress tests.
    combine : bool
        One column for each combination instead of one for each change.
    """

    settings: Sequence[str] = ()
    without: Sequence[str] = ()
    tables: Sequence[Path] = ()
    stress: bool = False
    combine: bool = False


class End(StrEnum):
    """How a search ended."""

    FOUND = "found"
    IMPOSSIBLE = "impossible"
    OUT_OF_TIME = "out of time"
    BREACH = "breach"


@dataclass(frozen=True, slots=True)
class Solved:
    """What became of one search.

    Attributes
    ----------
    plan : Plan or None
        Audited: every rule is kept. None unless it was found.
    reasons : tuple of Reason
        What stands in the way where no plan is possible.
    breaches : tuple of str
        What a plan broke, by a fault of the program, so that it was left out.
    """

    end: End
    plan: Plan | None = None
    reasons: tuple[Reason, ...] = ()
    breaches: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Scenario:
    """A round as changed and what became of it; without changes it is the round as entered."""

    changes: tuple[Change, ...]
    training_round: TrainingRound
    solved: Solved | None = None

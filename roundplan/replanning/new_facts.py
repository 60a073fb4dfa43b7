"""The use cases about new facts: take some in, tell which are in force, withdraw one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.outcome import FactsRefused, WrongPlace
from roundplan.outfolder.outputs import user_name
from roundplan.outfolder.places import StrPath
from roundplan.outfolder.records import Waits, folder_of, record_of, told_plan

if TYPE_CHECKING:
    from sqlite3 import Connection

    from roundplan.followup.facts import Fact
    from roundplan.followup.single_facts import Now
    from roundplan.intake.changes import ChangedRow
    from roundplan.intake.finding import Finding

WITHDRAW, UNLOCK = "withdraw", "unlock"
"""Words of a single fact that are about other facts and locks."""


@dataclass(frozen=True, slots=True)
class FactsTaken:
    """What taking facts in did.

    Attributes
    ----------
    taken : int
        Rows that were not in force before.
    in_force : tuple of str
        All facts in force, one line each.
    """

    taken: int
    in_force: tuple[str, ...]


def take_facts(
    out: StrPath, files: Sequence[StrPath], *, who: str | None = None, why: str | None = None, waits: Waits = None
) -> FactsTaken:
    """Use case: take new facts in from tables, all of them at one moment, or none; without files, tell which hold.

    Parameters
    ----------
    who, why : str or None
        Who enters them, and why; the user of the machine, and which files they came in.

    Raises
    ------
    FactsRefused
        With everything that is wrong in them.
    WrongPlace
        If nothing has been announced there, or the record cannot be used.
    """
    from roundplan.intake.changes import read_changes

    if not files:
        return _listed(out, waits)
    findings: list[Finding] = []
    rows = [row for file in files for row in read_changes(Path(file), findings)]
    if findings:
        raise FactsRefused([str(finding) for finding in findings])
    reason = why or f"from {', '.join(Path(file).name for file in files)}"
    return _take(out, lambda _: rows, who, reason, waits)


def take_fact(
    out: StrPath, word: str, said: Sequence[str], *, who: str | None = None, why: str | None = None, waits: Waits = None
) -> FactsTaken:
    """Use case: take one fact in, said in a few words; or withdraw one, or take a lock out of the tables.

    Parameters
    ----------
    word : str
        What it begins with: one of ``single_facts.WORDS``, ``withdraw`` or ``unlock``.
    said : sequence of str
        What follows.

    Raises
    ------
    FactsRefused, WrongPlace
        As for :func:`take_facts`; a fact that cannot be made out is a WrongPlace.
    """
    from roundplan.followup.single_facts import understood, unlocked

    if word == WITHDRAW:
        return _withdraw(out, _number(word, said), who, why or "no longer so", waits)
    if word == UNLOCK:
        number = _number(word, said)
        return _take(out, lambda now: unlocked(now, number), who, why or f"lock {number} is given up", waits)
    return _take(out, lambda now: understood(now, word, said), who, why or " ".join((word, *said)), waits)


def _number(word: str, said: Sequence[str]) -> int:
    if len(said) != 1 or not said[0].isascii() or not said[0].isdecimal():
        raise WrongPlace(f"give {word} the number of a {'fact' if word == WITHDRAW else 'lock'}")
    return int(said[0])


def _take(
    out: StrPath, rows_of: Callable[[Now], Sequence[ChangedRow]], who: str | None, why: str, waits: Waits
) -> FactsTaken:
    from roundplan.followup.facts import add_facts, batches, fact_lines, in_force
    from roundplan.followup.record import writing
    from roundplan.followup.single_facts import NotUnderstood, Now
    from roundplan.followup.versions import Author
    from roundplan.intake import FindingsError
    from roundplan.replanning.situation import read_with

    with record_of(folder_of(out, waits), waits) as connection:
        told = told_plan(connection, out)
        assert connection is not None
        earlier = batches(in_force(connection))
        try:
            before = read_with(connection, earlier)
            rows = rows_of(Now(before.training_round, before.tables))
            after = read_with(connection, [*earlier, rows]) if rows else before
        except NotUnderstood as wrong:
            raise WrongPlace(str(wrong)) from wrong
        except FindingsError as error:
            raise FactsRefused([str(finding) for finding in error.findings]) from error
        with writing(connection):
            taken = add_facts(connection, told.version, rows, Author(who or user_name(), why))
        return FactsTaken(taken, tuple(fact_lines(in_force(connection), after.training_round.name_of)))


def _listed(out: StrPath, waits: Waits) -> FactsTaken:
    """Tell which facts are in force, also where they do not fit the tables any more."""
    from roundplan.followup.facts import fact_lines, in_force

    with record_of(folder_of(out, waits), waits) as connection:
        told = told_plan(connection, out)
        assert connection is not None
        return FactsTaken(0, tuple(fact_lines(in_force(connection), told.index.training_round.name_of)))


def _withdraw(out: StrPath, number: int, who: str | None, why: str, waits: Waits) -> FactsTaken:
    from roundplan.followup.facts import batches, fact_lines, in_force, withdraw
    from roundplan.followup.record import writing
    from roundplan.followup.versions import Author
    from roundplan.intake import FindingsError
    from roundplan.replanning.situation import read_with

    with record_of(folder_of(out, waits), waits) as connection:
        told = told_plan(connection, out)
        assert connection is not None
        facts = in_force(connection)
        if number not in {fact.id for fact in facts}:
            raise WrongPlace(f"no fact {number} is in force; list them with: roundplan facts {out}")
        try:
            read_with(connection, batches([fact for fact in facts if fact.id != number]))
        except FindingsError as error:
            if _fit(connection, facts):
                raise FactsRefused([str(finding) for finding in error.findings]) from error
        with writing(connection):
            withdraw(connection, told.version, number, Author(who or user_name(), why))
        return FactsTaken(1, tuple(fact_lines(in_force(connection), told.index.training_round.name_of)))


def _fit(connection: Connection, facts: Sequence[Fact]) -> bool:
    """Whether facts fit the round's own tables; after these were announced anew, some may not."""
    from roundplan.followup.facts import batches
    from roundplan.intake import FindingsError
    from roundplan.replanning.situation import read_with

    try:
        read_with(connection, batches(facts))
    except FindingsError:
        return False
    return True

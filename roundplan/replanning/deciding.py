"""The use cases that end a proposal: the manager accepts it, and readers are told anew; or refuses it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from roundplan.domain.outcome import WrongPlace
from roundplan.domain.plan import Plan
from roundplan.outfolder.outputs import documents_with, user_name, write_version
from roundplan.outfolder.places import StrPath
from roundplan.outfolder.records import Waits, folder_of, record_of, told_plan

if TYPE_CHECKING:
    from sqlite3 import Connection

    from roundplan.followup.proposals import Proposal
    from roundplan.replanning.situation import Situation


@dataclass(frozen=True, slots=True)
class Decision:
    """What became of a proposal.

    Attributes
    ----------
    version : int
        The version that readers are told now.
    changed : bool
        False if that had been decided before; then nothing was written.
    documents : tuple of str
        Paths of readers' documents that are new or have changed, in the folder; all others are as readers have them.
    """

    proposal: int
    version: int
    changed: bool
    documents: tuple[str, ...] = ()


class _Decided(Exception):
    """Another command has accepted it meanwhile: the folder stays as it is."""

    def __init__(self, decision: Decision) -> None:
        self.decision = decision
        super().__init__()


def accept(out: StrPath, *, who: str | None = None, why: str | None = None, waits: Waits = None) -> Decision | None:
    """Use case: the open proposal becomes what readers are told, if nothing has come in since; None if there is none.

    Raises
    ------
    WrongPlace
        If replies or facts came in, or a day has gone by, since it was made.
    AuditFailed
        If it breaks a rule.
    """
    from roundplan.followup.proposals import decide
    from roundplan.followup.record import writing
    from roundplan.followup.versions import REVISED, Author
    from roundplan.handouts.codec import plan_from_json

    folder = folder_of(out, waits)
    author = Author(who or user_name(), why or "the proposal was accepted")
    with record_of(folder, waits) as connection:
        told_plan(connection, out)
        assert connection is not None
        found = _lying(connection, out)
        if found is None or isinstance(found, Decision):
            return found
        proposal, now = found

    def settle(fresh: Connection) -> Plan:
        again = _lying(fresh, out)
        if isinstance(again, Decision) and again.proposal == proposal.id:
            raise _Decided(again)
        if again is None or isinstance(again, Decision) or again[0] != proposal:
            raise WrongPlace(
                f"another command decided about the proposal in {out} meanwhile; run: roundplan replan {out}"
            )
        plan = plan_from_json(proposal.plan)
        with writing(fresh):
            decide(fresh, now.told.version, proposal, author, plan.version)
        return plan

    plan = plan_from_json(proposal.plan)
    try:
        made = write_version(plan, settle, now.reading, folder, author, status=REVISED, waits=waits)
    except _Decided as earlier:
        return earlier.decision
    documents = documents_with(folder, made.version, waits)
    return Decision(proposal.id, made.version, changed=True, documents=documents)


def _lying(connection: Connection, out: StrPath) -> tuple[Proposal, Situation] | Decision | None:
    """Return the open proposal with how things stand; or what was decided last, or None.

    Raises
    ------
    WrongPlace
        If things no longer stand as when it was made.
    """
    from roundplan.followup.proposals import last_accepted, open_proposal
    from roundplan.replanning.situation import situation_in

    now = situation_in(connection, out)
    proposal = open_proposal(connection)
    if proposal is None:
        accepted = last_accepted(connection)
        return Decision(accepted.id, now.told.version.number, changed=False) if accepted else None
    if proposal.basis != now.basis:
        raise WrongPlace(
            f"replies or facts came in, or a day has gone by, since proposal {proposal.id} was made; make a new one "
            f"with: roundplan replan {out}"
        )
    return proposal, now


def refuse(out: StrPath, *, why: str, who: str | None = None, waits: Waits = None) -> int | None:
    """Use case: the open proposal is refused and nothing changes; returns its number, None if there is none."""
    from roundplan.followup.proposals import decide, open_proposal
    from roundplan.followup.record import writing
    from roundplan.followup.versions import Author

    with record_of(folder_of(out, waits), waits) as connection:
        told = told_plan(connection, out)
        assert connection is not None
        proposal = open_proposal(connection)
        if proposal is None:
            return None
        with writing(connection):
            decide(connection, told.version, proposal, Author(who or user_name(), why), None)
        return proposal.id

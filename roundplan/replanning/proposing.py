"""The use case of a repair: search for the least change under all that has come since, and keep it as a proposal."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from roundplan.domain.outcome import ProvenImpossible, WrongPlace
from roundplan.domain.plan import Plan
from roundplan.domain.progress import Progress
from roundplan.outfolder.outputs import user_name
from roundplan.outfolder.places import StrPath
from roundplan.outfolder.records import Waits, folder_of, record_of, told_plan

if TYPE_CHECKING:
    from sqlite3 import Connection

    from roundplan.domain.repair import Repaired
    from roundplan.followup.asked import Asked
    from roundplan.followup.versions import Author
    from roundplan.replanning.situation import Situation


@dataclass(frozen=True, slots=True)
class Proposed:
    """What a repair comes to.

    Attributes
    ----------
    version : int
        The version that it would change.
    proposal : int or None
        Its number; None where nothing has to change.
    bearing : tuple of str
        What has come since that version was told, and whom to ask.
    told : tuple of str
        What would change, for whom, at what cost, and how sure it is the least.
    """

    version: int
    proposal: int | None
    bearing: tuple[str, ...]
    told: tuple[str, ...]


def replan(
    out: StrPath,
    *,
    who: str | None = None,
    why: str | None = None,
    release: Sequence[str] = (),
    seconds: float | None = None,
    seed: int | None = None,
    workers: int | None = None,
    progress: Callable[[Progress], None] | None = None,
    waits: Waits = None,
) -> Proposed:
    """Use case: look for the least change under all that has come since, and keep it in the record as a proposal.

    Parameters
    ----------
    who, why : str or None
        Who asks for it, and why; the user of the machine, and that replies and facts came.
    release : sequence of str
        Codes of people whose confirmed seats, or confirmed stay, are given free by those whose they are; needs ``why``.
    seconds, seed, workers : number or None
        Time for the search, its seed and the processor cores it uses; None = as ``[search]`` of the round says.

    Raises
    ------
    RepairImpossible
        If no plan keeps what is settled: which of it contradicts each other, and what could be given up.
    TimeRanOut, AuditFailed, InputsRefused, WrongPlace
        Nothing is proposed.
    """
    from roundplan.followup.versions import Author
    from roundplan.replanning.least_change import least_change
    from roundplan.replanning.situation import situation_in
    from roundplan.replanning.ways_out import with_ways_out

    folder = folder_of(out, waits)
    author = Author(who or user_name(), why or "replies and facts that came since")
    with record_of(folder, waits) as connection:
        told_plan(connection, out)
        assert connection is not None
        if release:
            _give_free(connection, out, release, author)
        now = situation_in(connection, out)
    try:
        repaired, plan = least_change(now, seconds, seed, workers, progress)
    except ProvenImpossible as proven:
        raise with_ways_out(proven, now, out) from proven
    with record_of(folder, waits) as connection:
        assert connection is not None
        if situation_in(connection, out).basis != now.basis:
            raise WrongPlace("replies or facts came in while the search went on; give the command again")
        return _propose(connection, now, repaired, plan, author)


def _give_free(connection: Connection, out: StrPath, release: Sequence[str], author: Author) -> None:
    """Record that people give free what they had agreed to."""
    from roundplan.followup.record import writing
    from roundplan.followup.released import release as give_free

    told = told_plan(connection, out)
    rows = [row for code in release for row in _promised(connection, out, code)]
    with writing(connection):
        give_free(connection, told.version, rows, told.index.training_round, author)


def _promised(connection: Connection, out: StrPath, code: str) -> list[Asked]:
    """Return what somebody has agreed to, seats and stays, from today on."""
    from roundplan.followup.asked import Kind
    from roundplan.followup.standing import State
    from roundplan.replanning.situation import situation_in

    now = situation_in(connection, out)
    shifts = {(s.asked.facility, s.asked.dates[0], s.asked.shift) for s in now.standings
              if s.asked.kind is Kind.SHIFT and s.state is State.CONFIRMED}  # fmt: skip
    rows = [
        s.asked
        for s in now.standings
        if s.asked.kind is not Kind.SHIFT
        and s.asked.dates[0] >= now.today
        and (
            (s.state is State.REPLACED and s.substitute == code)
            or (s.asked.person == code and s.state is State.CONFIRMED)
            or (
                s.asked.person == code
                and s.asked.kind is Kind.COVER
                and (s.asked.facility, s.asked.dates[0], s.asked.shift) in shifts
            )
        )
    ]
    if not rows:
        raise WrongPlace(f"{code} has confirmed neither a seat nor a stay that is still ahead; give the person's code")
    return rows


def _propose(connection: Connection, now: Situation, repaired: Repaired, plan: Plan, author: Author) -> Proposed:
    from roundplan.followup.confirmed import lost_agreements
    from roundplan.followup.proposals import propose
    from roundplan.followup.record import writing
    from roundplan.followup.versions import REVISED
    from roundplan.handouts.codec import plan_to_json
    from roundplan.replanning.proposal_words import bearing_lines, on_a_terminal, proposal_lines

    version = now.told.version
    bearing = on_a_terminal(bearing_lines(now))
    if plan is now.told.index.plan:
        return Proposed(version.number, None, bearing, ())
    agreed = lost_agreements(connection, plan, now.reading.training_round)
    told = on_a_terminal(proposal_lines(now, repaired, plan, agreed))
    text = plan_to_json(dataclasses.replace(plan, version=version.number + 1, status=REVISED))
    with writing(connection):
        made = propose(connection, version, now.basis, text, told, author)
    return Proposed(version.number, made.id, bearing, told)

"""What no plan can be below, from what is hurt alone."""

from __future__ import annotations

from collections.abc import Mapping

from roundplan.domain.changes import DAY, PERSON, STAFF, VENUE, Attended, SeatRef, seat_factor, time_factor
from roundplan.domain.repair import RepairTask
from roundplan.solver.repair.hurt import Hurt
from roundplan.solver.repair.stored import Stored


def points_bound(stored: Stored, task: RepairTask, hurt: Hurt, before: Mapping[str, Attended]) -> int:
    """Return the points that every plan has which loses no team.

    A team that attends as announced has those of the holders, trainers and crews who cannot be there; one on other
    dates has those of a day for each seat, one at another venue those of a venue.
    """
    return sum(_of_team(stored, task, hurt, before[code]) for code in before)


def _of_team(stored: Stored, task: RepairTask, hurt: Hurt, before: Attended) -> int:
    team = before.team
    factors = [seat_factor(SeatRef(team.code, s.person, s.role), task.released) for s in team.seats]
    gone = [PERSON * factor for number, factor in enumerate(factors) if (team.code, number) in hurt.seats]
    staff = sum((team.session, code) in hurt.trainers for code in before.trainers)
    staff += sum((team.session, code) in hurt.crews for code in before.crews)
    stays = sum(gone) + STAFF * staff
    moves = min(DAY, VENUE) * sum(factors)
    return time_factor(team, task.today) * min(stays, moves)

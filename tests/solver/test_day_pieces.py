"""Straight pieces of the day against every start laid out one by one."""

from __future__ import annotations

import dataclasses

import pytest

from roundplan.domain.settings import SessionSettings
from roundplan.solver.timetable import day_pieces, day_table

HOUR = 3600
SHORT = SessionSettings(short_sessions=True)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"start_every": 0.5},
        {"start_every": 7.0, "teach_from": 7 * HOUR + 120},
        {"lunch": 0},
        {"pause": ((12 * HOUR, 13 * HOUR),), "lunch": 30},
        {"pause": ((10 * HOUR + 1800, 10 * HOUR + 2730), (15 * HOUR, 15 * HOUR + 1200)), "start_every": 1.0},
        {"opening": 0, "brief": 0, "debrief": 0, "reset": 0, "closing": 0, "simulate": 7},
        {"teach_to": 9 * HOUR},
        {"start_every": 0.0, "teach_from": 11 * HOUR + 1700, "teach_to": 14 * HOUR},
    ],
)
def test_pieces_say_what_every_start_says(changes: dict[str, object]) -> None:
    session = dataclasses.replace(SHORT, **changes)
    table = day_table(session)
    most = min(max((slots for _, slots in table), default=1), 8)
    found: dict[tuple[int, int], int] = {}
    for piece in day_pieces(session, most):
        for start in range(piece.first, piece.last + 1, session.start_step):
            assert (start, piece.slots) not in found
            found[start, piece.slots] = piece.ends(start)
    assert found == {key: end for key, end in table.items() if key[1] <= most}


def test_steps_are_whole_minutes_where_sessions_last_whole_days() -> None:
    assert SessionSettings(start_every=0).start_step == 60
    assert dataclasses.replace(SHORT, start_every=0.0).start_step == 1
    assert dataclasses.replace(SHORT, start_every=0.0, days=2).start_step == 60
    assert SessionSettings().start_step == 300

"""A round after its plan: announced, replies, a road closed, a trainer ill, repaired; what was agreed stays.

The suite takes an invented round of six facilities; ``python tests/followup/test_lives_on.py`` takes the demo, with
thirty replies, six of them no and two naming somebody else.
"""

from __future__ import annotations

import re
import sys
import tempfile
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from told_rounds import slips_alone

from roundplan import workflow
from roundplan.domain.plan import Plan
from roundplan.followup.asked import Kind
from roundplan.followup.clock import held_at
from roundplan.followup.record import opened
from roundplan.followup.standing import State
from roundplan.handouts.codec import plan_from_json
from roundplan.handouts.difference import Differences, differences
from roundplan.handouts.plan_index import PlanIndex
from roundplan.intake import read_round, write_round
from roundplan.replanning.situation import Situation, situation_in

DEMO = Path(__file__).parents[2] / "inputs_demo"


def situation(out: Path) -> Situation:
    with opened(out) as record:
        return situation_in(record, out)


def index_of(out: Path) -> PlanIndex:
    plan = plan_from_json((out / "plan.json").read_text("utf-8"))
    return PlanIndex(plan, read_round(out / "inputs").training_round)


def write_announced(folder: Path, tables: Path) -> Path:
    """Write a hand planner's plan of a round and announce it; returns the folder of outputs."""
    bench = str(Path(__file__).parents[1] / "bench")
    if bench not in sys.path:
        sys.path.append(bench)
    from rivals.greedy import greedy_plan

    reading = read_round(tables)
    with held_at(at(reading.training_round.announce_date())):
        workflow.write_handouts(greedy_plan(reading.training_round, seconds=60, seed=1), reading, folder / "OUT")
        workflow.announce(folder / "OUT", who="Anna")
    return folder / "OUT"


def at(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 9, tzinfo=UTC)


def answered(out: Path, replies: int, share: dict[str, int]) -> dict[str, int]:
    """Reply for so many seats, one facility after another; returns how often each word was said."""
    said = dict.fromkeys(("yes", "no", "by"), 0)
    lines = []
    told = situation(out).told
    seats = [row for row in told.question.rows if row.kind is Kind.SEAT]
    for row in seats[:: max(1, len(seats) // replies)][:replies]:
        others = _others(out, row.facility, {told.index.name(code) for code in told.eligible(row)})
        due = next((word for word in ("by", "no") if said[word] < share[word] and len(lines) % 3 == 1), "yes")
        word = "no" if due == "by" and not others else due
        said[word] += 1
        lines.append(f"{row.code} by {others[0]}" if word == "by" else f"{row.code} {word}")
    (out.parent / "said.txt").write_text("\n".join(lines), encoding="utf-8")
    done = workflow.take_replies(out, [out.parent / "said.txt"], who="Anna")
    assert (done.taken, done.findings) == (replies, ())
    return said


def _others(out: Path, facility: str, names: set[str]) -> list[str]:
    """Return the codes of those whom a slip offers and who may come."""
    text = (out / "slips" / f"{facility}.txt").read_text("utf-8")
    return [code for code, name in re.findall(r"^(\d+[A-Z]) ([^:]*):", text, re.M) if name in names]


def test_a_round_is_repaired_and_nothing_agreed_is_lost(tmp_path: Path) -> None:
    bench = str(Path(__file__).parents[1] / "bench")
    if bench not in sys.path:
        sys.path.append(bench)
    from generator import generate

    write_round(generate(6, 5, 2, seed=3), tmp_path / "tables")
    lives_on(write_announced(tmp_path, tmp_path / "tables"), 9, {"no": 2, "by": 1}, 8)


def lives_on(out: Path, replies: int, share: dict[str, int], seconds: float) -> None:
    """Let a round live through replies, an illness and a flood; what it comes to is checked."""
    index = index_of(out)
    with held_at(at(index.training_round.settings.round.first_day - timedelta(days=21))):
        said = answered(out, replies, share)
        assert {word: said[word] for word in share} == share
        last = index.plan.trips[-1].days[-1]
        ill, day = last.aboard[0].trainer, last.date
        workflow.take_fact(out, "absent", [ill, day.isoformat(), day.isoformat()], who="Anna", why="is ill")
        leg = next(leg.drive for leg in last.legs)
        start, end = _stretch(out, leg.start, leg.end, leg.via)
        closed = (day - timedelta(days=1)).isoformat()
        workflow.take_fact(out, "closed-road", [start, end, closed, closed], who="Anna", why="flooded")
        before = situation(out)
        made = workflow.replan(out, who="Anna", seconds=seconds)
        assert made.proposal == 1
        assert index_of(out).plan == index.plan, "a proposal changes nothing"
        done = workflow.accept(out, who="Anna", why="least change")
        assert done is not None
        assert (done.version, done.changed) == (2, True)
        assert workflow.audit_folder(out) == ()

    after = index_of(out)
    kept(before, after.plan, replies - sum(share.values()))
    assert ill not in {a.trainer for trip in after.plan.trips for d in trip.days for a in d.aboard if d.date == day}
    only_those_told_change(differences(index, after), made.told, done.documents)
    assert sum(line.startswith("  ") for line in workflow.tell_history(out)) >= replies


def _stretch(out: Path, start: str, end: str, via: tuple[str, ...]) -> tuple[str, str]:
    """Return a stretch of road on the way of a drive."""
    roads = {frozenset((road.start, road.end)) for road in situation(out).reading.training_round.roads}
    stops = (start, *via, end)
    return next((a, b) for a, b in pairwise(stops) if frozenset((a, b)) in roads)


def kept(before: Situation, plan: Plan, yes: int) -> None:
    venues = {session.code: session.venue for session in plan.sessions}
    seats = {(s.person, s.role, venues[t.session], t.dates) for t in plan.teams for s in t.seats}
    agreed = [s for s in before.standings if s.asked.kind is Kind.SEAT and s.state in (State.CONFIRMED, State.REPLACED)]
    assert len(agreed) >= yes
    for standing in agreed:
        asked = standing.asked
        assert (standing.substitute or asked.person, asked.role, asked.venue, asked.dates) in seats
    refused = [s.asked for s in before.standings if s.asked.kind is Kind.SEAT and s.state is State.DECLINED]
    sitting = {(s.person, day) for t in plan.teams for s in t.seats for day in t.dates}
    assert not {(asked.person, day) for asked in refused for day in asked.dates} & sitting


def only_those_told_change(found: Differences, told: tuple[str, ...], documents: tuple[str, ...]) -> None:
    """Whoever the proposal did not name has the same people, dates and stays in both plans, and the same slips."""
    names = {line.strip() for line in told if line.startswith("  ") and not line.startswith("   ")}
    before, after = found.matched.before, found.matched.after
    for facility in after.training_round.facilities:
        if facility.name not in names:
            seats = [[(t.dates, s.person, s.role) for t, s in i.seats_at(facility.code)] for i in (before, after)]
            assert seats[0] == seats[1]
            assert before.cover_at(facility.code) == after.cover_at(facility.code)
            assert not [path for path in documents if path.startswith(f"slips/{facility.code}.")]
    assert found.facilities


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place, pytest.MonkeyPatch.context() as patched:
        patched.setattr("roundplan.handouts.folder.documents", slips_alone)
        lives_on(write_announced(Path(place), DEMO), 30, {"no": 6, "by": 2}, 60)
    print("the demo lived on; nothing agreed was lost")

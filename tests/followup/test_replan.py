"""The least change: from replies and facts to a proposal, shown, refused or accepted, with nothing agreed lost.

The hand round on 20 May 2026: S1 on 2 June is 13 days off, S2 on 4 June 15 days, so that all points count twice.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from told_rounds import LATER, take

from roundplan import workflow
from roundplan.domain.outcome import ProvenImpossible, WrongPlace
from roundplan.domain.plan import Plan
from roundplan.followup.clock import held_at
from roundplan.handouts.codec import plan_from_json
from roundplan.intake import read_round


def reply(out: Path, text: str, **options: object) -> None:
    path = out.parent / "said.txt"
    path.write_text(text, encoding="utf-8")
    assert take(out, path, **options).findings == ()


def tell(out: Path, said: str) -> None:
    word, *rest = said.split(" ")
    with held_at(LATER):
        workflow.take_fact(out, word, rest, who="Anna")


def replan(out: Path, **options: object) -> workflow.Proposed:
    with held_at(LATER):
        return workflow.replan(out, who="Anna", workers=1, seconds=30, **options)  # type: ignore[arg-type]


def accept(out: Path) -> workflow.Decision | None:
    with held_at(LATER):
        return workflow.accept(out, who="Anna")


def plan_in(out: Path) -> Plan:
    return plan_from_json((out / "plan.json").read_text("utf-8"))


def holder(out: Path, facility: str, role: str) -> str:
    seats = [s for t in plan_in(out).teams if t.facility == facility for s in t.seats]
    return next(seat.person for seat in seats if seat.role == role)


def test_without_anything_new_nothing_has_to_change(announced: Path) -> None:
    made = replan(announced)
    assert (made.proposal, made.bearing, made.told) == (None, (), ())
    assert accept(announced) is None


def test_a_guest_who_declines_is_replaced_and_everybody_else_stays(announced: Path) -> None:
    reply(announced, "D1V no, B1T yes, B2V yes, C1U yes")
    made = replan(announced)

    assert made.bearing == (
        "Seats whose holders cannot come, and whom to ask, the first first:",
        "  South, Delt Clinic: surgical assistant instead of Name of DELT-A1, 2026-06-02 at Alfa Hospital. Ask:",
        "    1. Name of DELT-A3: may sit in this role and has no seat so far",
        "    2. Name of DELT-A2: may sit in this role and has no seat so far; named to stay then, so somebody else has "
        "to stay",
    )
    assert made.told[:2] == (
        "Nobody loses a team: every facility keeps as many as it had been told.",
        "Change: 6 points (no plan that loses as little could change less).",  # one person 3, twice
    )
    done = accept(announced)
    assert done is not None
    assert (done.proposal, done.version, done.changed) == (1, 2, True)
    assert {"slips/GAMA.xlsx", "slips/DELT.xlsx"} <= {*done.documents}
    plan = plan_in(announced)
    assert (plan.version, plan.status) == (2, "revised")
    assert holder(announced, "GAMA", "surgical assistant") != "DELT-A1"
    assert holder(announced, "BETA", "surgical provider") == "BETA-P1"
    assert workflow.audit_folder(announced) == ()
    assert accept(announced) == workflow.Decision(1, 2, changed=False), "given again, it does nothing"


def test_what_was_replied_stands_in_the_tables_of_the_new_version(announced: Path) -> None:
    reply(announced, "D1V no, B1T yes")
    replan(announced)
    accept(announced)
    locks = read_round(announced / "inputs").training_round.locks

    assert [(k.do.value, k.kind.value, k.who, k.place) for k in locks[-2:]] == [
        ("keep", "seat", "BETA-P1", "HALL"),
        ("forbid", "person", "DELT-A1", None),
    ]
    assert locks[-2].why == "confirmed: said.txt, row 1, taken in by Anna on 2026-05-20"


def test_the_one_named_to_come_instead_has_the_seat(announced: Path) -> None:
    reply(announced, "D1V by 5M")  # DELT-A3
    assert replan(announced).proposal == 1
    accept(announced)
    assert holder(announced, "GAMA", "surgical assistant") == "DELT-A3"


def test_a_standby_takes_the_seat_where_that_is_no_more_change(announced: Path) -> None:
    tell(announced, "absent ALFA-N1 2026-06-01 2026-06-03")  # standby: ALFA-N3; ALFA-N2 could, too
    made = replan(announced)
    assert (
        "    1. Name of ALFA-N3: stands by for this seat; named to stay then, so somebody else has to stay"
        in made.bearing
    )
    accept(announced)
    assert holder(announced, "ALFA", "anaesthetist") == "ALFA-N3"


def test_who_cannot_stay_is_not_named_in_that_shift(announced: Path) -> None:
    tell(announced, "cannot-stay BETA-P3 2026-06-04 night")
    assert replan(announced).proposal == 1
    accept(announced)
    named = {
        cover.shift.value: [person for _, person in cover.named]
        for cover in plan_in(announced).cover
        if cover.facility == "BETA" and cover.date.day == 4
    }
    assert "BETA-P3" not in named["night"]


def test_a_confirmed_seat_and_a_fact_that_contradict_each_other_are_named(announced: Path) -> None:
    reply(announced, "B1T yes")
    tell(announced, "absent BETA-P1 2026-06-02")
    with pytest.raises(ProvenImpossible) as proven:
        replan(announced)
    assert any("BETA-P1" in reason.who for reason in proven.value.reasons)

    with held_at(LATER), pytest.raises(WrongPlace, match="has confirmed neither a seat nor a stay"):
        workflow.replan(announced, release=["BETA-P2"], why="no")
    made = replan(announced, release=["BETA-P1"], why="is ill, gives the seat free")
    # the seat counts 3, twice, and three times more as it was given free: 18
    assert "Change: 18 points (no plan that loses as little could change less)." in made.told
    assert "Confirmed before, and other than it was:" not in made.told
    accept(announced)
    assert holder(announced, "BETA", "surgical provider") != "BETA-P1"


def test_a_proposal_is_refused_and_another_made(announced: Path) -> None:
    reply(announced, "D1V no")
    before = (announced / "plan.json").read_bytes()
    replan(announced)
    assert replan(announced).proposal == 1, "the same proposal lies open and is not made twice"
    with held_at(LATER):
        assert workflow.refuse(announced, why="ask Delt first", who="Anna") == 1
        assert workflow.refuse(announced, why="ask Delt first", who="Anna") is None
    assert accept(announced) is None
    assert (announced / "plan.json").read_bytes() == before
    assert replan(announced).proposal == 2
    assert any("proposal 1 refused" in line for line in workflow.tell_history(announced))


def test_a_proposal_is_not_accepted_once_replies_or_facts_came_in(announced: Path) -> None:
    reply(announced, "D1V no")
    replan(announced)
    reply(announced, "C1U yes")
    with pytest.raises(WrongPlace, match="since proposal 1 was made"):
        accept(announced)
    replan(announced)
    tell(announced, "cap 900")
    with pytest.raises(WrongPlace, match="since proposal 2 was made"):
        accept(announced)


def test_what_was_held_stays_whatever_becomes_known(announced: Path) -> None:
    """On 3 June S1 is over: who was ill then, and who would have declined, changes nothing of it."""
    from datetime import UTC, datetime

    with held_at(datetime(2026, 6, 3, 5, tzinfo=UTC)):
        workflow.take_fact(announced, "absent", ["ALFA-P1", "2026-06-01", "2026-06-05"], who="Anna")
        path = announced.parent / "late.txt"
        path.write_text("D1V no", encoding="utf-8")
        workflow.take_replies(announced, [path], who="Anna")
        assert workflow.replan(announced, workers=1, seconds=30).proposal is None
        workflow.take_fact(announced, "absent", ["BETA-N1", "2026-06-03", "2026-06-05"], who="Anna")
        assert workflow.replan(announced, workers=1, seconds=30).proposal == 1
        workflow.accept(announced)
    assert holder(announced, "ALFA", "surgical provider") == "ALFA-P1"
    assert holder(announced, "GAMA", "surgical assistant") == "DELT-A1"
    assert workflow.audit_folder(announced) == ()

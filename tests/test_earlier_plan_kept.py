"""A search that ends with a plan that breaks a rule: the first plan, audited on the way, is written instead."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan import cli, workflow
from roundplan.audit.kept import KeptPlan
from roundplan.domain.outcome import AuditFailed
from roundplan.domain.plan import Plan
from roundplan.domain.progress import Progress
from roundplan.intake import write_round


def with_an_empty_seat() -> Plan:
    """Return the plan worked out by hand, its first team without its first person."""
    plan = hand_plan()
    team, *others = plan.teams
    short = dataclasses.replace(team, seats=team.seats[1:])
    return dataclasses.replace(
        plan, teams=(short, *others), search=dataclasses.replace(plan.search, stopped="interrupted")
    )


@pytest.fixture
def inputs(tmp_path: Path) -> Path:
    write_round(hand_round(), tmp_path / "tables")
    return tmp_path / "tables"


@pytest.fixture
def search(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Return a function that puts a search in place by its first plan and the one it ends with."""

    def stand_in(first: Plan | None, last: Plan) -> None:
        def find(*_: object, first_plan: Callable[[Plan], None], **__: object) -> Plan:
            if first is not None:
                first_plan(first)
            return last

        monkeypatch.setattr("roundplan.solver.find_plan", find)

    return stand_in


def test_the_first_plan_is_written_and_what_the_last_one_broke_is_said(
    inputs: Path, tmp_path: Path, search: Callable[..., None], capsys: pytest.CaptureFixture[str]
) -> None:
    search(hand_plan(), with_an_empty_seat())
    out = tmp_path / "OUT"
    assert cli.main(["plan", str(inputs), "--out", str(out)]) == 0
    said, complained = capsys.readouterr()
    assert said.splitlines()[-1].startswith("The audit found every rule kept.")
    assert (
        "The plan that the search ended with breaks rules, by a fault of the program, and was left out." in complained
    )
    assert "\n  team-minimum: T01" in complained
    written = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert [len(team["seats"]) for team in written["teams"]] == [len(team.seats) for team in hand_plan().teams]
    assert written["search"]["stopped"] == "interrupted", "how the search ended stands, whichever plan is written"
    assert workflow.audit_folder(out) == ()


def test_a_last_plan_in_order_is_written_without_a_word(
    inputs: Path, tmp_path: Path, search: Callable[..., None], capsys: pytest.CaptureFixture[str]
) -> None:
    search(with_an_empty_seat(), hand_plan())
    assert cli.main(["plan", str(inputs), "--out", str(tmp_path / "OUT")]) == 0
    assert "left out" not in capsys.readouterr().err


@pytest.mark.parametrize("first", [None, with_an_empty_seat()], ids=["no first plan", "a first plan out of order"])
def test_with_no_plan_in_order_nothing_is_written(
    inputs: Path, tmp_path: Path, search: Callable[..., None], first: Plan | None
) -> None:
    search(first, with_an_empty_seat())
    with pytest.raises(AuditFailed, match="team-minimum"):
        workflow.plan_round(inputs, tmp_path / "OUT")
    assert not (tmp_path / "OUT").exists()


def test_the_last_plan_in_order_is_kept_and_each_is_reported() -> None:
    heard: list[Progress] = []
    kept = KeptPlan(hand_round(), heard.append)
    kept(with_an_empty_seat())
    assert kept.plan is None
    kept(hand_plan())
    kept(with_an_empty_seat())
    assert kept.plan == hand_plan()
    assert [report.note.split(":")[0] for report in heard] == ["first plan", "first plan, 3 teams", "first plan"]

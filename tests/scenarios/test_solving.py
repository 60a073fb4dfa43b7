"""Searches as tasks: audited, stored, taken up again; how they can end."""

from __future__ import annotations

from pathlib import Path

import pytest
from rounds import day, settings, staff, tiny_round

from roundplan.domain.means import Means
from roundplan.domain.scenario import End
from roundplan.domain.training_round import TrainingRound
from roundplan.scenarios import solving
from roundplan.scenarios.solving import Job, solve_all


def quick(**changes: object) -> TrainingRound:
    """Return a round of one date and without guests, which is proven in a moment."""
    return tiny_round(settings=settings(round={"last_day": day(0)}, teams={"guests": 0}), **changes)


def nobody(_: int) -> None:
    """Take no notice."""


def test_each_job_is_solved_and_audited() -> None:
    impossible = quick(people=staff("ALFA", "P") + staff("BETA", "P"))
    jobs = [Job(quick(), 60.0, 1), Job(impossible, 60.0, 1)]
    found, none = solve_all(jobs, Means(), nobody)
    assert found.end is End.FOUND
    assert found.plan is not None
    assert len(found.plan.teams) == 2
    assert found.plan.costs
    assert none.end is End.IMPOSSIBLE
    assert none.plan is None
    assert none.reasons


def test_a_plan_that_breaks_a_rule_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    from roundplan import audit

    monkeypatch.setattr(audit, "audit_plan", lambda plan, training_round: ("wrong",))
    monkeypatch.setattr(audit, "describe", list)
    (found,) = solve_all([Job(quick(), 60.0)], Means(), nobody)
    assert (found.end, found.plan, found.breaches) == (End.BREACH, None, ("wrong",))


def test_what_is_finished_is_not_searched_for_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[int | None] = []
    whole = solving.solved

    def noted(training_round: object, seconds: object, seed: int | None, search: object) -> object:
        begun.append(seed)
        if seed == 3 and len(begun) == 3:
            raise KeyboardInterrupt
        return whole(training_round, seconds, seed, search)  # type: ignore[arg-type]

    monkeypatch.setattr(solving, "solved", noted)
    jobs = [Job(quick(), 60.0, seed) for seed in (1, 2, 3)]
    with pytest.raises(KeyboardInterrupt):
        solve_all(jobs, Means(store=tmp_path / "store"), nobody)
    done: list[int] = []
    again = solve_all(jobs, Means(store=tmp_path / "store"), done.append)
    assert begun == [1, 2, 3, 3]
    assert done == [0, 1, 2]
    assert all(one.plan is not None for one in again)


def test_equal_jobs_are_one_task_and_others_are_not() -> None:
    job = Job(quick(), 60.0, 1)
    others = [
        Job(quick(), 61.0, 1),
        Job(quick(), 60.0, 2),
        Job(tiny_round(), 60.0, 1),
    ]
    assert Job(quick(), 60.0, 1).task().key == job.task().key
    assert len({job.task().key, *(other.task().key for other in others)}) == 4


def test_an_interrupted_search_is_not_taken_for_a_finished_one(monkeypatch: pytest.MonkeyPatch) -> None:
    import dataclasses

    from roundplan import draft
    from roundplan.tasks import Stopped

    plan = draft.make_plan(quick(), seconds=60.0, workers=1)
    cut = dataclasses.replace(plan, search=dataclasses.replace(plan.search, stopped=draft.INTERRUPTED))
    monkeypatch.setattr(draft, "make_plan", lambda *_, **__: cut)
    with pytest.raises(Stopped):
        solving.solved(quick(), 60.0, 1, None)

"""Plans without names: nobody's name or code is left, the tables can be read, and every rule is still audited."""

from __future__ import annotations

from pathlib import Path

import pytest
from planned_rounds import planned

from roundplan.audit import audit_plan
from roundplan.closing.anonymous import anonymous
from roundplan.handouts.codec import plan_to_json
from roundplan.intake import read_round, write_round


@pytest.mark.parametrize("name", ["demo", "eight facilities"])
def test_a_plan_without_names_is_audited_as_before(name: str, tmp_path: Path) -> None:
    index = planned(name)
    before = audit_plan(index.plan, index.training_round)
    plan, training_round = anonymous(index.plan, index.training_round)
    write_round(training_round, tmp_path)
    again = read_round(tmp_path).training_round
    assert len(audit_plan(plan, again)) == len(before)
    text = plan_to_json(plan) + "".join(path.read_text("utf-8") for path in tmp_path.iterdir())
    r = index.training_round
    told = [row.name for row in (*r.people, *r.trainers) if row.name in text]
    told += [f'"{p.code}"' for p in r.people if f'"{p.code}"' in plan_to_json(plan)]
    told += [case.approved_by for case in r.cases if case.approved_by and case.approved_by in text]
    told += [site.exposure_contact for site in r.sites() if site.exposure_contact and site.exposure_contact in text]
    assert told == []
    assert sorted(p.facility for p in again.people) == sorted(p.facility for p in r.people)
    assert [case.approved_on for case in again.cases] == [case.approved_on for case in r.cases]

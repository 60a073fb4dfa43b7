"""Plans that several end-to-end tests read; each is made once."""

from __future__ import annotations

import pytest
from command_runs import DEMO
from worked_rounds.hand_plan import hand_plan, hand_round
from written_plans import Written

from roundplan.intake import read_round, write_round
from roundplan.workflow import make_plan, write_handouts

DEMO_SECONDS = 20
"""Short for this round: enough for a plan worth looking at, too short for the best one."""


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """Plan the demo round for a short while and write its documents."""
    out = tmp_path_factory.mktemp("demo") / "OUT"
    reading = read_round(DEMO)
    plan = make_plan(reading.training_round, seconds=DEMO_SECONDS, seed=1, workers=2)
    plan = write_handouts(plan, reading, out)
    return Written(plan, reading.training_round, reading.contacts, out)


@pytest.fixture(scope="session")
def hand(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """Write the documents of the round and the plan worked out by hand, with a telephone for everybody."""
    base = tmp_path_factory.mktemp("hand")
    write_round(hand_round(), base / "in")
    people = [p.code for p in hand_round().people]
    others = ["manager", "T1", "T2", "T4", "North", "South", *(f.code for f in hand_round().facilities)]
    rows = [f"{who},+000 55 {number:04d},x{number}@y.example\n" for number, who in enumerate(people + others)]
    (base / "in" / "contacts.csv").write_text("who,phone,email\n" + "".join(rows), encoding="utf-8")
    reading = read_round(base / "in")
    plan = write_handouts(hand_plan(), reading, base / "OUT")
    return Written(plan, reading.training_round, reading.contacts, base / "OUT")

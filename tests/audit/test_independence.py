"""The audit shares no code with the solver."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import roundplan
from roundplan.audit import CHECKS
from roundplan.domain.rules import Rule

ROOT = Path(roundplan.__file__).parents[1]


def test_the_audit_loads_nothing_of_the_solver():
    script = (
        "import sys; sys.path.insert(0, 'tests')\n"
        "from worked_rounds.hand_plan import hand_plan, hand_round\n"
        "from roundplan.audit import audit_plan\n"
        "assert audit_plan(hand_plan(), hand_round()) == ()\n"
        "print([name for name in sys.modules if name.startswith(('roundplan.solver', 'ortools', 'pandas'))])"
    )

    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"


def test_every_rule_has_one_function_in_the_rules_order():
    assert list(CHECKS) == list(Rule)
    assert len(set(CHECKS.values())) == len(Rule)

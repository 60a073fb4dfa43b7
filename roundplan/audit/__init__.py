"""Re-checks a plan from its inputs alone: every hard rule, every figure; nothing of the solver is used."""

from roundplan.audit.breach import Breach, describe
from roundplan.audit.measures import measure
from roundplan.audit.registry import CHECKS, audit_plan

__all__ = ["CHECKS", "Breach", "audit_plan", "describe", "measure"]

"""A plan together with the documents written of it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound


@dataclass(frozen=True)
class Written:
    """A plan, what it was made from, and the folder that holds its documents."""

    plan: Plan
    training_round: TrainingRound
    contacts: tuple[Contact, ...]
    out: Path

    @property
    def json(self) -> dict[str, Any]:
        """Return plan.json as other programs read it."""
        found: dict[str, Any] = json.loads((self.out / "plan.json").read_text(encoding="utf-8"))
        return found

    def pages(self) -> dict[str, str]:
        """Return every HTML document by its path within the folder."""
        return {str(p.relative_to(self.out)): p.read_text("utf-8") for p in sorted(self.out.rglob("*.html"))}

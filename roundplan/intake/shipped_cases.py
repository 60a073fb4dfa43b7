"""Four common cases that new tables start with; each asks for approval before use."""

from __future__ import annotations

_AT_LATEST = "; at the latest when the time for the simulation is up"

SHIPPED_CASES: tuple[dict[str, str], ...] = (
    {
        "case": "obstructed-labour",
        "name": "Obstructed labour, head deep in the pelvis",
        "stop_rule": "The director ends it when the baby is out, the tear is looked for aloud and the uterus is closed"
        + _AT_LATEST,
    },
    {
        "case": "fetal-distress",
        "name": "Fetal distress, urgent caesarean",
        "stop_rule": "The director ends it when the baby is out and handed over, and the uterus is closed" + _AT_LATEST,
    },
    {
        "case": "placenta-praevia",
        "name": "Placenta praevia with bleeding",
        "stop_rule": "The director ends it when help and blood are called for, the loss is said aloud and the bleeding "
        "is stopped" + _AT_LATEST,
    },
    {
        "case": "repeat-caesarean",
        "name": "Repeat caesarean with scar tissue",
        "stop_rule": "The director ends it when the bladder is named and kept away, the baby is out and the uterus is "
        "closed" + _AT_LATEST,
    },
)
"""Rows of the table cases; ``approved_by`` and ``approved_on`` stay blank until someone approves them."""

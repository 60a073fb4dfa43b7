"""A round that was held: what came of it beside the plan, and the next round's tables that follow; no I/O."""

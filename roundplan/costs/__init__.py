"""What a plan costs: every line priced from the plan, none taken from a search."""

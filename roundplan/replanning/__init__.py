"""New facts, and the least change of an announced plan: proposed, told, accepted or refused."""

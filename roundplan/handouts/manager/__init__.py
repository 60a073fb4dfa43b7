"""The whole plan as tables, for the programme manager and for analysts."""

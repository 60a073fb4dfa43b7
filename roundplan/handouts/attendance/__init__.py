"""Attendance forms: what happened in a session, and after the round, to fill in and to be read back."""

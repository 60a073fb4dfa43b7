"""Sheets to sign or to fill in by hand: release letter, and for each session register, payments, observers, actions."""

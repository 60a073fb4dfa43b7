"""Calendars (RFC 5545) that a trainer or a facility takes over into a phone."""

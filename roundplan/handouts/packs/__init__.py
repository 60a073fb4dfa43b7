"""Packs: what a trainer, and a crew with its vehicle, carry on paper."""

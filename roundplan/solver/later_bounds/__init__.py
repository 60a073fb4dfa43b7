"""Bounds of the later tiers in the search in pieces: what realism, burden and cost come to at least.

Each holds for every plan that is at least as good in the tiers before.
"""

"""What consumables cost at least, by what they are used for: packs cut to size, nothing rounded up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from roundplan.domain.supply import Item, ItemKind, Per
from roundplan.solver.facts import Facts
from roundplan.solver.limits.kit import fraction


@dataclass(frozen=True, slots=True)
class SupplyPrices:
    """Prices of consumables that are bought.

    Attributes
    ----------
    per : mapping of Per to Fraction
        Minor units for each station, session, simulation, wall, participant or trip.
    at_hand : Fraction
        Worth of what need not be bought, since it is in stock or on the way; spares are taken off.
    """

    per: dict[Per, Fraction] = field(default_factory=dict)
    at_hand: Fraction = Fraction(0)

    def of(self, per: Per) -> Fraction:
        """Return the price of one station, session and so on."""
        return self.per.get(per, Fraction(0))

    def simulation(self) -> Fraction:
        """Return the price of one simulation, with its half of a wall."""
        return self.of(Per.SIMULATION) + self.of(Per.WALL) / 2


def supply_prices(facts: Facts, bought: Iterable[str]) -> SupplyPrices:
    """Return the prices of the items of which a plan buys packs.

    ``price × (need − at hand) ÷ pack size`` bounds what an item costs in every plan; an item of which nothing is bought
    is left out, since much at hand would pull the sum below nought.
    """
    names, at_hand = frozenset(bought), Fraction(0)
    per: dict[Per, Fraction] = {}
    for item in facts.round.items:
        if item.code not in names or item.kind is not ItemKind.CONSUMABLE or not item.pack_price:
            continue
        unit = Fraction(item.pack_price) / fraction(item.pack_size)
        needed = fraction(item.quantity) / (1 - fraction(item.wastage_percent) / 100)
        per[item.per] = per.get(item.per, Fraction(0)) + unit * needed
        at_hand += unit * (_stocked(facts, item) - fraction(item.spare))
    return SupplyPrices(per, at_hand)


def _stocked(facts: Facts, item: Item) -> Fraction:
    return sum((fraction(s.quantity) for s in facts.round.stock if s.item == item.code), Fraction(0))

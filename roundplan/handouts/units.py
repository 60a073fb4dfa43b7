"""Units that supplies are often counted in, said in the reader's language; all others stay as they were entered."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from roundplan.domain.counts import plural
from roundplan.handouts.speech import language, several

LONG_SYMBOLS = frozenset({"min", "mcg"})
"""Symbols of units that are longer than two letters; a symbol has no plural, a short word such as box has one."""

_KNOWN: Mapping[str, Callable[[int, str], str]] = {
    "ampoule": lambda n, q: several("{quantity} ampoule", "{quantity} ampoules", n, quantity=q),
    "bag": lambda n, q: several("{quantity} bag", "{quantity} bags", n, quantity=q),
    "bottle": lambda n, q: several("{quantity} bottle", "{quantity} bottles", n, quantity=q),
    "box": lambda n, q: several("{quantity} box", "{quantity} boxes", n, quantity=q),
    "litre": lambda n, q: several("{quantity} litre", "{quantity} litres", n, quantity=q),
    "metre": lambda n, q: several("{quantity} metre", "{quantity} metres", n, quantity=q),
    "pack": lambda n, q: several("{quantity} pack", "{quantity} packs", n, quantity=q),
    "pair": lambda n, q: several("{quantity} pair", "{quantity} pairs", n, quantity=q),
    "piece": lambda n, q: several("{quantity} piece", "{quantity} pieces", n, quantity=q),
    "roll": lambda n, q: several("{quantity} roll", "{quantity} rolls", n, quantity=q),
    "sachet": lambda n, q: several("{quantity} sachet", "{quantity} sachets", n, quantity=q),
    "set": lambda n, q: several("{quantity} set", "{quantity} sets", n, quantity=q),
    "sheet": lambda n, q: several("{quantity} sheet", "{quantity} sheets", n, quantity=q),
    "staple": lambda n, q: several("{quantity} staple", "{quantity} staples", n, quantity=q),
}


def with_unit(shown: str, value: float, unit: str) -> str:
    """Say a quantity with its unit.

    Parameters
    ----------
    shown : str
        The number as it is written.
    value : float
        The number; one alone takes the singular.
    unit : str
        The unit as entered in the tables.
    """
    number = 1 if value == 1 else 2
    if unit in _KNOWN:
        return _KNOWN[unit](number, shown)
    symbol = len(unit) < 3 or unit in LONG_SYMBOLS or language() != "en"
    return f"{shown} {unit if number == 1 or symbol or unit.endswith('s') else plural(unit)}"

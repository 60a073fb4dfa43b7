"""What a search reports while it runs."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Progress:
    """One report of a running search.

    Attributes
    ----------
    seconds : float
        Time since the search began.
    aim : str
        The tier at work, as in :class:`roundplan.domain.rules.Aim`, or the step before the first tier.
    value : int or None
        Best value of the tier so far; None while there is none.
    bound : int or None
        Best bound proven so far; None while there is none.
    note : str
        What happens, in plain words; may be empty.
    money : tuple of str and int, or None
        Currency and its digits after the point, where value and bound are minor units of it.
    """

    seconds: float
    aim: str
    value: int | None = None
    bound: int | None = None
    note: str = ""
    money: tuple[str, int] | None = None

    @property
    def gap(self) -> float | None:
        """``|bound − value| / max(|value|, 1)``; None while value or bound is missing."""
        if self.value is None or self.bound is None:
            return None
        return abs(self.bound - self.value) / max(abs(self.value), 1)

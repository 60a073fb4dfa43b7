"""Rule budget-cap."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach
from roundplan.costs.pricing import price_plan, total
from roundplan.domain.rules import Rule


def money_words(book: Book, amount: int) -> str:
    """Return an amount of minor units with its currency."""
    digits = book.settings.round.currency_digits
    return f"{amount / 10**digits:,.{digits}f} {book.settings.round.currency}"


def budget_cap(book: Book) -> Iterator[Breach]:
    """The cost as recomputed, contingency included, is within the cap."""
    cap = book.settings.prices.cap
    if cap is None:
        return
    cost = total(price_plan(book.plan, book.round))
    if cost > cap:
        words = f"the round costs {money_words(book, cost)}, contingency included; the cap is {money_words(book, cap)}"
        yield Breach(Rule.BUDGET_CAP, words)

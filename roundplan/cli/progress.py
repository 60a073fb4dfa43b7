"""What the terminal shows while a search runs: a table that lives, or plain lines where there is no terminal."""

from __future__ import annotations

import sys
import time
from decimal import Decimal
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self, TextIO

from roundplan.domain.counts import counted
from roundplan.domain.progress import Progress
from roundplan.domain.rules import AIMS

if TYPE_CHECKING:
    from rich.table import Table

    from roundplan.domain.plan import Tier

SHOWN_EVERY = 0.5
"""Seconds between two pictures of the search."""


def gap_words(value: int | None, bound: int | None) -> str:
    """Say how far a value may be from the best: ``proven best``, ``12.5 %`` or ``no bound``."""
    if value is None:
        return "nothing found yet"
    if bound is None:
        return "no bound"
    gap = Progress(0.0, "", value, bound).gap or 0.0
    return "proven best" if gap == 0 else f"{gap:.1%}".replace("%", " %")


def figure(number: int | None) -> str:
    """Write a figure with thousands marked; a dash where there is none."""
    return "–" if number is None else f"{number:,}"


def tier_words(tier: Tier, money: tuple[str, int] | None = None) -> str:
    """Say what an aim reached and how far it may be from the best.

    Parameters
    ----------
    tier : Tier
        The aim, its value and its bound.
    money : tuple of str and int, optional
        Currency and its digits after the point, where value and bound are minor units of it.
    """
    if money is None:
        units = {definition.aim: definition.unit for definition in AIMS}
        value, bound = counted(tier.value, units[tier.aim]), figure(tier.bound)
    else:
        value, bound = f"{money[0]} {_amount(tier.value, money[1])}", _amount(tier.bound, money[1])
    said = gap_words(tier.value, tier.bound)
    gap = said if said.startswith(("proven", "no")) else f"gap {said}"
    return f"{value}, {gap}" if tier.bound is None else f"{value}, bound {bound}, {gap}"


def _amount(minor: int | None, digits: int) -> str:
    return figure(minor) if minor is None else f"{Decimal(minor).scaleb(-digits):,.{digits}f}"


def _figures(report: Progress) -> tuple[str, str]:
    """Write value and bound of a report, money in its currency."""
    if report.money is None:
        return figure(report.value), figure(report.bound)
    currency, digits = report.money
    value = _amount(report.value, digits)
    return value if report.value is None else f"{currency} {value}", _amount(report.bound, digits)


class ProgressDisplay:
    """Shows reports of a search, at most twice a second; use as a context manager and call with each report.

    Parameters
    ----------
    stream : TextIO, optional
        Where to; standard error unless given.
    """

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = stream or sys.stderr
        self._latest: dict[str, Progress] = {}
        self._shown_at = float("-inf")
        self._waiting = False
        self._live: Any = None

    def __enter__(self) -> Self:
        if self._stream.isatty():
            from rich.console import Console
            from rich.live import Live

            self._live = Live(self._table(), console=Console(file=self._stream), auto_refresh=False)
            self._live.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, _: TracebackType | None) -> None:
        if self._waiting:
            self._show()
        if self._live is not None:
            self._live.stop()

    def __call__(self, report: Progress) -> None:
        """Take a report in; show it if the last picture is old enough or a new aim begins."""
        new = report.aim not in self._latest
        self._latest.pop(report.aim, None)
        self._latest[report.aim] = report
        self._waiting = True
        if new or time.monotonic() - self._shown_at >= SHOWN_EVERY:
            self._show()

    def _show(self) -> None:
        self._shown_at = time.monotonic()
        self._waiting = False
        if self._live is not None:
            self._live.update(self._table(), refresh=True)
        else:
            print(self._line(), file=self._stream, flush=True)

    def _line(self) -> str:
        report = next(reversed(self._latest.values()))
        parts = [f"{report.seconds:6.1f} s", report.aim]
        if report.value is not None or report.bound is not None:
            gap = gap_words(report.value, report.bound)
            value, bound = _figures(report)
            parts.append(f"value {value}, bound {bound}, {gap}")
        if report.note:
            parts.append(report.note)
        return "  ".join(parts)

    def _table(self) -> Table:
        from rich.table import Table
        from rich.text import Text

        table = Table(box=None, pad_edge=False)
        for head in ("tier", "value", "bound", "gap", "seconds", "note"):
            right = head in ("value", "bound", "seconds")
            table.add_column(head, justify="right" if right else "left", no_wrap=head != "note")
        order = [definition.aim.value for definition in AIMS]
        for aim in sorted(self._latest, key=lambda aim: order.index(aim) if aim in order else -1):
            report = self._latest[aim]
            known = report.value is not None or report.bound is not None
            cells = (
                aim,
                *(_figures(report) if known else ("", "")),
                gap_words(report.value, report.bound) if known else "",
                f"{report.seconds:.1f}" if report.seconds else "",
                report.note,
            )
            table.add_row(*(Text(cell) for cell in cells))
        return table

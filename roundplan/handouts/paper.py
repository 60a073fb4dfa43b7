"""The paper that documents are being made for, as pages and workbooks name it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from roundplan.domain.role import Paper

_CSS = {Paper.A4: "A4", Paper.LETTER: "letter"}
_SHEET = {Paper.A4: 9, Paper.LETTER: 1}
_HEIGHT_MM = {Paper.A4: 297.0, Paper.LETTER: 279.4}
_printed_on: ContextVar[Paper] = ContextVar("printed_on", default=Paper.A4)


@contextmanager
def printed_on(paper: Paper) -> Iterator[None]:
    """Set the paper of everything made within; A4 where nothing is set."""
    token = _printed_on.set(paper)
    try:
        yield
    finally:
        _printed_on.reset(token)


def page_size() -> str:
    """Return the paper's name in style sheets (CSS Paged Media 3)."""
    return _CSS[_printed_on.get()]


def sheet_size() -> int:
    """Return the paper's number in workbooks (ISO/IEC 29500, ``paperSize``)."""
    return _SHEET[_printed_on.get()]


def height_mm() -> float:
    """Return the height of the paper, upright, in millimetres."""
    return _HEIGHT_MM[_printed_on.get()]

"""Rows of kit, notes, spending, stores and staff."""

from __future__ import annotations

import re
from datetime import date

from roundplan.attendance.layout import Column
from roundplan.domain.held import Came, NoteKind
from roundplan.followup.held.cells import plain_number
from roundplan.followup.held.sayings import Row, Said
from roundplan.followup.matching import NotTaken

LONGEST_ACTION = 500
"""Letters of an action or an incident that are taken."""

_SHORTEST_NAME = 4  # letters; shorter names are words of their own too often


def kit_row(row: Row) -> Said:
    """Read what was used of an item, and what is left."""
    (item,) = row.written.code
    used, left = row.cells.number(Column.USED), row.cells.number(Column.LEFT)
    content = {
        "used": plain_number(used),
        "left": plain_number(left),
        "remark": row.cells.text(Column.REMARK, 2_000),
    }
    return row.said((item,), row.training_round.name_of(item), content)


def note_row(row: Row) -> Said:
    """Read an action or an incident; a row that names somebody who trained is refused, as debriefs are confidential."""
    _, number = row.written.code
    cells = row.cells
    kind = cells.word(Column.KIND) or NoteKind.ACTION.value
    what, owner, due = cells.text(Column.WHAT, LONGEST_ACTION), cells.text(Column.OWNER), cells.day(Column.DUE)
    if not what:
        raise NotTaken("not-said", "it is not said what is to be done, or what happened", "write it down", Column.WHAT)
    _refuse_names(row, what)
    facility = cells.word(Column.FACILITY)
    content = {
        "kind": kind,
        "facility": facility,
        "what": what,
        "owner": owner,
        "due": due.isoformat() if due else "",
    }
    return row.said((number,), f"{kind} {number}", content, *_note_doubts(row, kind, owner, due))


def _note_doubts(row: Row, kind: str, owner: str, due: date | None) -> tuple[NotTaken, ...]:
    if kind != NoteKind.ACTION:
        return ()
    doubts = []
    if not owner:
        doubts.append(NotTaken("no-owner", "nobody sees to this action", "agree on somebody", Column.OWNER))
    if due is None:
        doubts.append(NotTaken("no-date", "this action has no due date", "agree on a date", Column.DUE))
    elif due.isoformat() < row.session_date:
        doubts.append(NotTaken("bad-date", "this date is before the session", "check it", Column.DUE, due.isoformat()))
    return tuple(doubts)


def _refuse_names(row: Row, what: str) -> None:
    text = what.casefold()
    for person in row.training_round.people:
        name = person.name.casefold()
        if len(name) >= _SHORTEST_NAME and re.search(rf"\b{re.escape(name)}\b", text):
            words = "a member of staff is named here, and what is said in a debrief stays there"
            raise NotTaken(
                "names-somebody", words, "say what will be done; who sees to it has a column of its own", Column.WHAT
            )


def spending_row(row: Row) -> Said:
    """Read money that was paid; a receipt and its cost line name the payment."""
    cells = row.cells
    line, amount, receipt = cells.word(Column.LINE), cells.number(Column.AMOUNT), cells.text(Column.RECEIPT)
    if not line:
        raise NotTaken("not-said", "the cost line is missing", "choose one", Column.LINE)
    if amount is None:
        raise NotTaken("not-said", "the amount is missing", "write it down", Column.AMOUNT)
    in_round = row.training_round.settings.round
    if amount * 10**in_round.currency_digits % 1:
        words = f"{in_round.currency} has {in_round.currency_digits} decimals"
        raise NotTaken("bad-number", words, "round it", Column.AMOUNT, cells.text(Column.AMOUNT))
    paid = cells.day(Column.PAID_ON)
    content = {
        "line": line,
        "what": cells.text(Column.WHAT, LONGEST_ACTION),
        "amount": plain_number(amount),
        "receipt": receipt,
        "paid": paid.isoformat() if paid else "",
    }
    doubt = None
    if not receipt:
        doubt = NotTaken("no-receipt", "no receipt is named for this payment", "ask for its number", Column.RECEIPT)
    subject = ("receipt", line, receipt) if receipt else row.written.code
    return row.said(subject, f"paid on {line}, {f'receipt {receipt}' if receipt else 'no receipt'}", content, doubt)


def stores_row(row: Row) -> Said:
    """Read what lies in a store after the round."""
    item, place = row.written.code
    counted = row.cells.number(Column.COUNTED)
    about = f"{row.training_round.name_of(item)} at {row.training_round.name_of(place)}"
    return row.said((item, place), about, {"counted": plain_number(counted)})


def staff_row(row: Row) -> Said:
    """Read whether somebody has left."""
    (person,) = row.written.code
    gone = row.cells.word(Column.GONE)
    about = f"{row.training_round.name_of(person)} has left"
    return row.said((person,), about, {"gone": Came.YES.value if gone == Came.YES else Came.NO.value})

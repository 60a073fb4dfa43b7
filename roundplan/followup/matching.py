"""Heard rows against what was asked: whom a row is about, and whether it stands there as it was sent."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from roundplan.domain.training_round import TrainingRound
from roundplan.followup.asked import Asked, Kind, Question
from roundplan.followup.replies import Finding, Place
from roundplan.intake.finding import quoted
from roundplan.slips.layout import HIDDEN_COLUMNS, SHEETS, Column, Mark
from roundplan.slips.reading import Answer, Returned
from roundplan.slips.reply_code import LETTERS, row_code

RowKey = tuple[str, ...]
SentRows = Mapping[RowKey, Sequence[Mapping[Column, str]]]
"""Locked cells of a slip as it was sent, by the hidden codes of each row; a few rows may share theirs."""

ASKED_NO_MORE = "asked-no-more"
"""Kind of finding about a row of an earlier version whose seat or shift is not asked about any more."""

_CHANGED = "this was asked in an earlier version, and has changed since"
_NEW_SLIP = "reply on the slip that was sent last"

KINDS = {Mark.SEATS: Kind.SEAT, Mark.COVER: Kind.COVER, Mark.CONFIRMATIONS: Kind.SHIFT}


class NotTaken(ValueError):
    """A row that cannot be taken.

    Attributes
    ----------
    code : str
        Stable code of the kind of finding.
    column, cell : str
        Where in the row, and what stands there.
    remedy : str
        What to do.
    """

    def __init__(self, code: str, words: str, remedy: str, column: str = "", cell: str = "") -> None:
        self.code, self.words, self.remedy, self.column, self.cell = code, words, remedy, column, cell
        super().__init__(words)

    def at(self, place: Place) -> Finding:
        """Return the finding at a place."""
        return Finding(
            code=self.code,
            file=place.source,
            row=place.row,
            column=self.column,
            cell=self.cell,
            words=self.words,
            remedy=self.remedy,
        )


def row_key(row: Answer) -> RowKey:
    """Return what tells a row from all others of its slip."""
    return (str(row.sheet), *(text for _, text in sorted(row.key.items())))


def flat(text: str) -> str:
    """Return text as it is compared: programs differ in how they keep spaces and line ends."""
    return " ".join(text.split())


@dataclass(frozen=True)
class Matcher:
    """What the version that readers were told asks, and ways into it.

    Attributes
    ----------
    sent : function
        Given a slip, the rows that it had when it was sent; None if no slip was sent for its scope.
    """

    question: Question
    training_round: TrainingRound
    round_name: str
    sent: Callable[[Returned], SentRows | None]

    def check_slip(self, slip: Returned) -> tuple[SentRows, frozenset[str]]:
        """Return the rows of a slip as it was sent, and the facilities that it may reply for.

        Raises
        ------
        NotTaken
            If it is no slip of a version that readers were told.
        """
        send = "send the slip that was announced last, and take that"
        if flat(slip.round_name) != flat(self.round_name):
            raise NotTaken("other-round", "is a slip of another round", send, cell=slip.round_name)
        if slip.status == "draft":
            raise NotTaken("draft-slip", "is a slip of a draft, not of what was announced", send)
        facilities = self.training_round.facilities
        scope = frozenset(f.code for f in facilities if slip.scope in (f.code, f.district))
        if not scope:
            raise NotTaken("unknown-scope", "is the slip of nobody in this round", send, cell=slip.scope)
        sent = self.sent(slip)
        if sent is None:
            words = f"is a slip of version {slip.version}, which was never sent out for {slip.scope}"
            raise NotTaken("other-version", words, send)
        return sent, scope

    def check_row(self, row: Answer, sent: SentRows, scope: frozenset[str]) -> Asked:
        """Return what a row of a slip is about.

        Raises
        ------
        NotTaken
            If it is not as it was sent.
        """
        before = sent.get(row_key(row))
        if before is None:
            raise self._unknown(row, scope)
        changes = [_first_change(row, cells) for cells in before]
        if all(changes):
            column = changes[0] or Column.CODE
            words = f"this cell is not to be filled in and was changed; it was sent as {quoted(before[0][column])}"
            remedy = "reply in the framed cells of a new slip"
            raise NotTaken("edited-cell", words, remedy, column, row.locked[column])
        person = row.key.get(Column.PERSON_CODE, "")
        if not row.code and person in self._people:
            facility = self.training_round.name_of(self.training_round.person(person).facility)
            words = f"this guest is replied for by {facility}"
            raise NotTaken("other-facility", words, "take the reply of that facility")
        if row_key(row) not in self._by_key:
            raise NotTaken(ASKED_NO_MORE, _CHANGED, _NEW_SLIP)
        return self.by_key(row)

    def _unknown(self, row: Answer, scope: frozenset[str]) -> NotTaken:
        facility, person = row.key.get(Column.FACILITY_CODE, ""), row.key.get(Column.PERSON_CODE, "")
        if facility not in scope:
            words = "this row is another facility's, and does not belong on this slip"
            return NotTaken("other-facility", words, "take the reply of that facility", Column.FACILITY_CODE, facility)
        if person and person not in self._people:
            words = "nobody in this round has this code"
            return NotTaken("unknown-person", words, "reply on a new slip", Column.PERSON_CODE, person)
        return NotTaken("unknown-row", "this row was not on the slip that was sent", "reply on a new slip")

    def by_key(self, row: Answer) -> Asked:
        """Return what the hidden codes of a row name.

        Raises
        ------
        NotTaken
            If they name nothing that was asked, or the reply code beside them is another row's.
        """
        found = self._by_key.get(row_key(row))
        if found is None:
            raise self._unknown(row, frozenset({row.key.get(Column.FACILITY_CODE, "")}))
        if row.code.upper() != found.code and not self._earlier_code(row.code, found):
            words = f"the code of this row is {found.code}, by who stands in it"
            raise NotTaken("edited-cell", words, "reply on a new slip", Column.CODE, row.code)
        name = row.locked.get(Column.NAME, "")
        if name and found.person and flat(name) != flat(self.training_round.name_of(found.person)):
            words = f"this row was sent for {self.training_round.name_of(found.person)}"
            raise NotTaken("edited-cell", words, "reply on a new slip", Column.NAME, name)
        return found

    def _earlier_code(self, code: str, found: Asked) -> bool:
        """Whether a row has the code of an earlier version: good where just others of its shift have changed.

        Raises
        ------
        NotTaken
            If the row itself has changed since.
        """
        letters, number = _parts(code)
        valid = number and row_code(letters, number, self.question.numbers.check) == code.upper()
        if not valid or (letters, number) not in self._retired:
            return False
        if found.kind is Kind.COVER:
            return True
        raise NotTaken(ASKED_NO_MORE, _CHANGED, _NEW_SLIP, Column.CODE, code)

    def by_code(self, code: str) -> Asked:
        """Return the seat or shift of a reply code typed whole.

        Raises
        ------
        NotTaken
            If no row has it.
        """
        letters, number = _parts(code)
        if not number or row_code(letters, number, self.question.numbers.check) != code.upper():
            words = "this is no code of a slip that was sent out: mistyped, or of a draft"
            raise NotTaken("unknown-code", words, "look at the slip for the code", Column.CODE, code)
        return self.by_number(letters, number, Column.CODE, code)

    def by_number(self, letters: str, number: int, column: str = "", cell: str = "") -> Asked:
        """Return the seat or shift of a facility's letters and a number.

        Raises
        ------
        NotTaken
            If there is none, or none any more.
        """
        found = self._by_number.get((letters, number))
        if found is not None:
            return found
        if (letters, number) in self._retired:
            raise NotTaken(ASKED_NO_MORE, _CHANGED, _NEW_SLIP, column, cell or f"{letters}{number}")
        raise NotTaken("unknown-code", "no row of any slip has this code", "ask again", column, cell)

    @cached_property
    def _people(self) -> frozenset[str]:
        return frozenset(person.code for person in self.training_round.people)

    @cached_property
    def _by_number(self) -> dict[tuple[str, int], Asked]:
        return self.question.numbered()

    @cached_property
    def _retired(self) -> frozenset[tuple[str, int]]:
        return self.question.retired()

    @cached_property
    def _by_key(self) -> dict[RowKey, Asked]:
        return {_key(row): row for row in self.question.rows}


def _parts(code: str) -> tuple[str, int]:
    """Return letters and number of a code typed whole, its check letter left out; number 0 = it is no code."""
    letters = "".join(c for c in code.upper()[:-1] if c in LETTERS)
    number = code[len(letters) : -1]
    return letters, int(number) if letters and number.isascii() and number.isdecimal() and len(number) < 9 else 0


def _first_change(row: Answer, sent: Mapping[Column, str]) -> Column | None:
    """Return the first locked cell that differs from how it was sent."""
    return next((column for column, text in row.locked.items() if flat(text) != flat(sent[column])), None)


def _key(row: Asked) -> RowKey:
    """Return the hidden codes with which a row stands on its slip."""
    codes = {
        Column.FACILITY_CODE: row.facility,
        Column.DATES_CODE: ";".join(day.isoformat() for day in row.dates),
        Column.TEAM_CODE: row.team,
        Column.PERSON_CODE: row.person,
        Column.ROLE_CODE: row.role.value if row.role else "",
        Column.SHIFT_CODE: row.shift.value if row.shift else "",
        Column.KIND_CODE: row.cover,
    }
    mark = next(mark for mark, kind in KINDS.items() if kind is row.kind)
    columns = next(sheet.columns for sheet in SHEETS if sheet.mark is mark)
    return (str(mark), *(codes[column] for column in sorted(columns) if column in HIDDEN_COLUMNS))

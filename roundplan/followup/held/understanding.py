"""Forms that came back against the plan that was announced: statements that are good, and findings for the rest."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from roundplan.attendance.form import Form, FormRow, shown
from roundplan.attendance.layout import Part
from roundplan.attendance.reading import Returned, Written, cell_text
from roundplan.domain.training_round import TrainingRound
from roundplan.followup.held.cells import Cells
from roundplan.followup.held.day_rows import date_row, person_row, slot_row
from roundplan.followup.held.forms import File
from roundplan.followup.held.sayings import Row, Said
from roundplan.followup.held.statement import Statement
from roundplan.followup.held.store_rows import kit_row, note_row, spending_row, staff_row, stores_row
from roundplan.followup.matching import NotTaken
from roundplan.followup.replies import Finding, Place
from roundplan.intake.finding import quoted

READERS: dict[Part, Callable[[Row], Said]] = {
    Part.DATES: date_row,
    Part.PEOPLE: person_row,
    Part.SLOTS: slot_row,
    Part.KIT: kit_row,
    Part.NOTES: note_row,
    Part.SPENDING: spending_row,
    Part.STORES: stores_row,
    Part.STAFF: staff_row,
}
"""What reads the rows of each sheet."""

_SENT = "fill in the form that was written with the plan that holds, and take that"
_COMPARED = 1_000  # letters of a printed cell that are compared


@dataclass
class Understander:
    """Takes files one after another.

    Attributes
    ----------
    forms : function
        Given the key of a session or ``round``, its form in each language; nothing where there is no such session.
    statements : list of Statement
        What is good, in the order read.
    findings : list of Finding
        What is not, and what was taken with a doubt.
    """

    training_round: TrainingRound
    forms: Callable[[str], Sequence[Form]]
    statements: list[Statement] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def take(self, files: Iterable[File]) -> None:
        """Take all that is good in some files."""
        for file in files:
            self.findings += file.findings
            before = len(self.statements), len(self.findings)
            try:
                self._check(file.form)
            except NotTaken as wrong:
                found = Finding(
                    code=wrong.code, file=file.name, cell=wrong.cell, words=wrong.words, remedy=wrong.remedy
                )
                self.findings.append(found)
                continue
            for place, row in file.rows:
                try:
                    self._row(place, row)
                except NotTaken as wrong:
                    self.findings.append(wrong.at(place))
            if not file.findings and before == (len(self.statements), len(self.findings)):
                words, remedy = "nothing is filled in here", "take the form that was filled in"
                self.findings.append(Finding(code="nothing-said", file=file.name, words=words, remedy=remedy))

    def _check(self, form: Returned | None) -> None:
        if form is None:
            return
        name = self.training_round.settings.round.name
        if _flat(form.round_name) != _flat(name):
            raise NotTaken("other-round", "is a form of another round", _SENT, cell=form.round_name)
        if form.status == "draft":
            raise NotTaken("draft-form", "is a form of a draft, not of what was announced", _SENT)
        if not self.forms(form.session):
            words = "is the form of a session that is not in the plan that was announced last"
            raise NotTaken("unknown-session", words, _SENT, cell=form.session)

    def _row(self, place: Place, row: Written) -> None:
        forms = self.forms(row.session)
        if not forms:
            words = "this row names no session of the plan that was announced last"
            raise NotTaken("unknown-session", words, _SENT, cell=row.session)
        printed = [found for form in forms if (found := form.row(row.part, row.code)) is not None]
        if not printed:
            raise NotTaken("unknown-row", "this row does not stand on the form that was sent", _SENT)
        self._check_printed(row, printed)
        if not any(column in row.cells for column in printed[0].open):
            return
        said = READERS[row.part](Row(self.training_round, row, Cells(row, printed[0], forms), place))
        self.statements += said.statements
        self.findings += [doubt.at(place) for doubt in said.doubts]

    def _check_printed(self, row: Written, printed: Sequence[FormRow]) -> None:
        """Refuse a row in which a printed cell was changed; a trainer may have typed a substitute over the name."""
        changes = [_changed(row, other) for other in printed]
        if all(changes):
            column, before = changes[0] or ("", "")
            words = f"this cell is printed and was changed; it was sent as {quoted(before)}"
            remedy = "leave printed cells, and fill in the framed ones"
            raise NotTaken("edited-cell", words, remedy, column, row.cells.get(column, ""))


def _changed(row: Written, printed: FormRow) -> tuple[str, str] | None:
    """Return the first printed cell that is not as it was sent, and how it was sent; None where all are."""
    for column, value in printed.values.items():
        if column not in printed.open and column in row.cells and _flat(row.cells[column]) != _flat(cell_text(value)):
            return column, cell_text(value)
    return None


def _flat(text: str) -> str:
    return shown(text)[:_COMPARED]

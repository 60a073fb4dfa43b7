"""Replies that are good to take, out of all that was heard; everything else becomes a finding with its place."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

from roundplan.followup.asked import Asked, Kind
from roundplan.followup.matching import ASKED_NO_MORE, Matcher, NotTaken, SentRows
from roundplan.followup.received import File
from roundplan.followup.replies import Finding, Heard, Reply
from roundplan.slips.layout import Column
from roundplan.slips.reading import Answer
from roundplan.slips.reply_code import NotUnderstood, Word, read_typed

LONGEST_REMARK = 2_000
LONGEST_NAME = 200
"""Letters of a remark, and of a name or time beside a confirmation, that are taken."""

Eligible = Callable[[Asked], frozenset[str]]
"""Who may take a seat, or stay, instead: codes of people."""

_IN_BRACKETS = re.compile(r"\[([^\[\]]+)\]")
_YES_NO_BY = "reply yes, no, or replaced by and who comes instead"


@dataclass
class Taker:
    """Takes files one after another.

    Attributes
    ----------
    replies : list of Reply
        What is good, in the order heard.
    findings : list of Finding
        What is not, and what was taken with a doubt.
    """

    matcher: Matcher
    eligible: Eligible
    replies: list[Reply] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def take(self, files: Iterable[File]) -> None:
        """Take all good replies of some files."""
        for file in files:
            self.findings += file.findings
            if file.slip is None:
                self._rows(file, None)
                continue
            try:
                self._rows(file, self.matcher.check_slip(file.slip))
            except NotTaken as wrong:
                finding = Finding(
                    code=wrong.code, file=file.name, cell=wrong.cell, words=wrong.words, remedy=wrong.remedy
                )
                self.findings.append(finding)

    def _rows(self, file: File, slip: tuple[SentRows, frozenset[str]] | None) -> None:
        for heard in file.heard:
            try:
                if isinstance(heard.said, str):
                    self.replies.append(self._typed(heard, heard.said))
                else:
                    self._row(heard, heard.said, slip)
            except NotTaken as wrong:
                self.findings.append(wrong.at(heard.place))

    def _row(self, heard: Heard, row: Answer, slip: tuple[SentRows, frozenset[str]] | None) -> None:
        if slip is None and not row.written:
            return
        if slip is not None:
            asked = None if not row.written and not row.code else self._checked(row, *slip)
        else:
            asked = self.matcher.by_key(row) if any(row.key.values()) else self.matcher.by_code(row.code)
        if asked is None or not row.written:
            return
        reply = self._confirmation(heard, asked, row) if asked.kind is Kind.SHIFT else self._reply(heard, asked, row)
        self.replies.append(replace(reply, remark=self._remark(heard, row.written.get(Column.REMARK, ""))))

    def _checked(self, row: Answer, sent: SentRows, scope: frozenset[str]) -> Asked | None:
        """Return what a row is about; None where an earlier version asked it, and nobody wrote in it."""
        try:
            return self.matcher.check_row(row, sent, scope)
        except NotTaken as wrong:
            if wrong.code == ASKED_NO_MORE and not row.written:
                return None
            raise

    def _remark(self, heard: Heard, remark: str) -> str:
        if len(remark) > LONGEST_REMARK:
            words = f"this remark has {len(remark):,} letters; the first {LONGEST_REMARK:,} are kept"
            self._note(heard, "long-remark", words, "send the rest by other means", Column.REMARK, remark)
        return remark[:LONGEST_REMARK]

    def _reply(self, heard: Heard, asked: Asked, row: Answer) -> Reply:
        said, instead = row.written.get(Column.REPLY, ""), row.written.get(Column.REPLACED_BY, "")
        word = row.word
        if said and word is None:
            raise NotTaken("no-reply", "this is no reply", _YES_NO_BY, Column.REPLY, said)
        if instead and word in (Word.YES, Word.NO):
            words = f"a name stands here, but the reply is {word}"
            raise NotTaken("contradiction", words, "leave one of them out", Column.REPLACED_BY, instead)
        if word is not Word.REPLACED and not instead:
            return Reply(asked=asked, place=heard.place, word=word)
        return self._replaced(heard, asked, self._named(asked, row, instead), instead)

    def _named(self, asked: Asked, row: Answer, instead: str) -> str | None:
        """Return the code of who is named in a cell; None if it is nobody of the facility."""
        staff = {p.code: p.name for p in self.matcher.training_round.staff_of(asked.facility)}
        codes = [instead, *reversed(_IN_BRACKETS.findall(instead)), row.substitute or ""]
        named = [code for code, name in staff.items() if name.casefold() == instead.casefold()]
        if len(named) == 1:
            codes += named
        return next((code for code in codes if code in staff), None)

    def _replaced(self, heard: Heard, asked: Asked, person: str | None, instead: str) -> Reply:
        """Return a replacement; where that person may not come, the holder's refusal alone is sure."""
        if person is not None and person in self.eligible(asked):
            return Reply(asked=asked, place=heard.place, word=Word.REPLACED, substitute=person)
        if not instead:
            words = "nobody is named who comes instead; taken as no"
        elif person is None:
            words = "nobody of this facility is called so; taken as no"
        else:
            words = f"{self.matcher.training_round.name_of(person)} may not take this place by the tables; taken as no"
        self._note(heard, "unknown-person", words, "name somebody whom the slip offers", Column.REPLACED_BY, instead)
        return Reply(asked=asked, place=heard.place, word=Word.NO)

    def _confirmation(self, heard: Heard, asked: Asked, row: Answer) -> Reply:
        who, when = row.written.get(Column.CONFIRMED_BY, ""), row.written.get(Column.CONFIRMED_WHEN, "")
        for column, text in ((Column.CONFIRMED_BY, who), (Column.CONFIRMED_WHEN, when)):
            if len(text) > LONGEST_NAME:
                words = f"this has {len(text):,} letters where {LONGEST_NAME} are enough"
                raise NotTaken("too-long", words, "write it shorter", column, text)
        if row.written.get(Column.REPLY):
            if row.word not in (Word.YES, Word.NO):
                said = row.written[Column.REPLY]
                raise NotTaken("no-reply", "a shift is answered with yes or no", "send it again", Column.REPLY, said)
            if who and row.word is Word.NO:
                words = "somebody confirms this cover, but the reply is no"
                raise NotTaken("contradiction", words, "leave one of them out", Column.CONFIRMED_BY, who)
            return Reply(asked=asked, place=heard.place, word=row.word, confirmed_by=who, confirmed_when=when)
        if when and not who:
            words = "a time stands here, but nobody who confirms"
            raise NotTaken("nobody-confirms", words, "write who in charge confirms", Column.CONFIRMED_WHEN, when)
        word = Word.YES if who else None
        return Reply(asked=asked, place=heard.place, word=word, confirmed_by=who, confirmed_when=when)

    def _typed(self, heard: Heard, text: str) -> Reply:
        numbers = self.matcher.question.numbers
        try:
            typed = read_typed(text, numbers.check, known=frozenset(numbers.letters.values()))
        except NotUnderstood as wrong:
            raise NotTaken("not-understood", str(wrong), "ask again", cell=text) from None
        asked = self.matcher.by_number(typed.letters, typed.number)
        if typed.word is not Word.REPLACED:
            return Reply(asked=asked, place=heard.place, word=typed.word)
        if asked.kind is Kind.SHIFT:
            words = "this is the code of a shift, which is answered with yes or no"
            raise NotTaken("no-reply", words, "ask who stays instead of whom", cell=text)
        staff = self.matcher.training_round.staff_of(asked.facility)
        wanted = (numbers.people.get((asked.facility, person.code)) for person in staff)
        named = {number: person.code for number, person in zip(wanted, staff, strict=True)}
        return self._replaced(heard, asked, named.get(typed.substitute), text)

    def _note(self, heard: Heard, code: str, words: str, remedy: str, column: str, cell: str) -> None:
        self.findings.append(NotTaken(code, words, remedy, column, cell).at(heard.place))

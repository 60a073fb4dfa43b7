"""What is wrong in the inputs, where it stands and what to do about it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from roundplan.domain.saying import Notice, Saying, saying

_LONGEST_QUOTE = 60


def quoted(text: str) -> str:
    """Return the text in quotation marks for a message: escaped where unprintable, shortened where long."""
    shown = "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)
    return "“" + (shown if len(shown) <= _LONGEST_QUOTE else shown[: _LONGEST_QUOTE - 1] + "…") + "”"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing found in the inputs.

    Attributes
    ----------
    code : str
        Stable code of the kind of finding, for example ``bad-date``.
    file : str
        File, with its sheet where it is a workbook; empty for what concerns the whole round.
    row : int or None
        Row of the sheet, counting the heading as row 1; line of round.toml.
    column : str
        Column, or ``section.key`` of round.toml.
    cell : str
        Text of the cell.
    words : str
        What is wrong.
    remedy : str
        What to do.
    notice : Notice or None
        A warning as it is told in documents, in the language of each.
    """

    code: str
    file: str = ""
    row: int | None = None
    column: str = ""
    cell: str = ""
    words: str
    remedy: str = ""
    notice: Notice | None = None

    @property
    def where(self) -> str:
        """File, row, column and cell in words; empty where the finding has no place."""
        if self.file.endswith(".toml"):
            row = [f"line {self.row}"] if self.row is not None else []
            column = [self.column] if self.column else []
        else:
            row = [f"row {self.row}"] if self.row is not None else []
            column = [f"column {self.column}"] if self.column else []
        cell = [quoted(self.cell)] if self.cell else []
        return ", ".join([*([self.file] if self.file else []), *row, *column, *cell])

    @property
    def told(self) -> Notice:
        """The finding as documents tell it; in English where it is kept in words alone."""
        if self.notice is not None:
            return self.notice
        said = saying("{words}", words=self.words)
        remedy = saying("{words}", words=self.remedy) if self.remedy else None
        return Notice(file=self.file, row=self.row, column=self.column, said=said, remedy=remedy)

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        remedy = f" — {self.remedy}" if self.remedy else ""
        return f"{place}{self.words}{remedy}"


def warning(code: str, file: str, row: int | None, column: str, said: Saying, remedy: Saying | None) -> Finding:
    """Return a warning, in English and as it is told in documents."""
    notice = Notice(file=file, row=row, column=column, said=said, remedy=remedy)
    advice = str(remedy) if remedy is not None else ""
    return Finding(code=code, file=file, row=row, column=column, words=str(said), remedy=advice, notice=notice)


class FindingsError(ValueError):
    """Raised once with everything found in the inputs.

    Attributes
    ----------
    findings : tuple of Finding
        What stops the run.
    warnings : tuple of Finding
        What would not have stopped it.
    """

    def __init__(self, findings: Sequence[Finding], warnings: Sequence[Finding] = ()) -> None:
        self.findings = tuple(findings)
        self.warnings = tuple(warnings)
        super().__init__("\n".join(str(finding) for finding in self.findings))


class BadCell(ValueError):
    """A cell that cannot be read."""

    def __init__(self, code: str, words: str, remedy: str = "") -> None:
        self.code = code
        self.words = words
        self.remedy = remedy
        super().__init__(words)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that looks most like the given one, or None."""
    by_fold = {name.casefold(): name for name in known}
    found = difflib.get_close_matches(word.casefold()[:100], list(by_fold), n=1, cutoff=0.6)
    return by_fold[found[0]] if found else None


def did_you_mean(word: str, known: Sequence[str], otherwise: str) -> str:
    """Return a remedy that offers the nearest known word, or the remedy ``otherwise``."""
    near = nearest(word, known)
    return f"did you mean {near}?" if near is not None else otherwise

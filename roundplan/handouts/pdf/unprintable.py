"""Names and words of the tables that no font for print holds, found before anything is planned or printed."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.pdf.proof import Proof, codes_of

_PRINTED = {
    "facilities": ("facilities", ("name", "district", "exposure_contact")),
    "people": ("staff", ("name",)),
    "trainers": ("trainers", ("name",)),
    "places": ("places", ("name", "exposure_contact")),
    "items": ("supplies", ("name", "unit", "supplier")),
    "cases": ("cases", ("name", "stop_rule", "approved_by")),
}
"""Fields of the round that documents print: the table's name, and the columns."""


def unprintable_lines(training_round: TrainingRound) -> Iterator[str]:
    """Yield one warning a cell whose characters printed documents will show as codes."""
    for attribute, (table, columns) in _PRINTED.items():
        for row in getattr(training_round, attribute):
            for column in columns:
                yield from _lines(f"{table}, {row.code}, {column}", getattr(row, column))
    yield from _lines("round.toml, round.name", training_round.settings.round.name)


def _lines(where: str, text: str) -> Iterator[str]:
    if text.isascii():
        return
    proof = Proof(where)
    proof.clean(text)
    for found in proof.missing:
        yield (
            f"{where}, “{found.text}”: the fonts for print lack some of these characters and print "
            f"{codes_of(found.characters)} instead — write them in letters that are spoken the same"
        )

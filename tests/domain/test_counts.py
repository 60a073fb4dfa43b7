"""Counted nouns: one of it, or several."""

from __future__ import annotations

import pytest

from roundplan.domain.counts import counted, unit_word
from roundplan.domain.rules import AIMS


@pytest.mark.parametrize(
    ("number", "noun", "words"),
    [
        (1, "person", "1 person"),
        (2, "person", "2 people"),
        (0, "facility", "0 facilities"),
        (1, "facility", "1 facility"),
        (14, "named person", "14 named people"),
        (3, "day", "3 days"),
        (2, "box", "2 boxes"),
        (2, "bus", "2 buses"),
        (1200, "penalty point", "1,200 penalty points"),
        (1.0, "minute", "1 minute"),
        (0.5, "hour", "0.5 hours"),
    ],
)
def test_nouns_follow_their_number(number: int, noun: str, words: str) -> None:
    assert counted(number, noun) == words


@pytest.mark.parametrize(
    ("number", "unit", "word"),
    [(10, "piece", "pieces"), (1, "piece", "piece"), (250, "ml", "ml"), (2, "box", "boxes"), (5, "mcg", "mcg")],
)
def test_units_follow_their_number_and_symbols_do_not(number: float, unit: str, word: str) -> None:
    assert unit_word(number, unit) == word


def test_each_aim_names_one_of_its_unit() -> None:
    assert [counted(1, aim.unit) for aim in AIMS] == [
        "1 point", "1 person", "1 point", "1 penalty point", "1 minute", "1 minor unit"]  # fmt: skip
    assert counted(2, AIMS[1].unit) == "2 people"

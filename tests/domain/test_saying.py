"""Sentences kept as a message and values: what they say in English, and what they keep for other languages."""

from __future__ import annotations

from datetime import date

import pytest

from roundplan.domain.role import Lead, Role, Shift
from roundplan.domain.saying import Dates, LanguageCode, Phrase, Saying, Value, ValueKind, phrase, saying


@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        ("KAM", ValueKind.TEXT, "KAM"),
        (3, ValueKind.NUMBER, "3"),
        (2.5, ValueKind.NUMBER, "2.5"),
        (date(2027, 3, 2), ValueKind.DATE, "2027-03-02"),
        (Dates([date(2027, 3, 3), date(2027, 3, 2)]), ValueKind.DATES, "2027-03-02 2027-03-03"),
        (Role.ANAESTHETIST, ValueKind.ROLE, "anaesthetist"),
        (Lead.SURGERY, ValueKind.LEAD, "surgery"),
        (Shift.NIGHT, ValueKind.SHIFT, "night"),
        (LanguageCode("fr"), ValueKind.LANGUAGE, "fr"),
        (phrase("on leave"), ValueKind.PHRASE, "on leave"),
    ],
)
def test_values_keep_what_they_are(value, kind, text):
    assert saying("{it}", it=value).values == (Value(name="it", kind=kind, text=text),)


def test_a_sentence_reads_in_english():
    days = Dates([date(2027, 3, 1), date(2027, 3, 2), date(2027, 3, 9)])
    said = saying("{who} on {day}, then {days}", who="A", day=date(2027, 2, 3), days=days)
    assert str(said) == "A on 3 February 2027, then 1–2, 9 March 2027"


def test_several_values_of_a_name_are_said_as_which_one_holds():
    said = saying("{who} is {why}", who="A", why=[phrase("on leave"), phrase("away")])
    assert str(said) == "A is on leave or away"


def test_braces_in_values_stay_text():
    assert str(saying("{who} is away", who="{who} {0}")) == "{who} {0} is away"


def test_equal_sentences_are_equal_and_a_phrase_is_text():
    assert saying("{a}", a=1) == Saying(message="{a}", values=saying("{b}", a=1).values)
    assert isinstance(phrase("away"), Phrase)
    assert phrase("away") == "away"

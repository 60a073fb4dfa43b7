"""Sentences in the language that is spoken: lookup, plural forms, values, text from right to left."""

from __future__ import annotations

import gettext
import io

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo

from roundplan.handouts import speech
from roundplan.handouts.speech import language, locale, message, say, several, speaking


@pytest.fixture
def french(monkeypatch):
    """Speak French from a catalogue of two messages."""
    catalogue = Catalog(locale="fr")
    catalogue.add("Hello {name}", "Bonjour {name}")
    catalogue.add(("{numeral} team of {name}", "{numeral} teams of {name}"),
                  ("{numeral} équipe de {name}", "{numeral} équipes de {name}"))  # fmt: skip
    compiled = io.BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    loaded = gettext.GNUTranslations(compiled)
    monkeypatch.setattr(speech, "_catalogue", lambda code: loaded if code == "fr" else gettext.NullTranslations())
    with speaking("fr"):
        yield


def test_a_sentence_is_said_in_the_language_spoken(french):
    assert say("Hello {name}", name="Zed") == "Bonjour Zed"
    with speaking("en"):
        assert say("Hello {name}", name="Zed") == "Hello Zed"


def test_a_sentence_without_translation_stays_english(french):
    assert say("Nothing of {name}", name="it") == "Nothing of it"


# French counts zero as one (gettext's plural rule for French, CLDR likewise).
@pytest.mark.parametrize(
    ("number", "said"),
    [(0, "0 équipe de B"), (1, "1 équipe de B"), (2, "2 équipes de B"), (1200, "1\u202f200 équipes de B")],
)
def test_plural_forms_are_those_of_the_language(french, number, said):
    assert several("{numeral} team of {name}", "{numeral} teams of {name}", number, name="B") == said


@pytest.mark.parametrize(
    ("number", "said"), [(0, "no teams"), (1, "one team"), (2, "two teams"), (1200, "1,200 teams")]
)
def test_english_counts_small_numbers_in_words(number, said):
    assert several("{numeral} team", "{numeral} teams", number) == said


def test_figures_may_be_wanted_in_english_too():
    assert several("{number} team", "{number} teams", 2) == "2 teams"


@pytest.mark.parametrize(
    ("asked", "spoken"), [("fr", "fr"), ("fr-CM", "fr"), ("pt_MZ", "pt"), ("SW", "sw"), ("am", "en"), ("", "en")]
)
def test_an_unknown_language_gives_english(asked, spoken):
    with speaking(asked):
        assert language() == spoken
        assert locale().language == spoken
    assert language() == "en"


def test_the_language_comes_back_after_an_error():
    with pytest.raises(KeyError), speaking("sw"):
        say("{missing}")

    assert language() == "en"


def test_braces_and_percent_signs_in_names_stay_text(french):
    assert say("Hello {name}", name="{name} %s {0.__class__}") == "Bonjour {name} %s {0.__class__}"


def test_names_from_right_to_left_are_set_apart():
    said = say("{name}, 08:30", name="مريم")

    assert said == "\u200e\u2068مريم\u2069, 08:30"
    assert speech.without_marks(said) == "مريم, 08:30"
    assert say("{name}, 08:30", name="ሰላም") == "ሰላም, 08:30"


def test_a_marked_message_is_the_message():
    assert message("left out") == "left out"


@pytest.mark.parametrize("code", speech.LANGUAGES)
def test_every_catalogue_loads(code):
    with speaking(code):
        assert say("no such message in any catalogue") == "no such message in any catalogue"

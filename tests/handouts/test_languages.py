"""Each reader is given their documents in their language: words, dates, numbers, names, sheets of workbooks."""

from __future__ import annotations

import dataclasses
import gettext
import html
import io
import re
from collections.abc import Callable, Iterator
from datetime import date

import pytest
from babel.dates import get_day_names, get_month_names
from html_reading import CONTACTS, WARNING, read_page
from html_sample import hostile_round, sample_plan, sample_round
from icalendar import Calendar
from openpyxl import load_workbook

from roundplan.domain.plan import Reason
from roundplan.domain.role import Role
from roundplan.domain.rules import Rule
from roundplan.domain.saying import Dates, LanguageCode, phrase, saying
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts import report, speech, words
from roundplan.handouts.calendars import facility as facility_calendar
from roundplan.handouts.calendars import trainer as trainer_calendar
from roundplan.handouts.district import sheet as district_sheet
from roundplan.handouts.facility import sheet as facility_sheet
from roundplan.handouts.folder import Folder, documents
from roundplan.handouts.manager import workbook as round_workbook
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report import summary
from roundplan.handouts.retelling import reason_words, retold
from roundplan.handouts.road import crew_page, trainer_page
from roundplan.handouts.routes import gpx, listing
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.sheets import actions, observers, payments, register, release
from roundplan.handouts.slips import messages as slip_messages
from roundplan.handouts.slips import page as slip_page
from roundplan.handouts.slips import workbook as slip_workbook
from roundplan.handouts.speech import LANGUAGES, speaking
from roundplan.handouts.store import labels
from roundplan.handouts.store import workbook as supplies_workbook

OTHERS = [code for code in LANGUAGES if code != "en"]


def spoken(facilities: tuple[str, ...], trainers: tuple[str, ...], language: str) -> TrainingRound:
    """Return the sample round with these languages of all its facilities and trainers, and of the round."""
    r = sample_round()
    settings = dataclasses.replace(r.settings, round=dataclasses.replace(r.settings.round, language=language))
    return r.replace(
        settings=settings,
        facilities=tuple(dataclasses.replace(f, languages=facilities) for f in r.facilities),
        trainers=tuple(dataclasses.replace(t, languages=trainers) for t in r.trainers),
    )


@pytest.fixture(scope="module")
def folder() -> dict[str, str]:
    """Return the pages of a round in Swahili with French facilities and Portuguese trainers."""
    made = documents(Folder(PlanIndex(sample_plan(), spoken(("tum", "fr-CM", "en"), ("qqq", "pt"), "sw"))))
    return {d.path: d.plain(None).started()().decode() for d in made if d.path.endswith(".html")}


@pytest.mark.parametrize(
    ("path", "language", "sentence"),
    [
        ("facilities/KAM.html", "fr", "Dites oui ou non au coordinateur du district"),
        ("trainers/T1.html", "pt", "Listas de embalagem"),
        ("crews/NORTH.html", "sw", "Meneja wa programu"),
        ("districts/Kamzunga.html", "sw", "Karatasi ya wilaya."),
    ],
)
def test_each_reader_is_given_their_own_language(folder, path, language, sentence):
    path = path if path in folder else next(name for name in folder if name.startswith(path.split("/")[0]))
    assert f'<html lang="{language}" dir="ltr">' in folder[path]
    assert sentence in read_page(folder[path]).text


def test_months_are_those_of_the_language(folder):
    said = read_page(folder["facilities/KAM.html"]).text
    assert "mardi 2 mars" in said
    assert "March" not in said.replace(sample_plan().round_name, "")


def test_a_reader_without_a_language_of_their_own_has_the_rounds_and_an_unknown_one_english():
    def language_of(training_round: TrainingRound) -> str:
        made = documents(Folder(PlanIndex(sample_plan(), training_round)))
        page = next(d.plain(None).started()().decode() for d in made if d.path == "facilities/KAM.html")
        found = re.search(r'<html lang="(\w+)"', page)
        assert found is not None
        return found[1]

    assert language_of(spoken((), (), "pt")) == "pt"
    assert language_of(spoken(("am",), (), "am")) == "en"


# --- dates, numbers, plural forms ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "first", "span"),
    [
        ("fr", "lundi 1er mars 2027", "1er mars – 19 mars 2027"),
        ("pt", "segunda-feira 1 de março de 2027", "1 de março a 19 de março de 2027"),
        ("sw", "Jumatatu 1 Machi 2027", "1 Machi hadi 19 Machi 2027"),
    ],
)
def test_dates_by_language(code, first, span):
    """Month and day names as CLDR has them (read off by babel); the French ordinal is usage, no source."""
    with speaking(code):
        assert words.long_date(date(2027, 3, 1)) == first
        assert words.span_words(date(2027, 3, 1), date(2027, 3, 19)) == span


@pytest.mark.parametrize(
    ("code", "number", "money"),
    [("en", "12,500.5", "MWK 12,500"), ("fr", "12 500,5", "12 500 MWK"),
     ("pt", "12 500,5", "12 500 MWK"), ("sw", "12,500.5", "MWK 12,500")],
)  # fmt: skip
def test_numbers_and_money_by_language(code, number, money):
    def plain(text: str) -> str:
        return text.replace("\u00a0", " ").replace("\u202f", " ")

    with speaking(code):
        assert plain(words.number(12_500.5)) == number
        assert plain(words.Money("MWK", 2)(1_250_000)) == money
        assert words.number(0.1) != "0.1" or code in ("en", "sw")


def test_runs_of_dates_and_lists_by_language():
    days = [date(2027, 3, d) for d in (1, 2, 3, 9)]
    said = {}
    for code in LANGUAGES:
        with speaking(code):
            said[code] = (words.compact_dates(days), words.either_words(["a", "b", "c"]))
    assert said == {
        "en": ("1–3 and 9 March 2027", "a, b or c"),
        "fr": ("1–3 et 9 mars 2027", "a, b ou c"),
        "pt": ("1–3 e 9 de março de 2027", "a, b ou c"),
        "sw": ("1–3 na 9 Machi 2027", "a, b au c"),
    }


@pytest.mark.parametrize(
    ("code", "one", "two"),
    [("fr", "1 pièce", "2 pièces"), ("pt", "1 peça", "2 peças"), ("sw", "kipande 1", "vipande 2")],
)
def test_units_take_the_plural_forms_of_the_language(code, one, two):
    with speaking(code):
        assert words.quantity(1, "piece").replace("\u00a0", " ") == one
        assert words.quantity(2, "piece").replace("\u00a0", " ") == two
        assert words.quantity(2, "Karton") == "2\u00a0Karton"


# --- what plans and tables say ---------------------------------------------------------------------------------------


def test_reasons_are_retold():
    said = saying("its only {role} is {why}", role=Role.ANAESTHETIST, why=[phrase("on leave"), phrase("not available")])
    reason = Reason(
        who="A", rule=Rule.STAFF_AVAILABLE, words="in English", when=saying("on every possible date"), said=(said,)
    )
    assert reason_words(reason) == "in English"
    with speaking("fr"):
        assert reason_words(reason).replace("\u00a0", " ") == (
            "à toutes les dates possibles : sa seule personne autorisée comme anesthésiste : en congé ou pas disponible"
        )
        assert reason_words(dataclasses.replace(reason, said=())) == "in English"


def test_sentences_of_the_tables_are_retold_with_names_of_languages_and_dates():
    said = saying(
        "no trainer speaks {language}, the working language of {who}", language=LanguageCode("fr"), who="A{x}"
    )
    days = saying("{who} has no roster by day on {days}: all its staff are taken to be there",
                  who="A", days=Dates([date(2027, 3, 3), date(2027, 3, 2)]))  # fmt: skip
    assert str(said) == "no trainer speaks fr, the working language of A{x}"
    assert "on 2–3 March 2027:" in str(days)
    with speaking("pt"):
        assert retold(said) == "nenhum formador fala francês, a língua de trabalho de A{x}"
        assert "(2–3 de março de 2027)" in retold(days)


@pytest.mark.parametrize("code", OTHERS)
def test_safety_lines_keep_the_word_that_stops_a_session_in_english_too(code):
    """Trainers and staff may read different languages: the word in English stands beside the reader's own."""
    with speaking(code):
        lines = safety_lines(Reader.FACILITY)
    assert "“this is real”" in lines[0]
    assert lines[0] not in safety_lines(Reader.FACILITY)


# --- hostile and foreign names ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("code", OTHERS)
def test_a_hostile_name_in_a_translated_sentence_stays_text(code):
    with speaking(code):
        page = facility_sheet.render(sample_plan(), hostile_round(), "KAM")
    assert "&lt;script&gt;" in page
    assert "<script" not in page


def test_names_from_right_to_left_keep_to_themselves():
    r = sample_round()
    people = tuple(dataclasses.replace(p, name="محمد علي" if p.facility == "KAM" else "ሰላም ተስፋዬ") for p in r.people)
    with speaking("fr"):
        page = facility_sheet.render(sample_plan(), r.replace(people=people), "KAM")
    assert "\u200e\u2068محمد علي\u2069 (opérateur chirurgical)" in page
    assert not re.search("[\u202a-\u202e\u2066\u2067]", page)


# --- nothing left in English -----------------------------------------------------------------------------------------


class Marked(gettext.NullTranslations):
    """Puts every message between marks, so that what is said outside of them shows."""

    def gettext(self, message: str) -> str:
        return f"⟦{message}⟧"

    def ngettext(self, one: str, many: str, number: int) -> str:
        return f"⟦{one if number == 1 else many}⟧"


def outside(text: str) -> Iterator[str]:
    """Yield the words that stand in no message."""
    depth, kept = 0, []
    for letter in text:
        depth += (letter == "⟦") - (letter == "⟧")
        kept.append(letter if depth == 0 and letter != "⟧" else " ")
    yield from (word.casefold() for word in re.findall(r"[^\W\d_]{2,}", "".join(kept)))


def of_the_tables(training_round: TrainingRound) -> set[str]:
    known = set(re.findall(r"[^\W\d_]{2,}", repr(training_round) + repr(sample_plan()) + repr(CONTACTS)))
    for width in ("wide", "abbreviated"):
        for names in (get_day_names(width, locale="en_GB"), get_month_names(width, locale="en_GB")):
            known |= set(names.values())
    languages = {words.language(code) for t in training_round.trainers for code in t.languages}
    languages |= {words.language(code) for p in training_round.people for code in p.languages}
    return {word.casefold() for word in known | languages | {"km", "kg", "and"}}


def calendar_text(content: bytes) -> str:
    """Return what a calendar shows of its entries and of itself."""
    found = Calendar.from_ical(content.decode())
    shown = [entry.get(key, "") for entry in found.events for key in ("SUMMARY", "DESCRIPTION", "LOCATION")]
    return "\n".join([*map(str, shown), str(found["NAME"]), str(found["DESCRIPTION"])])


PAGES: dict[str, Callable[[TrainingRound], str]] = {
    "report": lambda r: report.render(sample_plan(), r, warnings=[WARNING]),
    "summary": lambda r: summary.render(sample_plan(), r),
    "labels": lambda r: labels.render(sample_plan(), r),
    "slip": lambda r: slip_page.render(PlanIndex(sample_plan(), r), "KAM", contacts=CONTACTS),
    "letter": lambda r: release.render(PlanIndex(sample_plan(), r), "KAM", contacts=CONTACTS),
    "register": lambda r: register.render(PlanIndex(sample_plan(), r), sample_plan().sessions[0].code),
    "payments": lambda r: payments.render(PlanIndex(sample_plan(), r), sample_plan().sessions[0].code),
    "observers": lambda r: observers.render(PlanIndex(sample_plan(), r), sample_plan().sessions[0].code),
    "actions": lambda r: actions.render(PlanIndex(sample_plan(), r), sample_plan().sessions[0].code),
    "facility": lambda r: facility_sheet.render(sample_plan(), r, "KAM", contacts=CONTACTS),
    "district": lambda r: district_sheet.render(sample_plan(), r, r.facilities[0].district, contacts=CONTACTS),
    "trainer": lambda r: trainer_page.render(sample_plan(), r, r.trainers[0].code, contacts=CONTACTS),
    "crew": lambda r: crew_page.render(sample_plan(), r, r.crews[0].code, contacts=CONTACTS),
    "phone messages": lambda r: slip_messages.render(PlanIndex(sample_plan(), r), "TUW"),
    "facility's calendar": lambda r: calendar_text(facility_calendar.render(PlanIndex(sample_plan(), r), "KAM")),
    "trainer's calendar": lambda r: calendar_text(trainer_calendar.render(PlanIndex(sample_plan(), r), "TR1")),
    "route": lambda r: gpx.render(PlanIndex(sample_plan(), r), "NORTH").decode(),
    "list of places": lambda r: listing.render(PlanIndex(sample_plan(), r), "NORTH"),
}


@pytest.mark.parametrize("name", PAGES)
def test_everything_that_a_page_prints_is_a_message_or_stands_in_the_tables(monkeypatch, name):
    monkeypatch.setattr(speech, "_catalogue", lambda code: Marked())
    page = PAGES[name](sample_round())
    seen = re.sub(r"<(style|script)\b.*?</\1>|<[^>]+>", " ", page, flags=re.S)
    told = html.unescape(" ".join([seen, *re.findall(r'(?:aria-label|alt)="([^"]*)"', page)]))
    assert set(outside(told)) - of_the_tables(sample_round()) == set()


def test_a_word_that_is_no_message_would_be_found():
    assert list(outside("⟦Sleep at ⟦x⟧ Kam⟧. Hello there")) == ["hello", "there"]


# --- workbooks -------------------------------------------------------------------------------------------------------

BOOKS: dict[str, Callable[[TrainingRound], bytes]] = {
    "round": lambda r: round_workbook.render(sample_plan(), r),
    "supplies": lambda r: supplies_workbook.render(sample_plan(), r),
    "district": lambda r: slip_workbook.render_district(PlanIndex(sample_plan(), r), r.facilities[0].district),
}


@pytest.mark.parametrize("code", OTHERS)
@pytest.mark.parametrize("name", BOOKS)
def test_workbooks_have_sheets_and_headings_in_the_language(code, name):
    english = load_workbook(io.BytesIO(BOOKS[name](sample_round())))
    with speaking(code):
        book = load_workbook(io.BytesIO(BOOKS[name](sample_round())))
    assert len(book.sheetnames) == len(english.sheetnames) == len(set(book.sheetnames))
    # a sheet's name has at most 31 characters, none of []:*?/\ (limits of the file format)
    assert all(len(title) <= 31 and not re.search(r"[\[\]:*?/\\]", title) for title in book.sheetnames)
    shown = {sheet.title for sheet in book if sheet.sheet_state == "visible"}
    assert not shown & set(english.sheetnames) - {"Budget"}


def test_a_french_district_workbook_asks_for_oui_or_non():
    with speaking("fr"):
        book = load_workbook(io.BytesIO(BOOKS["district"](sample_round())))
    said = [cell.value for row in book["Qui part"].iter_rows(max_row=6) for cell in row]
    assert {"Établissement", "Équipe", "Nom", "Rôle", "opérateur chirurgical", "mardi 2 mars"} <= set(said)
    choices = [v.formula1 for v in book["Qui part"].data_validations.dataValidation if v.formula1.startswith('"')]
    assert [choice.split(",")[:2] for choice in choices] == [['"oui', "non"]]


@pytest.mark.parametrize(
    ("code", "sheet", "number"), [("fr", "Séances", "40C"), ("pt", "Sessões", "816"), ("sw", "Vipindi", "441")]
)
def test_dates_in_cells_are_shown_in_the_language(code, sheet, number):
    """The numbers of languages in formats of cells: French 40C, Portuguese 816, Swahili 441 (memory, MS-LCID)."""
    with speaking(code):
        book = load_workbook(io.BytesIO(BOOKS["round"](sample_round())))
    formats = {
        cell.number_format for row in book[sheet].iter_rows(min_row=2) for cell in row if isinstance(cell.value, date)
    }
    assert formats == {f"[$-{number}]ddd d mmm yyyy"}


def test_the_amounts_of_a_translated_workbook_still_add_up():
    with speaking("pt"):
        book = load_workbook(io.BytesIO(BOOKS["round"](sample_round())))
    sheet = book["Custos"]
    heads = [cell.value for cell in sheet[1]]
    letter = sheet.cell(1, heads.index("valor total") + 1).column_letter
    formulas = [cell.value for row in sheet.iter_rows() for cell in row if str(cell.value).startswith("=")]
    assert formulas == [f"=SUM({letter}2:{letter}{len(sample_plan().costs) + 1})"]
    assert {row[heads.index("linha")] for row in sheet.iter_rows(min_row=2, values_only=True)} >= {
        "deslocações das brigadas"
    }

"""Printed documents: names as text, letters of every script, what is missing said, same words same bytes."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from pdf_reading import flat, fonts, pages, paper, properties, whole, words_outside

import roundplan
from roundplan.handouts.pdf.blocks import (
    Blank,
    Block,
    Columns,
    Ems,
    Facts,
    Grid,
    Heading,
    Lines,
    NewPage,
    Notice,
    Printed,
    Sheet,
    Strong,
    Tick,
    Together,
    Wide,
)
from roundplan.handouts.pdf.press import print_pdf
from roundplan.handouts.pdf.proof import Proof, missing_lines
from roundplan.handouts.pdf.typefaces import FAMILIES, FOLDER, SCRIPTS, covered, has_glyph
from roundplan.handouts.speech import say

MARKUP = '#let x = 1; *bold* _it_ $y$ @ref <lab> \\ #panic("!") "q" `r` [c] // /* = - + / ~ \\u{41} #sys.inputs'
ARABIC, HEBREW, ETHIOPIC, DEVANAGARI = "مستشفى الأمل", "תקווה", "አዲስ አበባ ሆስፒታል", "क्षितिज"
A4, LETTER = (595, 842), (612, 792)
"""Points: 210 × 297 mm (ISO 216) and 8.5 × 11 in (ANSI/ASME Y14.1)."""


def document(*blocks: Block, title: str = "A title", on: str = "a4") -> Printed:
    return Printed(
        path="trainers/T1.pdf", title=title, head="The round", foot="version 1", pages="page {number} of {total}",
        language="en", paper=on, blocks=blocks,
    )  # fmt: skip


def printed(*blocks: Block, **more: str) -> bytes:
    content, missing = print_pdf(document(*blocks, **more))
    assert missing == ()
    return content


def test_markup_is_text_in_every_place() -> None:
    grid = Grid(MARKUP, (MARKUP, "b"), [(MARKUP, [MARKUP, Strong(MARKUP)]), (Tick(MARKUP), Wide(MARKUP))], (1, 1))
    blocks: tuple[Block, ...] = (
        Heading(MARKUP), Lines([MARKUP, Blank(MARKUP)], marked=True), Facts([(MARKUP, MARKUP)]), grid,
        Notice(MARKUP, [MARKUP]), Columns([[Lines([MARKUP])]], [1]), Together([Lines([MARKUP])]),
        Sheet([Lines([MARKUP])]),
    )  # fmt: skip
    text = whole(printed(*blocks, title=MARKUP))
    assert text.count(flat(MARKUP)) >= 12
    assert "panicked" not in text


@pytest.mark.parametrize(
    ("name", "font"),
    [
        (ARABIC, "NotoSansArabic-Regular"),
        (HEBREW, "NotoSansHebrew-Regular"),
        (ETHIOPIC, "NotoSansEthiopic-Regular"),
        (DEVANAGARI, "NotoSansDevanagari-Regular"),
    ],
)
def test_names_in_other_scripts_are_printed_with_a_font_of_theirs(name: str, font: str) -> None:
    content = printed(Lines([say("Join {name} at 09:00.", name=name)]))
    assert fonts(content) == {"NotoSans-Regular": True, "NotoSans-Bold": True, font: True}
    assert {*name.replace(" ", "")} <= {*whole(content)}


def test_times_beside_a_name_from_right_to_left_stay_in_their_place() -> None:
    """As the eye meets them from the left: the time of arrival stands after the comma, not before the name."""
    for sentence in (
        say("09:00 leave {a}, 10:15 reach {b}: 30 km.", a=ARABIC, b=ARABIC),
        f"09:00 leave {ARABIC}, 10:15",
    ):
        found: list[tuple[float, str]] = []
        _visit(printed(Lines([sentence])), found)
        arrival = min(at for at, text in found if "reach" in text or text == "10:15")
        assert min(at for at, text in found if "leave" in text) < min(at for at, text in found if text in ARABIC)
        assert all(at < arrival for at, text in found if text in ARABIC and at < 200)


def _visit(content: bytes, found: list[tuple[float, str]]) -> None:
    import io

    from pypdf import PdfReader

    def visit(text: str, cm: list[float], _tm: object, _font: object, _size: float) -> None:
        if text.strip():
            found.append((cm[4], flat(text)))

    PdfReader(io.BytesIO(content)).pages[0].extract_text(visitor_text=visit)


def test_a_letter_that_no_font_has_is_named_and_printed_as_its_code() -> None:
    content, missing = print_pdf(document(Heading("Clinic 🚑 中"), Lines(["plain", "Clinic 🚑 中"])))
    assert [str(one) for one in missing] == [
        "trainers/T1.pdf: “Clinic 🚑 中” holds characters that the fonts for print do not have; "
        "they stand there as [U+1F691], [U+4E2D]"
    ]
    assert whole(content).count("Clinic [U+1F691] [U+4E2D]") == 2
    assert ".notdef" not in str(fonts(content))


def test_a_text_missing_in_several_documents_is_said_once() -> None:
    found = []
    for path in ("a.pdf", "b.pdf"):
        proof = Proof(path)
        proof.clean("中")
        found += proof.missing
    (notice,) = missing_lines(found)
    assert notice.file == "a.pdf, b.pdf"
    assert str(notice.said).startswith("“中” holds")


def test_hidden_characters_are_left_out_and_joiners_stay() -> None:
    proof = Proof("x")
    assert proof.clean("a\u202eb\x07c\ufeff") == "abc"
    assert proof.clean("Amina\u200dé") == "Amina\u200dé"
    assert proof.missing == []
    assert proof.clean("\u2069" + ARABIC + " x") == ARABIC + "\u200e x"  # a mark without its partner turns nothing


def test_an_address_can_be_copied_as_it_stands() -> None:
    address = "maternity@district-hospital.example"
    assert Proof("x").clean(address) == address
    assert "\u200b" in Proof("x").clean(address, narrow=True)
    assert "\u200b" in Proof("x").clean("a" * 50 + "@" + address)


def test_fonts_are_those_of_the_package_and_cover_their_scripts() -> None:
    assert {path.name for path in FOLDER.glob("*.ttf")} == {
        "NotoSans-Bold.ttf", "NotoSans-Regular.ttf", *(f"NotoSans{script}-Regular.ttf" for script in SCRIPTS)
    }  # fmt: skip
    assert len(FAMILIES) == len(SCRIPTS) + 1
    assert all(len(covered(script)) > 40 for script in SCRIPTS)
    assert all(has_glyph(letter) for letter in "Ñŋɓɗƴẽạ’–×°−".replace("−", "") + ARABIC + ETHIOPIC if letter != " ")
    assert not has_glyph("中")
    assert "SIL OPEN FONT LICENSE" in (FOLDER / "OFL.txt").read_text(encoding="utf-8")
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < 4_200_000


def test_no_word_leaves_the_page_or_its_column() -> None:
    long = "Wakilishirikimchangamano" * 6
    rows = [(long, "b", Wide("c " + long)), (["x", long], long, "z")]
    grid = Grid("Table", ("A", "B", "C"), rows, (1, 1, 1))
    content = printed(Heading(long), Lines([long]), grid, Facts([("Label", long)]), title=long)
    assert words_outside(content) == []
    assert whole(content).replace(" ", "").count(long) == 9
    assert words_outside(content, margin=100), "the check itself finds what is too near"


@pytest.mark.parametrize(("on", "points"), [("a4", A4), ("letter", LETTER)])
def test_paper_is_as_set(on: str, points: tuple[int, int]) -> None:
    assert paper(printed(Lines(["x"]), NewPage(), Lines(["y"]), on=on)) == {points}


def test_pages_are_numbered_and_headed() -> None:
    first, second = pages(printed(Lines(["one"]), NewPage(), Lines(["two"]), title="Dr X"))
    assert first.startswith("The round Dr X")
    assert "version 1 page 1 of 2" in first
    assert "version 1 page 2 of 2" in second


def test_a_sheet_is_set_small_enough_for_its_page() -> None:
    def sheet(lines: int) -> Sheet:
        return Sheet([Heading("Sheet"), Lines([f"line {number}" for number in range(lines)])])

    short, long, longest = (pages(printed(sheet(lines))) for lines in (20, 62, 150))
    assert [len(found) for found in (short, long, longest)] == [2, 2, 3]  # the title has a page of its own here
    assert "line 61" in long[1]
    assert "line 149" in longest[-1]


def test_a_heading_is_never_left_behind() -> None:
    for lines in range(44, 56):
        text = [f"line {number}" for number in range(lines)]
        found = pages(printed(Lines(text), Heading("The heading", 2), Lines(["its text"])))
        at = next(page for page in found if "The heading" in page)
        assert "its text" in at
        table = Grid("Its caption", ("Column", "Other"), [("cell", "more")] * 3, (1, 1))
        found = pages(printed(Lines(text), table))
        assert any("Its caption" in page and "Column" in page and "cell" in page for page in found), lines


def test_a_tables_head_is_repeated() -> None:
    rows = [(f"row {number}", "b") for number in range(120)]
    found = pages(printed(Grid("", ("Column", "Other"), rows, (Ems(9), 1))))
    assert len(found) > 2
    assert all("Column Other" in page for page in found)


def test_the_file_bears_no_date_and_no_place() -> None:
    content = printed(Lines(["x"]))
    assert set(properties(content)) == {"/Title", "/Creator"}
    assert b"/tmp" not in content
    assert b"Date" not in content


SAME = """
import hashlib
from test_pdf_press import ARABIC, Lines, Sheet, document, print_pdf
print(hashlib.sha256(print_pdf(document(Lines([ARABIC]), Sheet([Lines(["x"] * 60)])))[0]).hexdigest())
"""


def test_same_words_same_bytes_in_another_process_and_after_other_documents() -> None:
    here = Path(__file__).parent
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(map(str, (here, here.parent, *roundplan.__path__, ".")))}
    environment["PYTHONPATH"] += os.pathsep + str(Path(roundplan.__file__).parents[1])
    done = subprocess.run([sys.executable, "-c", SAME], env=environment, capture_output=True, check=True, text=True)
    import hashlib

    printed(Lines(["something else"]))
    content, _ = print_pdf(document(Lines([ARABIC]), Sheet([Lines(["x"] * 60)])))
    assert hashlib.sha256(content).hexdigest() == done.stdout.strip()

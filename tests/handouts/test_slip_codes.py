"""Reply codes: what is mistyped is found, what is typed carelessly is taken."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundplan.slips.numbering import DRAFT_CHECK, TOLD_CHECK
from roundplan.slips.reply_code import (
    LETTERS,
    REPLY_WORDS,
    SHORT_WORDS,
    NotUnderstood,
    TypedReply,
    Word,
    facility_letters,
    person_code,
    read_typed,
    reply_word,
    row_code,
)

CODES = st.tuples(
    st.text(st.sampled_from(LETTERS), min_size=1, max_size=3), st.integers(1, 99_999), st.integers(1, 200)
)


def taken(text: str, check: int) -> TypedReply | None:
    try:
        return read_typed(f"{text} yes", check)
    except NotUnderstood:
        return None


@given(CODES)
def test_a_code_is_read_as_it_was_written(parts: tuple[str, int, int]) -> None:
    letters, number, check = parts
    assert taken(row_code(letters, number, check), check) == TypedReply(letters, number, Word.YES)


@given(CODES, st.data())
def test_one_letter_or_figure_mistyped_is_found(parts: tuple[str, int, int], data: st.DataObject) -> None:
    code = row_code(*parts)
    place = data.draw(st.integers(0, len(code) - 1))
    alike = LETTERS if code[place].isalpha() else "0123456789"
    other = data.draw(st.sampled_from([c for c in alike if c != code[place]]))
    mistyped = code[:place] + other + code[place + 1 :]
    assert taken(mistyped, parts[2]) is None


@given(st.integers(1, 600), st.integers(1, 99_999), st.integers(1, 200), st.data())
def test_a_letter_typed_for_a_figure_or_a_figure_for_a_letter_is_found(
    facilities: int, number: int, check: int, data: st.DataObject
) -> None:
    place = data.draw(st.integers(0, facilities - 1))
    code = row_code(facility_letters(place, facilities), number, check)
    at = data.draw(st.integers(0, len(code) - 1))
    other = data.draw(st.sampled_from("0123456789" if code[at].isalpha() else LETTERS))
    mistyped = code[:at] + other + code[at + 1 :]
    known = frozenset(facility_letters(n, facilities) for n in range(facilities))
    with pytest.raises(NotUnderstood):
        read_typed(f"{mistyped} yes", check, known=known)
    assert read_typed(f"{code} yes", check, known=known).number == number


def test_letters_that_no_facility_has_are_refused() -> None:
    """K11's check letter is that of KB1 too: the letter B and the figure 1 count the same."""
    mistyped = "KB1" + row_code("K", 11, 1)[-1]
    assert read_typed(f"{mistyped} yes", 1).letters == "KB"
    for text in (mistyped, row_code("K", 1, 1)):
        with pytest.raises(NotUnderstood, match="is no code"):
            read_typed(f"{text} yes", 1, known="ABCDEFGHJ")
    assert read_typed(f"{row_code('K', 1, 1)} yes", 1, known="ABCDEFGHJK").letters == "K"


@given(CODES, st.data())
def test_two_neighbours_swapped_are_found(parts: tuple[str, int, int], data: st.DataObject) -> None:
    code = row_code(*parts)
    place = data.draw(st.integers(0, len(code) - 2))
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    if swapped != code:
        assert taken(swapped, parts[2]) is None


@given(CODES, st.integers(1, 22))
def test_a_code_with_another_check_is_found(parts: tuple[str, int, int], other: int) -> None:
    assert taken(row_code(*parts), parts[2] + other) is None


@given(CODES)
def test_a_drafts_code_is_never_one_that_readers_were_told(parts: tuple[str, int, int]) -> None:
    letters, number, _ = parts
    assert taken(row_code(letters, number, DRAFT_CHECK), TOLD_CHECK) is None


def test_the_worked_example() -> None:
    """K is 9, so 1 × 9 + 2 × 3 + 13 × 1 = 28; 28 mod 23 = 5, which is F."""
    assert row_code("K", 3, 1) == "K3F"
    assert person_code("K", 4, 1) == "4" + LETTERS[(9 + 2 * 4 + 13 + 7) % 23]


@pytest.mark.parametrize(
    "text", ["K3F yes", "k3f YES", " K 3 F  yes. ", "k3f: Oui", "K3F, sim", "K3F - ndiyo", "K3F=yes!", "k3f\nyes"]
)
def test_careless_typing_is_taken(text: str) -> None:
    assert read_typed(text, 1) == TypedReply("K", 3, Word.YES)


@pytest.mark.parametrize("text", ["K3F no", "k3f NON", "K3F nao", "K3F não", "K3F hapana"])
def test_no_in_every_language(text: str) -> None:
    assert read_typed(text, 1) == TypedReply("K", 3, Word.NO)


@pytest.mark.parametrize("word", ["by", "par", "por", "badala", "replaced by", "Remplacé par", "remplace par"])
def test_who_comes_instead_is_named_by_code(word: str) -> None:
    four = person_code("K", 4, 1)
    assert read_typed(f"K3F {word} {four.lower()}", 1) == TypedReply("K", 3, Word.REPLACED, 4)


def test_letters_that_look_like_figures_are_taken_for_them() -> None:
    code = row_code("K", 110, 1)
    assert read_typed(f"{code.replace('110', 'lIo')} yes", 1).number == 110


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no code with a reply"),
        ("yes", "no code with a reply"),
        ("K3F", "no code with a reply"),
        ("K4F yes", "“K4F” is no code of a slip that was sent out"),
        ("I3F yes", "no code of a slip that was sent out"),
        ("K03F yes", "no code of a slip that was sent out"),
        ("K3F perhaps", "“perhaps” is no reply"),
        ("K3F by", "“by” is no reply"),
        ("K3F by somebody", "is no reply"),
        ("K3F by 5Q", "“5Q” is no code of a person"),
        ("K3F yes and no", "is no reply"),
    ],
)
def test_what_is_not_understood_is_said(text: str, why: str) -> None:
    with pytest.raises(NotUnderstood, match=why.replace("?", r"\?")):
        read_typed(text, 1)


def test_a_person_is_not_named_by_the_code_of_a_row() -> None:
    row = row_code("K", 4, 1)
    with pytest.raises(NotUnderstood, match="code of a person"):
        read_typed(f"K3F by {row[1:]}", 1)


@pytest.mark.parametrize("facilities", [1, 23, 24, 529, 530, 1000])
def test_every_facility_has_letters_of_its_own(facilities: int) -> None:
    letters = [facility_letters(number, facilities) for number in range(facilities)]
    assert len(set(letters)) == facilities
    assert len({len(text) for text in letters}) == 1
    assert set("".join(letters)) <= set(LETTERS)


def test_no_word_means_two_things() -> None:
    for word, by_language in REPLY_WORDS.items():
        assert {reply_word(said) for said in by_language.values()} == {word}
        assert all("," not in said and '"' not in said for said in by_language.values()), "a drop-down splits at commas"
    assert {reply_word(said) for said in SHORT_WORDS.values()} == {Word.REPLACED}
    assert set(SHORT_WORDS) == set(REPLY_WORDS[Word.YES]) == {"en", "fr", "pt", "sw"}

"""Every catalogue holds what the handouts say: nothing missing, stale, unsure or with another set of values."""

from __future__ import annotations

import ast
import re

import catalogues
import pytest
from babel.messages.catalog import Catalog
from babel.messages.plurals import get_plural


@pytest.fixture(scope="module")
def sources() -> Catalog:
    return catalogues.everything_said()


@pytest.mark.parametrize("code", catalogues.TRANSLATED)
def test_a_catalogue_is_whole(code, sources):
    assert catalogues.faults(catalogues.read_catalogue(code), sources) == []


@pytest.mark.parametrize("code", catalogues.TRANSLATED)
def test_a_catalogue_names_its_language_and_plural_rule(code):
    catalogue = catalogues.read_catalogue(code)

    assert str(catalogue.locale) == code
    assert (catalogue.num_plurals, catalogue.plural_expr) == tuple(get_plural(code))[:2]


@pytest.mark.parametrize("code", catalogues.TRANSLATED)
def test_bringing_a_catalogue_up_to_date_changes_nothing(code, sources):
    written = catalogues.po_bytes(catalogues.updated(catalogues.read_catalogue(code), sources))

    assert written == catalogues.catalogue_path(code).read_bytes()


def test_french_marks_of_punctuation_never_begin_a_line():
    """A space before ``: ; ? ! »`` and after ``«`` is hard (usage of French typography, no source)."""
    texts = [text for message in catalogues.read_catalogue("fr") if message.id for text in catalogues.texts_of(message)]

    assert [text for text in texts if re.search(" [:;?!»]|« ", text)] == []


@pytest.fixture
def spoken(tmp_path):
    """Return the messages of a small module and template, and a French catalogue that fits them."""
    (tmp_path / "sheet.py").write_text(
        'def f(n, who):\n    say("Hello {name}", name=several("{number} team", "{number} teams", n))\n'
        'WORDS = {1: message("left out")}\n',
        encoding="utf-8",
    )
    (tmp_path / "sheet.html.j2").write_text(
        '{% if a %}<p title="{{ say("Safety") }}">{{ say("{day}: go", day=d)|upper }}</p>{% endif %}', encoding="utf-8"
    )
    french = Catalog(locale="fr")
    french.add("Hello {name}", "Bonjour {name}")
    french.add(("{number} team", "{number} teams"), ("{number} équipe", "{number} équipes"))
    french.add("left out", "laissé de côté")
    french.add("Safety", "Sécurité")
    french.add("{day}: go", "{day} : on y va")
    return catalogues.extracted(tmp_path, catalogues.KEYWORDS), french


def test_messages_of_modules_and_templates_are_found(spoken):
    sources, french = spoken

    assert {catalogues.id_of(message) for message in sources if message.id} == {
        "Hello {name}", ("{number} team", "{number} teams"), "left out", "Safety", "{day}: go",
    }  # fmt: skip
    assert catalogues.faults(french, sources) == []


@pytest.mark.parametrize(
    ("english", "french", "fault"),
    [
        ("Hello {name}", "Bonjour", "names [] where ['name'] are given"),
        ("Hello {name}", "Bonjour {nom}", "names ['nom'] where ['name'] are given"),
        ("Hello {name}", "Bonjour {name", "has a brace out of place"),
        ("Hello {name}", "", "not translated"),
        ("Safety", " Sécurité", "begins with or without a space, unlike the English"),
        ("{number} team", ("une équipe", "{total} équipes"), "names ['total'] where ['number'] are given"),
        ("{number} team", ("{number} équipe",), "has 1 forms"),
    ],
)
def test_a_damaged_translation_is_caught(spoken, english, french, fault):
    sources, catalogue = spoken
    catalogue.get(english).string = french

    assert [line.partition(": ")[0] for line in catalogues.faults(catalogue, sources)] == [fault]


def test_missing_stale_and_unsure_messages_are_caught(spoken):
    sources, catalogue = spoken
    catalogue.delete("Safety")
    catalogue.add("Hello there", "Bonjour")
    catalogue.get("left out").flags.add("fuzzy")

    assert catalogues.faults(catalogue, sources) == [
        "missing: 'Safety'", "no longer said: 'Hello there'", "unsure: 'left out'",
    ]  # fmt: skip


def test_a_value_lost_from_a_real_catalogue_is_caught(sources, tmp_path):
    path = catalogues.catalogue_path("fr", tmp_path)
    path.parent.mkdir(parents=True)
    good = catalogues.catalogue_path("fr").read_text(encoding="utf-8")
    path.write_text(good.replace('msgstr "Équipage {crew}"', 'msgstr "Équipage"'), encoding="utf-8")

    assert catalogues.faults(catalogues.read_catalogue("fr", tmp_path), sources) == [
        "names [] where ['crew'] are given: 'Crew {crew}'"
    ]


def calls(tree: ast.AST, inside: bool = False):
    """Yield each call of a plain name, and whether it stands in a function."""
    for node in ast.iter_child_nodes(tree):
        within = inside or isinstance(node, ast.FunctionDef | ast.Lambda)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            yield node, within
        yield from calls(node, within)


def early_or_hidden(source: str) -> list[int]:
    """Return the lines where something is said while a module loads, or is said from no text that can be extracted."""
    found = []
    for call, within in calls(ast.parse(source)):
        words = {"say": 1, "several": 2, "message": 1}.get(call.func.id, 0)
        texts = [arg for arg in call.args[:words] if isinstance(arg, ast.Constant) and isinstance(arg.value, str)]
        table = call.func.id == "say" and isinstance(call.args[0], ast.Subscript | ast.Name)
        if words and (not (table or len(texts) == words) or (not within and call.func.id != "message")):
            found.append(call.lineno)
    return found


@pytest.mark.parametrize(
    ("source", "lines"),
    [
        ('X = say("a")', [1]),
        ('def f():\n    return say("a {b}", b=1)', []),
        ('def f(n):\n    return say(f"a {n}")', [2]),
        ('def f(n):\n    return say("a" + n)', [2]),
        ('T = {1: message("a")}\ndef f(n):\n    return say(T[n])', []),
        ('def f(n):\n    return several("a", n, 1)', [2]),
    ],
)
def test_words_said_too_early_or_hidden_from_the_catalogue_are_found(source, lines):
    assert early_or_hidden(source) == lines


@pytest.mark.parametrize(
    "path", sorted(catalogues.HANDOUTS.rglob("*.py")), ids=lambda path: path.relative_to(catalogues.HANDOUTS).as_posix()
)
def test_everything_is_said_from_a_literal_message_when_it_is_needed(path):
    assert early_or_hidden(path.read_text(encoding="utf-8")) == []

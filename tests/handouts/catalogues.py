"""Message catalogues of the handouts: what the sources say, what a catalogue lacks, and how to bring it up to date.

``python tests/handouts/catalogues.py`` rewrites every catalogue: new messages are added empty, those that are no
longer said are dropped, translations that exist stay. Then fill in what is empty and run the tests beside this file.
With a folder of other catalogues, ``<language>/LC_MESSAGES/handouts.po``, what is empty is taken from there first:
where two branches have both translated, take one branch's catalogues and name those of the other.
"""

from __future__ import annotations

import ast
import re
import string
import sys
from collections.abc import Collection, Iterator, Mapping
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import BinaryIO

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

import roundplan.handouts
from roundplan.domain.rules import AIMS, RULE_SENTENCES
from roundplan.domain.settings import CP, setting_rows
from roundplan.handouts.speech import CATALOGUES, LANGUAGES

HANDOUTS = Path(roundplan.handouts.__file__).parent
PACKAGE = HANDOUTS.parent
KEYWORDS = {"say": None, "several": (1, 2), "message": None}
KEEPERS = ("domain", "intake", "solver")
KEPT = {"saying": None, "phrase": None}
"""What marks sentences that are kept for the handouts to retell (``domain/saying.py``)."""


def calls_of(
    source: BinaryIO, keywords: Collection[str], *_: object, **__: object
) -> Iterator[tuple[int, str, list[str], list[str]]]:
    """Yield the calls of the keywords in a module; Babel's own method misses those within one another."""
    text = source.read()
    if not any(f"{keyword}(".encode() in text for keyword in keywords):
        return
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in keywords:
            texts = [arg.value for arg in node.args if isinstance(arg, ast.Constant) and isinstance(arg.value, str)]
            if texts:
                yield node.lineno, node.func.id, texts, []


METHODS = [("**.py", calls_of), ("**.j2", "jinja2.ext:babel_extract")]
OPTIONS = {"**.j2": {"trimmed": "false", "silent": "false", "trim_blocks": "true", "lstrip_blocks": "true"}}
TRANSLATED = tuple(code for code in LANGUAGES if code != "en")
HEADER = "# What the handouts say in {name}. English sentences are the message ids; see DEVELOPERS.md.\n"
LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)


def catalogue_path(code: str, root: Path = CATALOGUES) -> Path:
    return root / code / "LC_MESSAGES" / "handouts.po"


def extracted(folder: Path, keywords: Mapping[str, tuple[int, ...] | None]) -> Catalog:
    """Return every message that the sources in a folder mark with the keywords."""
    found = Catalog(charset="utf-8")
    for _, _, text, _, context in extract_from_dir(
        folder, method_map=METHODS, options_map=OPTIONS, keywords=keywords, comment_tags=()
    ):
        found.add(text, context=context)
    return found


def of_the_domain() -> Iterator[str]:
    """Yield what the domain says in tables of its own: rules, aims, meanings of settings."""
    yield from RULE_SENTENCES.values()
    yield from (aim.sentence for aim in AIMS)
    for row in setting_rows():
        if row.section == "prices" or row.source.startswith(("CP", CP)):
            yield row.meaning


def everything_said() -> Catalog:
    """Return every message of the handouts."""
    found = extracted(HANDOUTS, {**KEYWORDS, **KEPT})
    for room in KEEPERS:
        for message in extracted(PACKAGE / room, KEPT):
            found.add(message.id)
    for text in of_the_domain():
        found.add(text)
    return found


def read_catalogue(code: str, root: Path = CATALOGUES) -> Catalog:
    with catalogue_path(code, root).open("rb") as source:
        return read_po(source, locale=code, abort_invalid=True)


def id_of(message: Message) -> str | tuple[str, ...]:
    return tuple(message.id) if isinstance(message.id, list | tuple) else message.id


def fields(text: str) -> frozenset[str]:
    """Return the names of a message's values; raise ValueError where the braces are wrong."""
    return frozenset(name for _, name, _, _ in string.Formatter().parse(text) if name is not None)


def faults(catalogue: Catalog, sources: Catalog) -> list[str]:
    """Return what is wrong with a catalogue, one line a message."""
    said = {id_of(message) for message in sources if message.id}
    kept = {id_of(message): message for message in catalogue if message.id}
    found = [f"missing: {text!r}" for text in sorted(said - kept.keys(), key=str)]
    found += [f"no longer said: {text!r}" for text in sorted(kept.keys() - said, key=str)]
    found += [f"no longer said: {text!r}" for text in sorted(catalogue.obsolete, key=str)]
    for text, message in kept.items():
        found += [f"{fault}: {text!r}" for fault in message_faults(message, catalogue.num_plurals)]
    return found


def message_faults(message: Message, forms: int) -> Iterator[str]:
    """Yield what is wrong with one message's translation."""
    ids = message.id if isinstance(message.id, list | tuple) else (message.id,)
    said = texts_of(message)
    if message.fuzzy:
        yield "unsure"
    if len(said) != (forms if len(ids) > 1 else 1):
        yield f"has {len(said)} forms"
    if not all(said):
        yield "not translated"
        return
    for text in said:
        yield from _text_faults(ids, text)


def _text_faults(ids: tuple[str, ...], text: str) -> Iterator[str]:
    wanted = frozenset().union(*(fields(one) for one in ids))
    try:
        used = fields(text)
    except ValueError:
        yield "has a brace out of place"
        return
    # A number may be left out of the form for one thing ("one team"), nothing else may.
    free = {"number", "numeral"} if len(ids) > 1 else set()
    if used - wanted or (wanted - used) - free:
        yield f"names {sorted(used)} where {sorted(wanted)} are given"
    for end, where in ((0, "begins"), (-1, "ends")):
        if ids[-1][end].isspace() != text[end].isspace():
            yield f"{where} with or without a space, unlike the English"


def updated(catalogue: Catalog, sources: Catalog, other: Catalog | None = None) -> Catalog:
    """Return a catalogue that holds what the sources say and nothing else; translations that exist stay.

    What is empty is taken from another catalogue, if one is given.
    """
    fresh = Catalog(
        locale=catalogue.locale,
        header_comment=HEADER.format(name=catalogue.locale.english_name if catalogue.locale else ""),
        charset="utf-8",
        creation_date=LONG_AGO,
        revision_date=LONG_AGO,
        project="roundplan",
        version="handouts",
        copyright_holder="roundplan",
        last_translator="roundplan",
        language_team="roundplan",
        msgid_bugs_address="roundplan",
        fuzzy=False,
    )
    for message in sources:
        if message.id:
            known = [c.get(message.id) for c in (catalogue, other) if c is not None]
            fresh.add(message.id, next((old.string for old in known if old and translated(old)), None))
    for message in fresh:
        message.flags.clear()
    return fresh


def texts_of(message: Message) -> tuple[str, ...]:
    """Return the forms of a message's translation."""
    return tuple(message.string) if isinstance(message.string, list | tuple) else (message.string,)


def translated(message: Message) -> bool:
    """Whether every form of a message has words."""
    return all(texts_of(message))


def po_bytes(catalogue: Catalog) -> bytes:
    written = BytesIO()
    write_po(written, catalogue, width=118, sort_output=True, ignore_obsolete=True, no_location=True)
    return re.sub(rb'"Generated-By: .*\n', b"", written.getvalue())


def main(others: Path | None = None) -> None:
    sources = everything_said()
    for code in TRANSLATED:
        path = catalogue_path(code)
        path.parent.mkdir(parents=True, exist_ok=True)
        old = read_catalogue(code) if path.exists() else Catalog(locale=code)
        other = read_catalogue(code, others) if others is not None else None
        path.write_bytes(po_bytes(updated(old, sources, other)))
        print(f"{path}: {sum('not translated' in line for line in faults(read_catalogue(code), sources))} to translate")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else None)

"""Prints documents as PDF: same words, same bytes; fonts embedded; no system font, no package, no network."""

from __future__ import annotations

import json
import threading
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from roundplan.handouts.pdf.blocks import Printed, to_data
from roundplan.handouts.pdf.proof import Missing, Proof
from roundplan.handouts.pdf.typefaces import FAMILIES, FOLDER

LAYOUT = Path(__file__).parent / "house.typ"
PAPERS = {"a4": "a4", "letter": "us-letter"}
"""Sizes of paper by their name in round.toml."""


def print_pdf(document: Printed) -> tuple[bytes, tuple[Missing, ...]]:
    """Return a document as PDF, and what its text holds that no font can print.

    Such characters stand in the PDF as their code, ``[U+1F691]``, never as an empty box.
    """
    proof = Proof(document.path)
    data = to_data(document, proof.clean)
    data["paper"] = PAPERS[document.paper]
    data["fonts"] = FAMILIES
    return _press().printed(json.dumps(data, ensure_ascii=False)), tuple(proof.missing)


class _Press:
    """Typst with our layout and fonts loaded.

    The words reach it as a file of JSON beside the layout: what two documents have in common, such as the sheet of a
    session, is then laid out once. Any other way in makes typst forget all that it knows, at five times the time.
    """

    def __init__(self) -> None:
        import typst

        self._folder = TemporaryDirectory(prefix="roundplan-press-")
        self._alone = threading.Lock()
        root = Path(self._folder.name)
        layout = root / LAYOUT.name
        layout.write_bytes(LAYOUT.read_bytes())
        self._words = root / "document.json"
        fonts: Any = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FOLDER])
        self._compiler = typst.Compiler(layout, root=root, font_paths=fonts, ignore_system_fonts=True)

    def printed(self, words: str) -> bytes:
        """Return a document as PDF; untagged, which makes it a sixth as long: HTML pages serve screen readers."""
        with self._alone:
            self._words.write_text(words, encoding="utf-8")
            content = self._compiler.compile(format="pdf", pdf_tags=False)
        if not isinstance(content, bytes):
            raise TypeError("typst returned no single document")
        return content


@cache
def _press() -> _Press:
    return _Press()

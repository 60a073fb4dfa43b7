"""Prints documents as PDF: same words, same bytes; fonts embedded; no system font, no package, no network."""

from __future__ import annotations

import atexit
import json
import threading
from concurrent.futures import Future, ThreadPoolExecutor
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from roundplan.handouts.pdf.blocks import Printed, to_data
from roundplan.handouts.pdf.proof import Missing, Proof
from roundplan.handouts.pdf.typefaces import FAMILIES, FOLDER

if TYPE_CHECKING:
    import typst

FOLDER_OF_LAYOUTS = Path(__file__).parent
LAYOUTS = ("house.typ", "document.typ", "sizes.typ")
PAPERS = {"a4": "a4", "letter": "us-letter"}
"""Sizes of paper by their name in round.toml."""


def print_pdf(document: Printed) -> tuple[bytes, tuple[Missing, ...]]:
    """Return a document as PDF, and what its text holds that no font can print.

    Such characters stand in the PDF as their code, ``[U+1F691]``, never as an empty box.
    """
    data, missing = composed(document)
    return press_later(data).result(), missing


def composed(document: Printed) -> tuple[dict[str, Any], tuple[Missing, ...]]:
    """Return a document as it goes to the press, and what its text holds that no font can print."""
    proof = Proof(document.path)
    data = to_data(document, proof.clean)
    data["paper"] = PAPERS[document.paper]
    data["fonts"] = FAMILIES
    return data, tuple(proof.missing)


def press_later(data: dict[str, Any]) -> Future[bytes]:
    """Return a composed document as PDF, while it is still being made, beside other work."""
    return _queue().submit(_print, data)


class _Press:
    """Typst with our layouts and fonts loaded.

    The words reach it as a file of JSON beside the layout: what two documents have in common, such as the sheet of a
    session, is then laid out once. Any other way in makes typst forget all that it knows, at five times the time. For
    the same reason the sizes of sheets are found apart, once for all documents that hold the same sheet.
    """

    def __init__(self) -> None:
        self._folder = TemporaryDirectory(prefix="roundplan-press-")
        atexit.register(self._folder.cleanup)  # before Python would do it itself and warn
        self._root = Path(self._folder.name)
        for name in LAYOUTS:
            (self._root / name).write_bytes((FOLDER_OF_LAYOUTS / name).read_bytes())
        self._document, self._measure = self._compiler("document.typ"), self._compiler("sizes.typ")
        self._sizes: dict[str, float] = {}

    def _compiler(self, layout: str) -> typst.Compiler:
        import typst

        fonts: Any = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FOLDER])
        return typst.Compiler(self._root / layout, root=self._root, font_paths=fonts, ignore_system_fonts=True)

    def printed(self, data: dict[str, Any]) -> bytes:
        """Return a document as PDF; untagged, which makes it a sixth as long: HTML pages serve screen readers."""
        self._size(data)
        self._write("document.json", data)
        content = self._document.compile(format="pdf", pdf_tags=False)
        if not isinstance(content, bytes):
            raise TypeError("typst returned no single document")
        return content

    def _size(self, data: dict[str, Any]) -> None:
        """Write into each sheet the largest size of type at which it fits its page."""
        setting = {key: data[key] for key in ("paper", "fonts", "language")}
        sheets = {json.dumps([setting, b]): b for b in data["blocks"] if b["kind"] == "Sheet"}
        unseen = [key for key in sheets if key not in self._sizes]
        if unseen:
            self._write("sheets.json", {**setting, "blocks": [sheets[key] for key in unseen]})
            found = json.loads(self._measure.query("<size>", field="value"))
            self._sizes.update(zip(unseen, found, strict=True))
        for key, sheet in sheets.items():
            sheet["size"] = self._sizes[key]

    def _write(self, name: str, data: dict[str, Any]) -> None:
        (self._root / name).write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")


_presses = threading.local()


def _print(data: dict[str, Any]) -> bytes:
    """Print on the press of the thread that runs this."""
    if not hasattr(_presses, "own"):
        _presses.own = _Press()
    printed: bytes = _presses.own.printed(data)
    return printed


@cache
def _queue() -> ThreadPoolExecutor:
    """Return two threads that print: typst keeps two thirds of two cores busy by itself, and leaves Python code free.

    What one has laid out the other need not: typst's memory is one for both.
    """
    return ThreadPoolExecutor(2, thread_name_prefix="press")

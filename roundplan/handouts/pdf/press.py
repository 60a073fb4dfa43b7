"""Prints documents as PDF: same words, same bytes; fonts embedded; no system font, no package, no network."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
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
    content = _compiler()(sys_inputs={"document": json.dumps(data, ensure_ascii=False)})
    return content, tuple(proof.missing)


@cache
def _compiler() -> Callable[..., bytes]:
    """Return typst with our layout and fonts loaded; made once, which saves most of the time."""
    import typst

    fonts: Any = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FOLDER])
    made = typst.Compiler(LAYOUT, root=LAYOUT.parent, font_paths=fonts, ignore_system_fonts=True)

    def compiled(sys_inputs: dict[str, str]) -> bytes:
        found = made.compile(format="pdf", sys_inputs=sys_inputs)
        return bytes(found)  # type: ignore[arg-type]

    return compiled

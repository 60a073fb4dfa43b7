"""All the text of a document, be it a page, a PDF, a workbook, a calendar, a route or plain text."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import openpyxl
from pdf_reading import whole


class _Text(HTMLParser):
    """Gathers all text and all attributes' values, styles too: whatever could give a name away."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        self.found.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [value for _, value in attrs if value]


def everything(path: Path) -> str:
    """Return all text of a document; of workbooks hidden sheets, comments and drop-downs too."""
    if path.suffix == ".html":
        reader = _Text()
        reader.feed(path.read_text(encoding="utf-8"))
        text = " ".join(reader.found)
    elif path.suffix == ".pdf":
        text = whole(path)
    elif path.suffix == ".ics":
        text = path.read_bytes().decode().replace("\r\n ", "").replace("\\n", " ").replace("\\", "")
    elif path.suffix in (".gpx", ".txt"):
        text = path.read_text(encoding="utf-8")
    else:
        parts: list[Any] = []
        for sheet in openpyxl.load_workbook(path):
            for row in sheet.iter_rows():
                parts += [cell.value for cell in row] + [cell.comment.text for cell in row if cell.comment]
            parts += [rule.formula1 for rule in sheet.data_validations.dataValidation]
        text = " ".join(str(part) for part in parts if part is not None)
    return " ".join(text.replace("\N{WORD JOINER}", "").split())

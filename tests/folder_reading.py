"""Reads files of a folder of outputs: text of PDFs and pages, rows of workbooks, all text of any document."""

from __future__ import annotations

import html
import io
import re
from typing import Any

import pypdfium2
from pdf_reading import flat
from python_calamine import CalamineWorkbook

Rows = list[dict[str, Any]]
_MARKUP = re.compile(
    r"<style.*?</style>|<script.*?</script>|<svg.*?</svg>|</?(?:bdi|wbr|b|strong|small)\b[^>]*>", re.DOTALL
)


def pdf_text(content: bytes) -> str:
    """Return the text of a PDF; a hyphen at a line's end is that library's control character 2."""
    pages = pypdfium2.PdfDocument(content)
    return " ".join(flat(page.get_textpage().get_text_bounded().replace("\x02", "-")) for page in pages)


def page_text(content: bytes) -> str:
    """Return the text of a page, a space between any two cells."""
    bare = _MARKUP.sub("", content.decode())
    return flat(html.unescape(re.sub(r"<[^>]+>", " ", bare)))


def sheets(content: bytes, head: str = "") -> dict[str, Rows]:
    """Return the rows of each sheet by heading; ``head`` stands in the row of headings where that is not the first."""
    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    found: dict[str, Rows] = {}
    for name in book.sheet_names:
        lines = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
        start = next((n for n, line in enumerate(lines) if not head or head in line), None)
        if start is not None:
            rows = lines[start + 1 :]
            filled = rows[: next((n for n, row in enumerate(rows) if not any(row)), len(rows))]
            found[name] = [dict(zip(map(str, lines[start]), row, strict=True)) for row in filled]
    return found


def all_text(path: str, content: bytes) -> str:
    """Return all text of a document, hidden sheets and attributes too."""
    if path.endswith(".pdf"):
        return pdf_text(content)
    if path.endswith(".xlsx"):
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        return " ".join(str(book.get_sheet_by_name(name).to_python()) for name in book.sheet_names)
    return html.unescape(content.decode().replace("\r\n ", "").replace("\N{WORD JOINER}", ""))

"""What a row of a form says, in the plain form in which the record keeps it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from roundplan.attendance.layout import Part
from roundplan.followup.replies import Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One thing that was said.

    Attributes
    ----------
    part : Part
        Sheet of the form.
    session : str
        Key of the session, or ``round``.
    subject : tuple of str
        What it is about within the session; a later statement about the same holds instead.
    about : str
        The same in words, which stay true whatever becomes of the tables.
    content : mapping of str to str
        What was said, normalised; blank entries left out.
    """

    part: Part
    session: str
    subject: tuple[str, ...]
    about: str
    content: Mapping[str, str]
    place: Place

    @property
    def subject_text(self) -> str:
        """Sheet, session and subject as the record keeps them."""
        return json.dumps([self.part.value, self.session, *self.subject], ensure_ascii=False)

    @property
    def content_text(self) -> str:
        """Content as the record keeps it; equal contents give equal texts."""
        return json.dumps({key: text for key, text in self.content.items() if text}, ensure_ascii=False, sort_keys=True)

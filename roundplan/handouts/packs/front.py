"""The first page of a pack: who it is for, when, with whom, whom to call."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from roundplan.domain.decision import Contact
from roundplan.handouts import speech
from roundplan.handouts.page import caution, draft_reasons
from roundplan.handouts.pdf.blocks import Blank, Block, Cell, Facts, Heading, Line, Lines, Notice, Printed
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.travel_days import exposure_lines, unlisted_lines, venue_contacts
from roundplan.handouts.speech import say
from roundplan.handouts.words import capital, long_date, version_words


def pack(
    index: PlanIndex,
    path: str,
    title: str,
    kind: str,
    blocks: Sequence[Block],
    sessions: Collection[str],
    *,
    under_title: str = "",
    version: int | None = None,
) -> Printed:
    """Return a pack with what all packs share: heads, feet, language, paper.

    Parameters
    ----------
    path : str
        Its path in the output folder.
    title, kind, under_title : str
        Whose it is, what it is, one sentence on it.
    sessions : collection of str
        Codes of the sessions that it is about.
    version : int or None
        Version of the pack's own last change; None = the plan's.
    """
    return Printed(
        path=path,
        title=title,
        over_title=say("{kind}, {round}", kind=kind, round=index.plan.round_name),
        under_title=under_title,
        head=say("{kind}, {round}", kind=kind, round=index.plan.round_name),
        foot=capital(say("{version}. All times are local times.", version=version_words(index.plan, version))),
        pages=say("page {page} of {pages}", page="{number}", pages="{total}"),
        language=speech.language(),
        paper=index.training_round.settings.round.paper.value,
        blocks=(*_draft(index, sessions), *blocks),
    )


def _draft(index: PlanIndex, sessions: Collection[str]) -> list[Block]:
    reasons = draft_reasons(index, sessions)
    return [Notice(caution(index.plan), list(reasons))] if reasons else []


def facts(rows: Sequence[tuple[str, Cell]]) -> Facts:
    """Return labels with what they stand for; empty values are left out."""
    return Facts([row for row in rows if row[1]])


def dates_fact(index: PlanIndex, days: Sequence[object]) -> str:
    """Say the first and the last of the dates."""
    first, last = min(days), max(days)  # type: ignore[type-var]
    if first == last:
        return capital(long_date(first))  # type: ignore[arg-type]
    return say("{first} to {last}", first=capital(long_date(first)), last=long_date(last))  # type: ignore[arg-type]


def whom_to_call(index: PlanIndex, venues: tuple[str, ...], contacts: Mapping[str, Contact]) -> list[Block]:
    """Return the contacts that somebody on the road needs: the manager's and the venues', no one else's."""
    rows: list[tuple[str, Cell]] = [
        (title, [part for part in (contact.phone, contact.email) if part] or Blank())
        for title, contact in venue_contacts(index, venues, contacts)
    ]
    if "manager" not in contacts:
        rows.insert(0, (say("Programme manager"), Blank()))
    lines: list[Line] = list(unlisted_lines(index, venues, contacts))
    lines += [say("Needle-stick at {where}", where=line) for line in exposure_lines(index, venues)]
    return [Heading(say("Whom to call"), 2), Facts(rows, 60), Lines(lines, marked=True)]

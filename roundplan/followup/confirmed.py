"""What facilities have agreed to and a new version would change."""

from __future__ import annotations

import json
from sqlite3 import Connection

from roundplan.domain.outcome import NotAnnounced
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.followup.answers import Kept, holding
from roundplan.followup.asked import Kind, question
from roundplan.followup.released import free_subjects
from roundplan.slips.reply_code import Word

_PERSON = 3  # place of the person among the parts of a seat's subject


def refuse_lost(connection: Connection, plan: Plan, training_round: TrainingRound) -> None:
    """Refuse a plan in which a seat, or a shift's cover, that was confirmed is no longer as it was.

    Raises
    ------
    NotAnnounced
        With a line for each.
    """
    lost = lost_agreements(connection, plan, training_round)
    if lost:
        remedy = "keep it with a row in locks and plan again, or release it with --release and say why with --why"
        raise NotAnnounced([f"{words}: confirmed, but not in this plan — {remedy}" for words in lost])


def lost_agreements(connection: Connection, plan: Plan, training_round: TrainingRound) -> tuple[str, ...]:
    """Return in words which seats, and which shifts' cover, were confirmed and are not in a plan as they were.

    What was given free by those whose it is is none of them.
    """
    asked = {row.subject for row in question(plan, training_round).rows}
    free = free_subjects(connection)
    lost = [
        subject
        for subject, kept in sorted(holding(connection).items())
        if subject not in free and not {subject, _instead(subject, kept)} & asked and _agreed(kept)
    ]
    words = {row["subject"]: row["about"] for row in connection.execute("SELECT subject, about FROM answers")}
    return tuple(words[subject] for subject in lost)


def _agreed(replies: tuple[Kept, ...]) -> bool:
    """Whether replies agree that somebody comes, or that the cover of a shift is confirmed."""
    said = {(kept.word, kept.substitute) for kept in replies if kept.word}
    kind = json.loads(replies[0].subject)[0]
    return kind != Kind.COVER and len(said) == 1 and said != {(Word.NO, "")}


def _instead(subject: str, replies: tuple[Kept, ...]) -> str:
    """Return the seat as it is asked about once who comes instead holds it."""
    parts = json.loads(subject)
    named = {kept.substitute for kept in replies if kept.substitute}
    if parts[0] == Kind.SEAT and len(named) == 1:
        parts[_PERSON] = named.pop()
    return json.dumps(parts, ensure_ascii=False)

"""What slips call things: headings, sheet names, the words to reply with."""

from __future__ import annotations

from collections.abc import Collection

from roundplan.domain.decision import Contact
from roundplan.domain.person import Person
from roundplan.domain.plan import Seat, Team
from roundplan.handouts.facility.cover import named_to_stay
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import language, say
from roundplan.slips.layout import Column, Mark
from roundplan.slips.reply_code import REPLY_WORDS, SHORT_WORDS, Word

LONGEST_SHEET_NAME = 31
"""Characters that spreadsheets allow in the name of a sheet."""

_NOT_IN_SHEET_NAMES = str.maketrans(dict.fromkeys("[]:*?/\\"))


def reply_said(word: Word) -> str:
    """Return a reply word in the language that is spoken."""
    return REPLY_WORDS[word][language()]


def short_said() -> str:
    """Return what is typed in a phone message for "replaced by"."""
    return SHORT_WORDS[language()]


def sheet_name(mark: Mark) -> str:
    """Return the name of a visible sheet, cut to what spreadsheets allow."""
    names = {
        Mark.SEATS: say("Who goes"),
        Mark.COVER: say("Who stays"),
        Mark.CONFIRMATIONS: say("Cover confirmed"),
    }
    return names[mark].translate(_NOT_IN_SHEET_NAMES)[:LONGEST_SHEET_NAME]


def to_do(mark: Mark) -> str:
    """Say what to fill in on a visible sheet."""
    words = {"yes": reply_said(Word.YES), "no": reply_said(Word.NO), "replaced": reply_said(Word.REPLACED)}
    said = {
        Mark.SEATS: say(
            "Fill in the framed cells only. Reply for each person who goes: {yes}, {no}, or {replaced}, and then "
            "choose who comes instead.",
            **words,
        ),
        Mark.COVER: say(
            "Fill in the framed cells only. Reply where somebody named cannot stay: {no}, or {replaced}, and then "
            "choose who stays instead.",
            **words,
        ),
        Mark.CONFIRMATIONS: say(
            "Fill in the framed cells only, the day before: who in charge confirms that these people stay, and when "
            "that was."
        ),
    }
    return said[mark]


def send_back_words(manager: Contact | None) -> str:
    """Say where a slip goes once it is filled in."""
    reach = ", ".join(part for part in (manager.phone, manager.email) if part) if manager else ""
    if reach:
        return say("Send it back to the programme manager, {contact}.", contact=reach)
    return say("Send it back to the programme manager.")


def heads() -> dict[Column, str]:
    """Return the headings of the visible columns."""
    return {
        Column.CODE: say("Code"),
        Column.FACILITY: say("Facility"),
        Column.TEAM: say("Team"),
        Column.NAME: say("Name"),
        Column.ROLE: say("Role"),
        Column.DATES: say("Dates"),
        Column.VENUE: say("Venue"),
        Column.TRAVEL: say("Travel"),
        Column.LEAVES: say("Leaves"),
        Column.RETURNS: say("Is back"),
        Column.SLOTS: say("Slots"),
        Column.STANDBY: say("Standby"),
        Column.NOTES: say("Notes"),
        Column.SHIFT: say("Shift"),
        Column.WHY: say("For what"),
        Column.WHO_STAYS: say("Who stays"),
        Column.REPLY: say("Reply"),
        Column.REPLACED_BY: say("Replaced by"),
        Column.CONFIRMED_BY: say("Confirmed by"),
        Column.CONFIRMED_WHEN: say("Confirmed on, at"),
        Column.REMARK: say("Remark"),
    }


def stay_line(needed: Collection[str]) -> tuple[str, ...]:
    """Say what it takes that somebody named to stay comes; nothing where nobody offered is."""
    if not needed:
        return ()
    return (say("Whoever is named to stay comes only if somebody else with that role stays instead: say who."),)


def offered(index: PlanIndex, person: Person, team: Team, seat: Seat) -> str:
    """Return how a drop-down offers a person for a seat: name, code, and whether they are needed to stay."""
    label = f"{person.name} [{person.code}]"
    if named_to_stay(index, person.code, team, seat):
        return say("{person}, named to stay", person=label)
    return label

"""Safety lines, in words of our own and in the reader's language, each reader given those that concern them."""

from __future__ import annotations

from enum import StrEnum

from roundplan.handouts.speech import message, say


class Reader(StrEnum):
    """Who reads a document."""

    MANAGER = "programme manager"
    DISTRICT = "district coordinator"
    FACILITY = "facility in charge"
    TRAINER = "trainer"
    CREW = "crew"


PATIENT_FIRST = message(
    "A patient always comes first. Anybody may stop the session by saying “this is real”: from then on it is about "
    "a patient and nothing else."
)
GO_OR_NOT = message("The person in charge of the facility says go or no-go before the day and again before each slot.")
COVER_CONFIRMED = message(
    "Who stays was worked out from the roster as it was entered, or from the staff list where there was none. The "
    "person in charge confirms it, by day and by night, the day before."
)
NO_AUTHORITY = message("A role in a simulation gives nobody leave to operate or to give an anaesthetic.")
TABLE_ONLY = message(
    "Cut and sew only on a table. Whoever plays the patient steps away before a blade or needle is opened, is never "
    "given a drug, a cannula or a spinal needle, has consented, has a stop word agreed, and is watched over by "
    "somebody who is not the director."
)
SHARPS = message(
    "Count sharps out and count them in; keep a sharps box at each station. Know whom to call here after a "
    "needle-stick before the first slot."
)
MARKED_KIT = message(
    "All kit is marked as training material and counted out of clinical areas. Leave no training drug and no expired "
    "stock behind, take nothing from patient stock, and never borrow the only machine, suction, oxygen or newborn bag."
)
LATEX_AND_WARD = message("Ask about latex. Tell ward, switchboard and relatives that this is practice.")
WARD_TOLD = message("Ward, switchboard and relatives are told beforehand that this is practice.")
ROADS = message(
    "Road times are estimates. Check road, weather and security on the day; nobody drives in the dark or tired to "
    "keep to a timetable; an ambulance never carries participants."
)
DEBRIEFS = message("What is said in a debrief stays there; no scores of persons are kept.")
LOCAL_RULES = message("Local codes, the employer's rules and licensed practice come before this plan.")

_LINES: dict[Reader, tuple[str, ...]] = {
    Reader.MANAGER: (PATIENT_FIRST, GO_OR_NOT, COVER_CONFIRMED, NO_AUTHORITY, ROADS, DEBRIEFS, LOCAL_RULES),
    Reader.DISTRICT: (PATIENT_FIRST, COVER_CONFIRMED, ROADS, LOCAL_RULES),
    Reader.FACILITY: (PATIENT_FIRST, COVER_CONFIRMED, NO_AUTHORITY, ROADS, LOCAL_RULES),
    Reader.TRAINER: (
        PATIENT_FIRST,
        GO_OR_NOT,
        NO_AUTHORITY,
        TABLE_ONLY,
        SHARPS,
        MARKED_KIT,
        LATEX_AND_WARD,
        DEBRIEFS,
        ROADS,
        LOCAL_RULES,
    ),
    Reader.CREW: (ROADS, MARKED_KIT, SHARPS, LOCAL_RULES),
}


def safety_lines(reader: Reader, *, hosts: bool = False) -> tuple[str, ...]:
    """Return the safety lines for a reader.

    Parameters
    ----------
    reader : Reader
        Whom the document is for.
    hosts : bool
        For a facility: a session is held there.
    """
    lines = _LINES[reader]
    if reader is Reader.FACILITY and hosts:
        lines = (*lines[:3], MARKED_KIT, WARD_TOLD, *lines[3:])
    return tuple(say(line) for line in lines)

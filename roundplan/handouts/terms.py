"""Words of the trade in the reader's language: roles, leads, shifts, slots, surfaces, sources of a time, cost lines."""

from __future__ import annotations

from roundplan.domain.decision import CostLine
from roundplan.domain.plan import CoverKind, SlotKind
from roundplan.domain.role import Lead, Role, Shift, Surface
from roundplan.domain.supply import ItemKind
from roundplan.handouts.speech import message, say

ROLES = {
    Role.SURGICAL_PROVIDER: message("surgical provider"),
    Role.SURGICAL_ASSISTANT: message("surgical assistant"),
    Role.ANAESTHETIST: message("anaesthetist"),
    Role.SCRUB: message("scrub"),
    Role.CIRCULATING: message("circulating"),
    Role.NEWBORN_CARE: message("newborn care"),
}

LEADS = {
    Lead.DIRECTOR: message("director"),
    Lead.ANAESTHESIA: message("lead for anaesthesia"),
    Lead.SURGERY: message("lead for surgery"),
    Lead.NEWBORN_CARE: message("lead for newborn care"),
}

LEAD_NAMES = {
    Lead.DIRECTOR: message("director"),
    Lead.ANAESTHESIA: message("anaesthesia"),
    Lead.SURGERY: message("surgery"),
    Lead.NEWBORN_CARE: message("newborn care"),
}
"""What a lead is for, where it stands in a sentence."""

SHIFTS = {Shift.DAY: message("day"), Shift.NIGHT: message("night")}

SLOTS = {
    SlotKind.SIMULATION: message("simulation"),
    SlotKind.DEMONSTRATION: message("demonstration by trainers"),
    SlotKind.RESERVE: message("kept free"),
}

PAUSES = {"lunch": message("lunch"), "pause": message("pause")}

SURFACES = {
    Surface.PAVED: message("paved"),
    Surface.GRAVEL: message("gravel"),
    Surface.EARTH: message("earth"),
    Surface.TRACK: message("track"),
}

TIME_SOURCES = {
    "entered": message("hours as entered"),
    "network": message("worked out over the roads"),
    "straight line": message("worked out from the straight line"),
    "near": message("next door"),
}

COVER_KINDS = {
    CoverKind.OWN: message("own emergency team"),
    CoverKind.REFERRAL: message("emergencies of another facility too"),
    CoverKind.SLOT: message("while a team simulates here"),
}

ITEM_KINDS = {ItemKind.REUSABLE: message("reusable"), ItemKind.CONSUMABLE: message("consumable")}

COST_LINES = {
    CostLine.CREW_TRAVEL: message("crew travel"),
    CostLine.CREW_DAYS: message("crew days"),
    CostLine.TRAINERS: message("trainers"),
    CostLine.PARTICIPANTS: message("participants"),
    CostLine.PARTICIPANT_TRAVEL: message("participant travel"),
    CostLine.VENUES: message("venues"),
    CostLine.LODGING: message("lodging"),
    CostLine.LUNCHES: message("lunches"),
    CostLine.CONSUMABLES: message("consumables"),
    CostLine.PRINTING: message("printing"),
    CostLine.CONTINGENCY: message("contingency"),
}

SHIPPED_CASES = frozenset(
    {
        message("Obstructed labour, head deep in the pelvis"),
        message("Fetal distress, urgent caesarean"),
        message("Placenta praevia with bleeding"),
        message("Repeat caesarean with scar tissue"),
        message(
            "The director ends it when the baby is out, the tear is looked for aloud and the uterus is closed; at the "
            "latest when the time for the simulation is up"
        ),
        message(
            "The director ends it when the baby is out and handed over, and the uterus is closed; at the latest when "
            "the time for the simulation is up"
        ),
        message(
            "The director ends it when help and blood are called for, the loss is said aloud and the bleeding is "
            "stopped; at the latest when the time for the simulation is up"
        ),
        message(
            "The director ends it when the bladder is named and kept away, the baby is out and the uterus is closed; "
            "at the latest when the time for the simulation is up"
        ),
    }
)
"""Names and stop rules of the cases that new tables start with."""


def role_word(role: Role) -> str:
    """Say a role in a team."""
    return say(ROLES[role])


def lead_word(lead: Lead) -> str:
    """Say what a trainer leads in a session."""
    return say(LEADS[lead])


def shift_word(shift: Shift) -> str:
    """Say a shift without its date."""
    return say(SHIFTS[shift])


def shipped(text: str) -> str:
    """Say a case's name or stop rule that new tables start with; any other as it was entered."""
    return say(text) if text in SHIPPED_CASES else text


def rule_sentence(sentence: str) -> str:
    """Say a rule's sentence, as it stands in the domain."""
    return say(sentence)


def aim_sentence(sentence: str) -> str:
    """Say an aim's sentence, as it stands in the domain."""
    return say(sentence)


def setting_meaning(meaning: str) -> str:
    """Say what a setting means, as it stands beside its default in the domain."""
    return say(meaning)


def slot_word(kind: SlotKind) -> str:
    """Say what a slot is for."""
    return say(SLOTS[kind])


def pause_word(kind: str) -> str:
    """Say what a pause of a session's day is; one of a kind unknown here as it stands in the plan."""
    return say(PAUSES[kind]) if kind in PAUSES else kind


def surface_word(surface: Surface) -> str:
    """Say a road's surface."""
    return say(SURFACES[surface])


def time_source(source: str) -> str:
    """Say where a drive's time comes from; a source unknown here as it stands in the plan."""
    return say(TIME_SOURCES[source]) if source in TIME_SOURCES else source


def cover_kind(kind: CoverKind) -> str:
    """Say what cover is named for."""
    return say(COVER_KINDS[kind])


def item_kind(kind: ItemKind) -> str:
    """Say whether an item comes back."""
    return say(ITEM_KINDS[kind])


def cost_line(line: str) -> str:
    """Say a cost line by its code; one unknown here as it stands in the plan."""
    known = {kind.value: words for kind, words in COST_LINES.items()}
    return say(known[line]) if line in known else line

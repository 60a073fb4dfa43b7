"""Words of the trade as packs say them."""

from __future__ import annotations

from roundplan.domain.role import Lead, Role, SessionRoom, Surface
from roundplan.handouts.speech import message, say

_ROLES = {
    Role.SURGICAL_PROVIDER: message("surgical provider"),
    Role.SURGICAL_ASSISTANT: message("surgical assistant"),
    Role.ANAESTHETIST: message("anaesthetist"),
    Role.SCRUB: message("scrub"),
    Role.CIRCULATING: message("circulating"),
    Role.NEWBORN_CARE: message("newborn care"),
}
_LEADS = {
    Lead.ANAESTHESIA: message("lead for anaesthesia"),
    Lead.SURGERY: message("lead for surgery"),
    Lead.NEWBORN_CARE: message("lead for newborn care"),
}
_SURFACES = {
    Surface.PAVED: message("{length} paved"),
    Surface.GRAVEL: message("{length} gravel"),
    Surface.EARTH: message("{length} earth"),
    Surface.TRACK: message("{length} track"),
}
_ROOMS = {
    SessionRoom.SPARE_ROOM: message("a spare room"),
    SessionRoom.SECOND_THEATRE: message("the second theatre"),
    SessionRoom.ONLY_THEATRE: message("the only theatre"),
}


def role_word(role: Role) -> str:
    """Say a role."""
    return say(_ROLES[role])


def lead_word(lead: Lead) -> str:
    """Say a lead that is held by session."""
    return say(_LEADS[lead])


def surface_words(surface: Surface, length: str) -> str:
    """Say how far a road goes on a surface."""
    return say(_SURFACES[surface], length=length)


def room_word(room: SessionRoom) -> str:
    """Say in what room a facility holds sessions."""
    return say(_ROOMS[room])

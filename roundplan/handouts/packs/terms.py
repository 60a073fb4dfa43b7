"""Words of the trade as packs say them."""

from __future__ import annotations

from roundplan.domain.role import SessionRoom, Surface
from roundplan.handouts.speech import message, say

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


def surface_words(surface: Surface, length: str) -> str:
    """Say how far a road goes on a surface."""
    return say(_SURFACES[surface], length=length)


def room_word(room: SessionRoom) -> str:
    """Say in what room a facility holds sessions."""
    return say(_ROOMS[room])

"""Words of the trade as packs say them."""

from __future__ import annotations

from roundplan.domain.role import SessionRoom
from roundplan.handouts.speech import message, say

_ROOMS = {
    SessionRoom.SPARE_ROOM: message("a spare room"),
    SessionRoom.SECOND_THEATRE: message("the second theatre"),
    SessionRoom.ONLY_THEATRE: message("the only theatre"),
}


def room_word(room: SessionRoom) -> str:
    """Say in what room a facility holds sessions."""
    return say(_ROOMS[room])

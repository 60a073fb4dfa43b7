"""The words of the trade that everything else is written in: roles, leads, shifts."""

from __future__ import annotations

from enum import StrEnum


class Role(StrEnum):
    """What a person is authorised to do in a caesarean birth team."""

    SURGICAL_PROVIDER = "surgical provider"
    SURGICAL_ASSISTANT = "surgical assistant"
    ANAESTHETIST = "anaesthetist"
    SCRUB = "scrub"
    CIRCULATING = "circulating"
    NEWBORN_CARE = "newborn care"


MINIMUM_ROLES: tuple[Role, ...] = (
    Role.SURGICAL_PROVIDER,
    Role.SURGICAL_ASSISTANT,
    Role.ANAESTHETIST,
)
"""The roles without which there is no team."""


class Lead(StrEnum):
    """What a trainer can lead in a session."""

    DIRECTOR = "director"
    ANAESTHESIA = "anaesthesia"
    SURGERY = "surgery"
    NEWBORN_CARE = "newborn care"


class Shift(StrEnum):
    """Half of a service day; a night is dated by the evening on which it starts."""

    DAY = "day"
    NIGHT = "night"


class DutyKind(StrEnum):
    """A row of a facility's roster."""

    DAY = "day"
    NIGHT = "night"
    ON_CALL = "on call"
    OFF = "off"


class Include(StrEnum):
    """Whether the manager wants a person seated."""

    MUST = "must"
    MAY = "may"
    NO = "no"


class SessionRoom(StrEnum):
    """Where a facility would hold a session."""

    SPARE_ROOM = "spare room"
    SECOND_THEATRE = "second theatre"
    ONLY_THEATRE = "only theatre"


class OnSiteCover(StrEnum):
    """How far staff who train at their own facility still count as cover there."""

    NO = "no"
    OBSERVERS = "observers"
    INTERRUPTIBLE = "interruptible"


class Transport(StrEnum):
    """How a facility's people travel to a venue."""

    OWN = "own"
    HIRED = "hired"
    PUBLIC = "public"


class PlaceKind(StrEnum):
    """What a place serves for; one place may serve for several."""

    BASE = "base"
    VENUE = "venue"
    LODGING = "lodging"
    STORE = "store"
    JUNCTION = "junction"


class Surface(StrEnum):
    """Road surface."""

    PAVED = "paved"
    GRAVEL = "gravel"
    EARTH = "earth"
    TRACK = "track"


class Paper(StrEnum):
    """Size of the paper that documents are printed on."""

    A4 = "a4"
    LETTER = "letter"


class Weekend(StrEnum):
    """Where crews spend rest days: at home, out on the road, or either."""

    HOME = "home"
    AWAY = "away"
    EITHER = "either"

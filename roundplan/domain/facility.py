"""Facilities: whom they have is in ``person``; here is what they are and what they allow."""

from __future__ import annotations

from dataclasses import dataclass

from roundplan.domain.dates import DaySet
from roundplan.domain.place import Site
from roundplan.domain.role import OnSiteCover, Role, SessionRoom, Transport


@dataclass(frozen=True, slots=True, kw_only=True)
class Facility(Site):
    """A hospital or health centre whose staff are trained.

    Attributes
    ----------
    teams_wanted : int
        Most teams the facility is to send in the round.
    usual_team : tuple of Role
        The seats of its usual team; a role written twice is two seats.
    priority : int
        1 to 5, 5 matters most.
    languages : tuple of str
        BCP 47 codes, the working language first; empty = the round's language.
    minutes_to_theatre : int or None
        Walk from the session room to theatre; None counts as over the limit.
    keep_team, keep_team_night : tuple of Role or None
        Roles that must stay filled by day and by night; None = by the round's defaults.
    cover_run : int or None
        Most consecutive shifts one person is named for; None = the round's.
    refers_to : str or None
        Code of the facility that takes its emergencies while its people are away.
    course_days : DaySet
        Dates on which it sends teams; empty = any.
    transport_price : int or None
        Minor units a person-kilometre; None = the round's fare.
    """

    district: str
    teams_wanted: int
    usual_team: tuple[Role, ...]
    priority: int = 3
    languages: tuple[str, ...] = ()
    session_room: SessionRoom | None = None
    minutes_to_theatre: int | None = None
    on_site_cover: OnSiteCover = OnSiteCover.OBSERVERS
    keep_team: tuple[Role, ...] | None = None
    keep_team_night: tuple[Role, ...] | None = None
    cover_run: int | None = None
    refers_to: str | None = None
    course_days: DaySet = DaySet()
    transport: Transport = Transport.HIRED
    transport_price: int | None = None

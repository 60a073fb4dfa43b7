"""Numbers the stations of a session and gives each a crew and a director."""

from __future__ import annotations

from roundplan.domain.plan import HeldLead, Station
from roundplan.domain.role import Lead
from roundplan.solver.facts import Facts
from roundplan.solver.outline import Outline, SessionOutline


def stations_of(session: SessionOutline, outline: Outline, facts: Facts) -> tuple[Station, ...]:
    """Return the stations, crew by crew; where no director leads one, any trainer there stands in."""
    found: list[Station] = []
    for crew in crews_of(session):
        directors = [code for who, lead, code in session.leads if who == crew and lead is Lead.DIRECTOR]
        others = [code for code in aboard(session, outline, crew) if code not in directors]
        anyone = [trainer.code for trainer in facts.round.trainers if trainer.code not in (*directors, *others)]
        names = [*directors, *others, *anyone] or [""]
        for index in range(session.stations[crew]):
            found.append(Station(number=len(found) + 1, crew=crew, director=names[index % len(names)]))
    return tuple(found)


def crews_of(session: SessionOutline) -> tuple[str, ...]:
    """Return the crews of a session by code."""
    return tuple(sorted(crew for crew, count in session.stations.items() if count > 0))


def held_leads(session: SessionOutline) -> tuple[HeldLead, ...]:
    """Return the leads other than directors'."""
    order = list(Lead)
    rows = sorted(
        (row for row in session.leads if row[1] is not Lead.DIRECTOR), key=lambda r: (r[0], order.index(r[1]))
    )
    return tuple(HeldLead(lead=lead, trainer=trainer, crew=crew) for crew, lead, trainer in rows)


def aboard(session: SessionOutline, outline: Outline, crew: str) -> tuple[str, ...]:
    """Return the trainers who are with a crew on every date of a session."""
    days = [d for d in outline.crew_days if d.crew == crew and (session.venue, session.start) in d.sessions]
    if not days:
        return ()
    return tuple(code for code in sorted(days[0].aboard) if all(code in d.aboard for d in days))

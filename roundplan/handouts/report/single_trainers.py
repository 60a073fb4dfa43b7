"""What of a session rests on a single trainer: a lead or a language that nobody else aboard, and nobody free, has."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

from roundplan.domain.plan import Session
from roundplan.domain.role import Lead, Role
from roundplan.domain.trainer import Trainer
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.money import session_words
from roundplan.handouts.speech import say
from roundplan.handouts.terms import lead_word
from roundplan.handouts.words import language, list_words


@dataclass(frozen=True, slots=True)
class Dependency:
    """One such part of a session, in words."""

    session: str
    crew: str
    what: str
    trainer: str


Test = Callable[[Trainer], bool]


def single_trainers(index: PlanIndex) -> Iterator[Dependency]:
    """Yield every lead and language of a session's crew that rests on the trainers aboard alone."""
    for session in index.sessions_in_order:
        for crew in session.crews:
            aboard = _aboard(index, session, crew)
            free = [t for t in index.training_round.trainers if _is_free(index, t, session.dates, crew)]
            for what, number, can in _needs(index, session, crew):
                able = [code for code in aboard if can(index.training_round.trainer(code))]
                if len(able) == number and not any(can(trainer) for trainer in free):
                    said = say("crew {crew}", crew=crew)
                    names = list_words(index.name(code) for code in able)
                    yield Dependency(session_words(index, session), said, what, names)


def _aboard(index: PlanIndex, session: Session, crew: str) -> list[str]:
    """Return the trainers who are with the crew on all dates of the session."""
    days = [day for trip in index.trips_of(crew) for day in trip.days if day.date in session.dates]
    every = [{aboard.trainer for aboard in day.aboard} for day in days]
    return sorted(set.intersection(*every)) if every else []


def _is_free(index: PlanIndex, trainer: Trainer, dates: tuple[date, ...], crew: str) -> bool:
    """Whether a trainer is with no crew on the dates, to be had then and may join the crew."""
    busy = {day.date for _, day, _ in index.days_aboard(trainer.code)}
    early = trainer.available_from is not None and dates[0] < trainer.available_from
    late = trainer.available_to is not None and dates[-1] > trainer.available_to
    away = any(day in busy or index.training_round.on_leave(trainer.code, day) for day in dates)
    return not (early or late or away) and trainer.crew in (None, crew)


def _needs(index: PlanIndex, session: Session, crew: str) -> Iterator[tuple[str, int, Test]]:
    """Yield what a crew of a session needs trainers for, in words, how many, and as a test."""
    r = index.training_round
    facilities = [r.facility(team.facility) for team in index.teams_of_session(session.code)]
    leads = [Lead.ANAESTHESIA, Lead.SURGERY]
    if any(Role.NEWBORN_CARE in facility.usual_team for facility in facilities):
        leads.append(Lead.NEWBORN_CARE)
    for lead in leads:
        yield lead_word(lead), 1, _leads(lead)
    stations = sum(station.crew == crew for station in session.stations)
    yield lead_word(Lead.DIRECTOR), stations, _leads(Lead.DIRECTOR)
    for spoken in dict.fromkeys(r.working_language(facility) for facility in facilities):
        yield say("speaks {language}", language=language(spoken)), 1, _speaks(spoken, r.settings.round.language)


def _leads(lead: Lead) -> Test:
    return lambda trainer: lead in trainer.leads


def _speaks(spoken: str, usual: str) -> Test:
    return lambda trainer: spoken in (trainer.languages or (usual,))

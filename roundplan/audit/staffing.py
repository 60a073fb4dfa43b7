"""Rule crew-staffed: trainers, leads and languages, for each crew of a session alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, day_words
from roundplan.domain.counts import counted
from roundplan.domain.plan import Session
from roundplan.domain.role import Lead, Role
from roundplan.domain.rules import Rule


def crew_staffed(book: Book) -> Iterator[Breach]:
    """Each crew has the trainers, leads and languages its part of a session needs."""
    for session in book.plan.sessions:
        found = [*_held(book, session), *_one_lead_each(book, session)]
        if not session.crews:
            found.append(("has no crew", ()))
        for crew in session.crews:
            found += [*_numbers(book, session, crew), *_leads(book, session, crew), *_languages(book, session, crew)]
        for words, people in found:
            full = f"{session.code} at {book.who(session.venue)} on {day_words(session.dates[0])} {words}"
            yield Breach(Rule.CREW_STAFFED, full, people, session.venue, session.dates[0])


def _trainers(book: Book, session: Session, crew: str) -> frozenset[str]:
    """Return the trainers with a crew on every date of a session."""
    aboard = [set(book.aboard_on(crew, day)) for day in session.dates]
    return frozenset(set.intersection(*aboard))


def _numbers(book: Book, session: Session, crew: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    stations = sum(station.crew == crew for station in session.stations)
    wanted = book.settings.trainers.per_station * stations
    if not stations:
        yield f"gives crew {crew} no station", ()
    for day in session.dates:
        aboard = book.aboard_on(crew, day)
        if len(aboard) < wanted:
            held = f"has {counted(len(aboard), 'trainer')} of crew {crew} on {day_words(day)}"
            yield f"{held}; for {counted(stations, 'station')} {wanted} are needed", aboard


def _tasks(session: Session) -> list[tuple[Lead, str, str, str]]:
    """Return lead, trainer, crew and what it is for, for every lead of a session."""
    tasks = [(Lead.DIRECTOR, s.director, s.crew, f"director of station {s.number}") for s in session.stations]
    return tasks + [(h.lead, h.trainer, h.crew, f"{h.lead.value} lead of crew {h.crew}") for h in session.leads]


def _held(book: Book, session: Session) -> Iterator[tuple[str, tuple[str, ...]]]:
    known = {trainer.code: trainer for trainer in book.round.trainers}
    for lead, code, crew, what in _tasks(session):
        trainer = known.get(code)
        if trainer is None:
            continue
        if lead not in trainer.leads:
            yield f"has {book.who(code)} as {what}, who cannot lead that", (code,)
        if crew in session.crews and code not in _trainers(book, session, crew):
            yield f"has {book.who(code)} as {what}, who is not with crew {crew} on every date", (code,)


def _one_lead_each(book: Book, session: Session) -> Iterator[tuple[str, tuple[str, ...]]]:
    held: dict[str, list[tuple[Lead, str]]] = defaultdict(list)
    for lead, code, _, what in _tasks(session):
        held[code].append((lead, what))
    for code, tasks in held.items():
        leads = sorted(lead.value for lead, _ in tasks)
        if len(tasks) > 1 and leads != [Lead.DIRECTOR.value, Lead.SURGERY.value]:
            yield f"has {book.who(code)} as {' and '.join(what for _, what in tasks)} at one time", (code,)


def _leads(book: Book, session: Session, crew: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    wanted = [Lead.ANAESTHESIA, Lead.SURGERY]
    usual = {role for team in book.teams_at(session) for role in book.round.facility(team.facility).usual_team}
    if Role.NEWBORN_CARE in usual:
        wanted.append(Lead.NEWBORN_CARE)
    held = [lead.lead for lead in session.leads if lead.crew == crew]
    for lead in wanted:
        if lead not in held:
            yield f"has nobody of crew {crew} who leads {lead.value}", ()


def _languages(book: Book, session: Session, crew: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    trainers = [book.round.trainer(code) for code in _trainers(book, session, crew)]
    default = book.settings.round.language
    spoken = {language for trainer in trainers for language in trainer.languages or (default,)}
    for code in dict.fromkeys(team.facility for team in book.teams_at(session)):
        wanted = book.round.working_language(book.round.facility(code))
        if wanted not in spoken:
            yield f"has no trainer of crew {crew} who speaks {wanted}, the working language of {book.who(code)}", ()

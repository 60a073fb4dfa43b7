"""Trainers: who is aboard, who leads what, how long they are away."""

from __future__ import annotations

from datetime import date

from roundplan.domain.crew import Crew
from roundplan.domain.role import Lead, Role
from roundplan.domain.rules import Rule
from roundplan.domain.trainer import Trainer
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY
from roundplan.solver.limits.sessions import present_on
from roundplan.solver.parts import Linear, Var


def one_crew_at_a_time(choices: Choices) -> None:
    """A trainer is with one crew at most, and only while it is out."""
    facts, model = choices.facts, choices.model
    for trainer in facts.round.trainers:
        for day in facts.dates:
            aboard = [v for c in choices.crews if (v := choices.aboard.get((trainer.code, c.code, day))) is not None]
            if len(aboard) > 1:
                model.add_at_most_one(aboard)
    for (_, code, day), var in choices.aboard.items():
        model.add(var <= choices.out(facts.round.crew(code), day))


def leads_held(choices: Choices) -> None:
    """Each crew alone holds the leads of its part of a session."""
    facts, model = choices.facts, choices.model
    if facts.shares_days:
        return
    for code, start in sorted({(crew, s) for crew, _, s in choices.hold}):
        held = {lead: _holders(choices, code, start, lead) for lead in Lead}
        teaches = sum(v for (c, _, s), v in choices.hold.items() if (c, s) == (code, start))
        stations = sum(v for (c, _, s), v in choices.stations.items() if (c, s) == (code, start))
        if facts.on(Rule.CREW_STAFFED):
            model.add(sum(held[Lead.DIRECTOR]) == stations)
            model.add(sum(held[Lead.ANAESTHESIA]) == teaches)
            model.add(sum(held[Lead.SURGERY]) == teaches)
            _newborn_lead(choices, code, start, held[Lead.NEWBORN_CARE])
        for trainer in facts.round.trainers:
            _leads_of(choices, trainer, code, start)
        if facts.on(Rule.CREW_STAFFED):
            per_station = facts.settings.trainers.per_station
            for day in facts.session_dates(start):
                model.add(choices.aboard_count(code, day) >= per_station * stations)


def _holders(choices: Choices, crew: str, start: date, lead: Lead) -> list[Var]:
    return [v for (_, c, s, held), v in choices.leads.items() if (c, s, held) == (crew, start, lead)]


def _leads_of(choices: Choices, trainer: Trainer, crew: str, start: date) -> None:
    """Nobody leads twice, but a director may lead surgery too; leads are aboard on all dates."""
    mine = {lead: choices.leads.get((trainer.code, crew, start, lead)) for lead in Lead}
    sole = [v for lead in (Lead.DIRECTOR, Lead.ANAESTHESIA, Lead.NEWBORN_CARE) if (v := mine[lead]) is not None]
    other = [v for lead in (Lead.SURGERY, Lead.ANAESTHESIA, Lead.NEWBORN_CARE) if (v := mine[lead]) is not None]
    for group in (sole, other):
        if len(group) > 1:
            choices.model.add_at_most_one(group)
    for day in choices.facts.session_dates(start):
        aboard = choices.aboard.get((trainer.code, crew, day))
        for var in (v for v in mine.values() if v is not None and aboard is not None):
            choices.model.add_implication(var, aboard)


def _newborn_lead(choices: Choices, crew: str, start: date, held: list[Var]) -> None:
    facts = choices.facts
    for (code, venue, s), hold in choices.hold.items():
        if (code, s) != (crew, start):
            continue
        for day in facts.session_dates(start):
            for sending in present_on(choices, venue, day):
                if Role.NEWBORN_CARE in facts.round.facility(sending.facility).usual_team:
                    choices.model.add(sum(held) >= hold + sending.used - 1)


def languages_spoken(choices: Choices) -> None:
    """Each crew has a trainer on all dates of a session who speaks the working language of a facility present."""
    facts = choices.facts
    if not facts.on(Rule.CREW_STAFFED):
        return
    default, session = facts.settings.round.language, facts.settings.session
    throughout: dict[tuple[str, date], dict[str, Var]] = {}
    for (code, venue, start), hold in choices.hold.items():
        if (code, start) not in throughout:
            throughout[code, start] = _throughout(choices, code, start)
        there = [(facts.round.trainer(trainer), var) for trainer, var in throughout[code, start].items()]
        firsts = facts.session_dates(start)[: session.days - session.days_per_team + 1]
        for sending in (s for first in firsts for s in choices.visitors[venue, first]):
            language = facts.round.working_language(facts.round.facility(sending.facility))
            speakers = [var for trainer, var in there if language in (trainer.languages or (default,))]
            choices.model.add(sum(speakers) >= hold + sending.used - 1)


def _throughout(choices: Choices, crew: str, start: date) -> dict[str, Var]:
    """Return for each trainer who can be with a crew on all dates of a session whether they are."""
    dates, found = choices.facts.session_dates(start), {}
    for trainer in choices.facts.round.trainers:
        aboard = [choices.aboard.get((trainer.code, crew, day)) for day in dates]
        if len(dates) == 1 and aboard[0] is not None:
            found[trainer.code] = aboard[0]
        elif all(var is not None for var in aboard):
            found[trainer.code] = choices.flag(f"throughout[{trainer.code},{crew},{start}]")
            for var in aboard:
                choices.model.add(found[trainer.code] <= var)
    return found


def join_and_leave(choices: Choices) -> None:
    """A stretch of dates with a crew begins and ends where the trainer lives or at the base."""
    facts, model = choices.facts, choices.model
    if not facts.on(Rule.TRAINER_LIMITS):
        return
    for (code, crew_code, day), aboard in choices.aboard.items():
        crew, trainer = facts.round.crew(crew_code), facts.round.trainer(code)
        first, last = _home_venues(choices, trainer, crew, day)
        before = choices.aboard.get((code, crew_code, day - ONE_DAY))
        after = choices.aboard.get((code, crew_code, day + ONE_DAY))
        model.add(aboard - (0 if before is None else before) <= first + _at_home(choices, trainer, crew, day - ONE_DAY))
        model.add(aboard - (0 if after is None else after) <= last + _at_home(choices, trainer, crew, day))


def _home_venues(choices: Choices, trainer: Trainer, crew: Crew, day: date) -> tuple[Linear, Linear]:
    """Return whether the first and whether the last venue of the date is where the trainer may join or leave."""
    held = [(venue, v) for venue, _, v in choices.teaching[crew.code, day] if _is_home(choices, trainer, crew, venue)]
    if not choices.facts.shares_days or not choices.facts.on(Rule.CREW_IN_ONE_PLACE):
        near_by = sum(v for _, v in held)
        return near_by, near_by
    key, near = (crew.code, day), {venue for venue, _ in held}
    first = sum(c.used for c in choices.mornings[key] if c.arc.end in near)
    return first, sum(c.used for c in choices.evenings[key] if c.arc.start in near)


def _at_home(choices: Choices, trainer: Trainer, crew: Crew, day: date) -> Linear:
    nights = [
        v
        for (code, x, site), v in choices.night.items()
        if code == crew.code and x == day and _is_home(choices, trainer, crew, site)
    ]
    return sum(nights)


def _is_home(choices: Choices, trainer: Trainer, crew: Crew, site: str) -> bool:
    facts = choices.facts
    return facts.near_sites(site, trainer.lives_at) or facts.near_sites(site, crew.base)


def nights_and_days_in_a_row(choices: Choices) -> None:
    """Nights away and working days in a row stay within the limits."""
    facts, model = choices.facts, choices.model
    for (code, crew_code, day), aboard in choices.aboard.items():
        trainer = facts.round.trainer(code)
        stays = choices.aboard.get((code, crew_code, day + ONE_DAY))
        if stays is None and facts.on(Rule.TRAINER_LIMITS):
            continue  # who is not aboard the next date has left where they live, or at the base
        home = _goes_home(choices, trainer, facts.round.crew(crew_code), day) if stays is not None else None
        for site in facts.sleeping:
            night = choices.night.get((crew_code, day, site))
            if night is None or site == facts.round.crew(crew_code).base or facts.near_sites(site, trainer.lives_at):
                continue
            var = choices.flag(f"night_away[{code},{crew_code},{day},{site}]")
            choices.nights_away[code, crew_code, day, site] = var
            if stays is None or not facts.on(Rule.TRAINER_LIMITS):
                model.add(var >= aboard + night - 1)
            else:
                model.add(var >= aboard + stays + night - 2 - (0 if home is None else home))
    if not facts.on(Rule.TRAINER_LIMITS):
        return
    for trainer in facts.round.trainers:
        _nights_in_a_row(choices, trainer)
        _days_in_a_row(choices, trainer)


def _goes_home(choices: Choices, trainer: Trainer, crew: Crew, day: date) -> Var | None:
    """Return whether a trainer leaves that evening and joins again in the morning; None where the crew passes no home.

    The crew must be where they live, or at the base, after the last session or in the night, and so again before the
    first session of the next date.
    """
    facts = choices.facts
    _, last = _home_venues(choices, trainer, crew, day)
    first, _ = _home_venues(choices, trainer, crew, day + ONE_DAY)
    beside_base = any(facts.near_sites(site, crew.base) for site in facts.sleeping if site != crew.base)
    passes = not (isinstance(last, int) or isinstance(first, int))
    if not facts.on(Rule.TRAINER_LIMITS) or not (passes or beside_base):
        return None
    home = choices.flag(f"goes_home[{trainer.code},{crew.code},{day}]")
    slept_there = _at_home(choices, trainer, crew, day)
    choices.model.add(home <= last + slept_there)
    choices.model.add(home <= first + slept_there)
    choices.goes_home[trainer.code, crew.code, day] = home
    return home


def _nights_in_a_row(choices: Choices, trainer: Trainer) -> None:
    facts = choices.facts
    limit = trainer.nights_away_limit
    limit = facts.settings.trainers.nights_limit if limit is None else limit
    by_date: dict[date, list[Var]] = {}
    for (code, _, day, _), var in choices.nights_away.items():
        if code == trainer.code:
            by_date.setdefault(day, []).append(var)
    for i in range(len(facts.dates) - limit):
        window = [v for day in facts.dates[i : i + limit + 1] for v in by_date.get(day, ())]
        if window:
            taken = sum((trainer.code, day) in choices.taken.nights for day in facts.dates[i : i + limit + 1])
            choices.model.add(sum(window) <= limit - taken)


def _days_in_a_row(choices: Choices, trainer: Trainer) -> None:
    facts, model = choices.facts, choices.model
    limit = facts.settings.trainers.days_in_a_row
    if len(facts.dates) <= limit:
        return
    working: dict[date, list[Var]] = {}
    for (code, crew, day), aboard in choices.aboard.items():
        if code == trainer.code:
            var = choices.flag(f"works[{code},{crew},{day}]")
            model.add(var >= aboard + choices.works(crew, day) - 1)
            working.setdefault(day, []).append(var)
    for i in range(len(facts.dates) - limit):
        window = [v for day in facts.dates[i : i + limit + 1] for v in working.get(day, ())]
        taken = sum((trainer.code, day) in choices.taken.working for day in facts.dates[i : i + limit + 1])
        if window and len(window) > limit - taken:
            model.add(sum(window) <= limit - taken)

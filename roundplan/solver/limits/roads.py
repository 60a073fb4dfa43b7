"""Crews on the road: unbroken paths, wheel hours, set-up, pack-up, duty day, beds, load."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from roundplan.domain.clock import DAY, HOUR
from roundplan.domain.role import Weekend
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY
from roundplan.solver.parts import ArcChoice, Linear, Var


def unbroken_path(choices: Choices) -> None:
    """A crew leaves each date from where it slept, teaches where it drove to, and sleeps where it ends."""
    model, dates = choices.model, choices.facts.dates
    if not choices.facts.on(Rule.CREW_IN_ONE_PLACE):
        _teach_anywhere(choices)
        return
    for crew in choices.crews:
        sites = [site for code, day, site in choices.night if code == crew.code and day == dates[0]]
        for day in (dates[0] - ONE_DAY, *dates):
            model.add_exactly_one(choices.night[crew.code, day, site] for site in sites)
        model.add(choices.at_base(crew, dates[0] - ONE_DAY) == 1)
        model.add(choices.at_base(crew, dates[-1]) == 1)
        for day in dates:
            key = (crew.code, day)
            for site in sites:
                left = [c.used for c in choices.mornings[key] + choices.transits[key] if c.arc.start == site]
                reached = [c.used for c in choices.evenings[key] + choices.transits[key] if c.arc.end == site]
                model.add(sum(left) == choices.night[crew.code, day - ONE_DAY, site])
                model.add(sum(reached) == choices.night[crew.code, day, site])
            for venue in dict.fromkeys(venue for venue, _, _ in choices.teaching[key]):
                if choices.facts.shares_days:
                    continue
                taught = sum(choices.teach(crew.code, venue, day))
                model.add(sum(c.used for c in choices.mornings[key] if c.arc.end == venue) == taught)
                model.add(sum(c.used for c in choices.evenings[key] if c.arc.start == venue) == taught)


def _teach_anywhere(choices: Choices) -> None:
    """Leave paths out: crews appear at venues from nowhere (tests only)."""
    for crew in choices.crews:
        for day in (choices.facts.dates[0] - ONE_DAY, *choices.facts.dates):
            choices.model.add(choices.at_base(crew, day) == 1)
        for day in choices.facts.dates:
            for choice in choices.arcs_on(crew.code, day):
                stays = choice.arc.start == choice.arc.end == crew.base
                if not stays:
                    choices.model.add(choice.used == 0)
            for _, _, taught in choices.teaching[crew.code, day]:
                choices.model.add(choices.out(crew, day) >= taught)


def wheel_hours(choices: Choices) -> None:
    """No driver is at the wheel for longer than the day's limit."""
    facts = choices.facts
    if not facts.on(Rule.LEG_FEASIBLE) or facts.shares_days:
        return
    most = round(facts.settings.travel.wheel_hours * HOUR)
    for crew in choices.crews:
        for day in facts.dates:
            arcs = choices.arcs_on(crew.code, day)
            if crew.drivers == 1 and arcs:
                choices.model.add(sum(c.arc.wheel * c.used for c in arcs if c.arc.wheel) <= most)


def clock_of_the_day(choices: Choices) -> None:
    """Arrive in time to set up, leave after packing up, in daylight and within the duty day."""
    facts, model = choices.facts, choices.model
    duty = round(facts.settings.travel.duty_day * HOUR) if facts.on(Rule.LEG_FEASIBLE) else 2 * DAY
    for (crew, day), start in choices.start.items():
        held = choices.teaching[crew, day]
        first = sum(var for _, s, var in held if s == day)
        last = sum(var for _, s, var in held if facts.session_dates(s)[-1] == day)
        depart, finish, end = choices.depart[crew, day], choices.finish[crew, day], choices.end[crew, day]
        for choice in choices.mornings[crew, day]:
            p = choice.arc.passage
            seconds = p.seconds if p else 0
            model.add(depart + seconds + facts.set_up * first <= start).only_enforce_if(choice.used)
            if p and choice.arc.is_leg:
                model.add(depart >= p.earliest).only_enforce_if(choice.used)
                model.add(depart <= p.latest).only_enforce_if(choice.used)
        for choice in choices.evenings[crew, day]:
            _evening(choices, choice, end, finish, last)
        taught = sum(var for _, _, var in held)
        model.add(finish - depart <= duty + 2 * DAY * (1 - taught))


def _evening(choices: Choices, choice: ArcChoice, end: Var, finish: Var, last: Linear) -> None:
    model, pack = choices.model, choices.facts.pack_up
    p = choice.arc.passage
    seconds = p.seconds if p else 0
    model.add(finish >= end + pack * last + seconds).only_enforce_if(choice.used)
    if p and choice.arc.is_leg:
        model.add(end + pack * last <= p.latest).only_enforce_if(choice.used)
        model.add(finish >= p.earliest + seconds).only_enforce_if(choice.used)


def weekends(choices: Choices) -> None:
    """Rest days at home, away without driving, or either."""
    facts = choices.facts
    weekend = facts.settings.trainers.weekend
    if weekend is Weekend.EITHER or not facts.on(Rule.TRAINER_LIMITS):
        return
    for crew in choices.crews:
        for day in facts.dates:
            if not facts.calendar.is_rest_day(day):
                continue
            if weekend is Weekend.HOME:
                choices.model.add(choices.out(crew, day) == 0)
                choices.model.add(choices.at_base(crew, day) == 1)
            else:
                for choice in choices.arcs_on(crew.code, day):
                    if choice.arc.is_leg:
                        choices.model.add(choice.used == 0)


def beds(choices: Choices) -> None:
    """Participants, drivers and the trainers who are away from home find beds where they sleep."""
    facts, model = choices.facts, choices.model
    guests_at: dict[tuple[str, date], list[Var]] = defaultdict(list)
    for sending in choices.sendings:
        for night in sending.mode.nights:
            guests_at[str(sending.mode.lodging), night].append(sending.people)
    for guesting in choices.guestings:
        for night in guesting.mode.nights:
            guests_at[str(guesting.mode.lodging), night].append(guesting.count)
    for site in facts.sleeping:
        limit = facts.round.site(site).lodging_beds
        if limit is None:
            continue
        for day in (facts.dates[0] - ONE_DAY, *facts.dates):
            there: list[Linear] = [*guests_at[site, day], *_sleepers(choices, site, day)]
            if there:
                model.add(sum(there) <= limit - choices.taken.beds.get((site, day), 0))


def _sleepers(choices: Choices, site: str, day: date) -> list[Linear]:
    """Return the people of crews on the road who sleep at a site in the night that starts on the date."""
    found: list[Linear] = []
    for crew in choices.crews:
        night = choices.night.get((crew.code, day, site))
        if night is None or crew.base == site:
            continue
        found.append(crew.drivers * night)
        trainers = ((t.code, crew.code, day, site) for t in choices.facts.round.trainers)
        found += [choices.nights_away[key] for key in trainers if key in choices.nights_away]
    return found


def vehicle_seats(choices: Choices) -> None:
    """Trainers and drivers find seats."""
    if not choices.facts.on(Rule.VEHICLE_LOAD):
        return
    for crew in choices.crews:
        for day in choices.facts.dates:
            choices.model.add(choices.aboard_count(crew.code, day) + crew.drivers <= crew.seats)

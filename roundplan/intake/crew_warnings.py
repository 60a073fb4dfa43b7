"""Warnings on crews and trainers: vehicles that carry no kit, leads and languages that nobody has."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.counts import counted
from roundplan.domain.crew import Crew
from roundplan.domain.role import Lead
from roundplan.domain.supply import ItemKind, Per
from roundplan.domain.training_round import TrainingRound
from roundplan.intake.finding import Finding
from roundplan.intake.warning_places import WarningPlaces


def crew_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield what keeps crews from running a station."""
    for crew in training_round.crews:
        for column, words, remedy in _crew(crew, training_round):
            yield places.at("crew-useless", "crews", crew.code, column, f"crew {crew.code} {words}", remedy)
    yield from _leads(training_round, places)
    yield from _languages(training_round, places)


def _crew(crew: Crew, training_round: TrainingRound) -> Iterator[tuple[str, str, str]]:
    settings = training_round.settings
    people = crew.drivers + settings.trainers.per_station
    if crew.box_models == 0:
        yield "box_models", "has no box model, so it runs no station", "enter how many it has"
    if crew.seats < people:
        words = f"has {counted(crew.seats, 'seat')}, and one station needs {people}: drivers and trainers"
        yield "seats", words, "use a larger vehicle"
    kit = [
        item
        for item in training_round.items
        if item.kind is ItemKind.REUSABLE and item.per in (Per.CREW, Per.STATION, Per.SESSION)
    ]
    weight = sum(item.quantity * item.unit_weight_kg for item in kit)
    volume = sum(item.quantity * item.unit_volume_l for item in kit)
    travel = settings.travel
    left = crew.payload_kg * (1 - travel.payload_reserve) - people * (travel.person_kg + travel.luggage_kg)
    if left <= 0 or left < weight:
        words = (
            f"can carry {max(left, 0):.0f} kg of kit beside {counted(people, 'person')} with luggage, "
            f"and the kit of one station weighs {weight:.0f} kg"
        )
        yield "payload_kg", words, "use a larger vehicle, or lower payload_reserve"
    if crew.space_l is not None and crew.space_l < volume:
        words = f"has {crew.space_l:.0f} litres of space, and the kit of one station takes {volume:.0f}"
        yield "space_l", words, "use a larger vehicle"


def _leads(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    usual = any(
        Lead.NEWBORN_CARE.value in {role.value for role in f.usual_team} and f.teams_wanted
        for f in training_round.facilities
    )
    for lead in Lead:
        if lead is Lead.NEWBORN_CARE and not usual:
            continue
        if not any(lead in trainer.leads for trainer in training_round.trainers):
            words = f"no trainer leads {lead}, so that sessions that need this lead cannot be staffed"
            yield places.at("no-lead", "trainers", "", "leads", words, "enter it for a trainer who can")


def _languages(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    default = training_round.settings.round.language
    spoken = {language for trainer in training_round.trainers for language in trainer.languages or (default,)}
    for facility in training_round.facilities:
        language = training_round.working_language(facility)
        if facility.teams_wanted and language not in spoken:
            words = f"no trainer speaks {language}, the working language of {facility.code}"
            remedy = "enter the languages of the trainers, or correct the facility's"
            yield places.at("no-speaker", "facilities", facility.code, "languages", words, remedy)

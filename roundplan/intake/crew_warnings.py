"""Warnings on crews and trainers: vehicles that carry no kit, leads and languages that nobody has."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.crew import Crew
from roundplan.domain.role import Lead
from roundplan.domain.saying import LanguageCode, Saying, saying
from roundplan.domain.supply import ItemKind, Per
from roundplan.domain.training_round import TrainingRound
from roundplan.intake.finding import Finding
from roundplan.intake.warning_places import WarningPlaces


def crew_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield what keeps crews from running a station."""
    for crew in training_round.crews:
        for column, said, remedy in _crew(crew, training_round):
            yield places.at("crew-useless", "crews", crew.code, column, said, remedy)
    yield from _leads(training_round, places)
    yield from _languages(training_round, places)


def _crew(crew: Crew, training_round: TrainingRound) -> Iterator[tuple[str, Saying, Saying]]:
    settings = training_round.settings
    people = crew.drivers + settings.trainers.per_station
    if crew.box_models == 0:
        said = saying("crew {who} has no box model, so it runs no station", who=crew.code)
        yield "box_models", said, saying("enter how many it has")
    if crew.seats < people:
        said = saying(
            "crew {who} seats {seats}, and one station needs {people}: drivers and trainers",
            who=crew.code, seats=crew.seats, people=people,
        )  # fmt: skip
        yield "seats", said, saying("use a larger vehicle")
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
        said = saying(
            "crew {who} can carry {left} kg of kit beside {people} people with luggage, and the kit of one station "
            "weighs {weight} kg",
            who=crew.code, left=round(max(left, 0)), people=people, weight=round(weight),
        )  # fmt: skip
        yield "payload_kg", said, saying("use a larger vehicle, or lower payload_reserve")
    if crew.space_l is not None and crew.space_l < volume:
        said = saying(
            "crew {who} has {space} litres of space, and the kit of one station takes {volume}",
            who=crew.code, space=round(crew.space_l), volume=round(volume),
        )  # fmt: skip
        yield "space_l", said, saying("use a larger vehicle")


def _leads(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    usual = any(
        Lead.NEWBORN_CARE.value in {role.value for role in f.usual_team} and f.teams_wanted
        for f in training_round.facilities
    )
    for lead in Lead:
        if lead is Lead.NEWBORN_CARE and not usual:
            continue
        if not any(lead in trainer.leads for trainer in training_round.trainers):
            said = saying("no trainer leads {lead}, so that sessions that need this lead cannot be staffed", lead=lead)
            remedy = saying("enter it for a trainer who can")
            yield places.at("no-lead", "trainers", "", "leads", said, remedy)


def _languages(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    default = training_round.settings.round.language
    spoken = {language for trainer in training_round.trainers for language in trainer.languages or (default,)}
    for facility in training_round.facilities:
        language = training_round.working_language(facility)
        if facility.teams_wanted and language not in spoken:
            said = saying(
                "no trainer speaks {language}, the working language of {who}",
                language=LanguageCode(language), who=facility.code,
            )  # fmt: skip
            remedy = saying("enter the languages of the trainers, or correct the facility's")
            yield places.at("no-speaker", "facilities", facility.code, "languages", said, remedy)

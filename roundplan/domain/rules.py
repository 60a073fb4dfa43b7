"""The rules a plan must respect and the aims it is optimised for, in order."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Rule(StrEnum):
    """Codes of the hard rules, as plans, messages and tests cite them."""

    TEAM_MINIMUM = "team-minimum"
    SEAT_AUTHORISED = "seat-authorised"
    TEAM_MIRRORS_HOME = "team-mirrors-home"
    GUEST_LIMIT = "guest-limit"
    ONCE_ONLY = "once-only"
    INCLUDE = "include"
    STAFF_AVAILABLE = "staff-available"
    NOTICE = "notice"
    COVER_KEPT = "cover-kept"
    COVER_ON_SITE = "cover-on-site"
    COVER_RUN = "cover-run"
    COVER_REFERRAL = "cover-referral"
    ROSTER_KNOWN = "roster-known"
    VENUE_CAPACITY = "venue-capacity"
    VENUE_OPEN = "venue-open"
    THEATRE_FREE = "theatre-free"
    DAY_FITS = "day-fits"
    SLOT_ORDER = "slot-order"
    SIMULATIONS_PER_TEAM = "simulations-per-team"
    CREW_STAFFED = "crew-staffed"
    DAYLIGHT = "daylight"
    PARTICIPANT_TRAVEL = "participant-travel"
    CREW_IN_ONE_PLACE = "crew-in-one-place"
    LEG_FEASIBLE = "leg-feasible"
    ROAD_OPEN = "road-open"
    TRAINER_LIMITS = "trainer-limits"
    VEHICLE_LOAD = "vehicle-load"
    KIT_ENOUGH = "kit-enough"
    BUDGET_CAP = "budget-cap"
    LOCKS = "locks"


RULE_SENTENCES: dict[Rule, str] = {
    Rule.TEAM_MINIMUM: "A team has a surgical provider, a surgical assistant and an anaesthetist: three people.",
    Rule.SEAT_AUTHORISED: "A person sits only in a role listed for them, in one seat of a team.",
    Rule.TEAM_MIRRORS_HOME: "No role beyond the usual team; at most one usual role outside the minimum empty.",
    Rule.GUEST_LIMIT: "Guests in a team stay within the limit.",
    Rule.ONCE_ONLY: "A person trains in one team of the round and not before the refresher interval.",
    Rule.INCLUDE: "People marked 'no' are never seated.",
    Rule.STAFF_AVAILABLE: "Nobody is seated on leave, on a night-duty date or the day after.",
    Rule.NOTICE: "Sessions leave enough days after the announcement.",
    Rule.COVER_KEPT: "Each facility keeps its emergency team in every shift in which its people are away.",
    Rule.COVER_ON_SITE: "Staff who train at their own facility count as cover only as the facility allows.",
    Rule.COVER_RUN: "Nobody is named as cover for too many shifts in a row.",
    Rule.COVER_REFERRAL: "The referral site has its emergency team and one more anaesthetist and provider.",
    Rule.ROSTER_KNOWN: "Without a roster, scarce roles keep the spare that the round asks for.",
    Rule.VENUE_CAPACITY: "Stations, learners, bodies and sessions stay within what the venue takes.",
    Rule.VENUE_OPEN: "No session on holidays, rest days or closed days.",
    Rule.THEATRE_FREE: "No session in a facility's only working theatre.",
    Rule.DAY_FITS: "The session's day fits the teaching window, with its pauses and reserve.",
    Rule.SLOT_ORDER: "Slots do not overlap; a person is in one place at a time; teams do not split.",
    Rule.SIMULATIONS_PER_TEAM: "Each team runs the set simulations, each a case it has not watched that day.",
    Rule.CREW_STAFFED: "Each running station and each session has the trainers, leads and languages it needs.",
    Rule.DAYLIGHT: "Every journey is made in daylight with its margin.",
    Rule.PARTICIPANT_TRAVEL: "Participants travel within the limits and arrive for the opening.",
    Rule.CREW_IN_ONE_PLACE: "A crew's legs and sessions form one unbroken path, nights where there is lodging.",
    Rule.LEG_FEASIBLE: "Legs fit the driving limits, breaks, set-up, pack-up and the duty day.",
    Rule.ROAD_OPEN: "No leg on a closed road or out of a crossing's hours.",
    Rule.TRAINER_LIMITS: "Trainers work within their dates, places, nights away and days in a row.",
    Rule.VEHICLE_LOAD: "People, luggage and kit fit the vehicle's seats, payload and space.",
    Rule.KIT_ENOUGH: "Box models and consumables suffice where the trip passes.",
    Rule.BUDGET_CAP: "The round's cost, contingency included, stays within the cap.",
    Rule.LOCKS: "What is pinned stays; what is forbidden does not occur.",
}


class Aim(StrEnum):
    """The tiers, in the order in which they are optimised."""

    FIRST_TEAMS = "first teams"
    MUST_PEOPLE = "must people"
    FURTHER_TEAMS = "further teams"
    REALISM = "realism"
    BURDEN = "burden"
    COST = "cost"


@dataclass(frozen=True, slots=True)
class AimDefinition:
    """What a tier measures; ``unit`` is the noun for one of it."""

    aim: Aim
    maximise: bool
    sentence: str
    unit: str


AIMS: tuple[AimDefinition, ...] = (
    AimDefinition(Aim.FIRST_TEAMS, True, "a first team from as many facilities as matter", "point"),
    AimDefinition(Aim.MUST_PEOPLE, True, "the people whom the manager named", "person"),
    AimDefinition(Aim.FURTHER_TEAMS, True, "then more teams", "point"),
    AimDefinition(Aim.REALISM, False, "teams as they are at home", "penalty point"),
    AimDefinition(Aim.BURDEN, False, "take little from services and people", "minute"),
    AimDefinition(Aim.COST, False, "spend little", "minor unit"),
)

"""Rounds worked by hand in which a careless bound of the skeleton would lie below what can be done.

Each has the points of first and of further teams that can be reached; times are those of ``rounds``: sun from 05:54 to
18:01, crews home by 17:01, a day with one team 110 minutes, set-up 60, pack-up 45, a break of 15 minutes each 2 hours.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from rounds import (
    ROADS,
    A,
    N,
    P,
    crew,
    day,
    facility,
    host,
    place,
    road,
    settings,
    staff,
    tiny_round,
    trainer,
)

from roundplan.domain.role import PlaceKind, Role
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound

WORKED: dict[str, tuple[Callable[[], TrainingRound], int, int]] = {}


def worked(first: int, further: int = 0) -> Callable[[Callable[[], TrainingRound]], Callable[[], TrainingRound]]:
    """Enter a round under its own name with what can be reached."""

    def enter(factory: Callable[[], TrainingRound]) -> Callable[[], TrainingRound]:
        WORKED[factory.__name__.replace("_", " ")] = (factory, first, further)
        return factory

    return enter


def alfa_alone(last: int, roads: tuple, trainers: tuple[Trainer, ...] | None = None, **more: Any) -> TrainingRound:
    """Return a round in which ALFA alone wants a team, at home; INN is a lodging, without guests."""
    rules = {"round": {"last_day": day(last)}, "teams": {"guests": 0}, **more.pop("rules", {})}
    facilities = (host("ALFA", 0.3, 0.3, **more.pop("alfa", {})), facility("BETA", 0.3, 0.6, teams_wanted=0))
    tables = {
        "settings": settings(**rules), "facilities": facilities, "roads": roads,
        "places": (place("BASE", 0.0, 0.0), place("INN", 0.3, 0.45, PlaceKind.LODGING)),
    }  # fmt: skip
    if trainers is not None:
        tables["trainers"] = trainers
    return tiny_round(**tables | more)


def pair(home: str) -> tuple[Trainer, ...]:
    """Return the two trainers of one station, who live at a site."""
    return trainer("T1", "ds", lives_at=home), trainer("T2", "a", lives_at=home)


@worked(3)
def trainers_live_at_the_venue() -> TrainingRound:
    # BASE–ALFA takes 5 h and two breaks: there by 11:25, set up by 12:25, done by 14:15, packed up by 15:00; the base
    # is too far then, so the driver sleeps at INN. Both trainers come and go at ALFA: no night away, as the limit asks.
    roads = (road("BASE", "ALFA", 5.0, 200), road("ALFA", "INN", 0.5, 20), road("BASE", "INN", 5.0, 200))
    return alfa_alone(1, roads, pair("ALFA"), rules={"trainers": {"nights_limit": 0}})


@worked(3)
def nobody_but_the_driver_for_two_nights() -> TrainingRound:
    # BASE–INN 5 h, INN–ALFA 5 h: one night at INN out and one back with nobody aboard; the trainers live at ALFA.
    roads = (road("ALFA", "INN", 5.0, 200), road("BASE", "INN", 5.0, 200))
    return alfa_alone(4, roads, pair("ALFA"), alfa={"lodging_price": 5}, rules={"trainers": {"nights_limit": 0}})


@worked(3)
def a_night_at_home_between_two_dates() -> TrainingRound:
    # Four dates: out to INN (4 h), two dates of a session at ALFA (4 h on) with the night at HOME, where both trainers
    # live, back to INN, home. The nights at INN are single ones, so a limit of one night in a row holds.
    places = (
        place("BASE", 0.0, 0.0),
        place("INN", 0.3, 0.45, PlaceKind.LODGING),
        place("HOME", 0.5, 0.3, PlaceKind.LODGING),
    )
    roads = (road("ALFA", "INN", 4.0, 160), road("BASE", "INN", 4.0, 200), road("ALFA", "HOME", 0.5, 20))
    rules = {"trainers": {"nights_limit": 1}, "session": {"days": 2, "days_per_team": 2}}
    return alfa_alone(3, roads, pair("HOME"), places=places, rules=rules)


@worked(3)
def trainers_live_where_the_crew_sleeps() -> TrainingRound:
    # BASE–INN 5 h on Monday, INN–ALFA and back half an hour each on Tuesday, home on Wednesday: with no night away
    # allowed it works because both trainers live at INN.
    roads = (road("ALFA", "INN", 0.5, 20), road("BASE", "INN", 5.0, 200))
    return alfa_alone(2, roads, pair("INN"), rules={"trainers": {"nights_limit": 0}})


@worked(3)
def the_first_date_has_no_room_for_a_team() -> TrainingRound:
    # Two dates, a team attends one. On Monday the crew is ready at 12:25 and teaching ends by 14:00: one slot
    # (20 + 40 + 10 min), a team needs two. On Tuesday it teaches from 08:00 to 09:50 and is home by 16:05.
    rules = {"session": {"days": 2, "days_per_team": 1, "teach_to": 14 * 3600}}
    roads = (road("BASE", "ALFA", 5.0, 200), road("ALFA", "BETA", 0.5, 20))
    return alfa_alone(1, roads, alfa={"lodging_price": 5}, rules=rules)


@worked(3)
def the_crew_drives_out_on_sunday() -> TrainingRound:
    # Monday is the only working date and ALFA five hours away: the crew must leave on Sunday, which is allowed.
    rules = {"round": {"first_day": day(6), "last_day": day(7)}}
    return alfa_alone(1, (road("BASE", "ALFA", 5.0, 200),), alfa={"lodging_price": 5}, rules=rules)


@worked(3)
def the_duty_day_is_used_up() -> TrainingRound:
    # 60 min out, 60 set-up, 110 teaching, 40 pack-up, 60 back: 330 minutes, five hours and a half to the minute.
    return alfa_alone(0, (road("BASE", "ALFA", 1.0, 50),), rules={"travel": {"duty_day": 5.5, "pack_up": 40}})


@worked(0)
def a_drive_longer_than_the_duty_day() -> TrainingRound:
    # BASE–ALFA takes 4 h 45 at the wheel and two breaks, 5 h 15 in all; nobody is on duty for more than five hours, on
    # dates without a session either.
    rules = {"travel": {"duty_day": 5.0}}
    places = (place("BASE", 0.0, 0.0),)
    return alfa_alone(4, (road("BASE", "ALFA", 4.75, 200),), alfa={"lodging_price": 5}, places=places, rules=rules)


@worked(0)
def a_session_longer_than_trainers_work_in_a_row() -> TrainingRound:
    # Whoever leads a session is there on all of its three dates, and nobody works on more than two in a row.
    rules = {"session": {"days": 3, "days_per_team": 1}, "trainers": {"days_in_a_row": 2}}
    return alfa_alone(3, (ROADS[0],), rules=rules)


@worked(3)
def two_drivers_at_the_wheel() -> TrainingRound:
    # Three hours at the wheel each way; each of two drivers may drive for three hours.
    roads = (road("BASE", "ALFA", 3.0, 150),)
    return alfa_alone(0, roads, crews=(crew(drivers=2),), rules={"travel": {"wheel_hours": 3.0}})


@worked(3)
def the_room_is_filled_to_the_last_body() -> TrainingRound:
    # Three learners, two trainers and one volunteer: six bodies, and the room takes six.
    return alfa_alone(0, (ROADS[0],), alfa={"room_limit": 6})


def two_stations(**more: Any) -> TrainingRound:
    """Return a round of one date in which three learners a station make two teams need two stations."""
    facilities = (host("ALFA", 0.3, 0.3, stations=2), facility("BETA", 0.3, 0.6))
    rules = {"round": {"last_day": day(0)}, "session": {"learners_per_station": 3}, "teams": {"guests": 0}}
    return tiny_round(**{"facilities": facilities, "settings": settings(**rules)} | more)


@worked(6)
def one_anaesthetist_for_two_stations() -> TrainingRound:
    # Anaesthesia is led once a session, and whoever directs may lead surgery: T3 alone gives anaesthetics.
    return two_stations(trainers=(trainer("T1", "ds"), trainer("T2", "d"), trainer("T3", "a"), trainer("T4", "s")))


@worked(6)
def two_crews_share_a_session() -> TrainingRound:
    # Each crew brings one box model and a pair of trainers of its own.
    return two_stations(crews=(crew(box_models=1), crew("SECOND", box_models=1)))


@worked(3)
def two_guests_in_one_team() -> TrainingRound:
    # BETA keeps its only provider and its only anaesthetist; ALFA lends both to BETA's team of five.
    usual = (P, A, N, Role.SCRUB, Role.CIRCULATING)
    return tiny_round(
        settings=settings(round={"last_day": day(0)}, teams={"guests": 2, "empty_seats": 0}),
        facilities=(host("ALFA", 0.3, 0.3, teams_wanted=0), facility("BETA", 0.3, 0.6, usual_team=usual)),
        people=staff("ALFA") + staff("BETA", "PAANSC"),
    )


@worked(6)
def each_district_has_its_team() -> TrainingRound:
    # The floor asks for one team from each district; before any trip is known no such plan seems possible.
    return tiny_round(settings=settings(aims={"floor_per_district": 1}))

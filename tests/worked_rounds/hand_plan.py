"""A round and a plan worked out by hand: every sum stands beside the figure it gives. All of it is invented.

The week of Monday 1 June 2026, on the equator at longitude 0, clocks in UTC: the sun is up from about 05:57 to 18:05.

* S1, Tuesday 2 June, at ALFA: ALFA's own team T01 (on site, ``observers``) and GAMA's T02 with a guest from DELT share
  station 1, with a reserve slot. GAMA refers to ALFA.
* S2, Thursday 4 June, at HALL: BETA's team T03, three hours away, comes on the eve, goes on the morrow, sleeps at INN.
* Crew C1 does both in one trip. Trainer T4 lives at ALFA and is ALFA's staff (ALFA-B3); T1 and T2 live at the base.
"""

from __future__ import annotations

import dataclasses
from datetime import date

from roundplan.costs.pricing import price_plan
from roundplan.domain.crew import Crew
from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.facility import Facility
from roundplan.domain.person import Duty, LedgerEntry, Person
from roundplan.domain.place import Place, Road
from roundplan.domain.plan import (
    Aboard,
    Cover,
    CoverKind,
    CrewDay,
    Drive,
    HeldLead,
    Leg,
    Load,
    Outing,
    Pause,
    Plan,
    Seat,
    Session,
    SessionDay,
    Slot,
    SlotKind,
    Station,
    Status,
    Swap,
    Team,
    Tier,
    Trip,
)
from roundplan.domain.role import MINIMUM_ROLES, DutyKind, Include, Lead, PlaceKind, Role, SessionRoom, Shift
from roundplan.domain.rules import Aim
from roundplan.domain.settings import PriceSettings, RoundSettings, SessionSettings, Settings
from roundplan.domain.supply import Case, Item, ItemKind, Per, Stock
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound

MON, TUE, WED, THU, FRI = (date(2026, 6, number) for number in range(1, 6))
P, A, N = MINIMUM_ROLES
S, B = Role.SCRUB, Role.NEWBORN_CARE
LETTERS = {"P": P, "A": A, "N": N, "B": B}


def at(text: str) -> int:
    """Return seconds after midnight of ``HH:MM``."""
    hours, minutes = text.split(":")
    return int(hours) * 3600 + int(minutes) * 60


# --- the inputs ------------------------------------------------------------------------------------------------------


def hand_settings() -> Settings:
    """Return settings with slots of 5 + 10 + 15 + 10 = 40 minutes; announced 32 days before S1."""
    return Settings(
        round=RoundSettings(
            name="Hand round",
            first_day=MON,
            last_day=FRI,
            plan_date=date(2026, 4, 15),
            announce_on=date(2026, 5, 1),
            currency="XTS",
        ),
        session=SessionSettings(opening=20, brief=5, simulate=10, debrief=15, reset=10, lunch=30, closing=10),
        prices=PriceSettings(
            participant_day=400,
            participant_night=300,
            trainer_day=1000,
            trainer_night=800,
            driver_day=500,
            driver_night=700,
            fare_per_km=10,
            lunch=200,
            venue_day=2500,
            lodging=500,
            printing=50,
            contingency_percent=5.0,
            cap=80_000,
        ),
    )


def hand_facilities() -> tuple[Facility, ...]:
    """Return four facilities; ALFA hosts, GAMA refers to it, BETA is far away, DELT sends a guest only."""
    return (
        Facility(
            code="ALFA",
            name="Alfa Hospital",
            latitude=0.0,
            longitude=0.4,
            district="North",
            teams_wanted=2,
            usual_team=(P, A, N, B),
            stations=2,
            room_limit=11,  # 7 learners + 3 trainers + 1 volunteer
            day_price=1500,
            lodging_price=600,
            lodging_beds=20,
            session_room=SessionRoom.SPARE_ROOM,
            minutes_to_theatre=3,
        ),
        Facility(
            code="BETA",
            name="Beta Hospital",
            latitude=0.9,
            longitude=1.2,
            district="South",
            teams_wanted=1,
            usual_team=(P, A, N, S),
            priority=2,
            transport_price=8,
        ),
        Facility(
            code="GAMA",
            name="Gama Clinic",
            latitude=0.3,
            longitude=0.4,
            district="North",
            teams_wanted=1,
            usual_team=(P, A, N),
            priority=5,
            languages=("ny", "en"),
            refers_to="ALFA",
        ),
        Facility(
            code="DELT",
            name="Delt Clinic",
            latitude=0.0,
            longitude=0.9,
            district="South",
            teams_wanted=1,
            usual_team=(P, A, N),
        ),
    )


def _staff(home: str, letters: str) -> list[Person]:
    people: list[Person] = []
    for letter in letters:
        code = f"{home}-{letter}{1 + sum(p.code.startswith(f'{home}-{letter}') for p in people)}"
        role = LETTERS[letter]
        people.append(Person(code=code, name=f"Name of {code}", facility=home, roles=(role,), cover_roles=(role,)))
    return people


def hand_people() -> tuple[Person, ...]:
    """Return the staff: GAMA-P1 must be seated, BETA-A1 is a scrub nurse first and an assistant second."""
    people = [
        *_staff("ALFA", "PPPAAANNNBBB"),
        *_staff("BETA", "PPPAAANNN"),
        *_staff("GAMA", "PPAANN"),
        *_staff("DELT", "PPAAANN"),
    ]
    changes = {"GAMA-P1": {"include": Include.MUST}, "BETA-A1": {"roles": (S, A), "cover_roles": (S, A)}}
    return tuple(dataclasses.replace(person, **changes.get(person.code, {})) for person in people)


def hand_places() -> tuple[Place, ...]:
    """Return the base with its store, the hall, and an inn some 550 m from the hall with just six beds."""
    return (
        Place(
            code="BASE",
            name="The Base",
            latitude=0.0,
            longitude=0.0,
            kinds=frozenset({PlaceKind.BASE, PlaceKind.STORE}),
        ),
        Place(
            code="HALL", name="The Hall", latitude=0.6, longitude=0.0, kinds=frozenset({PlaceKind.VENUE}), stations=1
        ),
        Place(
            code="INN",
            name="The Inn",
            latitude=0.605,
            longitude=0.0,
            kinds=frozenset({PlaceKind.LODGING}),
            lodging_price=500,
            lodging_beds=6,  # Wednesday: 3 of BETA, T1, T2, the driver
        ),
    )


def hand_roads() -> tuple[Road, ...]:
    """Return roads with entered hours; a ferry works from 06:00 to 18:00 between DELT and ALFA."""
    return (
        Road(start="BASE", end="ALFA", km=50, hours=1.0),
        Road(start="ALFA", end="HALL", km=100, hours=2.5),
        Road(start="HALL", end="BASE", km=90, hours=2.0, closures=((FRI, FRI),)),
        Road(start="GAMA", end="ALFA", km=55, hours=1.0),
        Road(start="DELT", end="ALFA", km=70, hours=1.5, open_from=at("06:00"), open_to=at("18:00")),
        Road(start="BETA", end="HALL", km=120, hours=3.0),
    )


def hand_round() -> TrainingRound:
    """Return the round, complete."""
    return TrainingRound(
        settings=hand_settings(),
        facilities=hand_facilities(),
        people=hand_people(),
        duties=tuple(  # Tuesday only; an on-call row counts for the night too
            Duty(person=f"ALFA-{code}", date=TUE, kind=DutyKind.ON_CALL if code.endswith("3") else DutyKind.DAY)
            for code in ("P1", "P2", "A2", "N2", "B2", "P3", "A3", "N3")
        ),
        trainers=(
            Trainer(
                code="T1",
                name="Trainer One",
                lives_at="BASE",
                leads=frozenset({Lead.DIRECTOR, Lead.SURGERY}),
                languages=("en",),
            ),
            Trainer(
                code="T2",
                name="Trainer Two",
                lives_at="BASE",
                leads=frozenset({Lead.ANAESTHESIA}),
                languages=("en", "ny"),
                day_price=1200,
            ),
            Trainer(
                code="T4",
                name="Trainer Four",
                lives_at="ALFA",
                leads=frozenset({Lead.NEWBORN_CARE}),
                languages=("en",),
                person="ALFA-B3",
            ),
        ),
        places=hand_places(),
        crews=(
            Crew(
                code="C1",
                base="BASE",
                seats=5,
                payload_kg=600.0,
                space_l=60.0,
                box_models=2,
                price_per_km=100,
                price_per_day=2000,
            ),
            Crew(code="C2", base="BASE", seats=5, payload_kg=600.0, box_models=1, price_per_km=90),
        ),
        roads=hand_roads(),
        items=(
            Item(
                code="BOX",
                name="Box model",
                kind=ItemKind.REUSABLE,
                per=Per.STATION,
                quantity=1,
                unit="piece",
                unit_weight_kg=20,
                unit_volume_l=50,
            ),
            Item(
                code="SKIN",
                name="Skin layer",
                kind=ItemKind.CONSUMABLE,
                per=Per.WALL,
                quantity=1,
                unit="piece",
                pack_size=2,
                pack_price=300,
                lead_days=5,
                unit_weight_kg=1,
                unit_volume_l=2,
                spare=1,
            ),
            Item(  # cannot be bought in time: it has no lead time
                code="THREAD",
                name="Thread",
                kind=ItemKind.CONSUMABLE,
                per=Per.SIMULATION,
                quantity=2,
                unit="piece",
                pack_size=10,
                pack_price=150,
                unit_weight_kg=0.1,
                unit_volume_l=0.1,
                wastage_percent=20,
            ),
        ),
        stock=(Stock(item="SKIN", place="BASE", quantity=1), Stock(item="THREAD", place="BASE", quantity=15)),
        cases=tuple(
            Case(code=f"K{number}", name=f"Case {number}", stop_rule="on the word", roles=(B,) if number == 3 else ())
            for number in range(1, 5)
        ),
        ledger=(LedgerEntry(person="BETA-P1", role=P, date=date(2025, 1, 10)),),  # 17 months ago: weight × 3
        locks=(
            Lock(do=Do.KEEP, kind=LockKind.SEAT, who="GAMA-P1", role=P, date=TUE, place="ALFA", why="promised"),
            Lock(do=Do.FORBID, kind=LockKind.SESSION, place="HALL", date=WED, why="a wedding"),
        ),
    )


# --- the plan --------------------------------------------------------------------------------------------------------


def drive(day: date, start: str, end: str, depart: str, hours: float, km: float, breaks: int = 0) -> Drive:
    """Return a drive on an entered road; ``breaks`` in minutes."""
    wheel = round(hours * 3600)
    return Drive(
        date=day,
        start=start,
        end=end,
        depart=at(depart),
        arrive=at(depart) + wheel + breaks * 60,
        drive_seconds=wheel,
        break_seconds=breaks * 60,
        km=km,
        source="entered",
    )


def slot(day: date, number: int, start: str, team: str | None, case: str | None, observers: str = "") -> Slot:
    """Return a slot of 40 minutes at station 1; walls in order, two simulations each."""
    shown = team is not None
    return Slot(
        date=day,
        station=1,
        number=number,
        start=at(start),
        end=at(start) + 40 * 60,
        kind=SlotKind.SIMULATION if shown else SlotKind.RESERVE,
        team=team,
        case=case,
        director="T1" if shown else None,
        observers=tuple(observers.split()),
        wall=(number + 1) // 2 if shown else None,
        wall_end=2 - number % 2 if shown else None,
    )


def hand_sessions() -> tuple[Session, ...]:
    """Return both sessions.

    S1: opening 09:30–09:50; 09:50 T01, 10:30 T02, 11:10 T01 (to 11:50); lunch 11:50–12:20; 12:20 T02; reserve
    13:00–13:40; closing to 13:50. S2: opening 09:00–09:20; 09:20 and 10:00 T03; closing 10:40–10:50, so no lunch.
    """
    return (
        Session(
            code="S1",
            venue="ALFA",
            days=(
                SessionDay(
                    date=TUE,
                    start=at("09:30"),
                    end=at("13:50"),
                    pauses=(Pause(start=at("11:50"), end=at("12:20"), kind="lunch"),),
                ),
            ),
            crews=("C1",),
            stations=(Station(number=1, crew="C1", director="T1"),),
            leads=(
                HeldLead(lead=Lead.SURGERY, trainer="T1", crew="C1"),
                HeldLead(lead=Lead.ANAESTHESIA, trainer="T2", crew="C1"),
                HeldLead(lead=Lead.NEWBORN_CARE, trainer="T4", crew="C1"),
            ),
            slots=(
                slot(TUE, 1, "09:50", "T01", "K1", "GAMA-P1 GAMA-N1"),
                slot(TUE, 2, "10:30", "T02", "K2", "ALFA-P1 ALFA-N1"),
                slot(TUE, 3, "11:10", "T01", "K3", "DELT-A1 T2"),
                slot(TUE, 4, "12:20", "T02", "K4", "ALFA-A1 ALFA-B1"),
                slot(TUE, 5, "13:00", None, None),
            ),
        ),
        Session(
            code="S2",
            venue="HALL",
            days=(SessionDay(date=THU, start=at("09:00"), end=at("10:50")),),
            crews=("C1",),
            stations=(Station(number=1, crew="C1", director="T1"),),
            leads=(
                HeldLead(lead=Lead.SURGERY, trainer="T1", crew="C1"),
                HeldLead(lead=Lead.ANAESTHESIA, trainer="T2", crew="C1"),
            ),
            slots=(slot(THU, 1, "09:20", "T03", "K1", "T2"), slot(THU, 2, "10:00", "T03", "K2")),
        ),
    )


def hand_teams() -> tuple[Team, ...]:
    """Return the three teams with how their people travel.

    DELT has no ferry trouble: 08:00–09:30 lies within 06:00–18:00. BETA: 3 h at the wheel take one break of 15
    minutes, 13:00 + 3:15 = 16:15, before 17:00; home 07:00 + 3:15 = 10:15.
    """
    return (
        Team(
            code="T01",
            facility="ALFA",
            number=1,
            session="S1",
            station=1,
            dates=(TUE,),
            seats=(
                Seat(role=P, person="ALFA-P1"),
                Seat(role=A, person="ALFA-A1"),
                Seat(role=N, person="ALFA-N1", standby="ALFA-N3"),  # N2 stays, and P2, A2, B2
                Seat(role=B, person="ALFA-B1"),
            ),
            outings=(Outing(facility="ALFA", people=("ALFA-P1", "ALFA-A1", "ALFA-N1", "ALFA-B1")),),
        ),
        Team(
            code="T02",
            facility="GAMA",
            number=1,
            session="S1",
            station=1,
            dates=(TUE,),
            seats=(
                Seat(role=P, person="GAMA-P1", provisional=True),
                Seat(role=A, person="DELT-A1", guest=True, provisional=True),
                Seat(role=N, person="GAMA-N1", provisional=True),
            ),
            outings=(
                Outing(
                    facility="GAMA",
                    people=("GAMA-P1", "GAMA-N1"),
                    drives=(
                        drive(TUE, "GAMA", "ALFA", "08:30", 1.0, 55),
                        drive(TUE, "ALFA", "GAMA", "13:50", 1.0, 55),
                    ),
                ),
                Outing(
                    facility="DELT",
                    people=("DELT-A1",),
                    drives=(
                        drive(TUE, "DELT", "ALFA", "08:00", 1.5, 70),
                        drive(TUE, "ALFA", "DELT", "13:50", 1.5, 70),
                    ),
                ),
            ),
        ),
        Team(
            code="T03",
            facility="BETA",
            number=1,
            session="S2",
            station=1,
            dates=(THU,),
            seats=(
                Seat(role=P, person="BETA-P1", provisional=True),
                Seat(role=A, person="BETA-A1", provisional=True),
                Seat(role=N, person="BETA-N1", provisional=True),
            ),
            outings=(
                Outing(
                    facility="BETA",
                    people=("BETA-P1", "BETA-A1", "BETA-N1"),
                    drives=(
                        drive(WED, "BETA", "HALL", "13:00", 3.0, 120, breaks=15),
                        drive(FRI, "HALL", "BETA", "07:00", 3.0, 120, breaks=15),
                    ),
                    nights=((WED, "INN"), (THU, "INN")),
                ),
            ),
        ),
    )


def cover(
    facility: str,
    day: date,
    shift: Shift,
    people: str,
    kind: CoverKind = CoverKind.OWN,
    for_facility: str | None = None,
    team: str | None = None,
) -> Cover:
    """Return a cover; the letter in each person's code (``P2``) is the role."""
    named = tuple((LETTERS[code[0]], f"{facility}-{code}") for code in people.split())
    return Cover(facility=facility, date=day, shift=shift, kind=kind, named=named, for_facility=for_facility, team=team)


def hand_cover() -> tuple[Cover, ...]:
    """Return who covers.

    ALFA is touched by T01 on Tuesday by day, and by its trainer T4 that day and in the nights before and after. On
    Tuesday night only those on call count (P3, A3, N3). BETA is touched in five shifts in a row, Wednesday 13:00 to
    Friday 10:15, so P2, A2, N2 and P3, A3, N3 take turns of two. GAMA and DELT are touched on Tuesday by day alone.
    """
    day, night = Shift.DAY, Shift.NIGHT
    return (
        cover("ALFA", MON, night, "P2 A2 N2"),
        cover("ALFA", TUE, day, "P2 A2 N2 B2"),
        cover("ALFA", TUE, day, "P2 A2 N2 B2", CoverKind.SLOT, team="T01"),
        cover("ALFA", TUE, day, "P2 A2 N2 B2 N3 P3", CoverKind.REFERRAL, for_facility="GAMA"),
        cover("ALFA", TUE, night, "P3 A3 N3"),
        cover("GAMA", TUE, day, "P2 A1 N2"),
        cover("DELT", TUE, day, "P1 A2 N1"),
        cover("BETA", WED, day, "P2 A2 N2"),
        cover("BETA", WED, night, "P2 A2 N2"),
        cover("BETA", THU, day, "P3 A3 N3"),
        cover("BETA", THU, night, "P3 A3 N3"),
        cover("BETA", FRI, day, "P2 A2 N2"),
    )


def hand_trip() -> Trip:
    """Return the trip of C1.

    Tuesday: 07:00–08:00 to ALFA, an hour and a half before 09:30 (an hour is set-up); S1 packs up at 14:35. Wednesday:
    2.5 h at the wheel and a break, 09:00–11:45. Thursday: S2 packs up at 10:50 + 0:45 = 11:35; two hours are driven
    without a break, home at 13:35.

    Needs: 6 simulations × 2 threads ÷ 0.8 = 15 threads; S1 uses 2 walls, S2 one: 3 skins. Weight on Tuesday, the
    most: 4 people × (75 + 15) kg = 360 kg; box 20 + skins 3 + threads 1.5 = 24.5 kg; in all 384.5 of 600 × 0.8 =
    480 kg. Volume: 50 + 6 + 1.5 = 57.5 of 60 litres.
    """
    staying = (Aboard(trainer="T1"), Aboard(trainer="T2"))
    return Trip(
        code="R1",
        crew="C1",
        days=(
            CrewDay(
                date=TUE,
                legs=(Leg(drive=drive(TUE, "BASE", "ALFA", "07:00", 1.0, 50)),),
                sessions=("S1",),
                night="ALFA",
                aboard=(
                    Aboard(trainer="T1", joins_at="BASE"),
                    Aboard(trainer="T2", joins_at="BASE"),
                    Aboard(trainer="T4", joins_at="ALFA", leaves_at="ALFA"),
                ),
            ),
            CrewDay(
                date=WED,
                legs=(Leg(drive=drive(WED, "ALFA", "HALL", "09:00", 2.5, 100, breaks=15)),),
                night="INN",
                aboard=staying,
            ),
            CrewDay(
                date=THU,
                legs=(Leg(drive=drive(THU, "HALL", "BASE", "11:35", 2.0, 90)),),
                sessions=("S2",),
                aboard=(Aboard(trainer="T1", leaves_at="BASE"), Aboard(trainer="T2", leaves_at="BASE")),
            ),
        ),
        box_models=1,
        loads=(
            Load(item="BOX", quantity=1.0, place="BASE", date=TUE),
            Load(item="SKIN", quantity=3.0, place="BASE", date=TUE),
            Load(item="THREAD", quantity=15.0, place="BASE", date=TUE),
        ),
        weight_kg=384.5,
        volume_l=57.5,
    )


HAND_COSTS = {
    "crew travel": 24_000,  # (50 + 100 + 90) km × 100
    "crew days": 8_900,  # 3 days × (2000 + 500) + 2 nights × 700
    "trainers": 10_800,  # T1 3 × 1000, T2 3 × 1200, T4 1000; 2 people × 2 nights × 800
    "participants": 6_600,  # (2 + 1 + 3 × 3) person-dates × 400 + 3 people × 2 nights × 300
    "participant travel": 9_360,  # 2 × 2 × 550 + 1 × 2 × 700 + 3 × 2 × 960
    "venues": 4_000,  # ALFA 1500, HALL 2500
    "lodging": 6_300,  # INN 3 × 2 × 500 and 3 × 500; ALFA 3 × 600
    "lunches": 3_400,  # S1 7 + 3 + 1, S2 3 + 2 + 1: 17 × 200
    "consumables": 600,  # skins: 3 + 1 spare − 1 in stock = 3: 2 packs of 2 × 300
    "printing": 500,  # (7 + 3) × 50
    "contingency": 3_723,  # 5 % of 74,460
}
"""Minor units by cost line; in all 78,183 of a cap of 80,000."""

HAND_VALUES = {
    Aim.FIRST_TEAMS: 14,  # ALFA 3, GAMA 5, BETA 2 × 3
    Aim.MUST_PEOPLE: 1,  # GAMA-P1
    Aim.FURTHER_TEAMS: 0,
    # T01: nothing. T02: the guest 2. T03: scrub empty 4, BETA-A1 not in the main role 1, unobserved 2, back-to-back 1
    Aim.REALISM: 10,
    # 12 person-dates × 480 = 5760; drives 2 × 120 + 180 + 3 × 390 = 1590 minutes; thin: GAMA by day on Tuesday (one
    # provider left), ALFA on Tuesday night (one of each on call): 2 × 960 = 1920
    Aim.BURDEN: 9_270,
    Aim.COST: 78_183,
}


def hand_plan() -> Plan:
    """Return the plan, valid under every rule."""
    plan = Plan(
        round_name="Hand round",
        sessions=hand_sessions(),
        teams=hand_teams(),
        trips=(hand_trip(),),
        cover=hand_cover(),
        swaps=(Swap(person="ALFA-P1", date=TUE, shift=Shift.DAY),),
        tiers=tuple(
            Tier(aim=aim, value=value, bound=None, status=Status.NO_BOUND) for aim, value in HAND_VALUES.items()
        ),
    )
    return dataclasses.replace(plan, costs=price_plan(plan, hand_round()))

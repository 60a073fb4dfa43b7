"""A small invented round with a plan for it, made by hand so that every document has something to show.

It is no proof that the plan keeps the rules: the documents are to print whatever a plan says.
"""

from __future__ import annotations

import dataclasses
from datetime import date

from roundplan.domain.crew import Crew
from roundplan.domain.decision import BudgetLine, Contact, CostLine
from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.place import Place, Road
from roundplan.domain.plan import (
    Aboard,
    CostEntry,
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
    Reason,
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
from roundplan.domain.role import Include, Lead, OnSiteCover, PlaceKind, Role, SessionRoom, Shift, Surface
from roundplan.domain.rules import Aim, Rule
from roundplan.domain.settings import PriceSettings, RoundSettings, Settings
from roundplan.domain.supply import Case, Item, ItemKind, Per, Stock
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound

TUE, WED, THU, FRI = (date(2027, 3, day) for day in (2, 3, 4, 5))
NEXT_TUE = date(2027, 3, 9)
USUAL = (
    Role.SURGICAL_PROVIDER,
    Role.SURGICAL_ASSISTANT,
    Role.ANAESTHETIST,
    Role.SCRUB,
    Role.NEWBORN_CARE,
)
FIRST_NAMES = ("Anda", "Bezi", "Chiso", "Dalo", "Enela", "Fumba", "Gilo", "Hawa", "Idah", "Jemu", "Kondi", "Lusa")
HOSTILE = (
    "<script>document.title='broken'</script>",
    "${alert(1)}",
    "</title></svg><img src=http://outside.example/x.png>",
    "=cmd()",
    '"><b onmouseover=alert(1)>',
    "{{ 7*7 }}",
)
CONTACTS = {
    "manager": Contact(who="manager", phone="+000 10 001", email="round@training.example"),
    "KAM": Contact(who="KAM", phone="+000 20 001"),
    "TUW": Contact(who="TUW", phone="+000 20 002"),
    "LUV": Contact(who="LUV", phone="+000 20 003"),
    "COL": Contact(who="COL", phone="+000 20 004"),
    "KAM01": Contact(who="KAM01", phone="+000 90 901"),
    "TUW01": Contact(who="TUW01", phone="+000 90 902"),
    "TR1": Contact(who="TR1", phone="+000 90 903"),
}
PRIVATE_PHONES = ("+000 90 901", "+000 90 902", "+000 90 903")


def clock(hours: int, minutes: int = 0) -> int:
    return hours * 3600 + minutes * 60


def staff(code: str, surname: str) -> list[Person]:
    people = []
    for number, first in enumerate(FIRST_NAMES, start=1):
        role = USUAL[(number - 1) % len(USUAL)]
        people.append(
            Person(
                code=f"{code}{number:02d}",
                name=f"{first} {surname}",
                facility=code,
                roles=(role,),
                cover_roles=(role,),
                languages=("ny", "en"),
                second_seat=number == 8,
                include=Include.MUST if number == 1 else Include.MAY,
            )
        )
    return people


def seats(code: str, first: int = 1, *, newborn: Seat | None = None, provisional: bool = False) -> tuple[Seat, ...]:
    own = [
        Seat(
            role=role,
            person=f"{code}{first + index:02d}",
            standby=f"{code}{first + index + 5:02d}" if first + index + 5 <= 10 else None,
            provisional=provisional,
        )
        for index, role in enumerate(USUAL)
    ]
    if newborn is not None:
        own[-1] = newborn
    return tuple(own)


def drive(day: date, start: str, end: str, depart: int, minutes: int, km: float, source: str = "network") -> Drive:
    factor = 1.0 if source == "entered" else 1.25
    return Drive(
        date=day,
        start=start,
        end=end,
        depart=depart,
        arrive=depart + minutes * 60,
        drive_seconds=minutes * 60,
        km=km,
        source=source,
        factor=factor,
    )


def cover(code: str, day: date, shift: Shift, people: tuple[int, ...], **more: object) -> Cover:
    roles = (Role.SURGICAL_PROVIDER, Role.SURGICAL_ASSISTANT, Role.ANAESTHETIST, Role.NEWBORN_CARE)
    named = tuple((role, f"{code}{number:02d}") for role, number in zip(roles, people, strict=False))
    return Cover(facility=code, date=day, shift=shift, named=named, **more)  # type: ignore[arg-type]


def slots(day: date, station: int, teams: tuple[str, ...], director: str, watchers: tuple[str, ...]) -> list[Slot]:
    made = []
    cases = ("bleeding", "high-block")
    start = clock(9)
    for number in range(2 * len(teams)):
        if start == clock(12, 30):
            start = clock(13, 15)
        made.append(
            Slot(
                date=day,
                station=station,
                number=number + 1,
                start=start,
                end=start + 4200,
                kind=SlotKind.SIMULATION,
                team=teams[number % len(teams)],
                case=cases[number // len(teams)],
                director=director,
                observers=watchers,
                wall=number // 2 + 1,
                wall_end=number % 2 + 1,
            )
        )
        start += 4200
    made.append(
        Slot(
            date=day,
            station=station,
            number=2 * len(teams) + 1,
            start=max(start, clock(14)),
            end=max(start, clock(14)) + 4200,
            kind=SlotKind.RESERVE,
        )
    )
    return made


def sample_round() -> TrainingRound:
    hospital = {"latitude": -12.6, "usual_team": USUAL, "teams_wanted": 2, "languages": ("ny", "en")}
    facilities = (
        Facility(
            code="KAM",
            name="Kamzani District Hospital",
            district="Kamzani",
            longitude=33.8,
            stations=1,
            session_room=SessionRoom.SECOND_THEATRE,
            minutes_to_theatre=3,
            on_site_cover=OnSiteCover.INTERRUPTIBLE,
            exposure_contact="Clinical officer on duty, casualty",
            **hospital,
        ),
        Facility(
            code="TUW",
            name="Tuwila Mission Hospital",
            district="Kamzani",
            longitude=33.7,
            refers_to="KAM",
            cover_run=3,
            exposure_contact="Matron on duty",
            **hospital,
        ),
        Facility(code="LUV", name="Luvanda Rural Hospital", district="Lisamba", longitude=34.1, **hospital),
        Facility(code="PHO", name="Phonje Health Centre", district="Lisamba", longitude=33.5, **hospital),
    )
    places = (
        Place(
            code="DEP", name="Kamzani training store", latitude=-12.63, longitude=33.79, kinds=_kinds("base", "store")
        ),
        Place(
            code="COL",
            name="Vwaza College of Nursing",
            latitude=-12.9,
            longitude=33.9,
            stations=2,
            kinds=_kinds("venue", "lodging"),
            exposure_contact="Casualty, Kamzani District Hospital",
        ),
    )
    items = (
        Item(
            code="box", name="Box model", kind=ItemKind.REUSABLE, per=Per.STATION, quantity=1, unit="piece",
            unit_weight_kg=5.5, unit_volume_l=45,
        ),
        Item(
            code="skin", name="Skin layer, cut", kind=ItemKind.CONSUMABLE, per=Per.WALL, quantity=1, unit="piece",
            pack_size=10, pack_price=1_250_00, supplier="Market tailor", lead_days=10, unit_weight_kg=0.1,
        ),
        Item(
            code="gloves", name="Gloves, training", kind=ItemKind.CONSUMABLE, per=Per.PARTICIPANT, quantity=2,
            unit="pair", pack_size=50, pack_price=4_000_00, supplier="Lake supplies", lead_days=5,
            unit_weight_kg=0.02, latex=True,
        ),
    )  # fmt: skip
    return TrainingRound(
        settings=Settings(
            round=RoundSettings(
                name="Lake round, March 2027",
                first_day=date(2027, 3, 1),
                last_day=date(2027, 3, 19),
                plan_date=date(2027, 1, 11),
                announce_on=date(2027, 1, 18),
                time_zone="Africa/Blantyre",
                currency="MWK",
            ),
            prices=PriceSettings(printing=0, left_out=frozenset({"printing"}), cap=20_000_000_00),
        ),
        facilities=facilities,
        people=(
            *staff("KAM", "Moyo"),
            *staff("TUW", "Zimba"),
            *staff("LUV", "Phiri"),
            *staff("PHO", "Gondwe"),
        ),
        trainers=(
            Trainer(
                code="TR1", name="Dr Tisa Nkhoma", lives_at="DEP", languages=("ny", "en"),
                leads=frozenset({Lead.DIRECTOR, Lead.SURGERY}),
            ),
            Trainer(
                code="TR2", name="Sr Uzo Banda", lives_at="COL", languages=("ny",),
                leads=frozenset({Lead.ANAESTHESIA, Lead.NEWBORN_CARE}),
            ),
            Trainer(
                code="TR3", name="Vita Lungu", lives_at="DEP", languages=("en",),
                leads=frozenset({Lead.DIRECTOR, Lead.ANAESTHESIA}),
            ),
        ),
        places=places,
        crews=(
            Crew(code="NORTH", base="DEP", seats=7, payload_kg=900, box_models=2, price_per_km=950),
            Crew(code="SOUTH", base="DEP", seats=7, payload_kg=880, box_models=1, price_per_km=900),
        ),
        roads=(
            Road(start="DEP", end="KAM", km=3, surface=Surface.PAVED),
            Road(start="KAM", end="TUW", km=38, surface=Surface.GRAVEL),
            Road(start="KAM", end="LUV", km=46, surface=Surface.GRAVEL),
            Road(start="KAM", end="COL", hours=1.5, km=44),
            Road(start="KAM", end="PHO", km=90, surface=Surface.EARTH),
        ),
        items=items,
        stock=(Stock(item="box", place="DEP", quantity=3), Stock(item="skin", place="DEP", quantity=3)),
        cases=(
            Case(
                code="bleeding", name="Heavy bleeding after the birth",
                stop_rule="Ends when the team has called for help and closed the uterus, or in minute 15",
                approved_by="Regional lead", approved_on=date(2026, 11, 27),
            ),
            Case(
                code="high-block", name="Block that rises too high",
                stop_rule="Ends when the airway is held and the surgeon has been told, or in minute 15",
            ),
        ),
        budget=(
            BudgetLine(line=CostLine.CREW_TRAVEL, amount=300_000_00),
            BudgetLine(line=CostLine.PARTICIPANTS, amount=80_000_00),
        ),
    )  # fmt: skip


def _kinds(*names: str) -> frozenset[PlaceKind]:
    return frozenset(PlaceKind(name) for name in names)


def _teams() -> tuple[Team, ...]:
    guest = Seat(role=Role.NEWBORN_CARE, person="LUV10", guest=True, standby="TUW10")
    tuw = ("TUW01", "TUW02", "TUW03", "TUW04")
    luv = ("LUV01", "LUV02", "LUV03", "LUV04", "LUV05")
    second = tuple(f"TUW{number:02d}" for number in range(6, 11))
    return (
        Team(
            code="T01", facility="KAM", number=1, session="S1", station=1, dates=(TUE,), seats=seats("KAM"),
            outings=(Outing(facility="KAM", people=tuple(f"KAM{n:02d}" for n in range(1, 6))),),
        ),
        Team(
            code="T02", facility="TUW", number=1, session="S1", station=1, dates=(TUE,),
            seats=seats("TUW", newborn=guest),
            outings=(
                Outing(facility="TUW", people=tuw, drives=_there_and_back(TUE, "TUW", "KAM", 72, 38)),
                Outing(facility="LUV", people=("LUV10",), drives=_there_and_back(TUE, "LUV", "KAM", 86, 46)),
            ),
        ),
        Team(
            code="T03", facility="LUV", number=1, session="S2", station=1, dates=(THU,),
            seats=seats("LUV", provisional=True),
            outings=(
                Outing(
                    facility="LUV", people=luv,
                    drives=(
                        drive(WED, "LUV", "COL", clock(13), 176, 90),
                        drive(FRI, "COL", "LUV", clock(7), 176, 90),
                    ),
                    nights=((WED, "COL"), (THU, "COL")),
                ),
            ),
        ),
        Team(
            code="T04", facility="TUW", number=2, session="S2", station=2, dates=(THU,), seats=seats("TUW", 6),
            outings=(
                Outing(facility="TUW", people=second, drives=_there_and_back(THU, "TUW", "COL", 110, 61, "entered")),
            ),
        ),
        Team(
            code="T05", facility="KAM", number=2, session="S3", station=1, dates=(NEXT_TUE,), seats=seats("KAM", 6),
            outings=(Outing(facility="KAM", people=tuple(f"KAM{n:02d}" for n in range(6, 11))),),
        ),
    )  # fmt: skip


def _there_and_back(
    day: date, home: str, venue: str, minutes: int, km: float, source: str = "network"
) -> tuple[Drive, Drive]:
    return (
        drive(day, home, venue, clock(8, 30) - minutes * 60, minutes, km, source),
        drive(day, venue, home, clock(15, 50), minutes, km, source),
    )


def _sessions() -> tuple[Session, ...]:
    lunch = (Pause(start=clock(12, 30), end=clock(13, 15), kind="lunch"),)
    day = {"start": clock(8, 30), "end": clock(15, 50), "pauses": lunch}
    north = (
        HeldLead(lead=Lead.SURGERY, trainer="TR1", crew="NORTH"),
        HeldLead(lead=Lead.ANAESTHESIA, trainer="TR2", crew="NORTH"),
        HeldLead(lead=Lead.NEWBORN_CARE, trainer="TR2", crew="NORTH"),
    )
    return (
        Session(
            code="S1", venue="KAM", days=(SessionDay(date=TUE, **day),), crews=("NORTH",),
            stations=(Station(number=1, crew="NORTH", director="TR1"),), leads=north,
            slots=tuple(slots(TUE, 1, ("T01", "T02"), "TR1", ("TUW01", "KAM02", "TR2"))),
        ),
        Session(
            code="S2", venue="COL", days=(SessionDay(date=THU, **day),), crews=("NORTH", "SOUTH"),
            stations=(
                Station(number=1, crew="NORTH", director="TR1"),
                Station(number=2, crew="SOUTH", director="TR3"),
            ),
            leads=(*north, HeldLead(lead=Lead.ANAESTHESIA, trainer="TR3", crew="SOUTH")),
            slots=(
                *slots(THU, 1, ("T03",), "TR1", ("TUW06", "TR2")),
                *slots(THU, 2, ("T04",), "TR3", ("LUV01",)),
            ),
        ),
        Session(
            code="S3", venue="KAM", days=(SessionDay(date=NEXT_TUE, **day),), crews=("SOUTH",),
            stations=(Station(number=1, crew="SOUTH", director="TR3"),),
            leads=(HeldLead(lead=Lead.ANAESTHESIA, trainer="TR3", crew="SOUTH"),),
            slots=tuple(slots(NEXT_TUE, 1, ("T05",), "TR3", ())),
        ),
    )  # fmt: skip


def _trips() -> tuple[Trip, ...]:
    two = (Aboard(trainer="TR1"), Aboard(trainer="TR2"))
    first = (
        CrewDay(
            date=TUE, sessions=("S1",), night="COL",
            legs=(
                Leg(drive=drive(TUE, "DEP", "KAM", clock(6, 45), 6, 3)),
                Leg(drive=drive(TUE, "KAM", "COL", clock(16, 35), 70, 44, "entered")),
            ),
            aboard=(Aboard(trainer="TR1", joins_at="DEP"), Aboard(trainer="TR2", joins_at="KAM")),
        ),
        CrewDay(date=WED, night="COL", aboard=two),
        CrewDay(date=THU, sessions=("S2",), night="COL", aboard=two),
        CrewDay(
            date=FRI,
            legs=(Leg(drive=drive(FRI, "COL", "DEP", clock(7, 30), 97, 47)),),
            aboard=(Aboard(trainer="TR1", leaves_at="DEP"), Aboard(trainer="TR2", leaves_at="COL")),
        ),
    )  # fmt: skip
    third = (Aboard(trainer="TR3", joins_at="DEP"),)
    return (
        Trip(
            code="N1", crew="NORTH", days=first, box_models=2, weight_kg=412.4, volume_l=140,
            loads=(
                Load(item="box", quantity=2, place="DEP", date=TUE),
                Load(item="skin", quantity=4, place="DEP", date=TUE),
                Load(item="gloves", quantity=30, place="COL", date=WED),
            ),
        ),
        Trip(
            code="S1", crew="SOUTH", box_models=1, weight_kg=240, volume_l=50,
            days=(
                CrewDay(
                    date=WED, legs=(Leg(drive=drive(WED, "DEP", "COL", clock(9), 97, 47)),), night="COL", aboard=third,
                ),
                CrewDay(
                    date=THU, sessions=("S2",), aboard=(Aboard(trainer="TR3", leaves_at="DEP"),),
                    legs=(Leg(drive=drive(THU, "COL", "DEP", clock(16, 35), 75, 47)),),
                ),
            ),
            loads=(Load(item="box", quantity=1, place="DEP", date=WED),),
        ),
        Trip(
            code="S2", crew="SOUTH", box_models=1, weight_kg=240, volume_l=50,
            days=(
                CrewDay(
                    date=NEXT_TUE, sessions=("S3",), aboard=third,
                    legs=(
                        Leg(drive=drive(NEXT_TUE, "DEP", "KAM", clock(7), 6, 3)),
                        Leg(drive=drive(NEXT_TUE, "KAM", "DEP", clock(16, 35), 6, 3)),
                    ),
                ),
            ),
        ),
    )  # fmt: skip


def _cover() -> tuple[Cover, ...]:
    return (
        cover("KAM", TUE, Shift.DAY, (1, 7, 8, 10)),
        cover("KAM", TUE, Shift.DAY, (11, 7, 8, 10), kind=CoverKind.SLOT, team="T01"),
        cover("KAM", TUE, Shift.DAY, (6, 7, 8, 10), kind=CoverKind.REFERRAL, for_facility="TUW"),
        cover("KAM", THU, Shift.DAY, (6, 7, 8, 10), kind=CoverKind.REFERRAL, for_facility="TUW"),
        cover("KAM", NEXT_TUE, Shift.DAY, (1, 2, 3, 5)),
        cover("TUW", date(2027, 3, 1), Shift.NIGHT, (6, 7, 8)),
        cover("TUW", TUE, Shift.DAY, (6, 7, 8, 10)),
        cover("TUW", THU, Shift.DAY, (1, 2, 3, 5)),
        cover("LUV", TUE, Shift.DAY, (6, 7, 8, 5)),
        cover("LUV", WED, Shift.DAY, (6, 7, 8, 10)),
        cover("LUV", WED, Shift.NIGHT, (11, 12, 8)),
        cover("LUV", THU, Shift.DAY, (6, 7, 8, 10)),
        cover("LUV", THU, Shift.NIGHT, (11, 12, 8)),
        cover("LUV", FRI, Shift.DAY, (6, 7, 8, 10)),
    )


def _costs() -> tuple[CostEntry, ...]:
    return (
        CostEntry(
            line="crew travel", what="NORTH, KAM to COL", quantity=94, unit="km", price=950_00, amount=89_300_00,
            trip="N1",
        ),
        CostEntry(
            line="crew travel", what="SOUTH, DEP to COL", quantity=100, unit="km", price=900_00, amount=90_000_00,
            trip="S1",
        ),
        CostEntry(
            line="participants", what="days away", quantity=20, unit="person-days", price=5_000_00,
            amount=100_000_00, session="S1",
        ),
        CostEntry(
            line="consumables", what="Skin layer, cut", quantity=1, unit="packs", price=1_250_00, amount=1_250_00,
        ),
        CostEntry(
            line="contingency", what="5 % of 280,550", quantity=5, unit="%", price=0, amount=14_027_50,
        ),
    )  # fmt: skip


def sample_plan() -> Plan:
    return Plan(
        round_name="Lake round, March 2027",
        version=3,
        sessions=_sessions(),
        teams=_teams(),
        trips=_trips(),
        cover=_cover(),
        swaps=(Swap(person="TUW02", date=TUE, shift=Shift.DAY),),
        tiers=(
            Tier(aim=Aim.FIRST_TEAMS, value=9, bound=12, status=Status.FEASIBLE),
            Tier(aim=Aim.MUST_PEOPLE, value=3, bound=3, status=Status.OPTIMAL),
            Tier(aim=Aim.FURTHER_TEAMS, value=36, bound=54, status=Status.FEASIBLE),
            Tier(aim=Aim.REALISM, value=6, bound=2, status=Status.FEASIBLE),
            Tier(aim=Aim.BURDEN, value=14400, bound=12000, status=Status.FEASIBLE),
            Tier(aim=Aim.COST, value=294_577_50, bound=None, status=Status.NO_BOUND),
        ),
        reasons=(
            Reason(who="PHO", rule=Rule.COVER_KEPT, words="only two anaesthetists, and one is on leave until 26 March"),
            Reason(who="LUV", rule=Rule.COVER_RUN, words="the same two people would stay four shifts", team_number=2),
            Reason(who="PHO01", rule=Rule.STAFF_AVAILABLE, words="on leave in all of the round"),
        ),
        costs=_costs(),
    )


def _wicked(index: int, name: str) -> str:
    return f"{HOSTILE[index % len(HOSTILE)]} {name}"


def hostile_round() -> TrainingRound:
    """Return the round with a hostile name in every place that takes a name."""
    r = sample_round()
    named = {
        group: tuple(dataclasses.replace(row, name=_wicked(i, row.name)) for i, row in enumerate(getattr(r, group)))
        for group in ("facilities", "people", "trainers", "places", "items", "cases")
    }
    named["facilities"] = tuple(
        dataclasses.replace(f, district=_wicked(0, f.district), exposure_contact=HOSTILE[4])
        for f in named["facilities"]
    )
    return r.replace(
        **named,
        settings=dataclasses.replace(r.settings, round=dataclasses.replace(r.settings.round, name=HOSTILE[2])),
    )


def hostile_plan() -> Plan:
    """Return the plan with hostile free text: name of the round and reasons."""
    plan = sample_plan()
    reasons = tuple(dataclasses.replace(row, words=_wicked(i, row.words)) for i, row in enumerate(plan.reasons))
    costs = tuple(dataclasses.replace(row, what=_wicked(i, row.what)) for i, row in enumerate(plan.costs))
    return dataclasses.replace(plan, round_name=HOSTILE[2], reasons=reasons, costs=costs)
